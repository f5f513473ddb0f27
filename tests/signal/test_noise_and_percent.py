"""Baseline noise taken off amplitude, and amplitude in percent of a reference."""

from fractions import Fraction
from math import isnan, nan, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from phasemark.model.recording import Treatment
from phasemark.signal.amplitude import amplitude
from phasemark.signal.baseline import error_without_noise, noise_of, without_noise
from phasemark.signal.block_sums import block_sums
from phasemark.signal.conditioning import Conditioned
from phasemark.signal.normalise import percent_error, percent_of

positive = st.floats(1e-6, 1e3)


def channel(values: np.ndarray) -> Conditioned:
    return Conditioned(values, Fraction(2000), block_sums(values), Treatment.RAW)


@pytest.mark.parametrize(("value", "noise", "left"), [(5.0, 3.0, 4.0), (3.0, 5.0, 0.0), (2.0, 0.0, 2.0)])
def test_noise_is_taken_off_as_the_root_difference_of_squares(value: float, noise: float, left: float) -> None:
    """Wang et al. 2019, IEEE Trans Neural Syst Rehabil Eng 27:2328-2335 (figures by its formula)."""
    assert without_noise(value, noise) == left


def test_what_is_missing_stays_missing() -> None:
    assert isnan(without_noise(nan, 1.0))
    assert isnan(without_noise(1.0, nan))


def test_at_rest_about_half_of_all_results_are_above_zero() -> None:
    """The published property of the estimator (same source)."""
    draw = np.random.default_rng(1)
    rest = np.sqrt(np.mean(draw.standard_normal((2000, 200)) ** 2, axis=1))
    share = np.mean([without_noise(value, 1.0) > 0 for value in rest])
    assert share == pytest.approx(0.5, abs=0.05)


def test_signal_and_noise_added_give_the_signal_back_in_rms_and_in_mean_amplitude() -> None:
    draw = np.random.default_rng(2)
    quiet = channel(draw.normal(0, 0.3, 200_000))
    task = channel(draw.normal(0, 0.5, 200_000) + draw.normal(0, 0.3, 200_000))
    found, noise = amplitude(task, 0, 200_000), noise_of(quiet)
    assert without_noise(found.rms, noise.rms) == pytest.approx(0.5, rel=0.01)
    assert without_noise(found.mean_amplitude, noise.mean_amplitude) == pytest.approx(0.5 * sqrt(2 / np.pi), rel=0.01)


def test_the_noise_of_an_interval_is_that_of_its_samples() -> None:
    values = np.concatenate([np.full(1000, 0.1), np.full(1000, 5.0)])
    assert noise_of(channel(values), 200, 900).rms == pytest.approx(0.1)
    assert noise_of(channel(values)) == amplitude(channel(values), 0, 2000)


def test_the_error_without_noise_is_the_spread_of_many_results() -> None:
    """Value 1.0 with 4 %, noise 0.6 with 3 %: simulated by normal draws."""
    draw = np.random.default_rng(3)
    value, noise = draw.normal(1.0, 0.04, 20_000), draw.normal(0.6, 0.018, 20_000)
    left = np.array([without_noise(v, n) for v, n in zip(value, noise, strict=True)])
    assert error_without_noise(1.0, 0.04, 0.6, 0.03) == pytest.approx(left.std() / left.mean(), rel=0.04)
    assert error_without_noise(1.0, 0.04, 0.0) == pytest.approx(0.04)


def test_where_next_to_nothing_is_left_the_error_is_not_determined() -> None:
    assert isnan(error_without_noise(1.0, 0.05, 1.0))
    assert isnan(error_without_noise(1.0, 0.05, 0.99))


def test_percent_of_a_reference() -> None:
    """30.0 %, and 29.9392 % where the same noise is taken off both (closed form)."""
    assert percent_of(0.150, 0.500) == pytest.approx(30.0)
    corrected = percent_of(without_noise(0.150, 0.010), without_noise(0.500, 0.010))
    assert corrected == pytest.approx(29.9392, abs=5e-5)


@given(value=positive, reference=positive, gain=st.floats(1e-4, 1e4), share=st.floats(0.0, 0.9))
def test_a_gain_changes_no_percentage(value: float, reference: float, gain: float, share: float) -> None:
    noise = share * min(value, reference)

    def percent(k: float) -> float:
        return percent_of(without_noise(k * value, k * noise), without_noise(k * reference, k * noise))

    assert percent(gain) == pytest.approx(percent(1.0), rel=1e-9)


def test_values_over_100_percent_are_kept() -> None:
    assert percent_of(0.75, 0.5) == pytest.approx(150.0)


@pytest.mark.parametrize(("value", "reference"), [(nan, 1.0), (1.0, nan), (1.0, 0.0), (1.0, -1.0)])
def test_without_value_or_reference_there_is_no_percentage(value: float, reference: float) -> None:
    assert isnan(percent_of(value, reference))


def test_the_error_of_a_percentage_is_the_spread_of_many() -> None:
    draw = np.random.default_rng(4)
    ratio = draw.normal(1, 0.06, 50_000) / draw.normal(1, 0.03, 50_000)
    assert percent_error(0.06, 0.03) == pytest.approx(ratio.std() / ratio.mean(), rel=0.02)
    assert isnan(percent_error(nan, 0.03))
