"""What is known of the numbers of the rep in hand besides themselves, worked out off the caller's thread."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import TypeVar

from phasemark.model.marks import Marks, Rep
from phasemark.model.normalisation import Approach
from phasemark.model.settings import Settings
from phasemark.model.study import Study
from phasemark.results.measure import Value, measured_rep
from phasemark.results.numbers import Numbers
from phasemark.results.value_cells import value_notes
from phasemark.session.current_numbers import Facts, Results, current_numbers
from phasemark.session.figure_readings import ChannelScale
from phasemark.session.rep_figure import Notes
from phasemark.session.session import Session
from phasemark.session.trial_signals import TrialSignals

_Key = TypeVar("_Key")
_SLOT = "numbers of the rep in hand"
_OF_TASK = (Approach.TASK_PEAK, Approach.TASK_MEAN)


@dataclass(frozen=True, slots=True, eq=False)
class RepNumbers:
    """The values of a rep with all that is known of them, under settings; notes by channel, phase and third.

    scales, one for each channel, are the references that its values are set in percent of.
    """

    rep: Rep
    thirds_rule: str
    settings: Settings
    values: tuple[Value, ...]
    notes: Notes
    scales: tuple[ChannelScale, ...]

    def holds_for(self, marks: Marks, rep_id: int, settings: Settings) -> bool:
        """Whether a rep under settings has these values: its boundaries and the rules are the same."""
        if (self.rep.id, self.thirds_rule, self.settings) != (rep_id, marks.thirds_rule, settings):
            return False
        return self.rep.phases == marks.rep(rep_id).phases


@dataclass(frozen=True, slots=True, eq=False)
class _Snapshot:
    """What references hang on: the study, and the results and facts that are held."""

    study: Study
    rater: str
    results: Results
    facts: Facts

    def has_same_references(self, other: "_Snapshot") -> bool:
        """Whether every reference is the same: nothing but marks differs, and these only where they do not count."""
        by_task = self.study.settings.normalisation.approach in _OF_TASK
        if by_task and (self.study is not other.study or not _same(self.results, other.results)):
            return False
        return self.rater == other.rater and _same(self.facts, other.facts) and _same_but_marks(self.study, other.study)


def _same(one: Mapping[_Key, object], other: Mapping[_Key, object]) -> bool:
    return len(one) == len(other) and all(other.get(key) is value for key, value in one.items())


def _same_but_marks(one: Study, other: Study) -> bool:
    if one is other:
        return True
    same = (one.settings, one.references, one.exercises) == (other.settings, other.references, other.exercises)
    return (
        same
        and len(one.trials) == len(other.trials)
        and all(
            a is b or replace(a, marks=()) == replace(b, marks=())
            for a, b in zip(one.trials, other.trials, strict=True)
        )
    )


class RepNumbersSource:
    """Works out the numbers of one rep after another; the references of the study are kept as long as they hold."""

    def __init__(self) -> None:
        self._snapshot: _Snapshot | None = None
        self._numbers: Numbers | None = None

    def ask(
        self,
        session: Session,
        signals: TrialSignals,
        rep_id: int,
        *,
        done: Callable[[RepNumbers], None],
        failed: Callable[[BaseException], None],
    ) -> None:
        """Work out the numbers of a rep of the trial in view as it is marked now; only the newest is delivered."""
        study, rater = session.study, session.rater
        snapshot = _Snapshot(study, rater, dict(session.results), dict(session.facts))
        held, known = self._snapshot, self._numbers
        keeps = known is not None and held is not None and snapshot.has_same_references(held)
        marks = study.trial(signals.trial.id).marks_of(rater)

        def work() -> tuple[Numbers, RepNumbers]:
            numbers = known if keeps and known is not None else _numbers(snapshot, signals)
            return numbers, rep_numbers(numbers, study, marks, rep_id, signals)

        def keep(found: tuple[Numbers, RepNumbers]) -> None:
            self._snapshot, self._numbers = snapshot, found[0]
            done(found[1])

        worker = session.worker
        worker.run(
            f"errors of {signals.trial.id}",
            lambda _: work(),
            on=worker.compute,
            done=keep,
            failed=failed,
            slot=_SLOT,
        )


def _numbers(snapshot: _Snapshot, signals: TrialSignals) -> Numbers:
    """What is current of the study, with the reference of every muscle worked out."""
    study = snapshot.study
    numbers = current_numbers(study, snapshot.rater, snapshot.results, snapshot.facts, study.trials)
    assert numbers.normalisers is not None  # worked out here, and not on the thread that asks later
    return numbers


def rep_numbers(numbers: Numbers, study: Study, marks: Marks, rep_id: int, signals: TrialSignals) -> RepNumbers:
    """The values of a rep with errors, sensitivity and notes, and the references of its channels."""
    trial, rep = study.trial(signals.trial.id), marks.rep(rep_id)
    values = measured_rep(trial, rep, marks.thirds_rule, signals.conditioned, study.settings, sources=signals.sources())
    notes = {(v.channel, v.segment.phase, v.segment.third): value_notes(study, trial, v) for v in values}
    scales = tuple(
        ChannelScale(numbers.normaliser(trial, channel), numbers.baseline(trial, channel)) for channel in trial.emg
    )
    return RepNumbers(
        rep, marks.thirds_rule, study.settings, values, {key: own for key, own in notes.items() if own}, scales
    )
