"""Two one-sided tests against statsmodels, pingouin, and their own 90 % interval."""

import numpy as np
import pingouin
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.stats.weightstats import ttost_paired

from phasemark.model.errors import BadCall
from phasemark.statistics.equivalence import tost_paired


@pytest.mark.parametrize("n", [3, 8, 25])
def test_random_pairs_agree_with_statsmodels_and_pingouin(n: int) -> None:
    generator = np.random.default_rng(n)
    a, b = generator.normal(10, 1, n), generator.normal(10, 1, n)
    found = tost_paired(a, b, -0.8, 1.1)
    p, (t_low, p_low, _), (t_high, p_high, _) = ttost_paired(a, b, -0.8, 1.1)
    expected = (float(p), t_low, p_low, t_high, p_high)
    assert (found.p, found.t_low, found.p_low, found.t_high, found.p_high) == pytest.approx(expected, rel=1e-9)
    assert tost_paired(a, b, -1, 1).p == pytest.approx(
        pingouin.tost(a, b, bound=1, paired=True)["pval"].iloc[0], rel=1e-9
    )


SCORES = st.lists(st.tuples(st.integers(0, 40), st.integers(0, 40)), min_size=3, max_size=9)


@settings(deadline=None)
@given(SCORES, st.integers(1, 30))
def test_equivalent_exactly_when_the_interval_of_90_percent_lies_inside(
    scores: list[tuple[int, int]], bound: int
) -> None:
    a, b = np.array(scores, dtype=float).T
    found, swapped = tost_paired(a, b, -bound, bound), tost_paired(b, a, -bound, bound)
    assert found.interval.level == pytest.approx(0.9)
    assert swapped.p == pytest.approx(found.p, rel=1e-6, nan_ok=True)
    if abs(found.p - 0.05) > 1e-9:
        inside = -bound < found.interval.low and found.interval.high < bound
        assert found.equivalent == inside


def test_equal_differences_are_not_called_equivalent() -> None:
    found = tost_paired([2, 3, 4], [1, 2, 3], -5, 5)
    assert not found.equivalent
    assert np.isnan(found.p)
    assert "no spread" in found.missing


@pytest.mark.parametrize(("low", "high", "alpha"), [(1, 1, 0.05), (2, -2, 0.05), (np.nan, 1, 0.05), (-1, 1, 0.5)])
def test_impossible_bounds_are_refused(low: float, high: float, alpha: float) -> None:
    with pytest.raises(BadCall):
        tost_paired([1, 2, 3], [2, 2, 2], low, high, alpha=alpha)


def test_false_alarms_at_a_bound_are_as_rare_as_alpha() -> None:
    """True difference exactly at the upper bound, 2000 seeded samples of 12: said to be similar in about 5 %."""
    generator = np.random.default_rng(17)
    alarms = sum(tost_paired(1 + generator.normal(0, 0.5, 12), np.zeros(12), -1, 1).equivalent for _ in range(2000))
    assert alarms / 2000 == pytest.approx(0.05, abs=0.015)
