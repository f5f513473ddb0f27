"""A movement trace made ready for finding phases: filtered, turned so that larger is raised, on the clock."""

from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from math import ceil, floor, isfinite

import numpy as np

from phasemark.model.clock import Alignment, Rate, nearest_sample
from phasemark.model.errors import BadData
from phasemark.model.recording import MovementTrace, Samples, Up
from phasemark.model.settings import PhaseSettings
from phasemark.signal.butterworth import low_pass
from phasemark.signal.gaps import valid_pieces

SHORT_GAP_S = 0.2
"""A gap up to this long (s) cannot hide a turning there and back; it is bridged, and said."""
CONSISTENT_GAP_S = 0.5
"""A gap up to this long (s) is bridged where the movement goes on through it as it came."""
MANY = 100_000
"""So many samples tell the range and noise of a long trace; more are thinned to it."""


@dataclass(frozen=True, slots=True, eq=False)
class Movement:
    """A movement trace ready for phases.

    position: filtered values, shape (samples,), in the trace's unit, NaN where missing; height: position
    turned so that larger is raised; speed: rate of change of height (unit/s); rate, alignment: where a
    sample lies in time; clock, length: the recording's clock (Hz) and length (clock samples); pieces:
    runs [begin, end) of samples that are there; bridged: runs [begin, end) that were missing and are
    interpolated in position; noise: RMS of what the filter took away; up: which way of position is raising;
    origin, step: clock sample b lies at place origin + step * b of the trace.
    """

    position: Samples
    height: Samples
    speed: Samples
    rate: Rate
    alignment: Alignment
    clock: Rate
    length: int
    pieces: tuple[tuple[int, int], ...] = ()
    bridged: tuple[tuple[int, int], ...] = ()
    noise: float = 0.0
    up: Up = Up.LARGER
    origin: float = field(init=False)
    step: float = field(init=False)

    def __post_init__(self) -> None:
        # Two floats, as they are asked for thousands of times while a boundary is dragged.
        alignment = self.alignment
        object.__setattr__(self, "origin", float(-alignment.shift_s * self.rate / alignment.ratio))
        object.__setattr__(self, "step", float(self.rate / alignment.ratio / self.clock))

    @property
    def sample_s(self) -> float:
        """Time (s) from one sample of the trace to the next."""
        return float(self.alignment.ratio / self.rate)


def without_spikes(values: Samples) -> Samples:
    """The values with single samples missing that jump far away and come straight back.

    A spike lies off the middle of its neighbours by more than 15 % of the range (1st to 99th percentile), ten
    times the usual such distance, and five times what its neighbours differ.
    """
    if np.count_nonzero(np.isfinite(values)) < 10:
        return values
    away = np.abs(values[1:-1] - (values[:-2] + values[2:]) / 2)
    across = np.abs(values[2:] - values[:-2])
    every = 1 + len(values) // MANY
    low, high = np.nanpercentile(values[::every], (1, 99)) if np.isfinite(values[::every]).any() else (0.0, 0.0)
    usual = float(np.nanmedian(away[::every])) if np.isfinite(away[::every]).any() else 0.0
    spikes = np.flatnonzero((away > max(0.15 * float(high - low), 10 * usual)) & (away > 5 * across)) + 1
    if len(spikes) == 0:
        return values
    kept = values.copy()
    kept[spikes] = np.nan
    return kept


def _slope(values: Samples, begin: int, end: int) -> float:
    """Mean change a sample over the valid samples of [begin, end)."""
    places = np.flatnonzero(np.isfinite(values[begin:end])) + begin
    return float(values[places[-1]] - values[places[0]]) / int(places[-1] - places[0]) if len(places) > 1 else 0.0


def _goes_on(values: Samples, begin: int, end: int, reach: int) -> bool:
    """Whether a gap [begin, end) is crossed as it was entered and left: one way at a like speed, or at rest."""
    before = _slope(values, max(0, begin - reach), begin)
    after = _slope(values, end, min(len(values), end + reach))
    across = float(values[end] - values[begin - 1]) / (end - begin + 1)
    low, high = np.nanpercentile(values, (5, 95))
    if max(abs(before), abs(after), abs(across)) < 0.02 * float(high - low) / reach:
        return True
    slow, fast = sorted((abs(before), abs(after)))
    return across * before > 0 and across * after > 0 and slow / 2 <= abs(across) <= 2 * fast


