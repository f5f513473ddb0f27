"""Two groups of participants: difference of means with its interval and t test."""

from dataclasses import dataclass
from math import nan, sqrt

from numpy.typing import ArrayLike

from phasemark.statistics.distributions import t_quantile, two_sided_p
from phasemark.statistics.mean_and_sd import mean_and_sd, sum_of_squares
from phasemark.statistics.values import Interval, check_share, complete, magnitude, no_interval


@dataclass(frozen=True, slots=True)
class TwoSampleT:
    """Mean of group a minus mean of group b; what cannot be computed is nan, and `missing` says why."""

    n_a: int
    n_b: int
    difference: float
    se: float
    t: float
    df: float
    p: float
    interval: Interval
    missing: str = ""


def two_sample_t(a: ArrayLike, b: ArrayLike, *, equal_variances: bool = True, level: float = 0.95) -> TwoSampleT:
    """Two-sample t test of values of shape (participants of a,) and (participants of b,).

    With equal variances the pooled one, df = n_a + n_b - 2 (Student 1908, Biometrika 6:1-25; Fisher 1925); otherwise
    Welch's, with Satterthwaite's df (Welch 1947, Biometrika 34:28-35: value from memory).

    Raises:
        BadData: a value is missing, or a group is empty.
        BadCall: the level does not lie between 0 and 1.
    """
    check_share(level, "confidence level")
    first, second = (complete(x, f"the {which} group", ("participant",)) for x, which in ((a, "first"), (b, "second")))
    n_a, n_b = len(first), len(second)
    difference = mean_and_sd(first)[0] - mean_and_sd(second)[0]
    squares_a, squares_b = sum_of_squares(first), sum_of_squares(second)
    too_few = n_a + n_b < 3 or (not equal_variances and min(n_a, n_b) < 2)
    rounding = (magnitude(first, second) * 1e-14) ** 2
    if too_few or squares_a + squares_b <= rounding * (n_a + n_b):
        missing = "too few participants in the groups" if too_few else "no spread between participants of either group"
        return TwoSampleT(n_a, n_b, difference, nan, nan, nan, nan, no_interval(level), missing)
    if equal_variances:
        df = float(n_a + n_b - 2)
        se = sqrt((squares_a + squares_b) / df * (1 / n_a + 1 / n_b))
    else:
        of_a, of_b = squares_a / (n_a - 1) / n_a, squares_b / (n_b - 1) / n_b
        se = sqrt(of_a + of_b)
        df = 1 / ((of_a / (of_a + of_b)) ** 2 / (n_a - 1) + (of_b / (of_a + of_b)) ** 2 / (n_b - 1))
    half, t = t_quantile(df, level) * se, difference / se
    interval = Interval(difference - half, difference + half, level)
    return TwoSampleT(n_a, n_b, difference, se, t, df, two_sided_p(t, df), interval)
