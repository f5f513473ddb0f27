"""A study: its trials with references to recordings, its exercises, settings and raters. Never arrays."""

from dataclasses import dataclass, field, replace
from decimal import Decimal
from enum import StrEnum
from functools import cached_property
from math import isfinite

from phasemark.model.clock import Rate
from phasemark.model.errors import BadCall
from phasemark.model.intervals import AcceptedFinding, Interval
from phasemark.model.marks import LOWERING, RAISING, ChannelExclusion, Decision, Marks
from phasemark.model.normalisation import ReferenceDecision
from phasemark.model.plan import AnalysisPlan
from phasemark.model.recording import EmgChannel, MovementTrace, Source, recording_clock, recording_length
from phasemark.model.settings import Settings

DEFAULT_RATER = "R1"


class Kind(StrEnum):
    """What a trial was recorded for."""

    TASK = "task"
    MVIC = "mvic"
    QUIET = "quiet"
    REFERENCE = "reference"
    WARM_UP = "warm-up"
    OTHER = "other"

    @property
    def holds_reps(self) -> bool:
        """Whether its trials hold repetitions to mark; maximum contractions and quiet trials do not."""
        return self not in (Kind.MVIC, Kind.QUIET)


@dataclass(frozen=True, slots=True)
class Load:
    """A load as stated: an exact value and its unit ('60 kg', '70 %1RM')."""

    value: Decimal
    unit: str = ""

    @property
    def text(self) -> str:
        """The load as people write it."""
        return f"{self.value} {self.unit}".strip()


@dataclass(frozen=True, slots=True)
class RecordingRef:
    """Where a recording is kept: path relative to the study's folder, size (bytes), SHA-256, lengths (samples)."""

    id: str
    path: str
    size: int
    sha256: str
    emg_samples: tuple[int, ...]
    movement_samples: tuple[int, ...]
    source: Source = field(default_factory=Source)
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Trial:
    """One EMG recording with its movement traces, what was done in it, and its marks by rater.

    emg[i] and movement[i] describe the i-th channel and trace of the recording; the first trace defines
    the phases. factors are (name, value) pairs the study names (stance, group, cadence).
    """

    id: str
    participant: str
    recording: RecordingRef
    emg: tuple[EmgChannel, ...] = ()
    movement: tuple[MovementTrace, ...] = ()
    kind: Kind = Kind.TASK
    exercise: str = ""
    session: str = "1"
    set: int = 1
    order: int | None = None
    load: Load | None = None
    factors: tuple[tuple[str, str], ...] = ()
    marks: tuple[Marks, ...] = ()
    excluded: Decision | None = None
    excluded_channels: tuple[ChannelExclusion, ...] = ()
    intervals: tuple[Interval, ...] = ()
    accepted: tuple[AcceptedFinding, ...] = ()

    def __post_init__(self) -> None:
        if not self.participant.strip():
            raise BadCall(f"Trial {self.id} has no participant; give a code such as P01.")
        for marks in self.marks:
            if marks.length != self.length:
                raise BadCall(f"Marks of trial {self.id} do not belong to its recording (different lengths).")
        if any(interval.end > self.length for interval in self.intervals):
            raise BadCall(f"An interval of trial {self.id} runs over the end of its recording.")

    @cached_property
    def clock(self) -> Rate:
        """Rate (Hz) of the clock that the boundaries count in."""
        return recording_clock(self.emg, self.movement)

    @cached_property
    def length(self) -> int:
        """Length of the recording in clock samples."""
        ref = self.recording
        return recording_length(self.emg, ref.emg_samples, self.movement, ref.movement_samples)

    def marks_of(self, rater: str) -> Marks:
        """A rater's marks; empty ones where the rater has none yet."""
        for marks in self.marks:
            if marks.rater == rater:
                return marks
        return Marks(rater, self.length)

    def with_marks(self, marks: Marks) -> "Trial":
        """The trial with one rater's marks replaced or added."""
        others = [m for m in self.marks if m.rater != marks.rater]
        return replace(self, marks=tuple(sorted((*others, marks), key=lambda m: m.rater)))

    def factor(self, name: str) -> str:
        """The value of a factor, empty where the trial has none."""
        return dict(self.factors).get(name, "")


@dataclass(frozen=True, slots=True)
class Exercise:
    """What is known of an exercise: its first phase (None: what most of its trials show) and its loaded phase.

    isometric: it is held, and a stretch of the hold is measured instead of repetitions. lowering_s and raising_s
    are the prescribed durations (s) of its phases, None where none was prescribed.
    """

    name: str
    first_phase: str | None = None
    against_load: str = RAISING
    isometric: bool = False
    lowering_s: float | None = None
    raising_s: float | None = None

    def __post_init__(self) -> None:
        if any(s is not None and not (isfinite(s) and s > 0) for s in (self.lowering_s, self.raising_s)):
            raise BadCall(f"The prescribed durations of exercise {self.name} must be above zero seconds.")
        if self.first_phase not in (None, LOWERING, RAISING) or self.against_load not in (LOWERING, RAISING):
            raise BadCall(f"Phases of exercise {self.name} are called {LOWERING} or {RAISING}.")


@dataclass(frozen=True)
class Study:
    """The whole study as one frozen value. Trials keep the order they were added in."""

    name: str
    trials: tuple[Trial, ...] = ()
    exercises: tuple[Exercise, ...] = ()
    settings: Settings = field(default_factory=Settings)
    raters: tuple[str, ...] = (DEFAULT_RATER,)
    references: tuple[ReferenceDecision, ...] = ()
    plan: AnalysisPlan | None = None

    def __post_init__(self) -> None:
        if len({choice.key for choice in self.references}) != len(self.references):
            raise BadCall("Two decisions of the study are about the same reference.")
        if len(self._places) != len(self.trials):
            raise BadCall("Two trials of the study have the same id.")

    @cached_property
    def _places(self) -> dict[str, int]:
        return {trial.id: place for place, trial in enumerate(self.trials)}

    @cached_property
    def _by_session(self) -> dict[tuple[str, str], list[Trial]]:
        found: dict[tuple[str, str], list[Trial]] = {}
        for trial in self.trials:
            found.setdefault((trial.participant, trial.session), []).append(trial)
        return found

    def trials_of(self, participant: str, session: str) -> tuple[Trial, ...]:
        """All trials of a participant in one session, in the order of the study."""
        return tuple(self._by_session.get((participant, session), ()))

    def place(self, trial_id: str) -> int:
        """Where a trial stands among those of the study, from 0; raises BadCall if there is none."""
        self.trial(trial_id)
        return self._places[trial_id]

    def trial(self, trial_id: str) -> Trial:
        """The trial with an id; raises BadCall if there is none."""
        place = self._places.get(trial_id)
        if place is None:
            raise BadCall(f"There is no trial {trial_id!r} in this study.")
        return self.trials[place]

    def exercise(self, name: str) -> Exercise:
        """What is known of an exercise; the defaults where nothing was said."""
        return next((e for e in self.exercises if e.name == name), Exercise(name))

    def participants(self) -> tuple[str, ...]:
        """Codes of all participants, sorted."""
        return tuple(sorted({trial.participant for trial in self.trials}))

    def factor_names(self) -> tuple[str, ...]:
        """Names of all factors that any trial has, sorted."""
        return tuple(sorted({name for trial in self.trials for name, _ in trial.factors}))
