"""Standardised paired differences against print, pingouin and simulation."""

from math import sqrt

import numpy as np
import pingouin
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published_numbers import DRUG_1, DRUG_2, MOVIE_1, MOVIE_2, REACTION
from scipy import stats

from phasemark.statistics.distributions import noncentral_t_cdf, noncentrality_limits
from phasemark.statistics.effect_size import hedges_j, paired_effect_sizes
from phasemark.statistics.paired import paired_t


def test_movie_ratings_of_lakens_2013() -> None:
    """Lakens (2013) Front Psychol 4:863: d_z 1.50, d_s 1.13, g_s and g_av 1.08, common language .93 and .79 printed."""
    found = paired_effect_sizes(MOVIE_1, MOVIE_2)
    printed = (found.d_z, found.d_s, found.g_s, found.g_av, found.common_language, found.common_language_independent)
    assert printed == pytest.approx((1.50, 1.13, 1.08, 1.08, 0.93, 0.79), abs=0.005)
    assert found.d_z == pytest.approx(1.5, abs=1e-9)
    assert (found.d_z_interval.low, found.d_z_interval.high) == pytest.approx((0.560514, 2.403436), abs=1e-6)
    assert (found.d_s, found.d_rm, found.d_av) == pytest.approx((1.125880, 1.111332, 1.128696), abs=1e-6)
    # 1.0810 with the approximate factor 1 - 3 / 71; the exact factor gives 1.0809.
    assert found.d_av * (1 - 3 / 71) == pytest.approx(1.0810, abs=5e-5)
    assert found.g_av == pytest.approx(found.d_av * hedges_j(18), rel=1e-12)
    assert found.g_s == pytest.approx(1.0783, abs=2e-4)
    assert found.d_av * hedges_j(9) == pytest.approx(1.0315, abs=5e-5)  # the stricter choice, not taken
    assert found.common_language == pytest.approx(0.933193, abs=1e-6)
    assert found.common_language_independent == pytest.approx(0.787018, abs=1e-6)


def test_sleep_data_of_student_1908() -> None:
    """Student (1908) Biometrika 6:1-25; figures recomputed by two routes."""
    found = paired_effect_sizes(DRUG_2, DRUG_1)
    assert (found.d_z, found.g_z, found.d_rm) == pytest.approx((1.2845576, 1.1739249, 0.8221766), abs=1e-7)
    assert (found.d_z_interval.low, found.d_z_interval.high) == pytest.approx((0.414628, 2.118017), abs=1e-6)
    assert (found.d_av, found.d_s) == pytest.approx((0.8334963, 0.8321811), abs=1e-7)
    assert found.d_z * 0.9142857 == pytest.approx(1.1744526, abs=1e-6)  # with the approximate factor


# Hedges (1981) J Educ Stat 6:107-128, closed form: df, exact, approximate.
FACTORS = [
    (2, 0.564190, 0.571429), (3, 0.723601, 0.727273), (4, 0.797885, 0.800000), (5, 0.840749, 0.842105),
    (9, 0.913875, 0.914286), (10, 0.922746, 0.923077), (14, 0.945288, 0.945455), (19, 0.959910, 0.960000),
    (29, 0.973875, 0.973913),
]  # fmt: skip


@pytest.mark.parametrize(("df", "exact", "approximate"), FACTORS)
def test_hedges_factor(df: int, exact: float, approximate: float) -> None:
    assert hedges_j(df) == pytest.approx(exact, abs=1e-6)
    assert 1 - 3 / (4 * df - 1) == pytest.approx(approximate, abs=1e-6)


@pytest.mark.parametrize(("angle", "d_z"), [(0, 0.3939193), (1, 1.4048787), (2, 3.5438278)])
def test_noise_at_each_angle(angle: int, d_z: float) -> None:
    """Maxwell & Delaney (2004), Table 12.1; recomputed, not printed."""
    assert paired_effect_sizes(REACTION[:, 1, angle], REACTION[:, 0, angle]).d_z == pytest.approx(d_z, abs=1e-7)


def test_pingouin_agrees_on_random_pairs() -> None:
    generator = np.random.default_rng(8)
    a, b = generator.normal(5, 2, 15), generator.normal(4, 1, 15)
    found = paired_effect_sizes(a, b)
    # pingouin's paired d divides by the root mean square of the SDs.
    assert found.d_s == pytest.approx(pingouin.compute_effsize(a, b, paired=True, eftype="cohen"), rel=1e-9)


@pytest.mark.parametrize("df", [1, 2, 3, 9, 30, 99, 700])
def test_the_noncentral_t_is_scipys_where_scipy_has_one(df: int) -> None:
    for t in (-8.0, -1.0, 0.0, 0.5, 2.0, 5.0, 30.0):
        for noncentrality in (-3.0, 0.0, 0.2, 2.0, 6.0):
            expected = float(stats.nct.cdf(t, df, noncentrality))
            found = noncentral_t_cdf(t, df, noncentrality)
            if np.isnan(expected):  # scipy's sum gives up in some far tails
                assert min(found, 1 - found) < 1e-12
            else:
                assert found == pytest.approx(expected, abs=1e-11)
        assert noncentral_t_cdf(t, df, 0) == pytest.approx(float(stats.t.cdf(t, df)), abs=1e-12)


