"""Probabilities and quantiles of the distributions that tests are read against, all scipy's.

The plain special functions are called, not scipy.stats with its checks of arguments: a robustness table asks for
tens of thousands of intervals.
"""

from math import copysign, inf, isfinite, nan

from scipy import special


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


def noncentral_t_cdf(t: float, df: float, noncentrality: float) -> float:
    """Probability of a noncentral t below t; nan where scipy cannot compute it (noncentralities of a million)."""
    from scipy.stats import nct

    return float(nct.cdf(t, df, noncentrality))


def _noncentrality(t: float, df: float, share_below: float) -> float:
    """The noncentrality for which this share of t values lies below t; nan where none can be computed."""
    from scipy.optimize import brentq

    def excess(noncentrality: float) -> float:
        return noncentral_t_cdf(t, df, noncentrality) - share_below  # falls as the noncentrality rises

    step = 4.0 + abs(t)
    low, high = t - step, t + step
    for _ in range(8):
        below, above = excess(low), excess(high)
        if not (isfinite(below) and isfinite(above)):
            return nan
        if below >= 0 >= above:
            return float(brentq(excess, low, high, xtol=1e-12, rtol=1e-12))
        low, high, step = low - step, high + step, 2 * step
    return nan


def noncentrality_limits(t: float, df: float, level: float) -> tuple[float, float]:
    """Confidence limits of the noncentrality that a t came from, by inverting the noncentral t distribution.

    The lower limit is the noncentrality under which a t this large or larger has probability (1 - level) / 2, the
    upper one that under which one this small or smaller has it (Steiger & Fouladi 1997, in Harlow et al., What If
    There Were No Significance Tests?, ch. 9; Cumming & Finch 2001, Educ Psychol Meas 61:532-574: values from memory).
    nan where scipy cannot compute it.
    """
    if not isfinite(t):
        return copysign(inf, t), copysign(inf, t)
    tail = (1 - level) / 2
    return _noncentrality(t, df, 1 - tail), _noncentrality(t, df, tail)
