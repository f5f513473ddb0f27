"""Slopes over repetitions, and first against last, against numpy and scipy."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from phasemark.model.errors import BadCall, BadData
from phasemark.statistics.slope import first_against_last, slope, trend

SERIES = st.lists(st.integers(-100, 100), min_size=2, max_size=12)


@settings(deadline=None)
@given(SERIES)
def test_the_slope_is_that_of_least_squares(values: list[int]) -> None:
    order = np.arange(1, len(values) + 1)
    assert slope(order, values) == pytest.approx(stats.linregress(order, values).slope, abs=1e-9)


def test_excluded_repetitions_keep_their_number() -> None:
    """Values 2 a rep with the third missing: the slope stays 2."""
    assert slope([1, 2, 3, 4], [2, 4, np.nan, 8]) == pytest.approx(2)
    assert slope([1, 2, 4], [2, 4, 8]) == pytest.approx(2)
    assert np.isnan(slope([1, 2], [np.nan, 3]))
    assert np.isnan(slope([2, 2], [1, 3]))


def test_a_trend_is_a_one_sample_test_of_slopes_of_unequal_series() -> None:
    generator = np.random.default_rng(5)
    series = [10 + 0.4 * np.arange(n) + generator.normal(size=n) for n in (5, 6, 8, 4, 7)]
    found = trend([*series, [3.0], [np.nan, np.nan]])
    slopes = [np.polyfit(np.arange(len(each)), each, 1)[0] for each in series]
    expected = stats.ttest_1samp(slopes, 0)
    assert found.left_out == (5, 6)
    assert found.slopes[:5] == pytest.approx(slopes)
    assert (found.test.t, found.test.p, found.test.n) == pytest.approx((expected.statistic, expected.pvalue, 5))


def test_orders_of_their_own_stretch_the_slope() -> None:
    series = [[1.0, 2, 3], [2.0, 4, 5]]
    found = trend(series, orders=[[1, 2, 3], [2, 4, 6]])
    assert found.slopes == pytest.approx([1, 0.75])


def test_reversing_the_repetitions_turns_the_sign() -> None:
    series = np.random.default_rng(8).normal(size=(6, 5))
    one, other = trend(list(series)), trend(list(series[:, ::-1]))
    assert other.test.mean == pytest.approx(-one.test.mean)
    assert other.test.p == pytest.approx(one.test.p)


def test_equal_slopes_have_no_test_though_levels_differ() -> None:
    """Rounding of levels near 1000 is no spread of slopes."""
    found = trend([1000.1 + 0.1 * np.arange(5), 3.3 + 0.1 * np.arange(5), 77.7 + 0.1 * np.arange(5)])
    assert found.test.mean == pytest.approx(0.1)
    assert np.isnan(found.test.t)


def test_first_against_last_is_a_paired_test_of_end_means() -> None:
    generator = np.random.default_rng(7)
    series = [generator.normal(np.linspace(5, 6, n)) for n in (6, 8, 5, 7)]
    found = first_against_last([*series, [1.0, np.nan, 2.0, 3.0]], count=2)
    last, first = [each[-2:].mean() for each in series], [each[:2].mean() for each in series]
    expected = stats.ttest_rel(last, first)
    assert found.left_out == (4,)
    assert found.test.difference.t == pytest.approx(expected.statistic)
    assert found.test.difference.mean == pytest.approx(np.mean(last) - np.mean(first))


@pytest.mark.parametrize(("call", "error"), [
    (lambda: trend([]), BadData), (lambda: trend([[1.0], [np.nan, 2.0]]), BadData),
    (lambda: trend([[1.0, np.inf]]), BadData), (lambda: trend([[1.0, 2.0]], orders=[[1, 2], [1, 2]]), BadCall),
    (lambda: slope([1, 2], [1, 2, 3]), BadCall), (lambda: slope([1, np.nan], [1, 2]), BadCall),
    (lambda: first_against_last([[1.0, 2.0]], count=0), BadCall), (lambda: first_against_last([[1.0]]), BadData),
])  # fmt: skip
def test_what_has_no_slope_is_refused(call: object, error: type[Exception]) -> None:
    assert callable(call)
    with pytest.raises(error):
        call()
