"""Intraclass correlations and their analysis of variance against print, NIST and pingouin."""

import numpy as np
import pingouin
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from published_numbers import SHROUT_FLEISS, SILICON, WEIR, long_table

from phasemark.model.errors import BadData
from phasemark.statistics.icc import icc, rating_variance

# Shrout & Fleiss (1979) Psychol Bull 86:420-428: published value; exact value and interval recomputed.
FORMS = [
    ("ICC(1,1)", "ICC(1)", 0.17, 0.1657417684, -0.13, 0.72),
    ("ICC(2,1)", "ICC(A,1)", 0.29, 0.2897637795, 0.02, 0.76),
    ("ICC(3,1)", "ICC(C,1)", 0.71, 0.7148407148, 0.34, 0.95),
    ("ICC(1,4)", "ICC(k)", 0.44, 0.4427971337, -0.88, 0.91),
    ("ICC(2,4)", "ICC(A,k)", 0.62, 0.6200505476, 0.07, 0.93),
    ("ICC(3,4)", "ICC(C,k)", 0.91, 0.9093155424, 0.68, 0.99),
]


def test_six_forms_of_shrout_and_fleiss() -> None:
    for found, (name, other_name, published, exact, low, high) in zip(icc(SHROUT_FLEISS), FORMS, strict=True):
        assert (found.shrout_fleiss, found.mcgraw_wong) == (name, other_name)
        assert found.value == pytest.approx(published, abs=0.005)
        assert found.value == pytest.approx(exact, abs=1e-9)
        assert (found.interval.low, found.interval.high) == pytest.approx((low, high), abs=0.005)


def test_mean_squares_of_shrout_and_fleiss() -> None:
    """Shrout & Fleiss (1979), recomputed to all digits."""
    of = rating_variance(SHROUT_FLEISS)
    sums = (of.ss_targets, of.ss_raters, of.ss_residual, of.ss_within, of.ss_targets + of.ss_within)
    assert sums == pytest.approx((56.208333, 97.458333, 15.291667, 112.75, 168.958333), abs=1e-6)
    squares = (of.ms_targets, of.ms_within, of.ms_raters, of.ms_residual)
    assert squares == pytest.approx((11.241667, 6.263889, 32.486111, 1.019444), abs=1e-6)
    assert (of.f_one_way, of.f_targets, of.f_raters) == pytest.approx((1.794678, 11.027248, 31.866485), abs=1e-6)
    assert (of.p_one_way, of.p_targets) == pytest.approx((0.16477, 0.00013457), rel=1e-4)


def test_data_set_a_of_weir() -> None:
    """Weir (2005) J Strength Cond Res 19:231-240, data set A; recomputed to all digits."""
    of = rating_variance(WEIR)
    total = of.ss_targets + of.ss_within
    assert (of.ss_targets, of.ss_raters, of.ss_residual, total) == pytest.approx((14689.75, 30.25, 399.75, 15119.75))
    squares = (of.ms_targets, of.ms_raters, of.ms_residual, of.ms_within)
    assert squares == pytest.approx((2098.535714, 30.25, 57.107143, 53.75), abs=1e-6)
    assert (of.f_raters, of.p_raters) == pytest.approx((0.529706, 0.490353), abs=1e-6)
    expected = [0.9500531, 0.9499751, 0.9470161, 0.9743869, 0.9743459, 0.9727871]
    assert [form.value for form in icc(WEIR)] == pytest.approx(expected, abs=1e-7)


def test_resistivity_of_silicon_certified_by_nist() -> None:
    """NIST StRD, one-way analysis SiRstv: the instruments are the targets of the one-way form."""
    of = rating_variance(SILICON)
    assert of.ss_targets == pytest.approx(5.11462616e-2, rel=1e-8)
    assert of.ss_within == pytest.approx(2.1663656e-1, rel=1e-8)
    assert of.f_one_way == pytest.approx(1.18046237440255, rel=1e-9)
    assert of.ss_targets / (of.ss_targets + of.ss_within) == pytest.approx(0.190999039051129, rel=1e-9)
    assert np.sqrt(of.ms_within) == pytest.approx(0.104076068334656, rel=1e-9)


def test_a_constant_lag_is_consistent_but_not_agreement() -> None:
    """(2, 4), (4, 6), (6, 8): consistency 1, agreement 2/3 (closed form; printed in a statistics manual)."""
    forms = icc([[2, 4], [4, 6], [6, 8]])
    assert (forms[2].value, forms[1].value) == pytest.approx((1, 0.6666667), abs=1e-7)
    assert np.isnan(forms[2].interval.low)
    assert "too little spread" in forms[2].missing
    assert np.isfinite(forms[1].interval.low)


