"""What the pages about quality and references show, as frozen values made anew only where something changed."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import isfinite, nan

from phasemark.model.clock import seconds
from phasemark.model.intervals import AcceptedFinding
from phasemark.model.marks import Decision
from phasemark.model.recording import EmgChannel, MovementTrace
from phasemark.model.study import Study, Trial
from phasemark.results.facts import TrialFacts
from phasemark.results.numbers import Numbers
from phasemark.results.quality_rows import accepted
from phasemark.session.blinding import HIDDEN, covered, name_of
from phasemark.session.reference_pictures import FROM_REPS, ReferencesPicture, no_references, references_of
from phasemark.session.session import Session
from phasemark.signal.quality.finding import Check, Finding

Seconds = tuple[float, float]


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
        return None if self.key[1] < 0 else self.key[1]

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

    def to_decide(self) -> dict[str, int]:
        """How many findings of each trial are still to be decided; trials without any are left out."""
        counts: dict[str, int] = {}
        for row in self.rows:
            if row.to_decide:
                counts[row.trial] = counts.get(row.trial, 0) + 1
        return counts


class JudgementTables:
    """The tables of one session, each kept until something that it is made from is another object."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._inputs: tuple[object, ...] = ()
        self._facts: dict[str, TrialFacts] = {}
        self._rows: dict[str, tuple[tuple[object, ...], tuple[QualityRow, ...]]] = {}
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
        session, rows = self._session, list[QualityRow]()
        kept: dict[str, tuple[tuple[object, ...], tuple[QualityRow, ...]]] = {}
        for trial in session.study.trials:
            name = name_of(session, trial)
            if name is not None and not trial.kind.holds_reps:
                continue
            inputs = (trial, facts.get(trial.id), session.cover)
            before = self._rows.get(trial.id)
            kept[trial.id] = before if before is not None and _same(inputs, before[0]) else (
                inputs, tuple(_rows(session, trial, facts.get(trial.id), name))
            )  # fmt: skip
            rows += kept[trial.id][1]
        self._rows = kept
        rows.sort(key=lambda row: 0 if row.to_decide else 1 if row.flagged else 2)
        return QualityTable(tuple(rows), tuple(t.id for t in session.study.trials if t.id not in facts))

    def references(self) -> ReferencesPicture:
        """Every reference with its attempts; none while marking is blind."""
        session, facts = self._session, self.facts()
        study = session.study
        from_reps = study.settings.normalisation.approach in FROM_REPS
        results = tuple(session.results.get((t.id, session.rater)) for t in study.trials) if from_reps else ()
        inputs = (study, facts, session.cover, *results)
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


def _rows(session: Session, trial: Trial, facts: TrialFacts | None, name: str | None) -> Iterator[QualityRow]:
    if facts is None:
        return
    said = name or trial_name(trial)
    for place, (channel, own) in enumerate(zip(trial.emg, facts.channels, strict=True)):
        for finding in own.findings:
            yield _row(session, trial, said, (place, channel), finding)
    for finding in facts.movement:
        yield _row(session, trial, said, (-1, trial.movement[0]), finding)
    for pair in facts.alike:
        first, second = trial.emg[pair.first], trial.emg[pair.second]
        yield _row(session, trial, said, (pair.first, first), pair.finding, beside=(pair.second, second))


def _row(
    session: Session,
    trial: Trial,
    name: str,
    at: tuple[int, EmgChannel | MovementTrace],
    finding: Finding,
    *,
    beside: tuple[int, EmgChannel] | None = None,
) -> QualityRow:
    place, about = at
    channel = about if isinstance(about, EmgChannel) else None
    muscle = channel.label if channel is not None else "movement trace"
    hidden = session.blind and finding.check is Check.NOISE  # it tells how strong the muscle was
    return QualityRow(
        (trial.id, place, finding.check, -1 if beside is None else beside[0]),
        name,
        muscle if beside is None else f"{muscle}, {beside[1].label}",
        finding.check,
        nan if hidden else finding.figure,
        finding.unit,
        finding.threshold,
        finding.flagged,
        HIDDEN if hidden else covered(session, finding.sentence),
        tuple((_time(about, begin), _time(about, end)) for begin, end in finding.places),
        accepted(trial, finding.check, channel),
        _excluded(trial, channel),
    )


def _time(about: EmgChannel | MovementTrace, sample: int) -> float:
    """When a sample of a channel or trace was taken (s, on the recording's clock); to show, never to measure by."""
    own = seconds(sample, about.rate)
    if isinstance(about, EmgChannel):
        return own
    return float(about.alignment.shift_s) + own * float(about.alignment.ratio)


def _excluded(trial: Trial, channel: EmgChannel | None) -> Decision | None:
    if trial.excluded is not None or channel is None:
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
