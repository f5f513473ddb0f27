"""Power-line notch: width, what it leaves of hum and EMG, ends, gaps, what does not fit; power in a band."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some
from scipy import signal

from phasemark.model.errors import BadData
from phasemark.model.recording import Samples
from phasemark.model.settings import FilterSettings
from phasemark.signal.notch import (
    band_power,
    check_notch,
    line_powers,
    minus_3_db_band,
    notch,
    notch_lines,
    notch_sections,
    settling_samples,
)

RATE = Fraction(2000)
NOTCH = FilterSettings(notch_hz=50.0)
THREE = FilterSettings(notch_hz=50.0, notch_harmonics=3)


def _wave(hz: float, amplitude: float, samples: int, rate: float = 2000.0, phase: float = 0.7) -> Samples:
    return np.asarray(amplitude * np.sin(2 * np.pi * hz * np.arange(samples) / rate + phase))


def _rms(x: Samples) -> float:
    return float(np.sqrt(np.mean(np.square(x))))


def _decibels(filters: FilterSettings, rate: Fraction, hz: list[float] | tuple[float, ...]) -> Samples:
    """Of the double pass, from scipy's own frequency response."""
    _, gains = signal.sosfreqz(notch_sections(filters, rate), hz, fs=float(rate))
    return np.asarray(40 * np.log10(np.maximum(np.abs(gains), 1e-30)))


def test_a_single_pass_of_the_uncorrected_width_has_the_gains_of_the_table() -> None:
    """iirnotch(50, 30, 2000): -0.6694 dB at 48 Hz, -2.2546 at 49, -2.3253 at 51, -0.7204 at 52 (scipy).

    A double pass whose width is stated as 50 / 30 / u, u being where u^2 = sqrt(2) - 1, runs that very pass twice.
    """
    half = np.pi * 50 / 30 / 2000
    stated = np.arctan(np.tan(half) / np.sqrt(np.sqrt(2) - 1)) / np.pi * 2000
    sections = notch_sections(FilterSettings(notch_hz=50.0, notch_q=50 / stated), RATE)[0]
    np.testing.assert_allclose(sections[:3], [0.99738884, -1.97021865, 0.99738884], atol=1e-8)
    np.testing.assert_allclose(sections[3:], [1, -1.97021865, 0.99477767], atol=1e-8)
    _, gains = signal.sosfreqz(sections, [48, 49, 51, 52], fs=2000)
    np.testing.assert_allclose(20 * np.log10(np.abs(gains)), [-0.6694, -2.2546, -2.3253, -0.7204], atol=1e-4)


@given(
    rate=some.fractions(Fraction(300), Fraction(10_000), max_denominator=7),
    hz=some.floats(10.0, 119.0),
    quality=some.floats(2.0, 100.0),
)
def test_both_passes_together_are_at_minus_3_db_as_wide_apart_as_stated(
    rate: Fraction, hz: float, quality: float
) -> None:
    low, high = minus_3_db_band(rate, hz, quality)
    assert low < hz < high
    assert high - low == pytest.approx(hz / quality, rel=1e-9)
    filters = FilterSettings(notch_hz=hz, notch_q=quality)
    np.testing.assert_allclose(_decibels(filters, rate, (low, high)), -3.0103, atol=2e-4)
    assert _decibels(filters, rate, [hz])[0] < -200


def test_each_multiple_has_the_quality_of_the_first() -> None:
    """100 Hz is 3.33 Hz wide, 150 Hz 5 Hz; the neighbours add less than 0.01 dB."""
    for times in (1, 2, 3):
        band = minus_3_db_band(RATE, 50.0 * times, 30.0)
        np.testing.assert_allclose(_decibels(THREE, RATE, band), -3.0103, atol=0.01)
        assert band[1] - band[0] == pytest.approx(times * 50 / 30)


def test_steady_hum_is_gone_also_at_the_ends_and_the_emg_is_as_without_hum() -> None:
    """With hum ten times the EMG; scipy's own start-up on the same sections leaves a tenth of the hum at the ends."""
    x = np.random.default_rng(1).normal(0, 0.1, 20_000)
    hum = sum(_wave(50.0 * k, 1 / k, len(x), phase=k) for k in (1, 2, 3))
    np.testing.assert_allclose(notch(x + hum, RATE, THREE), notch(x, RATE, THREE), atol=1e-9)
    by_scipy = signal.sosfiltfilt(notch_sections(THREE, RATE), hum)
    assert np.abs(by_scipy[:500]).max() > 0.1 > 1e6 * np.abs(notch(hum, RATE, THREE)).max()


