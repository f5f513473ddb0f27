"""The difference between two conditions in percent: ratio of means (Fieller) and ratio of geometric means."""

from dataclasses import dataclass
from math import exp, isnan, nan, sqrt

import numpy as np
from numpy.typing import ArrayLike

from phasemark.statistics.distributions import t_quantile
from phasemark.statistics.mean_and_sd import sum_of_squares
from phasemark.statistics.one_sample import t_of_mean
from phasemark.statistics.values import Interval, Values, check_share, magnitude, no_interval, pairs, without_spread


@dataclass(frozen=True, slots=True)
class Ratio:
    """A ratio a : b with its interval, and the same as percent difference, 100 (ratio - 1).

    Where the interval is unbounded (Fieller's g at or above 1: the mean of b does not differ from zero at this
    level) or cannot be computed, its limits are nan and `missing` says why. fieller_g is nan for geometric means.
    """

    ratio: float
    interval: Interval
    percent: float
    percent_interval: Interval
    fieller_g: float
    missing: str = ""


def _percent(ratio: float) -> float:
    return 100 * (ratio - 1)


def _ratio(ratio: float, interval: Interval, g: float, missing: str = "") -> Ratio:
    in_percent = Interval(_percent(interval.low), _percent(interval.high), interval.level)
    return Ratio(ratio, interval, _percent(ratio), in_percent, g, missing)


def _fieller(of_a: Values, of_b: Values, level: float) -> Ratio:
    size_a, size_b = magnitude(of_a) or 1.0, magnitude(of_b)
    a, b, unit = of_a / size_a, of_b / size_b, size_a / size_b  # fourth powers of values stay within float64
    n, mean_a, mean_b = len(a), float(np.mean(a)), float(np.mean(b))
    scale = 1 / (n * (n - 1))
    t2 = t_quantile(n - 1, level) ** 2
    variance_a, variance_b = sum_of_squares(a) * scale, sum_of_squares(b) * scale
    covariance = float((a - mean_a) @ (b - mean_b)) * scale
    g = t2 * variance_b / mean_b**2
    ratio = mean_a / mean_b
    if g >= 1:
        missing = "the mean of the second condition does not differ from zero: the interval of the ratio is unbounded"
        return _ratio(ratio * unit, no_interval(level), g, missing)
    # Mean of (a - ratio b), whose variance is what is left under the root; computed from the values, not as a
    # difference of large terms.
    variance = max(0.0, sum_of_squares(a - ratio * b) * scale)
    common = max(0.0, variance_a * variance_b - covariance**2)
    half = sqrt(max(0.0, t2 * (mean_b**2 * variance - t2 * common)))
    middle, bottom = mean_a * mean_b - t2 * covariance, mean_b**2 * (1 - g)
    limits = Interval((middle - half) / bottom * unit, (middle + half) / bottom * unit, level)
    return _ratio(ratio * unit, limits, g)


def ratio_of_means(a: ArrayLike, b: ArrayLike, *, level: float = 0.95) -> Ratio:
    """Mean of a over mean of b, both of shape (participants,), with Fieller's interval for pairs.

    The interval holds every ratio R for which the mean of a - R b does not differ from zero in a t test (Fieller
    1954, J R Stat Soc B 16:175-185), the covariance of the pairs included. g = (t SE(b) / mean(b))^2; from 1 on
    the interval is unbounded. Not symmetric: the percent of b against a is another number.

    Raises:
        BadData: a value is missing, there is no pair, or the numbers of participants differ.
        BadCall: the level does not lie between 0 and 1.
    """
    check_share(level, "confidence level")
    first, second = pairs(a, b)
    n, mean_b = len(first), float(np.mean(second))
    if abs(mean_b) <= magnitude(second) * 1e-12:
        return _ratio(nan, no_interval(level), nan, "the mean of the second condition is zero: there is no ratio to it")
    ratio = float(np.mean(first)) / mean_b
    if n == 1:
        missing = "one participant only: the spread between participants is not known"
        return _ratio(ratio, no_interval(level), nan, missing)
    if without_spread(first - ratio * second, magnitude(first, ratio * second)):
        missing = f"the ratio is the same in all {n} participants: there is no spread to give an interval from"
        return _ratio(ratio, no_interval(level), nan, missing)
    return _fieller(first, second, level)


def geometric_mean_ratio(a: ArrayLike, b: ArrayLike, *, level: float = 0.95) -> Ratio:
    """Geometric mean of a / b, both of shape (participants,), with the t interval of the mean log ratio.

    exp(mean(log a - log b)) (Bland & Altman 1996, BMJ 312:1079: citation from memory). Symmetric: that of b
    to a is its inverse. Values that are not above zero have no logarithm; the ratio is then missing.

    Raises:
        BadData: a value is missing, there is no pair, or the numbers of participants differ.
        BadCall: the level does not lie between 0 and 1.
    """
    check_share(level, "confidence level")
    first, second = pairs(a, b)
    for values in (first, second):
        if np.any(values <= 0):
            missing = f"participant {int(np.argmax(values <= 0)) + 1} has a value that is not above zero"
            return _ratio(nan, no_interval(level), nan, f"{missing}: it has no logarithm")
    logs_a, logs_b = np.log(first), np.log(second)
    of_logs = t_of_mean(logs_a - logs_b, max(1.0, magnitude(logs_a, logs_b)), 0.0, level)
    low, high = of_logs.interval.low, of_logs.interval.high
    if isnan(low):
        return _ratio(exp(of_logs.mean), no_interval(level), nan, of_logs.missing)
    top = 600.0  # exp beyond is not finite
    limits = Interval(exp(max(low, -top)) if low > -top else 0.0, exp(min(high, top)), level)
    return _ratio(exp(of_logs.mean), limits, nan)
