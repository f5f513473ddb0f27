"""Median frequency against closed forms and a reference library."""

from fractions import Fraction
from math import isnan

import numpy as np
import pytest
from scipy import signal

from phasemark.signal.frequency import median_frequency

RATE = Fraction(2000)


def test_a_sine_has_its_own_frequency() -> None:
    t = np.arange(2000) / 2000
    assert median_frequency(np.sin(2 * np.pi * 80 * t), RATE) == pytest.approx(80, abs=1.0)


def test_flat_noise_of_a_band_has_the_middle_of_the_band() -> None:
    noise = np.random.default_rng(1).normal(size=200_000)
    band = signal.sosfiltfilt(signal.butter(6, (50, 150), "bandpass", fs=2000, output="sos"), noise)
    assert median_frequency(band, RATE) == pytest.approx(100, abs=1.5)


def test_it_agrees_with_the_welch_spectrum_of_scipy() -> None:
    noise = np.random.default_rng(2).normal(size=60_000)
    shaped = signal.lfilter([1], [1, -0.8], noise)
    frequencies, power = signal.welch(shaped, 2000, nperseg=4096)
    total = np.cumsum(power)
    expected = float(np.interp(total[-1] / 2, total, frequencies))
    assert median_frequency(shaped, RATE) == pytest.approx(expected, rel=0.03)


def test_short_incomplete_and_silent_segments_have_none() -> None:
    t = np.arange(2000) / 2000
    wave = np.sin(2 * np.pi * 80 * t)
    assert isnan(median_frequency(wave[:999], RATE))
    assert not isnan(median_frequency(wave[:1000], RATE))
    gap = wave.copy()
    gap[700] = np.nan
    assert isnan(median_frequency(gap, RATE))
    assert isnan(median_frequency(np.zeros(2000), RATE))
