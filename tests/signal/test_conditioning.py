"""From stored values to a channel ready for measuring."""

from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from emg_with_hearts import mixed
from scipy import signal

from phasemark.model.errors import BadData
from phasemark.model.recording import EmgChannel, Samples, Side, Treatment
from phasemark.model.settings import FilterSettings, MuscleFilter, Settings
from phasemark.signal.block_sums import block_sums
from phasemark.signal.butterworth import high_pass, low_pass
from phasemark.signal.conditioning import Removed, check_filters, check_settings, condition, remove_offset
from phasemark.signal.ecg import subtract_ecg
from phasemark.signal.notch import notch

RATE = Fraction(2000)
OFF = FilterSettings(highpass_hz=None, lowpass_hz=None, remove_offset=False)
OFFSET_ONLY = FilterSettings(highpass_hz=None, lowpass_hz=None)


def _channel(**given: Any) -> EmgChannel:
    return EmgChannel("soleus", given.pop("rate", RATE), **given)


def _band_pass_by_scipy(x: Samples) -> Samples:
    """Offset, 20 Hz high-pass, 450 Hz low-pass at 2 kHz, each second order twice, cut-offs corrected by hand."""
    low = 2000 / np.pi * np.arctan(np.tan(np.pi * 450 / 2000) / (np.sqrt(2) - 1) ** 0.25)
    y = x - np.mean(x)
    for cutoff, kind in ((16.046746589, "highpass"), (low, "lowpass")):
        y = signal.sosfiltfilt(signal.butter(2, cutoff, kind, fs=2000, output="sos"), y)
    return y


@pytest.mark.parametrize(
    ("unit", "gain", "millivolts"),
    [
        ("V", None, 1000.0),
        ("mV", None, 1.0),
        ("uV", None, 1e-3),
        ("nV", None, 1e-6),
        ("uV", 2.0, 2e-3),
        ("counts", 0.05, 0.05),
        ("mV", -1.0, -1.0),
    ],
)
def test_values_become_millivolts(unit: str, gain: float | None, millivolts: float) -> None:
    conditioned = condition(np.array([1.0, -2.0, 3.0]), _channel(unit=unit, gain=gain), OFF)
    np.testing.assert_allclose(conditioned.values, np.array([1.0, -2.0, 3.0]) * millivolts, rtol=1e-15)


def test_offset_then_high_pass_then_low_pass_as_plain_scipy_does_it() -> None:
    x = np.random.default_rng(1).normal(0.4, 0.2, 5000)
    conditioned = condition(x, _channel(), FilterSettings())
    np.testing.assert_allclose(conditioned.values, _band_pass_by_scipy(x), atol=1e-8)
    assert conditioned.rate == RATE
    assert conditioned.treatment is Treatment.RAW


def test_the_offset_is_the_mean_of_the_valid_samples() -> None:
    x = np.array([1.0, np.nan, 2.0, 6.0])
    np.testing.assert_array_equal(condition(x, _channel(), OFFSET_ONLY).values, [-2.0, np.nan, -1.0, 3.0])


def test_a_large_offset_leaves_the_ends_of_the_band_pass_clean() -> None:
    """Without taking the mean away first the high-pass would ring at both ends."""
    x = np.sin(2 * np.pi * 100 * np.arange(4000) / 2000)
    conditioned = condition(x + 1e4, _channel(), FilterSettings())
    np.testing.assert_allclose(conditioned.values, condition(x, _channel(), FilterSettings()).values, atol=1e-7)


def test_gaps_stay_gaps_and_touch_no_other_piece() -> None:
    x = np.random.default_rng(2).normal(size=3000)
    x[1000:1100] = np.nan
    conditioned = condition(x, _channel(), FilterSettings(remove_offset=False))
    alone = condition(x[1100:], _channel(), FilterSettings(remove_offset=False))
    np.testing.assert_array_equal(conditioned.values[1100:], alone.values)
    assert np.isnan(conditioned.values[1000:1100]).all()
    assert np.isfinite(conditioned.values).sum() == 2900


