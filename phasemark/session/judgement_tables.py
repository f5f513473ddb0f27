"""What the pages about quality and references show, as frozen values made anew only where something changed."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import isfinite, nan

from phasemark.model.intervals import AcceptedFinding
from phasemark.model.marks import Decision
from phasemark.model.recording import EmgChannel
from phasemark.model.study import Study, Trial
from phasemark.results.facts import TrialFacts
from phasemark.results.numbers import Numbers
from phasemark.results.quality_rows import accepted
from phasemark.session.blinding import HIDDEN, covered, name_of
from phasemark.session.reference_pictures import FROM_REPS, ReferencesPicture, no_references, references_of
from phasemark.session.session import Session
from phasemark.signal.quality.finding import Check, Finding

Seconds = tuple[float, float]
MOVEMENT = -1
"""Stands for the movement trace where a channel's place is meant."""


@dataclass(frozen=True, slots=True)
class QualityRow:
    """One check of a channel (None: of the movement trace) with its figure, and what a person decided about it.

    key stays the same as long as trial, channel and check do; places are in seconds; excluded is the decision by which
    the channel, or the whole trial, is out of the means.
    """

    key: tuple[str, int, str, int]
    name: str
    muscle: str
    check: Check
    figure: float
    unit: str
    threshold: float
    flagged: bool
    sentence: str
    places: tuple[Seconds, ...]
    accepted: AcceptedFinding | None
    excluded: Decision | None

    @property
    def trial(self) -> str:
        """The id of its trial."""
        return self.key[0]

    @property
    def channel(self) -> int | None:
        """The place of its channel in the recording; None for the movement trace."""
        return None if self.key[1] == MOVEMENT else self.key[1]

    @property
    def decision(self) -> Decision | None:
        """The decision that settles it, None where there is none."""
        return self.accepted.decision if self.accepted is not None else self.excluded

    @property
    def to_decide(self) -> bool:
        """Whether a person should look at it and has not decided yet."""
        return self.flagged and self.decision is None


@dataclass(frozen=True, slots=True)
class QualityTable:
    """All checks, flagged ones first; unmeasured are the ids of trials that were not checked as they are now."""

    rows: tuple[QualityRow, ...] = ()
    unmeasured: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _OfTrial:
    """The rows of a trial, what they were made from, and how many of them are still to be decided."""

    inputs: tuple[object, ...]
    rows: tuple[QualityRow, ...]
    to_decide: int


