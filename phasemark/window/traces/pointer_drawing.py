"""What is drawn at the mouse: cursor, what a dragged boundary may snap to, a stretch being chosen. No Qt."""

from dataclasses import dataclass

from phasemark.model.clock import Rate, seconds
from phasemark.phases.snapping import Candidate, snap
from phasemark.window.traces.mark_words import time_text
from phasemark.window.traces.tick_values import MINUS

SNAP_PX = 8.0
"""A dragged boundary snaps to what is so near (logical px)."""
COMING_PX = 36.0
"""What it will snap to is shown, with its word, from so far away (logical px)."""


@dataclass(frozen=True, slots=True)
class Pointer:
    """One frozen value that the pointer's overlay paints; samples are of the recording's clock.

    cursor: the sample under the mouse; dots: heights (logical px) of the values there; snaps: what a dragged boundary
    may snap to, start: where it was taken from, near: the sample the mouse has dragged it to, target: what it has
    snapped to; stretch: its two ends; prompt: what is to be chosen.
    """

    cursor: int | None = None
    dots: tuple[float, ...] = ()
    snaps: tuple[Candidate, ...] = ()
    start: int | None = None
    near: int | None = None
    target: Candidate | None = None
    free: bool = False
    stretch: tuple[int, int] | None = None
    prompt: str = ""

    def coming(self, samples_per_px: float) -> Candidate | None:
        """What the boundary has snapped to or, where it is near enough to see it come, will snap to."""
        if self.target is not None or self.near is None or self.free:
            return self.target
        return snap(self.near, self.snaps, COMING_PX * samples_per_px)[1]


def shift_text(start: int, now: int, clock: Rate) -> str:
    """How far a boundary was moved ('+0.250 s', '−0.012 s')."""
    return f"{'+' if now >= start else MINUS}{time_text(abs(now - start), clock)}"


def length_text(stretch: tuple[int, int], clock: Rate) -> str:
    """How long a stretch lasts ('1.250 s')."""
    return f"{seconds(max(stretch) - min(stretch), clock):.3f} s"
