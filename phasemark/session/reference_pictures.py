"""References for normalisation as they are shown: each muscle's value, its attempts, what is said of it."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import nan

from phasemark.model.clock import seconds
from phasemark.model.intervals import Interval, Purpose
from phasemark.model.normalisation import Approach, NormalisationSettings, ReferenceDecision, ReferenceRule
from phasemark.model.recording import Side
from phasemark.model.study import Kind, Study, Trial
from phasemark.results.numbers import Numbers
from phasemark.results.reference_rows import reference_notes
from phasemark.results.referencing import AttemptAt, Normaliser, Whose, attempts_of, comparison_warnings, positions_of
from phasemark.signal.references import best_two_apart

MAXIMAL = (Approach.ISOMETRIC_MVC, Approach.MATCHED_MVC)
FROM_REPS = (Approach.TASK_PEAK, Approach.TASK_MEAN)


@dataclass(frozen=True, slots=True)
class AttemptPicture:
    """One attempt: trial, channel, number from 1 (that of the notes), value (mV) and where its window lies (s).

    used and mean_used say whether it made the reference's RMS, its mean amplitude; session is the one it is from;
    faults are found inside its window; by_hand is the plateau that a person placed. choosable: an attempt of the
    muscle's own session at a reference, which a person can choose.
    """

    trial: str
    channel: int
    number: int
    position: str
    session: str
    rms: float
    mean_amplitude: float
    error: float
    begin_s: float
    end_s: float
    at_edge: bool
    used: bool
    mean_used: bool
    faults: tuple[str, ...]
    by_hand: Interval | None
    choosable: bool


@dataclass(frozen=True, slots=True)
class ReferencePicture:
    """The reference of a muscle (mV, nan where it has none), its relative sampling errors, and all said of it.

    noise_rms is the baseline subtracted from it (nan: none); after_over_before compares attempts after the sets with
    those before; apart is how far the second best lies below the best (None: there are not two usable). sessions are
    those that a reference can be borrowed from.
    """

    whose: Whose
    rms: float
    mean_amplitude: float
    rms_error: float
    mean_error: float
    attempts: tuple[AttemptPicture, ...]
    notes: tuple[str, ...]
    decision: ReferenceDecision | None
    noise_rms: float
    after_over_before: float
    apart: float | None
    sessions: tuple[str, ...]

    @property
    def muscle(self) -> str:
        """The muscle with its side."""
        whose = self.whose
        return whose.muscle if whose.side is Side.NONE else f"{whose.muscle} ({whose.side})"

    @property
    def there(self) -> bool:
        """Whether there is a reference at all; without one the muscle is reported in mV."""
        return self.rms == self.rms or self.mean_amplitude == self.mean_amplitude

    @property
    def used(self) -> tuple[AttemptPicture, ...]:
        """The attempts that made the RMS, or the mean amplitude where there is no RMS."""
        of_rms = tuple(at for at in self.attempts if at.used)
        return of_rms or tuple(at for at in self.attempts if at.mean_used)


@dataclass(frozen=True, slots=True)
class PositionsPicture:
    """Which MVIC position serves which muscles: serves[position][muscle]."""

    positions: tuple[str, ...] = ()
    muscles: tuple[str, ...] = ()
    serves: tuple[tuple[bool, ...], ...] = ()

    @property
    def without(self) -> tuple[str, ...]:
        """Muscles that no position serves."""
        if not self.positions:
            return ()
        return tuple(m for n, m in enumerate(self.muscles) if not any(row[n] for row in self.serves))


@dataclass(frozen=True, slots=True)
class ReferencesPicture:
    """All references, how they are got in words, and what a comparison must be warned of."""

    approach: Approach
    rule: str
    rows: tuple[ReferencePicture, ...] = ()
    positions: PositionsPicture = PositionsPicture()
    warnings: tuple[str, ...] = ()
    blind: bool = False
    trials: int = 0

    @property
    def maximal(self) -> bool:
        """Whether maximum contractions are asked of people."""
        return self.approach in MAXIMAL


def no_references(study: Study, *, blind: bool) -> ReferencesPicture:
    """The picture without any numbers in it."""
    rules = study.settings.normalisation
    return ReferencesPicture(rules.approach, rule_words(rules), blind=blind, trials=len(study.trials))


def references_of(numbers: Numbers) -> ReferencesPicture:
    """All references of a study."""
    study, found = numbers.study, numbers.normalisers
    rules = study.settings.normalisation
    return ReferencesPicture(
        rules.approach,
        rule_words(rules),
        tuple(_picture(numbers, normaliser) for normaliser in found.values()),
        _positions(study) if rules.approach in MAXIMAL else PositionsPicture(),
        comparison_warnings(study, found),
        trials=len(study.trials),
    )


def rule_words(rules: NormalisationSettings) -> str:
    """Which value is taken as the reference, in words."""
    window = f"{1000 * rules.window_s:g} ms"
    match rules.approach:
        case Approach.NONE:
            return "amplitudes are reported in mV"
        case Approach.TASK_PEAK:
            return "the highest envelope of all counted repetitions"
        case Approach.TASK_MEAN:
            return "the mean over all counted repetitions"
    match rules.rule:
        case ReferenceRule.PLATEAU:
            return f"the steadiest {rules.plateau_s:g} s near the highest amplitude, of the best attempt"
        case ReferenceRule.BEST_MEAN:
            return f"the mean of the best {rules.best} attempts, each its highest RMS over {window}"
    return f"the highest RMS over {window} of all attempts"


def _picture(numbers: Numbers, found: Normaliser) -> ReferencePicture:
    return ReferencePicture(
        found.whose,
        found.rms,
        found.mean_amplitude,
        found.rms_error,
        found.mean_amplitude_error,
        _attempts(numbers, found),
        reference_notes(found),
        found.decision,
        nan if found.noise is None else found.noise.rms,
        nan if found.drift is None else found.drift.rms,
        best_two_apart(
            [at.attempt for at in found.attempts],
            [at.faults for at in found.attempts],
            positions_of(numbers.study, found.attempts),
        ),
        _sessions(numbers, found.whose),
    )


def _attempts(numbers: Numbers, found: Normaliser) -> tuple[AttemptPicture, ...]:
    """Those the reference was taken from, numbered as its notes do; then those that a person's choice left out."""
    study, reference = numbers.study, found.reference
    used, mean_used = (reference.used, reference.mean_used) if reference else ((), ())
    shown = list(found.attempts)
    if found.approach not in FROM_REPS:
        there = {(at.trial, at.channel, at.number) for at in shown}
        own = attempts_of(study, numbers.facts, found.whose)
        shown += [at for at in own if (at.trial, at.channel, at.number) not in there]
    return tuple(
        _attempt(study, found, at, place + 1, used=place in used, mean_used=place in mean_used)
        for place, at in enumerate(shown)
    )