class JudgementTables:
    """The tables of one session, each kept until something that it is made from is another object."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._inputs: tuple[object, ...] = ()
        self._facts: dict[str, TrialFacts] = {}
        self._rows: dict[str, _OfTrial] = {}
        self._quality: tuple[tuple[object, ...], QualityTable] | None = None
        self._references: tuple[tuple[object, ...], ReferencesPicture] | None = None

    def facts(self) -> Mapping[str, TrialFacts]:
        """The facts that are current, by trial id: those of session.numbers(), asked for again only after a change."""
        study, held = self._session.study, self._session.facts
        inputs = (_rules_of_facts(study), *(_of_trial(trial, held.get(trial.id)) for trial in study.trials))
        if not _same(inputs, self._inputs):
            self._inputs = inputs
            known = ((trial.id, self._session.facts_of(trial)) for trial in study.trials)
            self._facts = {trial_id: facts for trial_id, facts in known if facts is not None}
        return self._facts

    def quality(self) -> QualityTable:
        """Every check of every trial; while marking is blind only trials that have a neutral name, without levels."""
        session, facts = self._session, self.facts()
        inputs = (session.study.trials, facts, session.cover)
        if self._quality is None or not _same(inputs, self._quality[0]):
            self._quality = inputs, self._make_quality(facts)
        return self._quality[1]

    def _make_quality(self, facts: Mapping[str, TrialFacts]) -> QualityTable:
        rows = [row for held in self._of_trials(facts).values() for row in held.rows]
        rows.sort(key=lambda row: 0 if row.to_decide else 1 if row.flagged else 2)
        return QualityTable(tuple(rows), tuple(t.id for t in self._session.study.trials if t.id not in facts))

    def _of_trials(self, facts: Mapping[str, TrialFacts]) -> dict[str, _OfTrial]:
        session, kept = self._session, dict[str, _OfTrial]()
        for trial in session.study.trials:
            name = name_of(session, trial)
            if name is not None and not trial.kind.holds_reps:
                continue
            inputs = (trial, facts.get(trial.id), session.cover)
            held = self._rows.get(trial.id)
            if held is None or not _same(inputs, held.inputs):
                rows = tuple(_rows(session, trial, facts.get(trial.id), name))
                held = _OfTrial(inputs, rows, sum(row.to_decide for row in rows))
            kept[trial.id] = held
        self._rows = kept
        return kept

    def to_decide(self) -> dict[str, int]:
        """How many rows of each trial are still to be decided; trials without any are left out."""
        counts = ((trial_id, held.to_decide) for trial_id, held in self._of_trials(self.facts()).items())
        return {trial_id: count for trial_id, count in counts if count}

    def references(self) -> ReferencesPicture:
        """Every reference with its attempts; none while marking is blind."""
        session, facts = self._session, self.facts()
        study = session.study
        from_reps = study.settings.normalisation.approach in FROM_REPS
        results = tuple(session.results.get((t.id, session.rater)) for t in study.trials) if from_reps else ()
        # Marks change no reference that comes from attempts of their own.
        about = (study,) if from_reps else (study.settings, study.references, *map(_of_attempts, study.trials))
        inputs = (about, facts, session.cover, *results)
        if self._references is None or not _same(inputs, self._references[0]):
            self._references = inputs, self._make_references(facts, from_reps=from_reps)
        return self._references[1]

    def _make_references(self, facts: Mapping[str, TrialFacts], *, from_reps: bool) -> ReferencesPicture:
        session = self._session
        if session.blind:
            return no_references(session.study, blind=True)
        results = session.numbers().results if from_reps else {}
        return references_of(Numbers(session.study, session.rater, results, facts))


def _same(one: tuple[object, ...], other: tuple[object, ...]) -> bool:
    """Whether two tuples hold the same objects, or equal tuples of such."""
    return len(one) == len(other) and all(
        a is b or (type(a) is tuple and a == b) for a, b in zip(one, other, strict=True)
    )


def _rules_of_facts(study: Study) -> tuple[object, ...]:
    settings = study.settings
    return settings.filter, settings.muscle_filters, settings.normalisation, settings.quality


def _of_trial(trial: Trial, held: TrialFacts | None) -> tuple[object, ...]:
    """Of a trial, all that its own facts and those of its session depend on, but for the settings."""
    whose = (trial.id, trial.participant, trial.session, trial.kind, trial.excluded)
    return (*whose, trial.recording, trial.emg, trial.movement, trial.intervals, held)


def _of_attempts(trial: Trial) -> tuple[object, ...]:
    """Of a trial, what its attempts at a reference hang on beside its facts, and what is said of them."""
    judged = (trial.excluded_channels, trial.accepted, trial.order, trial.exercise)
    return (*_of_trial(trial, None), *judged)


def _rows(session: Session, trial: Trial, facts: TrialFacts | None, name: str | None) -> Iterator[QualityRow]:
    if facts is None:
        return
    said = name or trial_name(trial)
    channels = tuple(_Channel.of(session, trial, said, place) for place in range(len(trial.emg)))
    for channel, own in zip(channels, facts.channels, strict=True):
        for finding in own.findings:
            yield channel.row(finding)
    if facts.movement:
        trace = _Channel.of(session, trial, said, MOVEMENT)
        for finding in facts.movement:
            yield trace.row(finding)
    for pair in facts.alike:
        second = channels[pair.second]
        yield channels[pair.first].row(pair.finding, beside=(pair.second, second.muscle))


@dataclass(frozen=True, slots=True)
class _Channel:
    """What all rows of a channel, or of the movement trace, have in common."""

    session: Session
    trial: Trial
    name: str
    place: int
    muscle: str
    begin_s: float
    period_s: float
    accepted: dict[str, AcceptedFinding]
    excluded: Decision | None

    @classmethod
    def of(cls, session: Session, trial: Trial, name: str, place: int) -> "_Channel":
        if place == MOVEMENT:
            trace = trial.movement[0]
            shift, period = float(trace.alignment.shift_s), float(trace.alignment.ratio / trace.rate)
            return cls(
                session, trial, name, place, "movement trace", shift, period, _accepted(trial, None), trial.excluded
            )
        channel = trial.emg[place]
        return cls(
            session, trial, name, place, channel.label, 0.0, float(1 / channel.rate), _accepted(trial, channel),
            _excluded(trial, channel),
        )  # fmt: skip

    def _time(self, sample: int) -> float:
        """When a sample was taken (s, on the recording's clock); to show, never to measure by."""
        return self.begin_s + sample * self.period_s

    def row(self, finding: Finding, *, beside: tuple[int, str] | None = None) -> QualityRow:
        hidden = self.session.blind and finding.check is Check.NOISE  # it tells how strong the muscle was
        sentence = covered(self.session, finding.sentence) if self.session.blind else finding.sentence
        return QualityRow(
            (self.trial.id, self.place, finding.check, -1 if beside is None else beside[0]),
            self.name,
            self.muscle if beside is None else f"{self.muscle}, {beside[1]}",
            finding.check,
            nan if hidden else finding.figure,
            finding.unit,
            finding.threshold,
            finding.flagged,
            HIDDEN if hidden else sentence,
            tuple((self._time(begin), self._time(end)) for begin, end in finding.places),
            self.accepted.get(finding.check),
            self.excluded,
        )


def _accepted(trial: Trial, channel: EmgChannel | None) -> dict[str, AcceptedFinding]:
    """What was accepted of a channel (None: of the movement trace), by check; the rule is that of the exports."""
    checks = {held.check for held in trial.accepted}
    found = {check: accepted(trial, check, channel) for check in checks}
    return {check: held for check, held in found.items() if held is not None}


def _excluded(trial: Trial, channel: EmgChannel) -> Decision | None:
    if trial.excluded is not None:
        return trial.excluded
    held = trial.excluded_channels
    return next((x.decision for x in held if (x.muscle, x.side) == (channel.muscle, channel.side)), None)


def trial_name(trial: Trial) -> str:
    """What a trial is called in a table: whose it is, what was done, which set."""
    number = f" {trial.set}" if trial.kind.holds_reps else ""
    return f"{trial.participant} {trial.exercise or trial.kind}{number}"


def figure_text(figure: float, unit: str) -> str:
    """A figure of a check or its threshold with its unit, to three digits."""
    return f"{figure:.3g} {unit}".strip() if isfinite(figure) else "–"
