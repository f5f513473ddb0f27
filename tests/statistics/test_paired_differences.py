"""Paired and one-sample t tests against print and scipy."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published_numbers import DRUG_1, DRUG_2, MOVIE_1, MOVIE_2, REACTION
from scipy import stats

from phasemark.statistics.one_sample import one_sample_t
from phasemark.statistics.paired import paired_t
from phasemark.statistics.two_sample import two_sample_t


def test_sleep_data_of_student_1908() -> None:
    """Student (1908) Biometrika 6:1-25; figures recomputed by two routes."""
    found = paired_t(DRUG_2, DRUG_1)
    assert (found.mean_b, found.mean_a) == pytest.approx((0.75, 2.33), abs=1e-12)
    assert (found.sd_b, found.sd_a) == pytest.approx((1.789010, 2.002249), abs=1e-6)
    difference = found.difference
    assert (difference.n, difference.df, difference.missing) == (10, 9, "")
    assert (difference.mean, difference.sd, difference.se) == pytest.approx((1.58, 1.2299955, 0.3889587), abs=1e-7)
    assert difference.t == pytest.approx(4.0621277, abs=1e-7)
    assert difference.p == pytest.approx(0.0028328902, abs=1e-10)
    assert (difference.interval.low, difference.interval.high) == pytest.approx((0.7001142, 2.4598858), abs=1e-7)
    assert found.correlation == pytest.approx(0.7951702, abs=1e-7)


def test_movie_ratings_of_lakens_2013() -> None:
    """Lakens (2013) Front Psychol 4:863: t(9) = 4.74 and r = .726 are printed."""
    found = paired_t(MOVIE_1, MOVIE_2)
    assert found.difference.t == pytest.approx(4.74, abs=0.005)
    assert found.correlation == pytest.approx(0.726, abs=0.0005)
    assert found.difference.t == pytest.approx(4.7434165, abs=1e-7)
    assert found.difference.p == pytest.approx(0.00105387, abs=1e-8)
    assert (found.mean_a, found.mean_b) == pytest.approx((8.7, 7.7))
    assert (found.sd_a, found.sd_b) == pytest.approx((0.8232726, 0.9486833), abs=1e-7)
    assert (found.difference.mean, found.difference.sd) == pytest.approx((1.0, 0.6666667), abs=1e-7)
    interval = found.difference.interval
    assert (interval.low, interval.high) == pytest.approx((0.5230954, 1.4769046), abs=1e-7)
    assert found.correlation == pytest.approx(0.7255423, abs=1e-7)


# Noise present minus absent at each angle of Maxwell & Delaney (2004), Table 12.1; recomputed, not printed:
# mean, SD, t, p, interval.
FOLLOW_UP = [
    (30, 76.157731, 1.2456822, 0.2443331, -24.480, 84.480),
    (150, 106.770783, 4.4426166, 0.00161736, 73.621, 226.379),
    (234, 66.030296, 11.2065675, 1.37591e-6, 186.765, 281.235),
]


@pytest.mark.parametrize(("angle", "expected"), list(enumerate(FOLLOW_UP)))
def test_noise_at_each_angle(angle: int, expected: tuple[float, ...]) -> None:
    mean, sd, t, p, *limits = expected
    found = paired_t(REACTION[:, 1, angle], REACTION[:, 0, angle]).difference
    assert (found.mean, found.sd, found.t) == pytest.approx((mean, sd, t), abs=1e-6)
    assert found.p == pytest.approx(p, rel=1e-5)
    assert [found.interval.low, found.interval.high] == pytest.approx(limits, abs=5e-4)


def test_mean_of_individual_percent_changes() -> None:
    """Angle 8 of Maxwell & Delaney (2004), recomputed: 44.7197 % (SD 12.6339), 35.6820 to 53.7574."""
    found = one_sample_t(100 * (REACTION[:, 1, 2] / REACTION[:, 0, 2] - 1))
    assert (found.mean, found.sd) == pytest.approx((44.7197, 12.6339), abs=1e-4)
    assert (found.interval.low, found.interval.high) == pytest.approx((35.6820, 53.7574), abs=1e-4)


@pytest.mark.parametrize("n", [2, 3, 8, 40])
@pytest.mark.parametrize("level", [0.8, 0.95, 0.99])
def test_random_pairs_agree_with_scipy(n: int, level: float) -> None:
    generator = np.random.default_rng(n)
    a, b = generator.normal(1, 2, n), generator.normal(0, 1, n)
    found, expected = paired_t(a, b, level=level).difference, stats.ttest_rel(a, b)
    interval = expected.confidence_interval(level)
    assert (found.t, found.p, found.df) == pytest.approx((expected.statistic, expected.pvalue, expected.df), rel=1e-10)
    assert (found.interval.low, found.interval.high) == pytest.approx((interval.low, interval.high), rel=1e-9)


@pytest.mark.parametrize("equal", [True, False])
def test_two_groups_agree_with_scipy(equal: bool) -> None:
    generator = np.random.default_rng(4)
    a, b = generator.normal(1, 2, 7), generator.normal(0, 1, 12)
    found, expected = two_sample_t(a, b, equal_variances=equal), stats.ttest_ind(a, b, equal_var=equal)
    interval = expected.confidence_interval(0.95)
    assert (found.t, found.p, found.df) == pytest.approx((expected.statistic, expected.pvalue, expected.df), rel=1e-10)
    assert (found.interval.low, found.interval.high) == pytest.approx((interval.low, interval.high), rel=1e-9)


SCORES = st.lists(st.tuples(st.integers(-500, 500), st.integers(-500, 500)), min_size=2, max_size=12)


@settings(deadline=None)
@given(SCORES)
def test_order_of_participants_does_not_matter_and_swapping_turns_the_sign(
    scores: list[tuple[int, int]],
) -> None:
    a, b = np.array(scores, dtype=float).T / 10
    order = np.random.default_rng(len(scores)).permutation(len(a))
    plain, permuted, swapped = paired_t(a, b), paired_t(a[order], b[order]), paired_t(b, a)
    for one, other, sign in ((plain, permuted, 1), (plain, swapped, -1)):
        assert other.difference.mean == pytest.approx(sign * one.difference.mean, abs=1e-9)
        assert other.difference.t == pytest.approx(sign * one.difference.t, rel=1e-7, abs=1e-9, nan_ok=True)
        assert other.difference.p == pytest.approx(one.difference.p, rel=1e-6, nan_ok=True)
    assert swapped.difference.interval.low == pytest.approx(-plain.difference.interval.high, abs=1e-9, nan_ok=True)


def test_differences_that_are_alike_but_for_rounding_have_no_test() -> None:
    """1.9 - 0.6 and 1.1 + 0.2 differ in the last digit; a t of 1e16 would be no finding."""
    found = paired_t([1.9, 1.1, 2.4], [0.6, -0.2, 1.1]).difference
    assert found.mean == pytest.approx(1.3)
    assert np.isnan(found.t)
    assert np.isnan(found.interval.low)
    assert "no spread" in found.missing


def test_one_pair_has_a_mean_and_says_why_no_more() -> None:
    found = paired_t([3.0], [1.0]).difference
    assert found.mean == 2
    assert np.isnan(found.sd)
    assert "one participant" in found.missing
