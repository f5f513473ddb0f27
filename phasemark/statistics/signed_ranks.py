"""Wilcoxon's signed rank test, its rank-biserial correlation, and the Hodges-Lehmann estimate with interval."""

from dataclasses import dataclass
from math import inf, nan

import numpy as np
from numpy.typing import ArrayLike, NDArray

from phasemark.statistics.values import Interval, Values, check_share, pairs, whole_differences


@dataclass(frozen=True, slots=True)
class SignedRanks:
    """Wilcoxon's signed rank test of pairs a, b; what cannot be computed is nan, and `missing` says why.

    n counts all pairs, n_zero those without a difference, which are left out (Wilcoxon's own way). p_exact is
    two-sided, over all 2^(n - n_zero) signs of the ranks as they are, midranks for ties included; p_normal and
    p_normal_corrected are two-sided from the normal approximation with the variance corrected for ties, without
    and with continuity correction. rank_biserial = (w_plus - w_minus) / (w_plus + w_minus).
    """

    n: int
    n_zero: int
    ties: bool
    w_plus: float
    w_minus: float
    p_exact: float
    p_normal: float
    p_normal_corrected: float
    rank_biserial: float
    missing: str = ""


@dataclass(frozen=True, slots=True)
class HodgesLehmann:
    """Median of the Walsh averages of the differences a - b, and its interval.

    coverage is the exact confidence of the interval (the level asked for is a lower bound of it); with too few
    pairs for the level the interval is the whole line, coverage is 1 and `missing` says so.
    """

    estimate: float
    interval: Interval
    coverage: float
    missing: str = ""


def _sum_probabilities(whole_ranks: NDArray[np.int64]) -> Values:
    """Probabilities of each sum 0, 1, ... of ranks that are in or out with probability 1/2 each."""
    total = int(np.sum(whole_ranks))
    found = np.zeros(total + 1)
    found[0], reached = 1.0, 0
    for rank in whole_ranks:
        reached += int(rank)
        found[rank : reached + 1] += found[: reached + 1 - rank].copy()
        found[: reached + 1] /= 2
    return found


def _exact_p(doubled_ranks: NDArray[np.int64], doubled_plus: int) -> float:
    probabilities = _sum_probabilities(doubled_ranks)
    total = len(probabilities) - 1
    lower = min(doubled_plus, total - doubled_plus)
    return min(1.0, 2 * float(np.sum(probabilities[: lower + 1])))


def signed_ranks(a: ArrayLike, b: ArrayLike) -> SignedRanks:
    """Wilcoxon's signed rank test of a - b, both of shape (participants,) (Wilcoxon 1945, Biometrics Bull 1:80-83).

    The exact probability is that over all signs of the ranks given, so that it holds with ties too, where
    the tables (and scipy's exact method) do not; without ties both agree. Normal approximations are scipy's. The
    matched-pairs rank-biserial correlation is Kerby's (2014, Compr Psychol 3:11.IT.3.1: value from memory).
    Differences are compared to 12 digits of the largest value.

    Raises:
        BadData: a value is missing, there is no pair, or the numbers of participants differ.
    """
    from scipy.stats import rankdata, wilcoxon

    first, second = pairs(a, b)
    differences, _ = whole_differences(first, second)
    there = differences[differences != 0]
    n, n_zero = len(differences), len(differences) - len(there)
    if len(there) == 0:
        missing = "no pair has a difference: there is nothing to rank"
        return SignedRanks(n, n_zero, False, 0.0, 0.0, nan, nan, nan, nan, missing)
    ranks = np.asarray(rankdata(np.abs(there)), dtype=np.float64)
    plus, minus = float(np.sum(ranks[there > 0])), float(np.sum(ranks[there < 0]))
    doubled = np.rint(2 * ranks).astype(np.int64)  # midranks are halves
    p_normal, p_corrected = (
        float(wilcoxon(there.astype(np.float64), correction=correction, method="approx").pvalue)
        for correction in (False, True)
    )
    return SignedRanks(
        n,
        n_zero,
        len(np.unique(np.abs(there))) < len(there),
        plus,
        minus,
        _exact_p(doubled, round(2 * plus)),
        p_normal,
        p_corrected,
        (plus - minus) / (plus + minus),
    )


def hodges_lehmann(a: ArrayLike, b: ArrayLike, *, level: float = 0.95) -> HodgesLehmann:
    """Hodges-Lehmann estimate of the shift a - b and its interval from ordered Walsh averages.

    Walsh averages are the means of all n (n + 1) / 2 pairs of differences, each with itself too. The interval runs
    from the k-th smallest to the k-th largest, k the largest for which the exact distribution of the signed rank
    sum, without ties, leaves at most (1 - level) / 2 beyond (Hollander & Wolfe 1973, Nonparametric Statistical
    Methods, ch. 3). Differences of zero are kept; ties make it cover more, not less.

    Raises:
        BadData: a value is missing, there is no pair, or the numbers of participants differ.
        BadCall: the level does not lie between 0 and 1.
    """
    check_share(level, "confidence level")
    first, second = pairs(a, b)
    whole, step = whole_differences(first, second)
    differences = whole * step
    n = len(differences)
    rows, columns = np.triu_indices(n)
    walsh = np.sort((differences[rows] + differences[columns]) / 2)
    below = np.cumsum(_sum_probabilities(np.arange(1, n + 1, dtype=np.int64)))
    k = int(np.searchsorted(below, (1 - level) / 2 * (1 + 1e-12), side="right"))
    if k == 0:
        missing = f"{n} pairs are too few for an interval of {100 * level:g} % from ranks"
        return HodgesLehmann(float(np.median(walsh)), Interval(-inf, inf, level), 1.0, missing)
    interval = Interval(float(walsh[k - 1]), float(walsh[-k]), level)
    return HodgesLehmann(float(np.median(walsh)), interval, 1 - 2 * float(below[k - 1]))