def test_inside_it_is_scipys_forward_and_backward_pass() -> None:
    x = np.random.default_rng(2).normal(size=30_000)
    expected = signal.sosfiltfilt(notch_sections(THREE, RATE), x)
    np.testing.assert_allclose(notch(x, RATE, THREE)[8000:-8000], expected[8000:-8000], atol=1e-6)


def test_it_has_no_lag_and_treats_both_directions_of_time_alike() -> None:
    """Reversed, filtered and reversed back: the same away from the ends. A symmetric pulse keeps its middle."""
    x = np.random.default_rng(3).normal(size=30_000)
    np.testing.assert_allclose(
        notch(x[::-1], RATE, NOTCH)[::-1][8000:-8000], notch(x, RATE, NOTCH)[8000:-8000], atol=1e-6
    )
    pulse = np.exp(-(((np.arange(20_001) - 10_000) / 15) ** 2))
    filtered = notch(pulse, RATE, NOTCH)
    assert filtered.argmax() == 10_000
    np.testing.assert_allclose(filtered[5000:15_001], filtered[5000:15_001][::-1], atol=1e-9)


def test_a_constant_stays_that_constant() -> None:
    np.testing.assert_allclose(notch(np.full(5000, 3.0), RATE, THREE), 3.0, atol=1e-9)


def test_hum_a_little_beside_the_stated_frequency_is_still_taken_out() -> None:
    """50.1 Hz: what two passes leave of it away from the ends is the response there; at the ends not much more."""
    hum = _wave(50.1, 1.0, 40_000)
    left = notch(hum, RATE, NOTCH)
    expected = 10 ** (_decibels(NOTCH, RATE, [50.1])[0] / 20)
    assert _rms(left[10_000:-10_000]) == pytest.approx(expected / np.sqrt(2), rel=1e-3)
    assert np.abs(left).max() < 0.25


def test_of_white_noise_it_takes_the_share_of_power_that_its_response_says() -> None:
    """Mean of 1 - |H|^4 over all frequencies up to half the rate."""
    x = np.random.default_rng(4).normal(size=400_000)
    _, gains = signal.sosfreqz(notch_sections(THREE, RATE), 1 << 17, fs=2000)
    expected = np.mean(np.abs(gains) ** 4)
    assert np.mean(notch(x, RATE, THREE) ** 2) / np.mean(x**2) == pytest.approx(expected, abs=5e-4)
    assert 1 - expected == pytest.approx(0.0142, abs=0.001)


def test_gaps_stay_gaps_and_each_piece_is_filtered_by_itself() -> None:
    x = np.random.default_rng(5).normal(size=9000) + _wave(50.0, 3.0, 9000)
    x[4000:4100] = np.nan
    filtered = notch(x, RATE, NOTCH)
    np.testing.assert_array_equal(filtered[:4000], notch(x[:4000], RATE, NOTCH))
    np.testing.assert_array_equal(filtered[4100:], notch(x[4100:], RATE, NOTCH))
    assert np.isnan(filtered[4000:4100]).all()


def test_a_piece_too_short_to_tell_the_line_from_emg_is_missing() -> None:
    """The inverse of the width: 0.6 s at 50 Hz and quality 30."""
    assert settling_samples(NOTCH, RATE) == 1200
    x = _wave(50.0, 1.0, 1200)
    np.testing.assert_allclose(notch(x, RATE, NOTCH), 0, atol=1e-9)
    assert np.isnan(notch(x[1:], RATE, NOTCH)).all()
    assert settling_samples(FilterSettings(), RATE) == 0


def test_without_a_notch_the_signal_is_untouched() -> None:
    x = np.random.default_rng(6).normal(size=100)
    assert notch(x, RATE, FilterSettings()) is x
    assert notch_sections(FilterSettings(), RATE).shape == (0, 6)
    check_notch(FilterSettings(), Fraction(10))