def _attempt(
    study: Study, found: Normaliser, at: AttemptAt, number: int, *, used: bool, mean_used: bool
) -> AttemptPicture:
    trial, attempt = study.trial(at.trial), at.attempt
    channel = trial.emg[at.channel]
    begin, end = (attempt.begin, attempt.end) if attempt.end else (attempt.mean_begin, attempt.mean_end)
    inside = [fault for fault in at.faults if fault.begin < end and begin < fault.end]
    return AttemptPicture(
        trial.id,
        at.channel,
        number,
        trial.exercise or str(trial.kind),
        trial.session,
        attempt.rms,
        attempt.mean_amplitude,
        attempt.error,
        seconds(begin, channel.rate),
        seconds(end, channel.rate),
        attempt.at_edge,
        used,
        mean_used,
        tuple(dict.fromkeys(f"{fault.what}{' (accepted)' if fault.accepted else ''}" for fault in inside)),
        _placed(trial, at.channel),
        trial.session == found.whose.session and trial.kind in (Kind.MVIC, Kind.REFERENCE),
    )


def _placed(trial: Trial, place: int) -> Interval | None:
    channel = trial.emg[place]
    found = [i for i in trial.intervals if i.purpose is Purpose.PLATEAU and i.is_for(channel.muscle, channel.side)]
    return max(found, key=lambda interval: bool(interval.muscle), default=None)


def _sessions(numbers: Numbers, whose: Whose) -> tuple[str, ...]:
    return tuple(
        sorted(
            other.session
            for other, found in numbers.normalisers.items()
            if (other.participant, other.muscle, other.side) == (whose.participant, whose.muscle, whose.side)
            and other.exercise == whose.exercise
            and other.session != whose.session
            and found.reference is not None
        )
    )


def _positions(study: Study) -> PositionsPicture:
    rules = study.settings.normalisation
    muscles = tuple(dict.fromkeys(channel.muscle for trial in study.trials for channel in trial.emg))
    positions = tuple(_known_positions(study))
    return PositionsPicture(
        positions, muscles, tuple(tuple(rules.serves(position, m) for m in muscles) for position in positions)
    )


def _known_positions(study: Study) -> Iterator[str]:
    performed = {trial.exercise for trial in study.trials if trial.kind is Kind.MVIC and trial.exercise}
    yield from sorted(performed | {entry.position for entry in study.settings.normalisation.positions})
