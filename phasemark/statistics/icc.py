"""Intraclass correlations of ratings of the same targets by several raters (or on several occasions)."""

from dataclasses import dataclass
from math import inf, nan

import numpy as np
from numpy.typing import ArrayLike

from phasemark.model.errors import BadData
from phasemark.statistics.distributions import f_p, f_quantile
from phasemark.statistics.mean_and_sd import mean_and_sd, sum_of_squares
from phasemark.statistics.values import Interval, check_share, complete, magnitude, no_interval


@dataclass(frozen=True, slots=True)
class RatingVariance:
    """Analysis of variance of a table of ratings: n targets by k raters.

    ss and ms are between targets, within targets, between raters, and residual (error); within = raters + residual.
    f_one_way = MS targets / MS within, f_targets = MS targets / MS residual, f_raters = MS raters / MS residual.
    An F over a mean square of zero is nan.
    """

    n: int
    k: int
    ss_targets: float
    ss_within: float
    ss_raters: float
    ss_residual: float
    ms_targets: float
    ms_within: float
    ms_raters: float
    ms_residual: float
    f_one_way: float
    p_one_way: float
    f_targets: float
    p_targets: float
    f_raters: float
    p_raters: float
    sd: float


@dataclass(frozen=True, slots=True)
class Icc:
    """One form of intraclass correlation: its names after Shrout & Fleiss and McGraw & Wong, value and interval."""

    shrout_fleiss: str
    mcgraw_wong: str
    meaning: str
    value: float
    interval: Interval
    missing: str = ""


def _f(top: float, bottom: float, df: int, df_error: int) -> tuple[float, float]:
    if bottom == 0:
        return nan, nan
    return top / bottom, f_p(top / bottom, df, df_error)


def rating_variance(ratings: ArrayLike) -> RatingVariance:
    """Sums and mean squares of ratings of shape (targets, raters) (Shrout & Fleiss 1979, Psychol Bull 86:420-428).

    Raises:
        BadData: a rating is missing, or there are under 2 targets or under 2 raters.
    """
    found = complete(ratings, "the ratings", ("target", "rater"))
    n, k = found.shape
    if n < 2 or k < 2:
        raise BadData(f"Agreement needs at least 2 targets and 2 raters, not {n} and {k}.")
    targets, raters = found.mean(axis=1), found.mean(axis=0)
    residuals = found - targets[:, np.newaxis] - raters + found.mean()
    rounding = (magnitude(found) * 1e-14) ** 2 * n * k
    ss_targets, ss_raters, ss_residual = (
        ss if ss > rounding else 0.0
        for ss in (k * sum_of_squares(targets), n * sum_of_squares(raters), float(np.sum(residuals**2)))
    )
    ss_within, df = ss_raters + ss_residual, (n - 1) * (k - 1)
    ms_targets, ms_within = ss_targets / (n - 1), ss_within / (n * (k - 1))
    ms_raters, ms_residual = ss_raters / (k - 1), ss_residual / df
    return RatingVariance(
        n, k, ss_targets, ss_within, ss_raters, ss_residual, ms_targets, ms_within, ms_raters, ms_residual,
        *_f(ms_targets, ms_within, n - 1, n * (k - 1)),
        *_f(ms_targets, ms_residual, n - 1, df),
        *_f(ms_raters, ms_residual, k - 1, df),
        mean_and_sd(found.ravel())[1],
    )  # fmt: skip


def _single_limits(f: float, df: int, df_error: int, level: float, k: int) -> tuple[float, float]:
    """Limits of a single-rating correlation (f - 1) / (f + k - 1), from those of the ratio of mean squares."""
    share = (1 + level) / 2
    low, high = f / f_quantile(share, df, df_error), f * f_quantile(share, df_error, df)
    return (low - 1) / (low + k - 1), (high - 1) / (high + k - 1)


def _agreement_limits(of: RatingVariance, value: float, level: float) -> tuple[float, float]:
    """Limits of ICC(A,1) (McGraw & Wong 1996, Psychol Methods 1:30-46, table 7: place from memory)."""
    n, k, msr, msc, mse = of.n, of.k, of.ms_targets, of.ms_raters, of.ms_residual
    a = k * value / (n * (1 - value))
    b = 1 + k * value * (n - 1) / (n * (1 - value))
    of_raters, of_residual = a * msc, b * mse
    df = (of_raters + of_residual) ** 2 / (of_raters**2 / (k - 1) + of_residual**2 / ((n - 1) * (k - 1)))
    if df < 1:  # the two terms cancel, as they can with a value below zero: no approximation of their sum
        return nan, nan
    share = (1 + level) / 2
    f_low, f_high = f_quantile(share, n - 1, df), f_quantile(share, df, n - 1)
    rest = k * msc + (k * n - k - n) * mse
    low = n * (msr - f_low * mse) / (f_low * rest + n * msr)
    high = n * (f_high * msr - mse) / (rest + n * f_high * msr)
    return low, high


