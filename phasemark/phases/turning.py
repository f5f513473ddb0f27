"""Turning points of a movement by prominence, and the range of the set that the prominence is a share of."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from phasemark.model.recording import Samples
from phasemark.model.settings import PhaseSettings
from phasemark.phases.movement import Movement

SET_RATIO = 1.5
"""A first or last swing this much larger than the median of the others is movement before or after the set."""


@dataclass(frozen=True, slots=True)
class Swing:
    """From one turning point to the next: samples of the trace, and the piece of the trace they lie in."""

    begin: int
    end: int
    rising: bool
    size: float
    piece: tuple[int, int]


def local_extremes(height: Samples) -> NDArray[np.intp]:
    """Indices of the ends and of all local extremes of a trace without gaps (a flat top counts once, at its middle)."""
    steps = np.diff(height)
    moving = np.flatnonzero(steps)
    if len(moving) == 0:
        return np.array([0, len(height) - 1])
    turns = np.flatnonzero(np.diff(np.signbit(steps[moving])))
    middles = (moving[turns] + 1 + moving[turns + 1]) // 2
    return np.concatenate(([0], middles, [len(height) - 1]))


def alternate(values: Sequence[float], least: float) -> list[int]:
    """Places of the alternating highest and lowest values whose swings are all at least so large.

    Ends count as extremes. Fewer than two places mean that nothing moves that far.
    """
    low = high = 0
    kept: list[int] = []
    rising: bool | None = None
    for place, value in enumerate(values):
        if value > values[high]:
            high = place
        if value < values[low]:
            low = place
        if rising is None:
            if values[high] - values[low] >= least:
                rising = high > low
                kept.append(low if rising else high)
                low = high = place
        elif rising and values[high] - value >= least:
            kept.append(high)
            rising, low = False, place
        elif not rising and value - values[low] >= least:
            kept.append(low)
            rising, high = True, place
        if rising:
            low = place
        elif rising is False:
            high = place
    if rising is not None:
        kept.append(high if rising else low)
    return kept


def _swings_of(points: list[tuple[NDArray[np.intp], list[float], tuple[int, int]]], least: float) -> list[Swing]:
    swings = []
    for indices, values, piece in points:
        for a, b in pairwise(alternate(values, least)):
            size = values[b] - values[a]
            swings.append(Swing(int(indices[a]), int(indices[b]), size > 0, abs(size), piece))
    return swings


def typical_range(sizes: Sequence[float]) -> float:
    """The range of the set: upper quartile of its swings, without larger ones at either end of the trial."""
    left = list(sizes)
    while len(left) > 2:
        middle = float(np.median(left))
        outer = max(left[0], left[-1])
        if outer <= SET_RATIO * middle:
            break
        left.pop(0 if left[0] == outer else -1)
    return float(np.percentile(left, 75))


def find_swings(movement: Movement, settings: PhaseSettings) -> tuple[Swing, ...]:
    """The swings between turning points that stand out by the prominence."""
    points = []
    for begin, end in movement.pieces:
        indices = local_extremes(movement.height[begin:end]) + begin
        points.append((indices, movement.height[indices].tolist(), (begin, end)))
    if not points:
        return ()
    every = np.concatenate([movement.height[a:b] for a, b in movement.pieces])
    full = float(every.max() - every.min())
    if full <= 0:
        return ()
    span = full
    for _ in range(20):
        swings = _swings_of(points, settings.prominence * span)
        if not swings:
            return ()
        new = min(span, typical_range([s.size for s in swings]))
        if new > 0.98 * span:
            break
        span = new
    return tuple(swings)
