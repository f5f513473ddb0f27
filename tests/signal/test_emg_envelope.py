"""Moving RMS, moving mean amplitude and low-pass envelopes."""

from fractions import Fraction
from math import pi, sqrt, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import signal

from phasemark.model.errors import BadData
from phasemark.model.recording import EmgChannel, Samples, Treatment
from phasemark.model.settings import EnvelopeKind, EnvelopeSettings, FilterSettings
from phasemark.signal.conditioning import Conditioned, condition
from phasemark.signal.envelope import (
    envelope,
    low_passed_rectified,
    moving_mean_amplitude,
    moving_rms,
    window_samples,
)

OFF = FilterSettings(highpass_hz=None, lowpass_hz=None, remove_offset=False)
LOW_PASS = EnvelopeSettings(kind=EnvelopeKind.LOW_PASS)
RATE = Fraction(1000)


def _conditioned(values: Samples, treatment: Treatment = Treatment.RAW) -> Conditioned:
    return condition(values, EmgChannel("soleus", RATE, treatment=treatment), OFF)


@pytest.mark.parametrize(
    ("window_s", "rate", "samples"),
    [
        (0.1, "2000", 201),
        (0.1, "1000", 101),
        (0.1, "1111.11", 113),
        (0.5, "2000", 1001),
        (0.05, "50", 3),
        (0.001, "100", 1),
    ],
)
def test_a_window_is_odd_and_reaches_half_its_length_to_either_side(window_s: float, rate: str, samples: int) -> None:
    assert window_samples(window_s, Fraction(rate)) == samples


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 300), st.integers(0, 40), st.lists(st.integers(0, 299), max_size=3), st.integers(0, 2**32))
def test_moving_rms_is_the_rms_of_every_full_window_and_missing_elsewhere(
    length: int, half: int, holes: list[int], seed: int
) -> None:
    x = np.random.default_rng(seed).normal(size=length)
    x[[hole for hole in holes if hole < length]] = np.nan
    found = moving_rms(x, RATE, 2 * half / 1000)
    expected = np.full(length, np.nan)
    for middle in range(half, length - half):
        expected[middle] = np.sqrt(np.mean(x[middle - half : middle + half + 1] ** 2))  # NaN if one is missing
    np.testing.assert_allclose(found, expected, rtol=2e-15)


def test_windows_are_joined_without_a_seam_on_long_signals() -> None:
    x = np.random.default_rng(1).normal(size=40_000)
    expected = np.sqrt(np.convolve(x * x, np.ones(101) / 101, "valid"))
    found = moving_rms(x, RATE, 0.1)
    np.testing.assert_allclose(found[50:-50], expected, rtol=1e-12)
    assert np.isnan(found[:50]).all()
    assert np.isnan(found[-50:]).all()


def test_a_window_longer_than_the_signal_has_no_value() -> None:
    assert np.isnan(moving_rms(np.ones(100), RATE, 0.1)).all()
    assert np.isfinite(moving_rms(np.ones(101), RATE, 0.1)).sum() == 1


def test_an_artefact_leaves_no_rounding_behind() -> None:
    x = np.full(3000, 1e-4)
    x[1000] = 1e6
    np.testing.assert_allclose(moving_rms(x, RATE, 0.1)[1060:-50], 1e-4, rtol=1e-14)


def test_moving_envelopes_of_a_sine_over_whole_cycles() -> None:
    """Closed form: A / sqrt 2 for whole cycles; 101 samples hold five cycles of 20 and one zero crossing."""
    x = np.sin(2 * pi * np.arange(2000) / 20)
    rms = moving_rms(x, RATE, 0.1)[50:-50]
    assert rms.max() == pytest.approx(sqrt(0.5), rel=0.01)
    at_crossings = rms[10::20]
    np.testing.assert_allclose(at_crossings, sqrt(50 / 101), rtol=1e-12)
    mean = moving_mean_amplitude(x, RATE, 0.1)[50:-50][10::20]
    np.testing.assert_allclose(mean, 100 / 101 * (2 / 20) / tan(pi / 20), rtol=1e-12)


@pytest.mark.parametrize("seconds", [3, 0.7])
def test_the_low_pass_envelope_of_a_sine_is_flat_at_its_mean_amplitude(seconds: float) -> None:
    """Closed form: 50 Hz at 1 kHz, ripple under 1e-4 about (2/M) cot(pi/M) = 0.6313752, and not 2/pi."""
    x = np.sin(2 * pi * 50 * np.arange(int(seconds * 1000)) / 1000)
    found = low_passed_rectified(x, RATE, 6.0, 4)
    inner = found[200:-200]
    assert np.abs(inner - (2 / 20) / tan(pi / 20)).max() < 1e-4
    np.testing.assert_allclose(found, 0.6313752, atol=0.02)  # at the ends the cycle is cut


def test_the_low_pass_envelope_is_sosfiltfilt_of_the_rectified_signal() -> None:
    x = np.random.default_rng(2).normal(size=4000)
    sections = signal.butter(2, 7.478537787, fs=1000, output="sos")
    expected = signal.sosfiltfilt(sections, np.abs(x), padtype="even", padlen=167)
    np.testing.assert_allclose(low_passed_rectified(x, RATE, 6.0, 4), expected, atol=1e-9)


def test_the_ends_of_a_low_pass_envelope_do_not_hang_on_single_samples() -> None:
    """Over many stretches of steady noise the envelope's ends scatter not much more than its middle."""
    rng = np.random.default_rng(3)
    ends, middles, by_default = [], [], []
    sections = signal.butter(2, 7.478537787, fs=1000, output="sos")
    for _ in range(200):
        x = rng.normal(size=1000)
        found = low_passed_rectified(x, RATE, 6.0, 4)
        ends.append(found[0])
        middles.append(found[500])
        by_default.append(signal.sosfiltfilt(sections, np.abs(x))[0])
    assert np.std(ends) < 2 * np.std(middles)
    assert np.std(by_default) > 4 * np.std(middles), "what a short odd extension would do"


def test_a_piece_shorter_than_a_period_of_the_cutoff_has_no_low_pass_envelope() -> None:
    x = np.ones(600)
    x[100] = x[270] = np.nan
    found = low_passed_rectified(x, RATE, 6.0, 4)
    assert np.isnan(found[:101]).all()
    np.testing.assert_allclose(found[101:270], 1.0, rtol=1e-9)
    assert np.isnan(found[270])


def test_an_envelope_follows_its_settings_and_leaves_the_signal_alone() -> None:
    x = np.random.default_rng(4).normal(size=2000)
    conditioned = _conditioned(x)
    np.testing.assert_array_equal(envelope(conditioned, EnvelopeSettings(window_s=0.2)), moving_rms(x, RATE, 0.2))
    np.testing.assert_array_equal(envelope(conditioned, LOW_PASS), low_passed_rectified(x, RATE, 6.0, 4))
    np.testing.assert_array_equal(conditioned.values, x)


def test_already_rectified_input_has_a_moving_mean_amplitude_instead_of_an_rms() -> None:
    x = np.abs(np.random.default_rng(5).normal(size=500))
    found = envelope(_conditioned(x, Treatment.RECTIFIED), EnvelopeSettings())
    np.testing.assert_array_equal(found, moving_mean_amplitude(x, RATE, 0.1))


def test_an_envelope_low_pass_that_does_not_fit_is_refused() -> None:
    with pytest.raises(BadData, match="450 Hz would fit"):
        envelope(_conditioned(np.ones(1000)), EnvelopeSettings(kind=EnvelopeKind.LOW_PASS, lowpass_hz=600.0))
