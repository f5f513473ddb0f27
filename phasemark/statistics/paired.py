"""Two conditions of the same participants: the paired difference with its interval and t test."""

from dataclasses import dataclass
from math import nan

import numpy as np
from numpy.typing import ArrayLike

from phasemark.statistics.mean_and_sd import mean_and_sd
from phasemark.statistics.one_sample import OneSampleT, t_of_mean
from phasemark.statistics.values import Values, magnitude, pairs, without_spread


@dataclass(frozen=True, slots=True)
class PairedT:
    """Conditions a and b over the same participants, and the test of their difference a - b.

    SDs are between participants (n - 1); correlation is Pearson's between the conditions, nan where one of
    them has no spread. difference.missing says what could not be computed.
    """

    mean_a: float
    sd_a: float
    mean_b: float
    sd_b: float
    correlation: float
    difference: OneSampleT


def correlation(a: Values, b: Values) -> float:
    """Pearson's correlation of two complete samples of shape (n,); nan where one of them has no spread."""
    if without_spread(a, magnitude(a)) or without_spread(b, magnitude(b)):
        return nan
    from_a, from_b = a - np.mean(a), b - np.mean(b)
    from_a, from_b = from_a / np.linalg.norm(from_a), from_b / np.linalg.norm(from_b)
    return float(np.clip(from_a @ from_b, -1, 1))


def paired_t(a: ArrayLike, b: ArrayLike, *, level: float = 0.95) -> PairedT:
    """Paired t test of a - b, both of shape (participants,) (Student 1908, Biometrika 6:1-25).

    Raises:
        BadData: a value is missing, there is no pair, or the numbers of participants differ.
        BadCall: the level does not lie between 0 and 1.
    """
    first, second = pairs(a, b)
    difference = t_of_mean(first - second, magnitude(first, second), 0.0, level)
    return PairedT(*mean_and_sd(first), *mean_and_sd(second), correlation(first, second), difference)
