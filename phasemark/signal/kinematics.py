"""Range of motion, speed and the sticking region of a stretch of movement."""

from dataclasses import dataclass
from math import nan

import numpy as np

from phasemark.model.recording import Samples

STICKING_DIP = 0.05
"""A dip of speed counts as a sticking region where it falls below the first peak by this share of the stretch's peak
speed, and speed rises again by as much after it (common practice, no source for the share)."""


@dataclass(frozen=True, slots=True)
class StickingRegion:
    """From the first peak of raising speed to the lowest that follows: places (samples of the trace) and speeds."""

    begin: int
    end: int
    peak_speed: float
    least_speed: float


@dataclass(frozen=True, slots=True)
class Kinematics:
    """Of a stretch: range of motion (unit of the trace), mean and peak speed (unit/s), place of the peak (sample).

    nan, and a place of -1, where the trace is missing.
    """

    range_of_motion: float
    mean_speed: float
    peak_speed: float
    peak_at: int


MISSING = Kinematics(nan, nan, nan, -1)


def kinematics(height: Samples, speed: Samples, step_s: float) -> Kinematics:
    """Range of motion, mean and peak speed of a stretch of the filtered trace.

    height (unit) and speed (unit/s), shape (samples,), are the samples of the stretch, step_s (s) apart. The range is
    highest minus lowest height; the mean speed is the distance between the first and last sample over the time
    between them, without sign; the peak is the highest speed without sign. Under 90 % of valid samples all is missing.
    """
    present = np.flatnonzero(np.isfinite(height))
    if len(present) < 2 or 10 * len(present) < 9 * len(height):
        return MISSING
    first, last = int(present[0]), int(present[-1])
    valid = height[present]
    moved = float(height[last] - height[first])
    fast = np.abs(speed)
    if not np.isfinite(fast).any():
        return Kinematics(float(valid.max() - valid.min()), abs(moved) / ((last - first) * step_s), nan, -1)
    peak = int(np.nanargmax(fast))
    return Kinematics(float(valid.max() - valid.min()), abs(moved) / ((last - first) * step_s), float(fast[peak]), peak)


def sticking_region(speed: Samples) -> StickingRegion | None:
    """Where a raising phase's speed first peaks, dips and rises again; None where there is no such place.

    speed (unit/s, raising above zero), shape (samples,), of the filtered trace over one raising phase. The sticking
    region runs from the first peak of upward speed to the following minimum (definition as in van den Tillaar,
    Andersen & Saeterbakken 2014, J Hum Kinet 42:63-71). Peaks and dips of under 5 % of the phase's peak speed are
    taken for ripple; a phase whose speed peaks once has none.
    """
    from scipy.signal import find_peaks

    if len(speed) < 5 or not np.isfinite(speed).all():
        return None
    least = STICKING_DIP * float(speed.max())
    if least <= 0:
        return None
    # Speed begins and ends near zero; a bound on either side lets a peak at the very edge stand out as well.
    bounded = np.concatenate(([0.0], speed, [0.0]))
    peaks = find_peaks(bounded, prominence=least)[0] - 1
    if len(peaks) < 2:
        return None
    first, second = int(peaks[0]), int(peaks[1])
    dip = first + int(np.argmin(speed[first : second + 1]))
    return StickingRegion(first, dip, float(speed[first]), float(speed[dip]))


@dataclass(frozen=True, slots=True)
class Motion:
    """Motion of one segment, times in seconds from the recording's begin, speeds in the trace's unit per second.

    sticking_begin_s and sticking_end_s are the first peak of raising speed and the lowest speed after it, nan where
    the speed peaks once or the segment is no raising phase; nan wherever the trace is missing.
    """

    range_of_motion: float = nan
    mean_speed: float = nan
    peak_speed: float = nan
    peak_speed_at_s: float = nan
    sticking_begin_s: float = nan
    sticking_end_s: float = nan
    sticking_peak_speed: float = nan
    sticking_least_speed: float = nan
