"""Mean paired differences and their intervals of many comparisons at once, on arrays."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from phasemark.model.errors import BadCall
from phasemark.statistics.values import Values, check_share


@dataclass(frozen=True, slots=True)
class Differences:
    """Mean of a - b over participants with limits of its interval; each has the shape of the comparisons.

    n counts the participants with both; limits are nan under two of them, the mean without any.
    """

    n: NDArray[np.int64]
    mean: Values
    low: Values
    high: Values


def differences(a: ArrayLike, b: ArrayLike, *, level: float = 0.95) -> Differences:
    """Paired differences a - b of shape (..., participants), nan where a participant lacks one of the two.

    The same as `statistics.paired.paired_t` on the complete pairs of each comparison: mean +- t(n - 1) SD / sqrt(n)
    (Student 1908, Biometrika 6:1-25), for thousands of them in one go.

    Raises:
        BadCall: the shapes differ, or the level does not lie between 0 and 1.
    """
    check_share(level, "confidence level")
    of_a, of_b = np.asarray(a, dtype=np.float64), np.asarray(b, dtype=np.float64)
    if of_a.shape != of_b.shape or of_a.ndim == 0:
        raise BadCall("Paired differences need both conditions of the same participants.")
    each = of_a - of_b
    there = np.isfinite(each)
    n = np.count_nonzero(there, axis=-1)
    counted = np.maximum(n, 1)
    mean = np.where(there, each, 0.0).sum(axis=-1) / counted
    from_mean = np.where(there, each - mean[..., np.newaxis], 0.0)
    squares = (from_mean**2).sum(axis=-1) - from_mean.sum(axis=-1) ** 2 / counted
    df = np.maximum(n - 1, 1)
    half = special.stdtrit(df, (1 + level) / 2) * np.sqrt(np.maximum(squares, 0.0) / df / counted)
    half = np.where(n > 1, half, np.nan)
    mean = np.where(n > 0, mean, np.nan)
    return Differences(n, mean, mean - half, mean + half)
