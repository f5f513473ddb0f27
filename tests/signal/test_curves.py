"""Curves over 0-100 %: resampling is exact where it must be, and repeatability has its closed forms."""

from math import isnan, pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from phasemark.signal.curves import POINTS, ensemble, over_range, over_time

# Four cycles of five points; an example made up for these tests, worked out with numpy (no published source).
CYCLES = np.array([[1, 3, 6, 3, 1], [2, 4, 7, 3, 2], [1.5, 3.5, 5, 3.5, 1.5], [1, 4, 6, 2.5, 1]])


@pytest.mark.parametrize("samples", [2, 3, 50, 100, 101, 102, 999])
def test_a_ramp_is_exact_at_every_percent_and_its_ends_stay(samples: int) -> None:
    ramp = np.linspace(3, 7, samples)
    found = over_time(ramp)
    assert found == pytest.approx(np.linspace(3, 7, POINTS), abs=1e-12)
    assert (found[0], found[-1]) == (ramp[0], ramp[-1])


def test_101_samples_come_back_unchanged() -> None:
    values = np.random.default_rng(1).normal(size=POINTS)
    assert np.array_equal(over_time(values), values)


def test_a_sine_is_met_within_the_bound_of_linear_interpolation() -> None:
    """Error at most (2 pi / (M - 1))^2 / 8 for one cycle of M samples (closed form)."""
    wave = np.sin(2 * pi * np.arange(201) / 200)
    expected = np.sin(2 * pi * np.linspace(0, 1, POINTS))
    assert np.max(np.abs(over_time(wave) - expected)) <= (2 * pi / 200) ** 2 / 8


def test_a_missing_sample_leaves_its_neighbours_and_only_those_missing() -> None:
    values = np.ones(1001)
    values[500] = np.nan
    assert np.flatnonzero(np.isnan(over_time(values))).tolist() == [50]


def test_over_the_range_a_value_stands_at_the_height_where_it_was_first_reached() -> None:
    t = np.linspace(0, 1, 4001)
    heights = (1 - np.cos(pi * t)) / 2
    found = over_range(heights * 10, heights, rising=True)
    assert found == pytest.approx(np.linspace(0, 10, POINTS), abs=1e-5)
    lowering = over_range(heights[::-1] * 10, heights[::-1], rising=False)
    assert lowering == pytest.approx(np.linspace(10, 0, POINTS), abs=1e-5)


def test_going_back_over_a_level_counts_once_and_early() -> None:
    heights = np.concatenate((np.linspace(0, 0.6, 61), np.linspace(0.59, 0.5, 10), np.linspace(0.51, 1, 50)))
    values = np.arange(len(heights), dtype=np.float64)
    assert over_range(values, heights, rising=True)[55] == pytest.approx(55, abs=1e-6)


def test_a_movement_that_stands_still_or_is_missing_has_no_curve() -> None:
    assert np.isnan(over_range(np.ones(50), np.full(50, 2.0), rising=True)).all()
    assert np.isnan(over_range(np.ones(50), np.full(50, np.nan), rising=True)).all()
    assert np.isnan(over_time(np.ones(1))).all()


def test_the_worked_example_has_its_variation_and_variance_ratio() -> None:
    found = ensemble(list(CYCLES))
    assert found.mean == pytest.approx([1.375, 3.625, 6, 3, 1.375])
    assert found.sd == pytest.approx([0.4787136, 0.4787136, 0.8164966, 0.4082483, 0.4787136], abs=1e-7)
    assert found.variation_percent == pytest.approx(17.9353844, abs=1e-6)
    assert found.variance_ratio == pytest.approx(0.0915330298, abs=1e-9)


def test_identical_cycles_repeat_perfectly_and_flat_different_ones_are_not_cut_off_at_one() -> None:
    same = ensemble([CYCLES[0]] * 3)
    assert (same.variance_ratio, same.variation_percent) == (0.0, 0.0)
    assert ensemble([np.ones(5), np.full(5, 2.0)]).variance_ratio == pytest.approx(1.8)


@given(st.floats(0.01, 100), st.floats(-5, 5))
def test_scaling_changes_neither_ratio_and_a_constant_changes_only_the_variation(scale: float, constant: float) -> None:
    plain, scaled = ensemble(list(CYCLES)), ensemble(list(CYCLES * scale))
    assert scaled.variance_ratio == pytest.approx(plain.variance_ratio)
    assert scaled.variation_percent == pytest.approx(plain.variation_percent)
    assert ensemble(list(CYCLES + constant)).variance_ratio == pytest.approx(plain.variance_ratio)


def test_one_curve_or_none_has_no_ratio() -> None:
    assert isnan(ensemble([CYCLES[0]]).variance_ratio)
    assert ensemble([]).n == 0
    assert isnan(ensemble([np.full(5, np.nan), np.ones(5)]).variance_ratio)


def test_the_rms_of_resampled_noise_is_too_low_which_is_why_values_come_from_the_samples() -> None:
    noise = np.random.default_rng(3).normal(size=2000)
    assert np.sqrt(np.mean(over_time(noise) ** 2)) < 0.95 * np.sqrt(np.mean(noise**2))