def test_a_sliver_between_two_gaps_is_missing_and_not_the_start_up_of_a_filter() -> None:
    x = np.random.default_rng(3).normal(size=400)
    x[100:110] = x[119:130] = np.nan
    assert np.isnan(condition(x, _channel(), FilterSettings()).values[100:130]).all()
    kept = condition(x, _channel(), OFFSET_ONLY).values
    assert np.isfinite(kept[110:119]).all(), "nothing is filtered, so nothing needs to start up"


def test_infinite_values_are_missing() -> None:
    x = np.random.default_rng(4).normal(size=200)
    x[100] = np.inf
    values = condition(x, _channel(), FilterSettings()).values
    assert np.isnan(values[100])
    assert np.isfinite(np.delete(values, 100)).all()
    assert np.isnan(condition(x, _channel(), OFF).values[100])


@pytest.mark.parametrize("values", [[], [np.nan] * 30])
def test_a_channel_without_any_sample_is_conditioned_to_nothing(values: list[float]) -> None:
    conditioned = condition(np.array(values, dtype=float), _channel(), FilterSettings())
    assert np.isnan(conditioned.values).all()
    assert len(conditioned.values) == len(values)


def test_already_rectified_input_is_scaled_and_left_alone() -> None:
    x = np.abs(np.random.default_rng(5).normal(size=100))
    conditioned = condition(x, _channel(unit="uV", treatment=Treatment.RECTIFIED), FilterSettings())
    np.testing.assert_array_equal(conditioned.values, x * 1e-3)


def test_neither_the_recording_nor_the_result_can_be_written_into() -> None:
    x = np.random.default_rng(6).normal(size=100)
    before = x.copy()
    x.flags.writeable = False
    conditioned = condition(x, _channel(), FilterSettings())
    np.testing.assert_array_equal(x, before)
    with pytest.raises(ValueError, match="read-only"):
        conditioned.values[0] = 1.0


def test_the_slowest_channel_decides_whether_a_lowpass_fits() -> None:
    fast, slow = EmgChannel("soleus", RATE), EmgChannel("biceps femoris", Fraction("800.5"), Side.LEFT)
    check_filters(FilterSettings(), [fast])
    expected = (
        r"low-pass at 450 Hz does not fit biceps femoris \(left\), sampled at 800.5 Hz: "
        r"it must be below 400.25 Hz; 360 Hz would fit"
    )
    with pytest.raises(BadData, match=expected):
        check_filters(FilterSettings(), [fast, slow])
    check_filters(FilterSettings(lowpass_hz=360.0), [fast, slow])


def test_a_rate_too_slow_for_both_cutoffs_is_said_in_terms_that_help() -> None:
    with pytest.raises(BadData, match=r"high-pass at 20 Hz .* below 15 Hz"):
        check_filters(FilterSettings(), [_channel(rate=Fraction(30))])
    with pytest.raises(BadData, match="switch the low-pass off"):
        check_filters(FilterSettings(), [_channel(rate=Fraction(42))])


def test_filters_have_no_say_over_channels_that_are_not_filtered() -> None:
    check_filters(FilterSettings(), [_channel(rate=Fraction(100), treatment=Treatment.RECTIFIED)])
    check_filters(FilterSettings(), [])
    check_filters(OFF, [_channel(rate=Fraction(10))])


def test_a_muscle_of_its_own_filter_is_held_against_that_filter() -> None:
    slow = EmgChannel("soleus", Fraction(500))
    own = Settings(muscle_filters=(MuscleFilter("soleus", FilterSettings(lowpass_hz=200.0)),))
    check_settings(own, [EmgChannel("tibialis anterior", RATE), slow])
    with pytest.raises(BadData, match="soleus"):
        check_settings(Settings(), [EmgChannel("tibialis anterior", RATE), slow])


