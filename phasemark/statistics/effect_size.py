"""Standardised differences of two conditions of the same participants.

Which one is what (names as in Lakens 2013, Front Psychol 4:863):

| name | mean difference divided by | small-sample factor J with df |
| --- | --- | --- |
| d_z, g_z | SD of the differences | n - 1 |
| d_av, g_av | mean of the two SDs | 2 (n - 1) |
| d_s, g_s | root mean square of the two SDs (pooled; as if two groups) | 2 (n - 1) |
| d_rm | SD of the differences / sqrt(2 (1 - r)) | |

Decided where texts differ: d_av divides by the mean of the SDs and g_av takes J at 2 (n - 1), as Lakens prints them;
J is exact and not 1 - 3 / (4 df - 1). The spread of the mean SD of correlated conditions is that of about
2 (n - 1) / (1 + r^2) degrees of freedom, so that with 10 participants g_av is still 2 % (r = 0.5) to 4 % (r = 0.95) too
large on average; J at n - 1 would leave it 3 % to 0 % too small (100,000 simulated samples each).
"""

from dataclasses import dataclass
from math import exp, isnan, lgamma, log, nan, sqrt

from numpy.typing import ArrayLike

from phasemark.statistics.distributions import noncentrality_limits, normal_cdf
from phasemark.statistics.paired import PairedT, paired_t
from phasemark.statistics.values import Interval, no_interval


@dataclass(frozen=True, slots=True)
class EffectSizes:
    """Standardised differences a - b; what cannot be computed is nan, and `missing` says why.

    Intervals of d_z and g_z invert the noncentral t distribution; those of d_av and g_av are the same limits in
    units of the mean SD (see paired_effect_sizes). common_language is the share of participants whose a is above
    their b, common_language_independent that of a from one person above b from another, both under normality.
    """

    n: int
    d_z: float
    d_z_interval: Interval
    g_z: float
    g_z_interval: Interval
    d_av: float
    d_av_interval: Interval
    g_av: float
    g_av_interval: Interval
    d_rm: float
    d_s: float
    g_s: float
    common_language: float
    common_language_independent: float
    missing: str = ""


def hedges_j(df: int) -> float:
    """Hedges' exact factor that takes the bias out of a standardised difference; nan for df below 2.

    J = Gamma(df / 2) / (sqrt(df / 2) Gamma((df - 1) / 2)) (Hedges 1981, J Educ Stat 6:107-128).
    """
    if df < 2:
        return nan
    return exp(lgamma(df / 2) - lgamma((df - 1) / 2) - log(df / 2) / 2)


def _scaled(interval: Interval, factor: float) -> Interval:
    return Interval(interval.low * factor, interval.high * factor, interval.level)


def _over(difference: float, spread: float) -> float:
    return difference / spread if spread > 0 else nan


def _d_rm(of: PairedT) -> float:
    """Difference over the SD that both conditions would have (Morris & DeShon 2002, Psychol Methods 7:105-125)."""
    if isnan(of.correlation):
        return nan
    return _over(of.difference.mean, of.difference.sd) * sqrt(max(0.0, 2 * (1 - of.correlation)))


def _with_intervals(of: PairedT, level: float) -> EffectSizes:
    difference, n = of.difference, of.difference.n
    mean_sd, pooled = (of.sd_a + of.sd_b) / 2, sqrt((of.sd_a**2 + of.sd_b**2) / 2)
    d_z, j_z, j_pooled = _over(difference.mean, difference.sd), hedges_j(n - 1), hedges_j(2 * (n - 1))
    limits = noncentrality_limits(difference.t, difference.df, level)
    z_interval = Interval(limits[0] / sqrt(n), limits[1] / sqrt(n), level)
    d_av, d_s = _over(difference.mean, mean_sd), _over(difference.mean, pooled)
    av_interval = _scaled(z_interval, _over(difference.sd, mean_sd))
    return EffectSizes(
        n,
        d_z,
        z_interval,
        d_z * j_z,
        _scaled(z_interval, j_z),
        d_av,
        av_interval,
        d_av * j_pooled,
        _scaled(av_interval, j_pooled),
        _d_rm(of),
        d_s,
        d_s * j_pooled,
        normal_cdf(d_z),
        normal_cdf(_over(difference.mean, sqrt(2) * pooled)),
        _why(of),
    )


def _why(of: PairedT) -> str:
    if isnan(hedges_j(of.difference.n - 1)):
        return "two participants only: g_z is not defined"
    if isnan(of.correlation):
        return "one condition has no spread between participants: d_rm is not defined"
    return ""


def paired_effect_sizes(a: ArrayLike, b: ArrayLike, *, level: float = 0.95) -> EffectSizes:
    """Effect sizes of a - b, both of shape (participants,), with intervals.

    d_z = t / sqrt(n), and its interval is that of the noncentrality over sqrt(n). That of d_av is the same
    interval times SD of differences / mean SD, with both spreads as found (Algina & Keselman 2003, Educ Psychol
    Meas 63:537-553: value from memory), so that it holds zero exactly when the paired t test at 1 - level is not
    significant. Intervals of g are those of d times J. d_rm, common language: Lakens 2013, Front Psychol
    4:863, after Morris & DeShon 2002 and McGraw & Wong 1992.

    Raises:
        BadData: a value is missing, there is no pair, or the numbers of participants differ.
        BadCall: the level does not lie between 0 and 1.
    """
    of = paired_t(a, b, level=level)
    if not isnan(of.difference.t):
        return _with_intervals(of, level)
    n, mean, empty = of.difference.n, of.difference.mean, no_interval(level)
    if n == 1:
        nothing = (nan, empty) * 4 + (nan,) * 5
        return EffectSizes(n, *nothing, of.difference.missing)
    mean_sd, pooled = (of.sd_a + of.sd_b) / 2, sqrt((of.sd_a**2 + of.sd_b**2) / 2)
    d_av, d_s, j = _over(mean, mean_sd), _over(mean, pooled), hedges_j(2 * (n - 1))
    independent = normal_cdf(_over(mean, sqrt(2) * pooled))
    return EffectSizes(
        n, nan, empty, nan, empty, d_av, empty, d_av * j, empty, nan, d_s, d_s * j, nan, independent,
        of.difference.missing,
    )  # fmt: skip
