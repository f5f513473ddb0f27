"""Bland and Altman's bias and limits of agreement of two raters or methods."""

from dataclasses import dataclass
from math import sqrt
from typing import Literal

from numpy.typing import ArrayLike

from phasemark.statistics.distributions import t_quantile
from phasemark.statistics.paired import paired_t
from phasemark.statistics.values import Interval, no_interval

Edition = Literal["1986", "1999"]


@dataclass(frozen=True, slots=True)
class LimitsOfAgreement:
    """Bias (mean of a - b) and limits between which about 95 % of differences lie, each with its interval.

    What cannot be computed is nan, and `missing` says why.
    """

    n: int
    bias: float
    bias_interval: Interval
    sd: float
    lower: float
    lower_interval: Interval
    upper: float
    upper_interval: Interval
    multiplier: float
    missing: str = ""


def limits_of_agreement(
    a: ArrayLike, b: ArrayLike, *, edition: Edition = "1999", level: float = 0.95
) -> LimitsOfAgreement:
    """Limits of agreement of a and b, each of shape (targets,): bias +- multiplier times SD of the differences.

    edition '1999' takes 1.96 and for the variance of a limit SD^2 (1 / n + 1.96^2 / (2 (n - 1))) (Bland & Altman
    1999, Stat Methods Med Res 8:135-160: value from memory); '1986' takes 2 and 3 SD^2 / n (Bland & Altman 1986,
    Lancet i:307-310). Intervals take t with n - 1 degrees of freedom. Differences that are all alike give limits
    at the bias, without intervals.

    Raises:
        BadData: a value is missing, there is no pair, or the numbers of targets differ.
        BadCall: the level does not lie between 0 and 1.
    """
    difference = paired_t(a, b, level=level).difference
    multiplier, n = (2.0 if edition == "1986" else 1.96), difference.n
    lower, upper = (difference.mean + sign * multiplier * difference.sd for sign in (-1, 1))
    lower_interval = upper_interval = no_interval(level)
    if not difference.missing:
        share = 3 / n if edition == "1986" else 1 / n + multiplier**2 / (2 * (n - 1))
        half = t_quantile(n - 1, level) * difference.sd * sqrt(share)
        lower_interval, upper_interval = (Interval(limit - half, limit + half, level) for limit in (lower, upper))
    return LimitsOfAgreement(
        n, difference.mean, difference.interval, difference.sd,
        lower, lower_interval, upper, upper_interval, multiplier, difference.missing,
    )  # fmt: skip