def test_the_noncentral_t_far_from_its_middle() -> None:
    """By simulation of its definition, and where scipy has no number."""
    assert noncentral_t_cdf(-1.98, 99, 15) == pytest.approx(0, abs=1e-12)
    generator = np.random.default_rng(13)
    drawn = (40 + generator.normal(size=200_000)) / np.sqrt(generator.chisquare(4, 200_000) / 4)
    for t in (20.0, 45.0, 120.0):
        assert noncentral_t_cdf(t, 4, 40) == pytest.approx(np.mean(drawn <= t), abs=0.005)


@pytest.mark.parametrize("t", [-30.0, -2.5, 0.0, 0.3, 4.7, 60.0, 5000.0, 1e12])
@pytest.mark.parametrize("df", [1, 2, 9, 60])
def test_limits_of_the_noncentrality_leave_the_stated_tails(t: float, df: int) -> None:
    low, high = noncentrality_limits(t, df, 0.95)
    assert low < high
    assert noncentral_t_cdf(t, df, low) == pytest.approx(0.975, abs=1e-7)
    assert noncentral_t_cdf(t, df, high) == pytest.approx(0.025, abs=1e-7)


SCORES = st.lists(st.tuples(st.integers(0, 300), st.integers(0, 300)), min_size=3, max_size=9)


@settings(deadline=None)
@given(SCORES)
def test_swapping_turns_signs_and_the_intervals_hold_zero_as_the_t_test_does(scores: list[tuple[int, int]]) -> None:
    a, b = np.array(scores, dtype=float).T
    one, other, test = paired_effect_sizes(a, b), paired_effect_sizes(b, a), paired_t(a, b).difference
    for name in ("d_z", "g_z", "d_av", "g_av", "d_rm", "d_s", "g_s"):
        assert getattr(other, name) == pytest.approx(-getattr(one, name), rel=1e-6, abs=1e-9, nan_ok=True)
    assert other.common_language == pytest.approx(1 - one.common_language, abs=1e-9, nan_ok=True)
    for interval in (one.d_z_interval, one.g_av_interval):
        if not np.isnan(interval.low) and abs(test.p - 0.05) > 1e-6:
            assert (interval.low <= 0 <= interval.high) == (test.p > 0.05)


@pytest.mark.parametrize(("n", "correlation"), [(8, 0.0), (8, 0.8), (15, 0.5)])
def test_the_interval_of_d_av_covers(n: int, correlation: float) -> None:
    """True d_av 0.8 in normal pairs of equal SDs, 600 seeded samples: 93 to 98 % of intervals hold it."""
    generator = np.random.default_rng(21)
    spread = np.linalg.cholesky(np.array([[1, correlation], [correlation, 1]]))
    covered = 0
    for _ in range(600):
        pairs = generator.normal(size=(n, 2)) @ spread.T
        interval = paired_effect_sizes(pairs[:, 0] + 0.8, pairs[:, 1]).d_av_interval
        covered += interval.low <= 0.8 <= interval.high
    assert 0.93 <= covered / 600 <= 0.98


def test_g_z_is_without_bias_on_average() -> None:
    """True d_z 0.7, 3000 seeded samples of 6: d_z is a fifth too large on average, g_z is not (Hedges 1981)."""
    samples = np.random.default_rng(2).normal(0.7, 1, size=(3000, 6))
    d_z = samples.mean(axis=1) / samples.std(axis=1, ddof=1)
    standard_error = d_z.std() / sqrt(3000)
    assert d_z.mean() > 0.7 + 5 * standard_error
    assert hedges_j(5) * d_z.mean() == pytest.approx(0.7, abs=3 * standard_error)


def test_two_pairs_have_no_g_z_and_say_so() -> None:
    found = paired_effect_sizes([1, 2], [0, 3])
    assert np.isnan(found.g_z)
    assert "two participants" in found.missing


def test_equal_differences_keep_d_av_and_say_why_d_z_is_missing() -> None:
    found = paired_effect_sizes([2, 3, 5], [1, 2, 4])
    assert found.d_av == pytest.approx(1 / np.std([1, 2, 4], ddof=1))
    assert np.isnan(found.d_z)
    assert "no spread" in found.missing


def test_a_condition_without_spread_has_no_d_rm() -> None:
    found = paired_effect_sizes([2, 3, 5], [1, 1, 1])
    assert np.isnan(found.d_rm)
    assert found.d_z == pytest.approx(7 / 3 / np.std([1, 2, 4], ddof=1))
    assert "d_rm" in found.missing
