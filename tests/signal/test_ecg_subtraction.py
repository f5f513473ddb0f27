"""Heartbeats in surface EMG: found where they are, subtracted without taking EMG, refused where there are none."""

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from emg_with_hearts import MixedSignal, mixed

from phasemark.model.errors import BadData
from phasemark.model.recording import EmgChannel, Samples
from phasemark.model.settings import FilterSettings
from phasemark.signal.butterworth import high_pass, low_pass
from phasemark.signal.conditioning import condition
from phasemark.signal.ecg import check_ecg, subtract_ecg
from phasemark.signal.heartbeats import LEAST_AGREEMENT, find_beats

RATE = Fraction(2000)


def _band(x: Samples, highpass_hz: float = 20.0) -> Samples:
    return low_pass(high_pass(x, RATE, highpass_hz, 4), RATE, 450.0, 4)


def _rms(x: Samples) -> float:
    return float(np.sqrt(np.nanmean(np.square(x))))


def _found(at: Samples, truth: Samples) -> float:
    """Share of true beats that one was found within 10 ms of."""
    return float(np.mean(np.abs(at[None, :] / 2000 - truth[:, None]).min(axis=1) < 0.01))


@pytest.mark.parametrize("rhythm", ["rest", "effort", "rising"])
@pytest.mark.parametrize("upright", [True, False])
def test_beats_over_quiet_emg_are_all_found_whatever_their_rate_and_polarity(rhythm: str, upright: bool) -> None:
    """48 and 150 a minute, and from 80 to 150 within the trial; intervals differ by 3 % from beat to beat."""
    made = mixed(1, heart=0.12 if upright else -0.12, level=0.02, rhythm=rhythm)
    beats = find_beats(made.values, RATE)
    assert beats.is_heart
    assert _found(beats.at, made.beats) > 0.97
    assert len(beats.at) == pytest.approx(len(made.beats), abs=1)


def test_beats_between_bursts_are_found_and_the_row_goes_on_through_the_bursts() -> None:
    made = mixed(2, heart=0.12, level=0.2, bursts=0.5)
    beats = find_beats(made.values, RATE)
    assert beats.is_heart
    assert len(beats.at) == pytest.approx(len(made.beats), abs=2)
    quiet = made.beats[(made.beats % 2) > 1.2]
    assert _found(beats.at, quiet[quiet < 29.0]) > 0.95


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("bursts", [None, 0.3, 1.0], ids=["steady", "squats", "steps"])
def test_emg_without_a_heart_is_left_as_it_is(seed: int, bursts: float | None) -> None:
    """Also in bursts that come as regularly as a heart beats."""
    made = mixed(seed, heart=0.0, level=0.2, bursts=bursts)
    result, removed = subtract_ecg(made.values, RATE)
    assert result is made.values
    assert removed.beats == ()
    assert removed.share_of_power == removed.per_minute == 0
    assert "nothing was subtracted" in removed.refused


def test_of_100_stretches_of_noise_hardly_one_has_a_heart() -> None:
    """10 s each, steady and in steps once a second: at most 2 in 100."""
    signals = [mixed(seed, heart=0.0, level=0.1, seconds=10, bursts=(None, 1.0)[seed % 2]) for seed in range(100)]
    assert sum(find_beats(made.values, RATE).is_heart for made in signals) <= 2


def test_leg_muscles_of_real_trials_have_no_heart(open_data: Path) -> None:
    """'EMG Dataset in Lower Limb', Sanchez O, Sotelo J (2014), UCI Machine Learning Repository, doi 10.24432/C5ZW3P."""
    for trial in ("5Asen", "4Nsen", "3Npie", "10Nmar", "6Nsen"):
        text = (open_data / "knee_emg" / f"{trial}.txt").read_text(encoding="latin-1")
        rows = [row.split("\t")[:4] for row in text.replace("\r", "").split("\n\n", 1)[1].splitlines()]
        table = np.array([[float(c) for c in row] for row in rows if len(row) == 4 and all(c.strip() for c in row)])
        for column in table.T:
            assert not find_beats(column - column.mean(), Fraction(1000)).is_heart


@pytest.mark.parametrize(("level", "bursts"), [(0.02, None), (0.05, None), (0.1, 0.3), (0.2, 0.5), (0.05, 1.0)])
def test_rms_comes_back_to_that_of_the_emg_alone(level: float, bursts: float | None) -> None:
    """Mean of five: within 0.6 % of the RMS without a heart in the band 20-450 Hz (measured: 0.2 %)."""
    biases = []
    for seed in range(5):
        made = mixed(seed, heart=0.12, level=level, bursts=bursts)
        result, removed = subtract_ecg(made.values, RATE)
        assert not removed.refused
        biases.append(_rms(_band(result)) / _rms(_band(made.emg)) - 1)
    assert abs(np.mean(biases)) < 0.006
    contaminated = _rms(_band(made.values)) / _rms(_band(made.emg)) - 1
    assert contaminated > 0.003


def test_over_quiet_emg_hardly_anything_of_the_heart_is_left() -> None:
    """Under 15 % of its amplitude, of which 9 % is the noise of the mean of 41 beats (0.0054 / sqrt(41) mV)."""
    made = mixed(3, heart=0.12, level=0.005)
    result, _ = subtract_ecg(made.values, RATE)
    heart = made.values - made.emg
    for highpass_hz in (20.0, 30.0):
        left = _rms(_band(result - made.emg, highpass_hz)) / _rms(_band(heart, highpass_hz))
        assert left < 0.15