def _of_average(single: float, k: int) -> float:
    """Spearman-Brown: the correlation of the mean of k ratings."""
    if np.isnan(single):
        return nan
    bottom = 1 + (k - 1) * single
    return k * single / bottom if bottom > 0 else -inf


def _ratio(top: float, bottom: float) -> float:
    return top / bottom if bottom > 1e-12 * abs(top) else nan  # a sum that is zero but for rounding is zero


def _limits(of: RatingVariance, singles: tuple[float, float, float], level: float) -> list[tuple[float, float]]:
    n, k = of.n, of.k
    df, nothing = (n - 1) * (k - 1), (nan, nan)
    known = of.ms_targets > 0
    one_way = known and of.ms_within > 0
    return [
        _single_limits(of.f_one_way, n - 1, n * (k - 1), level, k) if one_way else nothing,
        _agreement_limits(of, singles[1], level) if one_way and singles[1] < 1 else nothing,
        _single_limits(of.f_targets, n - 1, df, level, k) if known and of.ms_residual > 0 else nothing,
    ]


_FORMS = (
    ("1", "", "absolute agreement, each target rated by raters of its own"),
    ("2", "A,", "absolute agreement, raters drawn from many"),
    ("3", "C,", "consistency, these raters only"),
)


def icc(ratings: ArrayLike, *, level: float = 0.95) -> tuple[Icc, ...]:
    """All six intraclass correlations of ratings of shape (targets, raters), with intervals.

    In the order (1,1), (2,1), (3,1), (1,k), (2,k), (3,k) of Shrout & Fleiss 1979, Psychol Bull 86:420-428; intervals
    are theirs and, for (2,1), McGraw & Wong's (1996, Psychol Methods 1:30-46); those of the mean of k ratings are
    Spearman-Brown's of the single ones. Where targets, or error, have no spread, value or interval is nan, as is
    the interval of (2,1) below zero where its approximate degrees of freedom fall under 1; the lower limit of a mean of
    ratings is -inf where it has none.

    Raises:
        BadData: a rating is missing, or there are under 2 targets or under 2 raters.
        BadCall: the level does not lie between 0 and 1.
    """
    check_share(level, "confidence level")
    of = rating_variance(ratings)
    n, k, msb, mse = of.n, of.k, of.ms_targets, of.ms_residual
    singles = (
        _ratio(msb - of.ms_within, msb + (k - 1) * of.ms_within),
        _ratio(msb - mse, msb + (k - 1) * mse + k * (of.ms_raters - mse) / n),
        _ratio(msb - mse, msb + (k - 1) * mse),
    )
    averages = (
        _ratio(msb - of.ms_within, msb),
        _ratio(msb - mse, msb + (of.ms_raters - mse) / n),
        _ratio(msb - mse, msb),
    )
    limits = _limits(of, singles, level)
    forms = []
    for (shrout, mcgraw, meaning), value, ends in zip(_FORMS, singles, limits, strict=True):
        names = f"ICC({shrout},1)", f"ICC({mcgraw}1)"
        forms.append(_form(*names, meaning, value, Interval(*ends, level)))
    for (shrout, mcgraw, meaning), value, (low, high) in zip(_FORMS, averages, limits, strict=True):
        names = f"ICC({shrout},{k})", f"ICC({mcgraw}k)"
        forms.append(_form(*names, meaning, value, Interval(_of_average(low, k), _of_average(high, k), level)))
    return tuple(forms)


def _form(shrout: str, mcgraw: str, meaning: str, value: float, interval: Interval) -> Icc:
    missing = ""
    if np.isnan(value):
        interval, missing = no_interval(interval.level), "targets differ too little for a correlation"
    elif np.isnan(interval.low):
        missing = "there is too little spread between targets or in the errors for an interval"
    return Icc(shrout, mcgraw, meaning, value, interval, missing)