def _bridge(values: Samples, step_s: float) -> tuple[Samples, tuple[tuple[int, int], ...]]:
    """The values with short gaps interpolated linearly, and which gaps those were."""
    pieces = valid_pieces(values)
    filled = values
    bridged = []
    reach = max(2, round(0.15 / step_s))
    for (_, gap), (resumed, _) in pairwise(pieces):
        missing_s = (resumed - gap) * step_s
        if missing_s > CONSISTENT_GAP_S or (missing_s > SHORT_GAP_S and not _goes_on(values, gap, resumed, reach)):
            continue
        if filled is values:
            filled = values.copy()
        filled[gap:resumed] = np.interp(np.arange(gap, resumed), (gap - 1, resumed), (values[gap - 1], values[resumed]))
        bridged.append((gap, resumed))
    return filled, tuple(bridged)


def usable_lowpass(rate: Rate, settings: PhaseSettings) -> float | None:
    """The low-pass (Hz) of the movement trace; None where it is off or the trace is too slow to need one."""
    cutoff = settings.movement_lowpass_hz
    return None if cutoff is None or cutoff >= 0.45 * float(rate) else cutoff


def filtered_movement(
    values: Samples, trace: MovementTrace, clock: Rate, length: int, settings: PhaseSettings
) -> Movement:
    """A trace bridged over short gaps, low-passed with zero phase piece by piece, and its speed.

    values: shape (samples,), NaN where missing. A gap of up to 0.2 s, and up to 0.5 s where the movement
    goes on through it as it came, is interpolated linearly and kept in `bridged`; any other gap stays.
    Single spikes count as missing.

    Raises:
        BadData: the values are not one row of numbers.
    """
    raw = np.asarray(values, dtype=np.float64)
    if raw.ndim != 1:
        raise BadData(f"A movement trace is one row of values, not {raw.ndim} dimensions.")
    step_s = float(trace.alignment.ratio / trace.rate)
    raw = np.where(np.isfinite(raw), raw, np.nan)
    filled, bridged = _bridge(without_spikes(raw), step_s)
    cutoff = usable_lowpass(trace.rate / trace.alignment.ratio, settings)
    position = (
        filled.copy()
        if cutoff is None
        else low_pass(filled, trace.rate / trace.alignment.ratio, cutoff, settings.movement_order)
    )
    height = position if trace.up is Up.LARGER else -position
    pieces = tuple((a, b) for a, b in valid_pieces(position) if b - a >= 3)
    speed = np.full(len(height), np.nan)
    for begin, end in pieces:
        speed[begin:end] = np.gradient(height[begin:end], step_s)
    residual = raw - position
    residual = residual[np.isfinite(residual)]
    noise = float(np.sqrt(np.mean(residual**2))) if len(residual) else 0.0
    for array in (position, height, speed):
        array.flags.writeable = False
    return Movement(
        position, height, speed, trace.rate, trace.alignment, clock, length, pieces, bridged, noise, trace.up
    )


def clock_sample(movement: Movement, index: float) -> int:
    """The clock sample nearest to a place between samples of the trace, kept within the recording."""
    place = movement.alignment.shift_s + movement.alignment.ratio * Fraction(index) / movement.rate
    return min(max(nearest_sample(place, movement.clock), 0), movement.length)


def trace_index(movement: Movement, sample: int) -> float:
    """Where a clock sample lies between the samples of the trace: a place to interpolate at, not an index."""
    return movement.origin + sample * movement.step


def height_at(movement: Movement, sample: int) -> float:
    """Height at a clock sample, linear between samples of the trace; NaN where the trace is missing.

    Up to one sample beyond either end of the trace counts as its end.
    """
    place = trace_index(movement, sample)
    last = len(movement.height) - 1
    if last < 0 or not -1 <= place <= last + 1:
        return float("nan")
    place = min(max(place, 0.0), float(last))
    low = int(place)
    here = float(movement.height[low])
    if low == place:
        return here
    there = float(movement.height[low + 1])
    if not isfinite(here) or not isfinite(there):
        return here if place - low < 0.5 else there
    return here + (there - here) * (place - low)


def inside(movement: Movement, begin: int, end: int) -> tuple[int, int]:
    """The samples [first, last) of the trace whose times lie within two clock samples, both included."""
    first = ceil(trace_index(movement, begin) - 1e-6)
    last = floor(trace_index(movement, end) + 1e-6) + 1
    size = len(movement.height)
    first = min(max(first, 0), size)
    return first, min(max(last, first), size)