def test_multiples_that_do_not_fit_the_rate_are_left_out_and_named() -> None:
    lines = notch_lines(FilterSettings(notch_hz=50.0, notch_harmonics=6), Fraction(500))
    assert lines.hz == (50, 100, 150, 200)
    assert lines.left_out == (250, 300)
    edge = notch_lines(FilterSettings(notch_hz=60.0, notch_harmonics=4), Fraction(486))
    assert edge.left_out == (240,), "at 240 Hz the notch itself fits below 243 Hz, but its width of 8 Hz does not"
    assert notch_lines(FilterSettings(), Fraction(500)).hz == ()


def test_a_notch_that_does_not_fit_the_rate_is_refused_with_the_reason() -> None:
    with pytest.raises(BadData, match=r"notch at 60 Hz does not fit soleus, sampled at 120 Hz: it must be below 59.01"):
        check_notch(FilterSettings(notch_hz=60.0), Fraction(120), "soleus")
    with pytest.raises(BadData, match=r"125 Hz wide and reach below 0 Hz: filter.notch_q must be above 0.5"):
        check_notch(FilterSettings(notch_hz=50.0, notch_q=0.4), RATE)
    with pytest.raises(BadData, match="switch the notch off"):
        notch(np.zeros(5000), Fraction(100), NOTCH)


@pytest.mark.parametrize(
    ("emg", "amplitude", "total"), [(1, 0.5, 1.0606602), (10, 5, 10.6066017), (50, 10, 50.4975247)]
)
def test_rms_of_emg_with_hum_falls_back_to_that_of_the_emg(emg: float, amplitude: float, total: float) -> None:
    """RMS of both is sqrt(s^2 + A^2 / 2) (closed form); with the notch s, less the 0.3 % of its width."""
    x = np.random.default_rng(7).normal(0, emg, 200_000)
    x *= emg / _rms(x)
    x -= _wave(50.0, 2 * np.mean(x * _wave(50.0, 1.0, len(x))), len(x))  # none of the hum's own wave in it by chance
    both = x + _wave(50.0, amplitude, len(x))
    assert _rms(both) == pytest.approx(total, rel=2e-5)
    assert _rms(notch(both, RATE, NOTCH)) == pytest.approx(emg, rel=3e-3)


def test_power_of_a_band_is_half_the_square_of_a_steady_lines_amplitude() -> None:
    """Hum (10, 5): share of power A^2 / 2 / (s^2 + A^2 / 2) = 0.1111 (closed form), noise in the band added."""
    for rate in (Fraction(2000), Fraction("1111.11")):
        line = _wave(50.0, 5.0, 100_000, float(rate))
        assert band_power(line, rate, 50.0, 2.0) == pytest.approx(12.5, rel=1e-3)
        assert band_power(line, rate, 60.0, 2.0) < 1e-6
    x = np.random.default_rng(8).normal(0, 10, 400_000)
    power = band_power(x + _wave(50.0, 5.0, len(x)), RATE, 50.0, 2.0)
    assert (power - 100 * 2 / 1000) / (np.mean(x**2) + 12.5) == pytest.approx(0.1111, rel=0.02)


def test_power_of_a_band_of_white_noise_is_its_share_of_the_whole() -> None:
    x = np.random.default_rng(9).normal(size=400_000)
    assert band_power(x, RATE, 300.0, 100.0) == pytest.approx(0.1, rel=0.03)


def test_power_of_a_band_leaves_out_pieces_too_short_and_says_when_there_is_no_other() -> None:
    x = _wave(50.0, 2.0, 12_000)
    x[4000:11_000] = np.nan
    assert band_power(x, RATE, 50.0, 2.0) == pytest.approx(2.0, rel=1e-3)
    assert np.isnan(band_power(x[:3000], RATE, 50.0, 2.0))
    assert np.isnan(band_power(x, RATE, 999.5, 2.0))
    with pytest.raises(ValueError, match="above zero"):
        band_power(x, RATE, 50.0, 0.0)


def test_power_before_and_after_is_told_for_each_line() -> None:
    x = np.random.default_rng(10).normal(0, 0.1, 60_000)
    hum = sum(_wave(50.0 * k, 0.5 / k, len(x)) for k in (1, 2, 3))
    powers = line_powers(x + hum, RATE, THREE)
    assert [power.hz for power in powers] == [50, 100, 150]
    for times, power in enumerate(powers, start=1):
        assert power.before == pytest.approx((0.5 / times) ** 2 / 2, rel=0.02)
        assert power.after < 0.01 * 50 * times / 30 / 1000, "less than the noise alone has there"
    assert line_powers(x, RATE, FilterSettings()) == ()
