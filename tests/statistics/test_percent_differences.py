"""Percent differences: Fieller's ratio of means and the ratio of geometric means."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published_numbers import REACTION

from phasemark.statistics.paired import paired_t
from phasemark.statistics.percent import geometric_mean_ratio, ratio_of_means

ABSENT, PRESENT = REACTION[:, 0], REACTION[:, 1]


def test_reaction_time_in_percent() -> None:
    """Angle 8 of Maxwell & Delaney (2004), Table 12.1; closed forms (Fieller 1954) recomputed, not printed."""
    means, geometric = ratio_of_means(PRESENT[:, 2], ABSENT[:, 2]), geometric_mean_ratio(PRESENT[:, 2], ABSENT[:, 2])
    assert means.percent == pytest.approx(44.3182, abs=1e-4)
    limits = means.percent_interval
    assert (limits.low, limits.high) == pytest.approx((35.6751, 53.4238), abs=1e-4)
    assert means.fieller_g == pytest.approx(0.0114541, abs=1e-7)
    assert geometric.percent == pytest.approx(44.2305, abs=1e-4)
    limits = geometric.percent_interval
    assert (limits.low, limits.high) == pytest.approx((35.5754, 53.4382), abs=1e-4)
    swapped = geometric_mean_ratio(ABSENT[:, 2], PRESENT[:, 2])
    assert swapped.percent == pytest.approx(-30.6665, abs=1e-4)


# Present over absent at each angle: percent of the absent mean, geometric ratio and its interval (recomputed).
AT_EACH_ANGLE = [
    (0, 6.4935, 1.0564507, 0.9495795, 1.1753498),
    (1, 29.4118, 1.2924676, 1.1359709, 1.4705239),
    (2, 44.3182, 1.4423051, 1.3557538, 1.5343818),
]


@pytest.mark.parametrize(("angle", "percent", "ratio", "low", "high"), AT_EACH_ANGLE)
def test_ratios_at_each_angle(angle: int, percent: float, ratio: float, low: float, high: float) -> None:
    assert ratio_of_means(PRESENT[:, angle], ABSENT[:, angle]).percent == pytest.approx(percent, abs=1e-4)
    found = geometric_mean_ratio(PRESENT[:, angle], ABSENT[:, angle])
    assert (found.ratio, found.interval.low, found.interval.high) == pytest.approx((ratio, low, high), abs=1e-7)


AMPLITUDES = st.lists(st.tuples(st.integers(1, 400), st.integers(1, 400)), min_size=3, max_size=10)


@settings(deadline=None)
@given(AMPLITUDES)
def test_the_limits_of_fieller_are_where_the_t_test_turns(amplitudes: list[tuple[int, int]]) -> None:
    """By its definition: the mean of a - R b has p of 0.05 exactly at both limits R."""
    a, b = np.array(amplitudes, dtype=float).T
    found = ratio_of_means(a, b)
    if found.missing:
        assert found.fieller_g >= 1 or "same in all" in found.missing
        return
    if found.fieller_g > 0.99:
        return
    assert found.interval.low <= found.ratio <= found.interval.high
    for limit in (found.interval.low, found.interval.high):
        assert paired_t(a, limit * b).difference.p == pytest.approx(0.05, rel=1e-4)


@settings(deadline=None)
@given(AMPLITUDES)
def test_the_geometric_ratio_inverts_and_fiellers_does_too(amplitudes: list[tuple[int, int]]) -> None:
    """Means: limits of a : b are inverse to those of b : a where both are bounded and above zero."""
    a, b = np.array(amplitudes, dtype=float).T
    for ratio_of in (geometric_mean_ratio, ratio_of_means):
        one, other = ratio_of(a, b), ratio_of(b, a)
        assert other.ratio == pytest.approx(1 / one.ratio, rel=1e-9)
        if one.interval.low > 0.05 and other.interval.low > 0.05:
            assert other.interval.low == pytest.approx(1 / one.interval.high, rel=1e-5)


@settings(deadline=None)
@given(AMPLITUDES, st.floats(1e-6, 1e6))
def test_a_gain_common_to_both_conditions_changes_nothing(amplitudes: list[tuple[int, int]], gain: float) -> None:
    a, b = np.array(amplitudes, dtype=float).T
    for ratio_of in (geometric_mean_ratio, ratio_of_means):
        one, other = ratio_of(a, b), ratio_of(a * gain, b * gain)
        assert other.ratio == pytest.approx(one.ratio, rel=1e-9)
        if not one.fieller_g > 0.99:
            assert other.interval.low == pytest.approx(one.interval.low, rel=1e-6, abs=1e-6, nan_ok=True)


def test_fiellers_interval_is_unbounded_where_the_second_mean_is_not_clear_of_zero() -> None:
    b = np.array([1.0, 9.0, -2.0, 4.0])
    found = ratio_of_means([4.0, 5.0, 6.0, 7.0], b)
    assert found.fieller_g >= 1
    assert "unbounded" in found.missing
    assert np.isnan(found.interval.low)
    assert found.ratio == pytest.approx(5.5 / 3)


@pytest.mark.parametrize(("a", "b", "said"), [
    ([1.0, 2.0], [-1.0, 1.0], "mean of the second condition is zero"),
    ([2.0, 4.0, 6.0], [1.0, 2.0, 3.0], "same in all 3"),
    ([2.0], [1.0], "one participant"),
])  # fmt: skip
def test_what_cannot_be_given_is_said(a: list[float], b: list[float], said: str) -> None:
    found = ratio_of_means(a, b)
    assert said in found.missing
    assert np.isnan(found.interval.low)


def test_a_second_condition_without_spread_leaves_an_ordinary_interval() -> None:
    """With b constant, Fieller's interval is the t interval of a divided by b."""
    a = np.array([1.0, 2.0, 4.0, 5.0])
    found, plain = ratio_of_means(a, np.full(4, 2.0)), paired_t(a, np.zeros(4)).difference
    assert found.fieller_g == 0
    assert found.interval.low == pytest.approx(plain.interval.low / 2)


def test_a_value_at_zero_has_no_logarithm_and_the_participant_is_named() -> None:
    found = geometric_mean_ratio([1.0, 0.0, 2.0], [1.0, 1.0, 3.0])
    assert np.isnan(found.ratio)
    assert "participant 2" in found.missing
    assert "same" not in geometric_mean_ratio([2.0, 4.1], [1.0, 2.0]).missing
    assert geometric_mean_ratio([2.0, 4.0], [1.0, 2.0]).ratio == pytest.approx(2)


def test_wild_logs_give_limits_that_are_still_numbers() -> None:
    found = geometric_mean_ratio([1e-90, 1e90], [1e90, 1e-80])
    assert found.interval.low == 0
    assert np.isfinite(found.interval.high)


def test_fiellers_interval_covers() -> None:
    """True ratio 1.3, correlated amplitudes, 1000 seeded samples of 8."""
    generator = np.random.default_rng(31)
    covered = 0
    for _ in range(1000):
        person = generator.normal(10, 2, 8)
        interval = ratio_of_means(1.3 * person + generator.normal(0, 1.5, 8), person).interval
        covered += interval.low <= 1.3 <= interval.high
    assert covered / 1000 == pytest.approx(0.95, abs=0.02)
