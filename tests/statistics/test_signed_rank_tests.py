"""Wilcoxon's signed ranks and the Hodges-Lehmann estimate against print, scipy and counting by hand."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published_numbers import DEPRESSION_1, DEPRESSION_2, DRUG_1, DRUG_2
from scipy import stats

from phasemark.statistics.signed_ranks import hodges_lehmann, signed_ranks


def test_depression_scores_of_hollander_and_wolfe() -> None:
    """Hollander & Wolfe (1973) Nonparametric Statistical Methods, pp 27-33; interval: value from memory."""
    found = signed_ranks(DEPRESSION_1, DEPRESSION_2)
    assert (found.w_plus, found.w_minus, found.ties, found.n_zero) == (40, 5, False, 0)
    assert found.p_exact == 2 * 0.01953125
    assert found.p_normal == pytest.approx(0.0381517, abs=1e-7)
    assert found.rank_biserial == pytest.approx(0.7777778, abs=1e-7)
    shift = hodges_lehmann(DEPRESSION_1, DEPRESSION_2)
    assert shift.estimate == pytest.approx(0.46, abs=1e-12)
    assert (shift.interval.low, shift.interval.high) == pytest.approx((0.010, 0.786), abs=1e-12)
    assert shift.coverage == pytest.approx(0.961, abs=5e-4)


def test_sleep_data_with_a_zero_and_ties() -> None:
    """Student (1908) Biometrika 6:1-25, normal approximations as scipy gives them."""
    found = signed_ranks(DRUG_2, DRUG_1)
    assert (found.w_plus, found.w_minus, found.n_zero, found.ties) == (45, 0, 1, True)
    assert found.p_normal_corrected == pytest.approx(0.0090907, abs=1e-7)
    assert found.p_normal == pytest.approx(0.0076324, abs=1e-7)
    assert found.p_exact == 2 / 2**9
    assert found.rank_biserial == 1


@pytest.mark.parametrize("n", [1, 2, 5, 13, 30, 51])
def test_without_ties_the_exact_probability_is_scipys(n: int) -> None:
    a = np.random.default_rng(n).normal(0.3, 1, n)
    expected = stats.wilcoxon(a, method="exact")
    assert signed_ranks(a, np.zeros(n)).p_exact == pytest.approx(expected.pvalue, rel=1e-10)


WHOLE = st.lists(st.integers(-4, 4), min_size=1, max_size=9)


@settings(deadline=None)
@given(WHOLE)
def test_with_ties_the_exact_probability_is_that_of_all_signs(values: list[int]) -> None:
    found = signed_ranks(np.array(values, dtype=float), np.zeros(len(values)))
    there = [abs(value) for value in values if value]
    if not there:
        assert "nothing to rank" in found.missing
        return
    ranks = stats.rankdata(there)
    sums = np.array([np.dot(ranks, signs) for signs in product((0, 1), repeat=len(ranks))])
    lower, upper = np.mean(sums <= found.w_plus + 1e-9), np.mean(sums >= found.w_plus - 1e-9)
    assert found.p_exact == pytest.approx(min(1, 2 * min(lower, upper)), rel=1e-12)


@settings(deadline=None)
@given(WHOLE)
def test_swapping_the_conditions_turns_the_sign_only(values: list[int]) -> None:
    a, b = np.array(values, dtype=float) / 10, np.zeros(len(values))
    one, other = signed_ranks(a, b), signed_ranks(b, a)
    assert (other.w_plus, other.w_minus) == (one.w_minus, one.w_plus)
    assert other.p_exact == pytest.approx(one.p_exact, nan_ok=True)
    assert other.rank_biserial == pytest.approx(-one.rank_biserial, nan_ok=True)
    assert hodges_lehmann(b, a).estimate == pytest.approx(-hodges_lehmann(a, b).estimate, abs=1e-12)


def test_the_interval_of_ranks_is_where_the_signed_rank_test_turns() -> None:
    """A shift just inside the interval is not rejected at 5 %, one just outside is."""
    a = np.random.default_rng(5).normal(1, 2, 14)
    interval = hodges_lehmann(a, np.zeros(14)).interval
    for end, inside in ((interval.low, 1e-6), (interval.high, -1e-6)):
        assert signed_ranks(a, np.full(14, end + inside)).p_exact > 0.05
        assert signed_ranks(a, np.full(14, end - inside)).p_exact <= 0.05


def test_five_pairs_are_too_few_for_an_interval_of_95_percent() -> None:
    found = hodges_lehmann([1, 2, 3, 4, 6], [0, 0, 0, 0, 0])
    assert found.interval.low == -np.inf
    assert "5 pairs are too few" in found.missing
    assert hodges_lehmann([1, 2, 3, 4, 6], [0, 0, 0, 0, 0], level=0.9).interval.low == 1


def test_the_interval_covers_as_often_as_it_says() -> None:
    generator = np.random.default_rng(11)
    covered, coverage = 0, 0.0
    for _ in range(1000):
        found = hodges_lehmann(generator.normal(1, 1, 8), np.zeros(8))
        covered += found.interval.low <= 1 <= found.interval.high
        coverage = found.coverage
    assert covered / 1000 == pytest.approx(coverage, abs=0.02)
