"""Stretches of a trial that a person marked for a purpose, and findings about its signals that were accepted."""

from dataclasses import dataclass
from enum import StrEnum

from phasemark.model.errors import BadCall
from phasemark.model.marks import Decision
from phasemark.model.recording import Side


class Purpose(StrEnum):
    """What an interval is for."""

    BASELINE = "baseline"
    PLATEAU = "plateau"
    HOLD = "hold"


@dataclass(frozen=True, slots=True)
class Interval:
    """Samples begin <= i < end of the recording's clock, for one muscle or ('' ) for all of the trial."""

    purpose: Purpose
    begin: int
    end: int
    decision: Decision
    muscle: str = ""
    side: Side = Side.NONE

    def __post_init__(self) -> None:
        if not 0 <= self.begin < self.end:
            raise BadCall(
                f"An interval must rise and not begin before the recording, not run {self.begin} to {self.end}."
            )

    def is_for(self, muscle: str, side: Side) -> bool:
        """Whether it concerns a channel."""
        return not self.muscle or (self.muscle, self.side) == (muscle, side)


@dataclass(frozen=True, slots=True)
class AcceptedFinding:
    """A finding of a quality check that a person looked at and accepted, with the reason. muscle '' is the movement."""

    check: str
    muscle: str
    side: Side
    decision: Decision
