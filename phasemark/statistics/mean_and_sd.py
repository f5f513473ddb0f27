"""Mean and standard deviation that keep their digits on values far from zero."""

from math import nan, sqrt

import numpy as np

from phasemark.statistics.values import Values


def sum_of_squares(values: Values) -> float:
    """Squared deviations from the mean, summed, of values of shape (n,), by the corrected two-pass algorithm.

    The sum of deviations, zero but for the rounding of the mean, is taken out again (Chan, Golub & LeVeque 1983,
    Am Stat 37:242-247: value from memory). One pass, sum(x^2) - (sum x)^2 / n, loses all digits of NIST's NumAcc4.
    """
    deviations = values - np.mean(values)
    return float(np.sum(deviations**2) - np.sum(deviations) ** 2 / len(values))


def mean_and_sd(values: Values) -> tuple[float, float]:
    """Mean and SD (n - 1) of values of shape (n,); nan where there are too few, none for the mean or one for the SD."""
    if len(values) == 0:
        return nan, nan
    mean = float(np.mean(values))
    mean += float(np.mean(values - mean))
    if len(values) == 1:
        return mean, nan
    return mean, sqrt(max(sum_of_squares(values), 0.0) / (len(values) - 1))