def test_what_was_removed_is_told() -> None:
    made = mixed(4, heart=0.12, level=0.02)
    result, removed = subtract_ecg(made.values, RATE)
    fast = high_pass(made.values, RATE, 5.0, 2)
    true_share = np.mean(high_pass(made.values - made.emg, RATE, 5.0, 2) ** 2) / np.mean(fast**2)
    assert removed.share_of_power == pytest.approx(true_share, rel=0.1)
    assert removed.per_minute == pytest.approx(60 / np.median(np.diff(made.beats)), rel=0.02)
    assert len(removed.beats) == pytest.approx(len(made.beats), abs=1)
    assert removed.agreement > LEAST_AGREEMENT
    assert f"{len(removed.beats)} heartbeats" in removed.sentence()
    changed = np.flatnonzero(result != made.values)
    apart = np.abs(changed[:, None] - np.array(removed.beats)[None, :]).min(axis=1)
    assert apart.max() <= 300, "nothing is changed farther than 0.15 s from a beat"


def test_no_steps_are_left_where_a_template_begins_and_ends() -> None:
    """A slow swing under the beats comes out as smooth as it went in: second differences do not grow."""
    made = mixed(5, heart=0.12, level=0.0005)
    swing = 2.0 * np.sin(2 * np.pi * 0.4 * np.arange(len(made.values)) / 2000)
    result, removed = subtract_ecg(made.values + swing, RATE)
    assert not removed.refused
    bent = np.abs(np.diff(result, 2))
    assert bent.max() <= 1.2 * np.abs(np.diff(made.values + swing, 2)).max()
    assert _rms(_band(made.values)) > 5 * _rms(_band(made.emg))
    assert _rms(_band(result)) < 1.25 * _rms(_band(made.emg))


def test_an_artefact_at_one_beat_does_not_get_into_the_templates_of_others() -> None:
    made = mixed(6, heart=0.12, level=0.01)
    struck = made.values.copy()
    at = round(made.beats[10] * 2000)
    struck[at - 60 : at + 60] += 3.0 * np.hanning(120)
    result, _ = subtract_ecg(struck, RATE)
    plain, _ = subtract_ecg(made.values, RATE)
    elsewhere = np.ones(len(struck), dtype=bool)
    elsewhere[at - 1500 : at + 1500] = False
    assert np.abs(result - plain)[elsewhere].max() < 0.01


def test_power_line_hum_does_not_hide_the_heart() -> None:
    made = mixed(7, heart=0.12, level=0.02)
    hum = 0.2 * np.sin(2 * np.pi * 50 * np.arange(len(made.values)) / 2000)
    beats = find_beats(made.values + hum, RATE)
    assert beats.is_heart
    assert _found(beats.at, made.beats) > 0.95


def test_gaps_stay_gaps_and_beats_are_found_on_both_sides() -> None:
    made = mixed(8, heart=0.12, level=0.02)
    values = made.values.copy()
    values[25_000:29_000] = np.nan
    result, removed = subtract_ecg(values, RATE)
    np.testing.assert_array_equal(np.isnan(result), np.isnan(values))
    at = np.array(removed.beats)
    assert (at < 25_000).sum() > 15
    assert (at >= 29_000).sum() > 24
    emg = np.where(np.isnan(values), np.nan, made.emg)
    assert _rms(_band(result)) == pytest.approx(_rms(_band(emg)), rel=0.02)


@pytest.mark.parametrize("rate", [Fraction(1000), Fraction("1925.93"), Fraction(4000), Fraction(512)])
def test_other_sampling_rates_find_the_same_heart(rate: Fraction) -> None:
    made = mixed(9, heart=0.12, level=0.02, rate=float(rate))
    result, removed = subtract_ecg(made.values, rate)
    assert len(removed.beats) == pytest.approx(len(made.beats), abs=1)
    heart = high_pass(made.values - made.emg, rate, 20.0, 4)
    assert _rms(high_pass(result - made.emg, rate, 20.0, 4)) < 0.35 * _rms(heart)


@pytest.mark.parametrize("values", [[], [0.0] * 50, [np.nan] * 5000, [0.0] * 20_000, [1.0] * 3000])
def test_a_signal_too_short_or_without_anything_in_it_is_refused(values: list[float]) -> None:
    x = np.array(values, dtype=float)
    result, removed = subtract_ecg(x, RATE)
    assert result is x
    assert removed.refused


def test_a_rate_too_low_is_refused_with_the_reason() -> None:
    with pytest.raises(BadData, match=r"does not fit erector spinae, sampled at 100 Hz: it needs at least 200 Hz"):
        check_ecg(Fraction(100), "erector spinae")
    check_ecg(Fraction(200))
    with pytest.raises(BadData, match="switch it off"):
        subtract_ecg(np.zeros(1000), Fraction(150))


@pytest.mark.parametrize(("highpass_hz", "at_least", "at_most"), [(20.0, 0.35, 0.6), (30.0, 0.15, 0.35)])
def test_a_high_pass_alone_leaves_a_known_part_of_the_heart(
    highpass_hz: float, at_least: float, at_most: float
) -> None:
    """Amplitude left of the QRS complex: 30 Hz (Drake & Callaghan 2006) leaves about half of what 20 Hz does."""
    made: MixedSignal = mixed(10, heart=0.12, level=0.02)
    filters = FilterSettings(highpass_hz=highpass_hz)
    heart = made.values - made.emg
    left = condition(heart, EmgChannel("erector spinae", RATE), filters).values
    assert at_least < _rms(left) / _rms(heart) < at_most