def test_a_channel_is_refused_also_when_nobody_checked_before() -> None:
    with pytest.raises(BadData, match="soleus"):
        condition(np.zeros(100), _channel(rate=Fraction(500)), FilterSettings())


def test_without_notch_and_template_not_a_bit_is_other_than_offset_and_band_pass() -> None:
    x = np.random.default_rng(7).normal(0.3, 0.2, 20_000)
    plain = x.copy()
    remove_offset(plain)
    plain = low_pass(high_pass(plain, RATE, 20.0, 4), RATE, 450.0, 4)
    for filters in (FilterSettings(), FilterSettings(notch_harmonics=5, notch_q=10.0)):
        conditioned = condition(x, _channel(), filters)
        np.testing.assert_array_equal(conditioned.values, plain)
        np.testing.assert_array_equal(conditioned.sums.sums, block_sums(plain).sums)
        assert conditioned.removed == Removed()
        assert conditioned.removed.notes() == ()


def test_heartbeats_go_before_the_notch_and_the_notch_before_the_band_pass() -> None:
    made = mixed(1, heart=0.12, level=0.02)
    x = made.values + 0.1 + 0.05 * np.sin(2 * np.pi * 50 * np.arange(len(made.values)) / 2000)
    filters = FilterSettings(notch_hz=50.0, notch_harmonics=2, ecg_template=True)
    conditioned = condition(x, _channel(), filters)
    expected, removed = subtract_ecg(x - np.mean(x), RATE)
    expected = low_pass(high_pass(notch(expected, RATE, filters), RATE, 20.0, 4), RATE, 450.0, 4)
    np.testing.assert_allclose(conditioned.values, expected, atol=1e-12)
    assert conditioned.removed.ecg == removed
    assert conditioned.removed.lines.hz == (50, 100)
    assert len(removed.beats) > 40


def test_what_was_not_removed_is_said() -> None:
    x = np.random.default_rng(8).normal(size=8000)
    filters = FilterSettings(notch_hz=50.0, notch_harmonics=12, lowpass_hz=400.0, ecg_template=True)
    removed = condition(x, _channel(rate=Fraction(1000)), filters).removed
    heart, lines = removed.notes()
    assert "No regular heartbeat" in heart
    assert lines == "The notch leaves out 500, 550, 600 Hz: too high for the sampling rate."
    without_heart = FilterSettings(notch_hz=50.0, notch_harmonics=12, lowpass_hz=400.0)
    np.testing.assert_array_equal(
        condition(x, _channel(rate=Fraction(1000)), filters).values,
        condition(x, _channel(rate=Fraction(1000)), without_heart).values,
    )


def test_already_rectified_input_keeps_its_heart_and_its_hum() -> None:
    x = np.abs(mixed(2, heart=0.12, level=0.02).values)
    filters = FilterSettings(notch_hz=50.0, ecg_template=True)
    conditioned = condition(x, _channel(treatment=Treatment.RECTIFIED), filters)
    np.testing.assert_array_equal(conditioned.values, x)
    assert conditioned.removed == Removed()


def test_notch_and_template_that_do_not_fit_are_refused_by_channel() -> None:
    slow = EmgChannel("erector spinae", Fraction(110), Side.LEFT)
    bare = {"highpass_hz": None, "lowpass_hz": None}
    with pytest.raises(BadData, match=r"notch at 60 Hz does not fit erector spinae \(left\), sampled at 110 Hz"):
        check_filters(FilterSettings(notch_hz=60.0, **bare), [_channel(), slow])
    with pytest.raises(BadData, match=r"template subtraction does not fit erector spinae \(left\)"):
        check_filters(FilterSettings(ecg_template=True, **bare), [_channel(), slow])
    check_filters(FilterSettings(notch_hz=50.0, notch_harmonics=20, **bare), [slow])
    with pytest.raises(BadData, match="notch"):
        condition(np.zeros(1000), slow, FilterSettings(notch_hz=60.0, **bare))
