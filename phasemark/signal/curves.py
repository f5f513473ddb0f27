"""Curves over 0-100 % of a phase, their mean and SD over repetitions, and how well they repeat.

For pictures and for measures of repeatability only: amplitudes of segments are always computed on the original
samples, never on a curve that was resampled.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import nan, sqrt

import numpy as np

from phasemark.model.recording import Samples

POINTS = 101


def over_time(values: Samples) -> Samples:
    """The values of a phase, shape (samples,), at 0, 1, ... 100 % of its time, shape (101,).

    Linear interpolation; first and last sample stay as they are, 101 samples come back unchanged, and a point next
    to a missing sample is missing. All missing where there are fewer than two samples.
    """
    if len(values) < 2:
        return np.full(POINTS, nan)
    if len(values) == POINTS:
        return values.copy()
    places = np.linspace(0, len(values) - 1, POINTS)
    return _at(values, places)


def over_range(values: Samples, heights: Samples, *, rising: bool) -> Samples:
    """The values of a phase where its movement first reaches 0, 1, ... 100 % of its range of motion, shape (101,).

    values and heights have shape (samples,) at the same times. 0 % is where the phase begins to move and 100 %
    the other end of its range: the lowest height at 0 % of a raising phase (rising), the highest at 0 % of a
    lowering one. The first crossing of each level counts, as for thirds. Missing where the movement is.
    """
    present = np.isfinite(heights)
    if np.count_nonzero(present) < 2:
        return np.full(POINTS, nan)
    path = heights if rising else -heights
    low, high = float(np.nanmin(path)), float(np.nanmax(path))
    if high <= low:
        return np.full(POINTS, nan)
    reached = np.maximum.accumulate(np.where(present, path, -np.inf))
    levels = low + (high - low) * np.linspace(0, 1, POINTS)
    after = np.minimum(np.searchsorted(reached, levels, side="left"), len(path) - 1)
    before = np.maximum(after - 1, 0)
    step = path[after] - path[before]
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where((after > 0) & (step > 0), (levels - path[before]) / step, 1.0)
    return _at(values, before + np.clip(share, 0.0, 1.0) * (after - before))


def _at(values: Samples, places: Samples) -> Samples:
    low = np.minimum(places.astype(np.int64), len(values) - 1)
    high = np.minimum(low + 1, len(values) - 1)
    share = places - low
    between = values[low] * (1 - share) + values[high] * share
    return np.asarray(np.where(share == 0, values[low], between), dtype=np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Ensemble:
    """Mean and SD (n - 1) of curves at each point, shape (points,), how many curves there are, and how they repeat.

    variance_ratio is 0 for identical curves and about 1, sometimes above, for curves with nothing in common;
    variation_percent is the coefficient of variation of the whole curve. nan where fewer than two curves.
    """

    mean: Samples
    sd: Samples
    n: int
    variance_ratio: float
    variation_percent: float


def ensemble(curves: Sequence[Samples]) -> Ensemble:
    """Mean curve, SD, variance ratio and coefficient of variation over repetitions, each of shape (points,).

    Points that are missing in any curve have no mean and are left out of the two ratios.

    CV = sqrt(mean of the squared SDs) / mean of |mean curve| * 100 % (Winter 1984, Hum Mov Sci 3:51-76);
    VR = [sum (x - point mean)^2 / (k (n - 1))] / [sum (x - grand mean)^2 / (k n - 1)], k points and n curves (Hershler
    & Milner 1978, IEEE TBME 25:413-420). Formulas from memory of these papers; VR is not cut off at 1.
    """
    n = len(curves)
    if n == 0:
        return Ensemble(np.full(POINTS, nan), np.full(POINTS, nan), 0, nan, nan)
    held = np.array(curves, dtype=np.float64)
    mean = held.mean(axis=0)
    if n < 2:
        return Ensemble(mean, np.full(held.shape[1], nan), n, nan, nan)
    sd = held.std(axis=0, ddof=1)
    there = np.isfinite(mean)
    k = int(there.sum())
    if k == 0:
        return Ensemble(mean, sd, n, nan, nan)
    complete, means = held[:, there], mean[there]
    level = float(np.mean(np.abs(means)))
    variation = nan if level == 0 else 100 * sqrt(float(np.mean(sd[there] ** 2))) / level
    within = float(np.sum((complete - means) ** 2)) / (k * (n - 1))
    total = float(np.sum((complete - complete.mean()) ** 2)) / (k * n - 1)
    return Ensemble(mean, sd, n, nan if total == 0 else within / total, variation)
