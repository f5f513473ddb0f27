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
"""A first or last swing this much larger than the upper quartile of the others is movement before or after the set."""

SET_SHARE = 0.18
"""A set beside a larger movement has swings of at least this share of it in the mean; steps and sway have less."""
ALIKE = 0.35
"""A set's swings differ by less than this (SD over mean) where a set is sought beside a larger movement."""

NOISE_RATIO = 4.0
"""A set's range is at least this many times the RMS of what the filter took away."""


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


def _first_swing(values: Sequence[float], least: float) -> tuple[int, int] | None:
    """Places of the first highest and lowest value that lie so far apart, in order of time."""
    low = high = 0
    for place, value in enumerate(values):
        low = place if value < values[low] else low
        high = place if value > values[high] else high
        if values[high] - values[low] >= least:
            return min(low, high), max(low, high)
    return None


def alternate(values: Sequence[float], least: float) -> list[int]:
    """Places of the alternating highest and lowest values whose swings are all at least so large.

    Ends count as extremes. No places mean that nothing moves that far.
    """
    first = _first_swing(values, least)
    if first is None:
        return []
    kept, extreme = [first[0]], first[1]
    sign = 1.0 if values[extreme] > values[first[0]] else -1.0
    for place in range(extreme + 1, len(values)):
        ahead = sign * (values[place] - values[extreme])
        if ahead > 0:
            extreme = place
        elif -ahead >= least:
            kept.append(extreme)
            extreme, sign = place, -sign
    return [*kept, extreme]


Extremes = list[tuple[NDArray[np.intp], list[float], tuple[int, int]]]


def _swings_of(extremes: Extremes, least: float) -> list[Swing]:
    swings = []
    for indices, values, piece in extremes:
        for a, b in pairwise(alternate(values, least)):
            size = values[b] - values[a]
            swings.append(Swing(int(indices[a]), int(indices[b]), size > 0, abs(size), piece))
    return swings


def without_outer(sizes: Sequence[float]) -> tuple[int, int]:
    """The swings [first, last) that belong to the set: without much larger ones at either end of the trial."""
    first, last = 0, len(sizes)
    while last - first > 2:
        inner = sizes[first + 1 : last - 1] if last - first > 3 else sizes[first:last]
        most = SET_RATIO * float(np.percentile(inner, 75))
        if sizes[first] > most and sizes[first] >= sizes[last - 1]:
            first += 1
        elif sizes[last - 1] > most:
            last -= 1
        else:
            break
    return first, last


def set_range(swings: Sequence[Swing]) -> float:
    """The range of the set: upper quartile of its swings."""
    sizes = [swing.size for swing in swings]
    first, last = without_outer(sizes)
    return float(np.percentile(sizes[first:last], 75))


def _settle(extremes: Extremes, span: float, prominence: float) -> tuple[list[Swing], float]:
    """Swings that stand out by the prominence of their own set's range, from a first guess of it downward."""
    swings = _swings_of(extremes, prominence * span)
    while swings:
        found = set_range(swings)
        if found > 0.98 * span:
            break
        span = found
        swings = _swings_of(extremes, prominence * span)
    return swings, span


def _is_movement(swings: Sequence[Swing], movement: Movement) -> bool:
    """Whether swings are movement at all: clear of what the filter took away, and not as quick as noise."""
    if not swings:
        return False
    seconds = float(np.median([swing.end - swing.begin for swing in swings])) * movement.sample_s
    return set_range(swings) >= NOISE_RATIO * movement.noise and seconds >= max(0.12, 2.5 * movement.sample_s)


def _is_set(swings: Sequence[Swing], least: int, full: float, movement: Movement) -> bool:
    """Whether swings, without much larger ones, repeat like a set: enough, alike, above noise, not too quick."""
    if len(swings) < least:
        return False
    first, last = without_outer([swing.size for swing in swings])
    most = SET_RATIO * set_range(swings)
    inner = [swing for swing in swings[first:last] if swing.size <= most]
    if len(inner) < least:
        return False
    sizes = np.array([swing.size for swing in inner])
    seconds = np.array([swing.end - swing.begin for swing in inner]) * movement.sample_s
    return bool(
        sizes.mean() >= SET_SHARE * full
        and sizes.std() <= ALIKE * sizes.mean()
        and _is_movement(inner, movement)
        and np.median(seconds) >= 0.3
    )


def find_swings(movement: Movement, settings: PhaseSettings) -> tuple[Swing, ...]:
    """The swings between turning points that stand out by the prominence, a share of the set's range.

    1. The range begins as that of the whole trial, and comes down to that of the swings found with it
       (upper quartile; much larger swings before and after the set are left aside), until it stays.
    2. Then a smaller range is sought in which a set of twice as many and like movements appears: then the
       large ones were the way to the set and from it.
    """
    extremes = []
    for begin, end in movement.pieces:
        indices = local_extremes(movement.height[begin:end]) + begin
        extremes.append((indices, movement.height[indices].tolist(), (begin, end)))
    if not extremes:
        return ()
    full = max(max(values) for _, values, _ in extremes) - min(min(values) for _, values, _ in extremes)
    if full <= 0:
        return ()
    swings, span = _settle(extremes, full, settings.prominence)
    if not _is_movement(swings, movement):
        return ()
    more = max(4, len(swings) + 2, 2 * len(swings))
    while span > SET_SHARE * full:
        span *= 0.7
        found, _ = _settle(extremes, span, settings.prominence)
        if _is_set(found, more, full, movement):
            return tuple(found)
    return tuple(swings)
