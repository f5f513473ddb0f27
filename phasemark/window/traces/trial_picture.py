"""What the traces of one trial look like, as a frozen value: lanes, marks and levels. No Qt.

A picture is all that TrialPlot knows. Whoever owns the study makes one; the plot draws it and hands
back gestures, which name a boundary by its phasemark.model.mark_edits.Address.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from phasemark.model.clock import ALIGNED, Alignment, Rate, seconds
from phasemark.model.marks import Marks
from phasemark.signal.pyramid import Pyramid

Levels = Mapping[int, tuple[float, float]]
"""Two third levels by rep id, in the unit of the first movement lane."""


class LaneKind(Enum):
    """What a lane shows."""

    MOVEMENT = "movement"
    MUSCLE = "muscle"


@dataclass(frozen=True, slots=True, eq=False)
class Lane:
    """One trace: the recorded signal, and in front of it the filtered one or the envelope where there is one.

    label names it (muscle with its side, or what the movement trace measures); unit is what the ticks are in.
    Values of raw are drawn as raw_gain * value + raw_offset, so that a pyramid kept as recorded (in volts or
    counts, with its offset) shares a scale with an envelope in unit. limits fixes the lowest and highest
    value of the scale; None fits the lane to its values. downward draws larger values lower, for a movement
    trace in which raising makes the values smaller: raised is then on top. covered shows no number of the lane: marks
    are then made blind. edges are stretches [begin, end) of samples where filtered values rest partly on reflections.
    """

    label: str
    unit: str
    rate: Rate
    raw: Pyramid
    envelope: Pyramid | None = None
    alignment: Alignment = ALIGNED
    kind: LaneKind = LaneKind.MUSCLE
    raw_gain: float = 1.0
    raw_offset: float = 0.0
    limits: tuple[float, float] | None = None
    downward: bool = False
    excluded: bool = False
    covered: bool = False
    edges: tuple[tuple[int, int], ...] = ()

    @property
    def seconds_per_sample(self) -> Fraction:
        """Time (s) from one sample to the next on the recording's clock."""
        return self.alignment.ratio / self.rate

    def time_of(self, index: int) -> float:
        """Time (s) of a sample; for drawing, never to find samples of a segment."""
        return float(self.alignment.shift_s + index * self.seconds_per_sample)

    def position_at(self, time_s: float) -> float:
        """Where a time (s) falls among the samples, as a fractional index; for drawing only."""
        return (time_s - float(self.alignment.shift_s)) / float(self.seconds_per_sample)


@dataclass(frozen=True, slots=True)
class PlacedStretch:
    """Clock samples begin <= i < end that a person placed for a purpose, in words; lane None is every muscle's."""

    begin: int
    end: int
    words: str
    lane: int | None = None


@dataclass(frozen=True, slots=True, eq=False)
class TrialPicture:
    """All that is drawn of one trial. length is in samples of clock (Hz), the clock that marks count in.

    Lanes are drawn in their order, from top to bottom; levels belong to the first movement lane.
    """

    lanes: tuple[Lane, ...]
    clock: Rate
    length: int
    marks: Marks
    levels: Levels | None = None
    stretches: tuple[PlacedStretch, ...] = ()

    @property
    def duration_s(self) -> float:
        """Length of the recording (s)."""
        return seconds(self.length, self.clock)


@dataclass(frozen=True, slots=True)
class LanePlace:
    """A stretch (s) of a lane, counted from the top, with what it is called; chosen is the one that is looked at.

    whole: all of the lane is meant, which is named and not hatched.
    """

    lane: int
    begin_s: float
    end_s: float
    words: str
    chosen: bool = False
    whole: bool = False
