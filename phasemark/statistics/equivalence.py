"""Equivalence of two conditions of the same participants by two one-sided tests."""

from dataclasses import dataclass
from math import isnan, nan

from numpy.typing import ArrayLike

from phasemark.model.errors import BadCall
from phasemark.statistics.distributions import upper_p
from phasemark.statistics.one_sample import OneSampleT
from phasemark.statistics.paired import paired_t
from phasemark.statistics.values import Interval, check_share


@dataclass(frozen=True, slots=True)
class Equivalence:
    """Two one-sided paired tests of low < mean difference < high.

    p_low tests against a difference at or below low, p_high against one at or above high; p is the larger one.
    interval has the level 1 - 2 alpha (90 % for alpha 0.05): equivalent exactly when it lies inside the bounds.
    equivalent is False also where nothing could be tested; `missing` then says why.
    """

    low: float
    high: float
    alpha: float
    t_low: float
    p_low: float
    t_high: float
    p_high: float
    p: float
    interval: Interval
    equivalent: bool
    missing: str = ""


def check_bounds(low: float, high: float) -> None:
    """Refuse equivalence bounds that leave no room between them.

    Raises:
        BadCall: low is not below high, or one of them is missing.
    """
    if not low < high:
        raise BadCall(f"The lower equivalence bound ({low:g}) must lie below the upper one ({high:g}).")


def _of_difference(difference: OneSampleT, low: float, high: float, alpha: float) -> Equivalence:
    if isnan(difference.t):
        empty = (nan,) * 5
        return Equivalence(low, high, alpha, *empty, difference.interval, False, difference.missing)
    t_low, t_high = ((difference.mean - bound) / difference.se for bound in (low, high))
    p_low, p_high = upper_p(t_low, difference.df), upper_p(-t_high, difference.df)
    p = max(p_low, p_high)
    return Equivalence(low, high, alpha, t_low, p_low, t_high, p_high, p, difference.interval, p < alpha)


def tost_paired(a: ArrayLike, b: ArrayLike, low: float, high: float, *, alpha: float = 0.05) -> Equivalence:
    """Whether the mean of a - b, both of shape (participants,), lies between two bounds in the values' own unit.

    Two one-sided paired t tests, each at alpha (Schuirmann 1987, J Pharmacokinet Biopharm 15:657-680: value from
    memory). A difference that is not significant is not thereby equal; this is the test that can say 'similar'.

    Raises:
        BadData: a value is missing, there is no pair, or the numbers of participants differ.
        BadCall: low is not below high, or alpha does not lie between 0 and 0.5.
    """
    check_bounds(low, high)
    check_share(2 * alpha, "error rate of both one-sided tests together")
    return _of_difference(paired_t(a, b, level=1 - 2 * alpha).difference, low, high, alpha)
