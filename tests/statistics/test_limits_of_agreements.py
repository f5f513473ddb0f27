"""Bland and Altman's limits of agreement against print."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published_numbers import MINI_1, WRIGHT_1

from phasemark.statistics.limits_of_agreement import limits_of_agreement
from phasemark.statistics.paired import paired_t


def test_peak_flow_of_bland_and_altman_1986() -> None:
    """Lancet i:307-310: printed values carry the rounding of their parts; exact ones recomputed."""
    found = limits_of_agreement(WRIGHT_1, MINI_1, edition="1986")
    printed = (found.bias, found.sd, found.bias_interval.low, found.bias_interval.high)
    assert printed == pytest.approx((-2.1, 38.8, -22.0, 17.8), abs=0.06)
    assert (found.lower, found.upper) == pytest.approx((-79.7, 75.5), abs=0.1)
    assert (found.lower_interval.low, found.lower_interval.high) == pytest.approx((-114.3, -45.1), abs=0.15)
    assert (found.upper_interval.low, found.upper_interval.high) == pytest.approx((40.9, 110.1), abs=0.2)
    assert (found.bias, found.sd) == pytest.approx((-2.1176471, 38.7651299), abs=1e-7)
    assert (found.lower, found.upper) == pytest.approx((-79.6479, 75.4126), abs=1e-4)
    assert (found.bias_interval.low, found.bias_interval.high) == pytest.approx((-22.0488, 17.8135), abs=1e-4)
    assert (found.lower_interval.low, found.lower_interval.high) == pytest.approx((-114.170, -45.126), abs=1e-3)
    assert (found.upper_interval.low, found.upper_interval.high) == pytest.approx((40.890, 109.935), abs=1e-3)


def test_peak_flow_in_todays_form() -> None:
    """1.96 SD, and SE of a limit from 1 / n + z^2 / (2 (n - 1)): 16.3951 (recomputed; t of 16 df is 2.119905)."""
    found = limits_of_agreement(WRIGHT_1, MINI_1)
    assert (found.lower, found.upper) == pytest.approx((-78.0973, 73.8620), abs=1e-4)
    standard_error = (found.upper_interval.high - found.upper) / 2.119905
    assert standard_error == pytest.approx(16.3951, abs=1e-4)
    test = paired_t(WRIGHT_1, MINI_1)
    assert test.correlation == pytest.approx(0.94, abs=0.005)
    assert test.correlation == pytest.approx(0.943279, abs=1e-6)
    assert test.difference.se == pytest.approx(9.4019250, abs=1e-7)


def test_a_constant_lag_is_a_bias_with_limits_of_no_width() -> None:
    """A rater who marks every boundary 20 ms late."""
    times = np.array([0.51, 1.23, 2.94, 4.08])
    found = limits_of_agreement(times, times + 0.020)
    assert found.bias == pytest.approx(-0.020)
    assert found.upper - found.lower == 0
    assert np.isnan(found.bias_interval.low)
    assert "no spread" in found.missing


SCORES = st.lists(st.tuples(st.integers(0, 400), st.integers(0, 400)), min_size=3, max_size=12)


@settings(deadline=None)
@given(SCORES)
def test_swapping_the_raters_mirrors_the_limits(scores: list[tuple[int, int]]) -> None:
    a, b = np.array(scores, dtype=float).T
    one, other = limits_of_agreement(a, b), limits_of_agreement(b, a)
    assert (other.bias, other.lower, other.upper) == pytest.approx((-one.bias, -one.upper, -one.lower), abs=1e-9)
    assert other.lower_interval.low == pytest.approx(-one.upper_interval.high, abs=1e-9, nan_ok=True)


def test_the_interval_of_a_limit_covers() -> None:
    """True limits at 3 +- 1.96, 2000 seeded samples of 20."""
    generator = np.random.default_rng(71)
    covered = 0
    for _ in range(2000):
        interval = limits_of_agreement(generator.normal(3, 1, 20), np.zeros(20)).upper_interval
        covered += interval.low <= 4.96 <= interval.high
    assert covered / 2000 == pytest.approx(0.95, abs=0.02)
