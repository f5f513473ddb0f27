"""Marks: the boundaries of repetitions and phases of one trial as one rater has them.

A boundary is a whole sample of the recording's clock. The types hold what must always be true: boundaries
rise, lie within the recording, and reps do not overlap. Two boundaries of a phase may coincide only where
a third was never entered; that third is then missing, not zero.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from phasemark.model.errors import BadCall
from phasemark.model.recording import Side


class Origin(StrEnum):
    """Who placed a boundary: a rule, or a person's hand."""

    AUTOMATIC = "automatic"
    HAND = "hand"


class Place(StrEnum):
    """Which of a phase's four boundaries."""

    BEGIN = "begin"
    FIRST_LINE = "first third line"
    SECOND_LINE = "second third line"
    END = "end"


LOWERING = "lowering"
RAISING = "raising"
BURST = "burst"


DOUBTFUL = 0.5
"""A rep with a doubt from here on is pointed out to a person (common practice, no source)."""


class MarksError(BadCall):
    """An edit would break what marks must always hold."""


@dataclass(frozen=True, slots=True)
class Boundary:
    """A sample of the recording's clock and who placed it."""

    sample: int
    origin: Origin = Origin.AUTOMATIC


@dataclass(frozen=True, slots=True)
class Decision:
    """Who decided, when (UTC, ISO 8601), why, and whether numbers, exercise and participant were hidden (blind)."""

    rater: str
    at: str
    reason: str = ""
    blind: bool = False


@dataclass(frozen=True, slots=True)
class ChannelExclusion:
    """An EMG channel taken out of a rep or of a whole trial."""

    muscle: str
    side: Side
    decision: Decision


@dataclass(frozen=True, slots=True)
class Phase:
    """One phase: its word, begin and end, and its two third lines (none where it is not cut in thirds)."""

    name: str
    begin: Boundary
    end: Boundary
    lines: tuple[Boundary, Boundary] | None = None

    def __post_init__(self) -> None:
        samples = [boundary.sample for _, boundary in self.boundaries()]
        if samples[0] >= samples[-1] or any(a > b for a, b in pairwise(samples)):
            raise MarksError(f"The boundaries of a {self.name} phase must rise, not run {samples}.")

    def boundaries(self) -> Iterator[tuple[Place, Boundary]]:
        """The boundaries in order of time, each with its place."""
        yield Place.BEGIN, self.begin
        if self.lines is not None:
            yield Place.FIRST_LINE, self.lines[0]
            yield Place.SECOND_LINE, self.lines[1]
        yield Place.END, self.end

    def at(self, place: Place) -> Boundary:
        """The boundary at a place; raises MarksError where the phase has none there."""
        for here, boundary in self.boundaries():
            if here is place:
                return boundary
        raise MarksError(f"This {self.name} phase has no {place}.")


@dataclass(frozen=True, slots=True)
class Rep:
    """One repetition: two phases in order (one where it is incomplete), and what was decided about it.

    doubt runs from 0 to 1 and doubts say why in words.
    """

    id: int
    phases: tuple[Phase, ...]
    complete: bool = True
    doubt: float = 0.0
    doubts: tuple[str, ...] = ()
    checked: Decision | None = None
    excluded: Decision | None = None
    excluded_channels: tuple[ChannelExclusion, ...] = ()

    def __post_init__(self) -> None:
        if len(self.phases) not in (1, 2):
            raise MarksError("A rep has one or two phases.")
        if any(a.end.sample > b.begin.sample for a, b in pairwise(self.phases)):
            raise MarksError("The two phases of a rep must not overlap.")

    @property
    def begin(self) -> int:
        """First sample of the rep."""
        return self.phases[0].begin.sample

    @property
    def end(self) -> int:
        """First sample after the rep."""
        return self.phases[-1].end.sample

    @property
    def touched(self) -> bool:
        """Whether a hand has placed any of its boundaries or a person has decided anything about it."""
        placed = any(b.origin is Origin.HAND for phase in self.phases for _, b in phase.boundaries())
        return placed or bool(self.checked or self.excluded or self.excluded_channels)


@dataclass(frozen=True, slots=True)
class Tombstone:
    """Where a rep was deleted by hand; marking again leaves this place alone."""

    rep: int
    begin: int
    end: int


@dataclass(frozen=True, slots=True)
class Marks:
    """All reps of one trial as one rater has them, in order of time.

    length is the recording's length in clock samples; next_id the id the next new rep gets; phase_rule and
    thirds_rule name the rules that the automatic boundaries were placed by.
    """

    rater: str
    length: int
    reps: tuple[Rep, ...] = ()
    next_id: int = 1
    tombstones: tuple[Tombstone, ...] = ()
    phase_rule: str = ""
    thirds_rule: str = ""

    def __post_init__(self) -> None:
        if any(a.end > b.begin for a, b in pairwise(self.reps)):
            raise MarksError("Reps must be in order of time and must not overlap.")
        if self.reps and (self.reps[0].begin < 0 or self.reps[-1].end > self.length):
            raise MarksError(f"Marks must lie within the recording (samples 0 to {self.length}).")
        ids = [rep.id for rep in self.reps]
        if len(set(ids)) != len(ids) or any(not 0 < rep_id < self.next_id for rep_id in ids):
            raise MarksError("Every rep needs an id of its own below the next one.")

    def rep(self, rep_id: int) -> Rep:
        """The rep with an id; raises MarksError if there is none."""
        for rep in self.reps:
            if rep.id == rep_id:
                return rep
        raise MarksError(f"There is no rep with id {rep_id} in this trial.")

    def numbers(self) -> dict[int, int]:
        """Rep id to rep number: its place among the complete reps as performed, from 1.

        Exclusion does not renumber; incomplete reps have no number.
        """
        complete = [rep.id for rep in self.reps if rep.complete]
        return {rep_id: number for number, rep_id in enumerate(complete, start=1)}


def third_names(phase: Phase, thirds_rule: str) -> tuple[str, str, str]:
    """Names of a phase's thirds in order of time: by height, or first, second, last where cut by time."""
    if thirds_rule == "time" or phase.name not in (LOWERING, RAISING):
        return ("first", "second", "last")
    return ("lower", "middle", "upper") if phase.name == RAISING else ("upper", "middle", "lower")
