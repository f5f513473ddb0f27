"""The one-sample t test: the mean of one value a participant, its interval, and its test."""

from dataclasses import dataclass
from math import nan, sqrt

from numpy.typing import ArrayLike

from phasemark.statistics.distributions import t_quantile, two_sided_p
from phasemark.statistics.mean_and_sd import mean_and_sd
from phasemark.statistics.values import Interval, Values, check_share, complete, magnitude, no_interval, without_spread


@dataclass(frozen=True, slots=True)
class OneSampleT:
    """Mean over participants against a value; what cannot be computed is nan, and `missing` says why.

    se is the standard error of the mean, p two-sided, interval that of the mean.
    """

    n: int
    mean: float
    sd: float
    se: float
    t: float
    df: int
    p: float
    interval: Interval
    missing: str = ""


def one_sample_t(values: ArrayLike, *, null: float = 0.0, level: float = 0.95) -> OneSampleT:
    """Student's one-sample t test of values of shape (participants,) against null (Student 1908, Biometrika 6:1-25).

    t = (mean - null) / (SD / sqrt(n)), df = n - 1; interval mean +- t(df, level) SD / sqrt(n).

    Raises:
        BadData: a value is missing, or there is none.
        BadCall: the level does not lie between 0 and 1.
    """
    found = complete(values, "the values", ("participant",))
    return t_of_mean(found, max(magnitude(found), abs(null)), null, level)


def t_of_mean(values: Values, size: float, null: float, level: float) -> OneSampleT:
    """The one-sample t test of complete values that were computed from numbers of this size.

    The size tells differences that are alike but for rounding from ones that differ.
    """
    check_share(level, "confidence level")
    n = len(values)
    mean, sd = mean_and_sd(values)
    if n == 1:
        missing = "one participant only: the spread between participants is not known"
        return OneSampleT(n, mean, nan, nan, nan, 0, nan, no_interval(level), missing)
    if without_spread(values, size) or sd == 0:
        missing = f"all {n} values are equal: there is no spread between participants to test against"
        return OneSampleT(n, mean, 0.0, 0.0, nan, n - 1, nan, no_interval(level), missing)
    se = sd / sqrt(n)
    t, half = (mean - null) / se, t_quantile(n - 1, level) * se
    return OneSampleT(n, mean, sd, se, t, n - 1, two_sided_p(t, n - 1), Interval(mean - half, mean + half, level))