@pytest.mark.filterwarnings("ignore:The inplace keyword")
@pytest.mark.parametrize("shape", [(3, 2), (6, 4), (20, 3), (50, 2)])
@pytest.mark.parametrize("between", [0.0, 1.0, 5.0])
def test_random_ratings_agree_with_pingouin(shape: tuple[int, int], between: float) -> None:
    generator = np.random.default_rng(sum(shape))
    ratings = (
        generator.normal(0, between, (shape[0], 1)) + generator.normal(0, 0.5, shape[1]) + generator.normal(size=shape)
    )
    table = pingouin.intraclass_corr(long_table(ratings, ["rater"]), "person", "rater", "value")
    table = table.set_index("Type").loc[["ICC(1,1)", "ICC(A,1)", "ICC(C,1)", "ICC(1,k)", "ICC(A,k)", "ICC(C,k)"]]
    for found, (_, row) in zip(icc(ratings), table.iterrows(), strict=True):
        assert found.value == pytest.approx(row["ICC"], abs=1e-9)
        low, high = row["CI95"]  # rounded there to two digits
        assert found.interval.high == pytest.approx(high, abs=0.0051)
        if found.interval.low == -np.inf:  # 1 + (k - 1) ICC is not above 0: theirs jumps to the other side
            assert low > 1
        else:
            assert found.interval.low == pytest.approx(low, abs=0.0051)


RATINGS = st.lists(st.lists(st.integers(0, 40), min_size=3, max_size=3), min_size=3, max_size=8)


@settings(deadline=None)
@given(RATINGS, st.integers(0, 99))
@example([[17, 24, 35], [17, 24, 38], [35, 9, 28]], 0)  # approximate df of (2,1) near 0.01
@example([[0, 20, 14], [0, 20, 14], [22, 16, 0]], 0)  # the variance below (2,k) is zero but for rounding
def test_order_of_targets_and_raters_and_the_unit_do_not_matter(ratings: list[list[int]], seed: int) -> None:
    table, order = np.array(ratings, dtype=float), np.random.default_rng(seed)
    other = 1000 * table[order.permutation(len(table))][:, order.permutation(3)] + 7
    for one, two in zip(icc(table), icc(other), strict=True):
        assert two.value == pytest.approx(one.value, rel=1e-6, abs=1e-9, nan_ok=True)
        assert two.interval.low == pytest.approx(one.interval.low, rel=1e-5, abs=1e-7, nan_ok=True)


@settings(deadline=None)
@given(RATINGS)
@example([[0, 0, 12], [0, 0, 12], [0, 11, 0]])
@example([[0, 0, 3], [0, 0, 4], [0, 4, 0]])
def test_the_interval_holds_its_value(ratings: list[list[int]]) -> None:
    for form in icc(ratings):
        if not form.missing:
            assert form.interval.low <= form.value + 1e-9
            assert form.value <= form.interval.high + 1e-9


@pytest.mark.parametrize("place", [0, 1, 2])
def test_intervals_of_single_ratings_cover(place: int) -> None:
    """True agreement 0.6 / 0.7 / 0.7 from variances 7, 0 or 1, and 3; 800 seeded tables of 12 by 3."""
    generator = np.random.default_rng(51)
    raters = 0.0 if place == 0 else 1.0
    true = 7 / (10 + (raters if place == 1 else 0))
    covered = 0
    for _ in range(800):
        ratings = (
            generator.normal(0, np.sqrt(7), (12, 1))
            + generator.normal(0, np.sqrt(raters), 3)
            + generator.normal(0, np.sqrt(3), (12, 3))
        )
        interval = icc(ratings)[place].interval
        covered += interval.low <= true <= interval.high
    assert 0.92 <= covered / 800 <= 0.98


def test_targets_that_do_not_differ_have_no_correlation_where_nothing_differs() -> None:
    for form in icc(np.full((4, 3), 0.1)):
        assert np.isnan(form.value)
        assert "differ too little" in form.missing


@pytest.mark.parametrize("shape", [(1, 3), (5, 1)])
def test_one_target_or_one_rater_is_refused(shape: tuple[int, int]) -> None:
    with pytest.raises(BadData, match="at least 2 targets and 2 raters"):
        icc(np.ones(shape))
