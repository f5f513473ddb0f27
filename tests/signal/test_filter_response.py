"""Response of the whole chain: Butterworth's closed form, scipy's own response, and what it does to a sine."""

from fractions import Fraction

import numpy as np
import pytest
from scipy import signal

from phasemark.model.errors import BadData
from phasemark.model.recording import EmgChannel
from phasemark.model.settings import FilterSettings
from phasemark.signal.butterworth import design
from phasemark.signal.conditioning import condition
from phasemark.signal.notch import notch_sections
from phasemark.signal.response import FLOOR_DB, minus_3_db_points, notch_bands, response

RATE = Fraction(2000)
WHOLE = FilterSettings(notch_hz=50.0, notch_harmonics=3)


def _high(hz: float, order: int = 4) -> FilterSettings:
    return FilterSettings(highpass_hz=hz, lowpass_hz=None, order=order)


def _low(hz: float, order: int = 4) -> FilterSettings:
    return FilterSettings(highpass_hz=None, lowpass_hz=hz, order=order)


def _single_pass(filters: FilterSettings, hz: float) -> float:
    return float(response(filters, RATE, np.array([hz]))[0]) / 2


def _stated_for_pass(hz: float, order: int) -> float:
    """The cut-off stated for the whole whose single pass is at -3 dB at hz: the correction undone, high-pass."""
    return float(2000 / np.pi * np.arctan(np.tan(np.pi * hz / 2000) / (np.sqrt(2) - 1) ** (1 / order)))


@pytest.mark.parametrize(
    ("cutoff", "order", "table"),
    [
        (20, 4, {5: -24.0993, 10: -12.3045, 15: -6.1914, 20: -3.0103, 30: -0.7829, 40: -0.2633, 60: -0.0533}),
        (20, 8, {5: -48.1649, 10: -24.0993, 15: -10.4095, 20: -3.0103, 30: -0.1662, 40: -0.0169, 60: -0.0007}),
        (30, 4, {5: -31.1294, 10: -19.1381, 15: -12.3045, 20: -7.8265, 30: -3.0103, 40: -1.1939, 60: -0.2633}),
        (30, 8, {5: -62.2521, 10: -38.1704, 15: -24.0993, 20: -14.2535, 30: -3.0103, 40: -0.4144, 60: -0.0169}),
    ],
)
def test_half_of_it_is_the_attenuation_table_of_a_single_high_pass(
    cutoff: float, order: int, table: dict[int, float]
) -> None:
    """[1 + (fc / f)^2N]^-1/2 in dB of the analogue prototype, N = 2 and 4 (closed form); within 0.03 dB at 2 kHz."""
    filters = _high(_stated_for_pass(cutoff, order), order)
    for hz, expected in table.items():
        assert _single_pass(filters, hz) == pytest.approx(expected, abs=0.03)


def test_a_30_hz_high_pass_stated_for_a_single_pass_takes_a_10_hz_wave_down_by_76_db() -> None:
    """ECG contamination: 38.17 dB by one pass of fourth order, 76.34 dB by both uncorrected (closed form)."""
    decibels = response(_high(_stated_for_pass(30, 8), 8), RATE, np.array([10.0]))[0]
    assert decibels == pytest.approx(-76.34, abs=0.06)
    assert decibels / 2 == pytest.approx(-38.17, abs=0.03)


@pytest.mark.parametrize("order", [2, 4, 6, 8])
def test_low_pass_follows_the_closed_form_in_the_warped_domain(order: int) -> None:
    """Both passes: -20 log10(1 + (sqrt(2) - 1) (tan f / tan fc)^order), exact for the bilinear transform."""
    frequencies = np.linspace(1, 900, 50)
    warped = np.tan(np.pi * frequencies / 2000) / np.tan(np.pi * 450 / 2000)
    expected = -20 * np.log10(1 + (np.sqrt(2) - 1) * warped**order)
    np.testing.assert_allclose(response(_low(450.0, order), RATE, frequencies), expected, atol=1e-6)


