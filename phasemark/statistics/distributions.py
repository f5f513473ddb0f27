"""Probabilities and quantiles of the distributions that tests are read against, all scipy's.

The plain special functions are called, not scipy.stats with its checks of arguments: a robustness table asks for
tens of thousands of intervals.
"""

from math import lgamma, log, pi, sqrt

import numpy as np
from scipy import special

from phasemark.statistics.values import Values

_PANELS = 16
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(20)
_FAR = 9.0  # beyond lies 1e-19 of a normal distribution
_NEARLY_NONE = 1e-18


def t_quantile(df: float, level: float) -> float:
    """The t of df degrees of freedom between whose negative and itself lies this share (2.262 for 9, 0.95)."""
    return float(special.stdtrit(df, (1 + level) / 2))


def two_sided_p(t: float, df: float) -> float:
    """Probability of a t at least as far from zero, in both directions."""
    return float(2 * special.stdtr(df, -abs(t)))


def upper_p(t: float, df: float) -> float:
    """Probability of a t at least as large."""
    return float(special.stdtr(df, -t))


def f_p(f: float, df: float, df_error: float) -> float:
    """Probability of an F at least as large."""
    return float(special.fdtrc(df, df_error, f))


def f_quantile(share: float, df: float, df_error: float) -> float:
    """The F below which this share lies."""
    return float(special.fdtri(df, df_error, share))


def chi2_p(chi2: float, df: float) -> float:
    """Probability of a chi-squared at least as large."""
    return float(special.chdtrc(df, chi2))


def chi2_quantile(share: float, df: float) -> float:
    """The chi-squared below which this share lies."""
    return float(special.chdtri(df, 1 - share))


def normal_cdf(z: float) -> float:
    """Probability of a standard normal value below z."""
    return float(special.ndtr(z))


def _panels(begin: float, end: float) -> tuple[Values, Values]:
    """Places and weights of a Gauss-Legendre integral from begin to end, 16 panels of 20 points."""
    width = (end - begin) / _PANELS
    middles = begin + width * (np.arange(_PANELS) + 0.5)
    return (middles[:, np.newaxis] + width / 2 * _NODES).ravel(), np.tile(_WEIGHTS * width / 2, _PANELS)


def _over_spreads(t: float, df: float, noncentrality: float) -> float:
    """P(Z <= t s - noncentrality), integrated over the density of s = sqrt(chi-squared / df)."""
    ends = special.gammaincinv(df / 2, _NEARLY_NONE), special.gammainccinv(df / 2, _NEARLY_NONE)
    s, weights = _panels(*(sqrt(float(end) * 2 / df) for end in ends))
    log_density = log(2) + df / 2 * log(df / 2) - lgamma(df / 2) + (df - 1) * np.log(s) - df / 2 * s**2
    return float(weights @ (np.exp(log_density) * special.ndtr(t * s - noncentrality)))


def _over_normals(t: float, df: float, noncentrality: float) -> float:
    """P(s >= (z + noncentrality) / t), integrated over the density of the normal z; certain where that is negative."""
    begin = max(-_FAR, -noncentrality)
    if begin >= _FAR:
        return 1.0
    z, weights = _panels(begin, _FAR)
    survival = special.chdtrc(df, df * ((z + noncentrality) / t) ** 2)
    return float(special.ndtr(begin) + weights @ (np.exp(-(z**2) / 2) / sqrt(2 * pi) * survival))


def noncentral_t_cdf(t: float, df: float, noncentrality: float) -> float:
    """Probability of a noncentral t below t: (Z + noncentrality) / s, s^2 a chi-squared over its df.

    Integrated over s where the normal step is wide against the spread of s, else over Z; both to about 1e-13. scipy's
    own (1.17) is nan for as little as t = -1.98, df = 99, noncentrality 15, which a power asks for.
    """
    if t < 0:
        return 1 - noncentral_t_cdf(-t, df, -noncentrality)
    if t <= sqrt(2 * df):
        return min(1.0, _over_spreads(t, df, noncentrality))
    return min(1.0, _over_normals(t, df, noncentrality))


def _noncentrality(t: float, df: float, share_below: float) -> float:
    """The noncentrality for which this share of t values lies below t."""
    from scipy.optimize import brentq

    def excess(noncentrality: float) -> float:
        return noncentral_t_cdf(t, df, noncentrality) - share_below  # falls as the noncentrality rises

    low, high, step = t, t, 4.0 + abs(t)
    while excess(low) < 0:
        low, step = low - step, 2 * step
    while excess(high) > 0:
        high, step = high + step, 2 * step
    return float(brentq(excess, low, high, xtol=1e-12, rtol=1e-12))


def noncentrality_limits(t: float, df: float, level: float) -> tuple[float, float]:
    """Confidence limits of the noncentrality that a t came from, by inverting the noncentral t distribution.

    The lower limit is the noncentrality under which a t this large or larger has probability (1 - level) / 2, the
    upper one that under which one this small or smaller has it (Steiger & Fouladi 1997, in Harlow et al., What If
    There Were No Significance Tests?, ch. 9; Cumming & Finch 2001, Educ Psychol Meas 61:532-574: values from memory).
    """
    tail = (1 - level) / 2
    return _noncentrality(t, df, 1 - tail), _noncentrality(t, df, tail)
