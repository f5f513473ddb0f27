"""The height of the bar as an exact function of time, and where it crosses a level.

A path is a row of stretches that meet end to end. Begin and end of a stretch are whole samples of the
recording's clock, so the true boundaries of phases are exact; crossings lie between samples.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from phasemark.model.recording import Samples


class Moving(StrEnum):
    """What the bar does in a stretch."""

    TOP = "still at the top"
    BOTTOM = "still at the bottom"
    LOWERING = "lowering"
    RAISING = "raising"
    FALSE_START = "false start"


@dataclass(frozen=True, slots=True)
class Stretch:
    """One stretch of a path from begin_s to end_s (s) and from one height to another (m).

    A phase follows a raised cosine of warped time (skew: earlier or later peak of speed; stick: slower in the
    middle); dip is the depth (m) of a false start or the sway (m) of standing still; low and high are the range
    (m) of the rep it belongs to, and rep is that rep's number (0: belongs to none that is complete).
    """

    moving: Moving
    begin_s: float
    end_s: float
    start: float
    stop: float
    low: float
    high: float
    rep: int = 0
    skew: float = 0.0
    stick: float = 0.0
    dip: float = 0.0

    @property
    def is_phase(self) -> bool:
        """Whether the bar is lowered or raised here."""
        return self.moving in (Moving.LOWERING, Moving.RAISING)

    def share(self, elapsed: Samples) -> Samples:
        """Share of the way from start to stop after a share (0 to 1) of the stretch's time; rises throughout."""
        bend = self.skew * np.sin(np.pi * elapsed) / np.pi + self.stick * np.sin(2 * np.pi * elapsed) / (2 * np.pi)
        return np.asarray((1 - np.cos(np.pi * (elapsed + bend))) / 2, dtype=np.float64)

    def height(self, times: Samples) -> Samples:
        """Height (m) at times (s) within the stretch."""
        elapsed = (times - self.begin_s) / (self.end_s - self.begin_s)
        way = self.start + (self.stop - self.start) * self.share(elapsed)
        if self.moving is Moving.FALSE_START:
            return np.asarray(way - self.dip * np.sin(np.pi * elapsed) ** 2)
        if self.is_phase:
            return way
        sway = np.sin(np.pi * elapsed) ** 2 * np.sin(2 * np.pi * 0.4 * (times - self.begin_s))
        return np.asarray(way + self.dip * sway)

    def crossing(self, level: float) -> float:
        """Time (s) at which a phase crosses a level (m), its begin or end where it never does; by bisection."""
        wanted = (level - self.start) / (self.stop - self.start)
        if wanted <= 0 or wanted >= 1:
            return self.begin_s if wanted <= 0 else self.end_s
        low, high = 0.0, 1.0
        for _ in range(50):
            middle = (low + high) / 2
            below = self.share(np.array([middle]))[0] < wanted
            low, high = (middle, high) if below else (low, middle)
        return self.begin_s + (self.end_s - self.begin_s) * low


@dataclass(frozen=True, slots=True)
class BarPath:
    """Stretches in order of time that cover a recording from 0 to length_s, and may reach beyond both ends."""

    stretches: tuple[Stretch, ...]
    length_s: float

    def pieces(self, times: Samples) -> list[tuple[Stretch, slice]]:
        """Each stretch with the slice of rising times (s) that lie in it."""
        starts = np.searchsorted(times, [s.begin_s for s in self.stretches], side="left")
        stops = [*starts[1:], len(times)]
        return [(s, slice(a, b)) for s, a, b in zip(self.stretches, starts, stops, strict=True) if a < b]

    def height(self, times: Samples) -> Samples:
        """Height of the bar (m) at rising times (s)."""
        values = np.empty_like(times)
        for stretch, here in self.pieces(times):
            values[here] = stretch.height(times[here])
        return values