def test_the_whole_is_the_product_of_scipys_responses_of_all_passes() -> None:
    frequencies = np.concatenate((np.linspace(1, 1000, 777), [50.0, 49.2, 50.9]))
    expected = np.zeros(len(frequencies))
    for sections in (notch_sections(WHOLE, RATE), design("highpass", RATE, 20, 4), design("lowpass", RATE, 450, 4)):
        _, gains = signal.sosfreqz(sections, frequencies, fs=2000)
        expected += 2 * 20 * np.log10(np.maximum(np.abs(gains), 1e-300))
    np.testing.assert_allclose(response(WHOLE, RATE, frequencies), np.maximum(expected, FLOOR_DB), atol=1e-9)


@pytest.mark.parametrize("hz", [12.0, 20.0, 49.2, 52.0, 103.0, 300.0, 450.0, 600.0])
def test_a_sine_comes_out_of_the_chain_as_much_smaller_as_the_response_says(hz: float) -> None:
    wave = np.sin(2 * np.pi * hz * np.arange(40_000) / 2000)
    conditioned = condition(wave, EmgChannel("soleus", RATE), WHOLE).values[15_000:25_000]
    found = 20 * np.log10(np.sqrt(np.mean(conditioned**2)) * np.sqrt(2))
    assert found == pytest.approx(response(WHOLE, RATE, np.array([hz]))[0], abs=0.01)


def test_without_filters_all_gets_through_and_beyond_half_the_rate_there_is_nothing_to_say() -> None:
    off = FilterSettings(highpass_hz=None, lowpass_hz=None)
    frequencies = np.array([0.0, 1.0, 1000.0, 1000.5, -1.0, np.nan])
    np.testing.assert_array_equal(response(off, RATE, frequencies), [0, 0, 0, np.nan, np.nan, np.nan])
    decibels = response(FilterSettings(), RATE, frequencies)
    assert decibels[0] == decibels[2] == FLOOR_DB
    assert response(FilterSettings(), RATE, np.ones((2, 3))).shape == (2, 3)


@pytest.mark.parametrize("order", [2, 4, 6, 8])
@pytest.mark.parametrize("rate", [Fraction(2000), Fraction("1111.11")])
def test_minus_3_db_points_are_where_the_user_said(order: int, rate: Fraction) -> None:
    """20-450 Hz: the other filter shifts a point by under 0.4 Hz, of second order most."""
    low, high = minus_3_db_points(FilterSettings(order=order), rate)
    assert low == pytest.approx(20, abs=0.02)
    assert high == pytest.approx(450, abs=0.4)
    assert minus_3_db_points(_high(30.0, order), rate) == (pytest.approx(30, abs=1e-6), None)
    assert minus_3_db_points(_low(300.0, order), rate) == (None, pytest.approx(300, abs=1e-6))


def test_cut_offs_that_nearly_touch_have_their_points_where_both_together_are_at_minus_3_db() -> None:
    near = FilterSettings(highpass_hz=20.0, lowpass_hz=40.0)
    low, high = minus_3_db_points(near, RATE)
    assert low is not None
    assert high is not None
    assert 20.5 < low < high < 39.5
    np.testing.assert_allclose(response(near, RATE, np.array([low, high])), -3.0103, atol=1e-4)
    assert minus_3_db_points(FilterSettings(highpass_hz=20.0, lowpass_hz=21.0), RATE) == (None, None)
    assert minus_3_db_points(FilterSettings(highpass_hz=None, lowpass_hz=None), RATE) == (None, None)


def test_a_notch_has_points_of_its_own_and_none_of_the_bands() -> None:
    assert minus_3_db_points(WHOLE, RATE) == minus_3_db_points(FilterSettings(), RATE)
    bands = notch_bands(WHOLE, RATE)
    assert [round(high - low, 6) for low, high in bands] == [1.666667, 3.333333, 5.0]
    assert notch_bands(FilterSettings(), RATE) == ()


def test_a_chain_that_does_not_fit_the_rate_has_no_response() -> None:
    with pytest.raises(BadData, match="low-pass at 450 Hz"):
        response(FilterSettings(), Fraction(800), np.array([10.0]))
    with pytest.raises(BadData, match="notch at 50 Hz"):
        response(FilterSettings(lowpass_hz=None, notch_hz=50.0), Fraction(100), np.array([10.0]))
