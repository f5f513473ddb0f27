"""How far a muscle stands out of its baseline; what was rectified or smoothed already; the heart."""

from fractions import Fraction

import numpy as np
import pytest
from quality_cases import RATE, emg, findings, flagged, in_bursts, noise, times
from scipy import signal

from phasemark.model.recording import Treatment
from phasemark.signal.quality.finding import Check
from phasemark.signal.quality.noise import half_second_rms


@pytest.mark.parametrize(("ratio", "decibels"), [(10.0, 20.0), (2.0, 6.0206)])
def test_signal_to_noise_is_20_log10_of_the_ratio_of_rms(ratio: float, decibels: float) -> None:
    """Ratio 10 is 20 dB, 2 is 6.0206 dB (CEDE glossary, McManus et al. 2021)."""
    values = np.sin(2 * np.pi * 100 * times(10))
    found = findings(values, noise_rms=np.sqrt(0.5) / ratio)[Check.NOISE]
    assert found.figure == pytest.approx(decibels, abs=0.01)
    assert "quiet trial" in found.sentence
    assert found.flagged is (decibels < 10)


def test_without_a_baseline_the_quietest_half_second_stands_in() -> None:
    found = findings(in_bursts(emg(20), rest=0.02))[Check.NOISE]
    assert found.figure == pytest.approx(34, abs=2)
    assert "quietest half second" in found.sentence


def test_a_quiet_muscle_is_named_as_quiet() -> None:
    found = findings(0.003 * noise(20))[Check.NOISE]
    assert found.flagged
    assert "hardly above the baseline" in found.sentence


def test_a_muscle_that_never_rests_is_not_called_quiet() -> None:
    found = findings(emg(20))[Check.NOISE]
    assert not found.flagged
    assert "not judged" in found.sentence


def test_a_baseline_of_zeros_gives_a_finite_figure() -> None:
    assert findings(emg(5), noise_rms=0.0)[Check.NOISE].figure == 120


def test_half_second_rms_is_that_of_plain_numpy() -> None:
    values = noise(4)
    values[2200:2210] = np.nan
    found = half_second_rms(values, 1000)
    windows = [values[b : b + 1000] for b in range(0, 7001, 500)]
    expected = [np.sqrt(np.mean(w**2)) for w in windows if np.isfinite(w).all()]
    np.testing.assert_allclose(found, expected, rtol=1e-9)


@pytest.mark.parametrize("offset", [0.0, 0.5])
def test_a_rectified_signal_is_told_from_a_raw_one(offset: float) -> None:
    """Half-normal values: (median - 5 %) / (95 % - median) = (0.6745 - 0.0627) / (1.9600 - 0.6745) = 0.476."""
    found = findings(np.abs(emg(30)) + offset)[Check.RECTIFIED]
    assert found.figure == pytest.approx(0.476, abs=0.03)
    assert found.flagged
    assert Check.OFFSET not in findings(np.abs(emg(30)))


def test_raw_emg_that_lies_above_zero_by_its_offset_is_not_rectified() -> None:
    values = in_bursts(emg(20)) + 3.0
    assert values.min() > 0
    assert findings(values)[Check.RECTIFIED].figure == pytest.approx(1.0, abs=0.1)


def test_a_drift_in_a_quiet_muscle_does_not_look_rectified() -> None:
    values = 0.002 * noise(20) + 0.05 * np.exp(-times(20) / 2)
    assert not findings(values)[Check.RECTIFIED].flagged


def test_a_rectified_channel_keeps_only_the_checks_that_make_sense() -> None:
    found = findings(np.abs(emg(20)), treatment=Treatment.RECTIFIED)
    assert set(found) == {Check.LOST, Check.CLIPPING, Check.DISTINCT, Check.RECTIFIED, Check.SMOOTHED}
    assert not found[Check.RECTIFIED].flagged


@pytest.mark.parametrize("cutoff", [2.0, 6.0, 10.0])
def test_an_envelope_is_told_from_raw_emg(cutoff: float) -> None:
    sections = signal.butter(2, cutoff, fs=float(RATE), output="sos")
    envelope = signal.sosfiltfilt(sections, np.abs(in_bursts(emg(20))))
    found = findings(envelope)
    assert found[Check.SMOOTHED].flagged
    assert Check.NOISE not in found
    assert not findings(in_bursts(emg(20)))[Check.SMOOTHED].flagged


@pytest.mark.parametrize("level", [0.0, 3.3])
def test_stretches_without_signal_do_not_look_smoothed(level: float) -> None:
    values = emg(20) + level
    values[: int(0.7 * len(values))] = level
    assert findings(values)[Check.SMOOTHED].figure > 100


def test_a_moving_rms_is_told_from_raw_emg() -> None:
    window = np.ones(200) / 200
    envelope = np.sqrt(np.convolve(in_bursts(emg(20)) ** 2, window, "same"))
    assert findings(envelope)[Check.SMOOTHED].flagged


def _beats(seconds: float, interval_s: float, rate: Fraction = RATE) -> tuple[np.ndarray, np.ndarray]:
    """Pulses of about 10 ms, 0.2 mV high, at slightly changing intervals, and their times (s)."""
    rng, at = np.random.default_rng(3), [0.4]
    while at[-1] + interval_s < seconds - 0.5:
        at.append(at[-1] + interval_s * float(np.exp(rng.normal(0, 0.03))))
    t = times(seconds, rate)
    pulse = sum(0.2 * np.exp(-(((t - beat) / 0.008) ** 2) / 2) for beat in at)
    return np.asarray(pulse), np.asarray(at)


def test_heartbeats_at_72_a_minute_are_found_where_they_are() -> None:
    pulses, at = _beats(30, 60 / 72)
    found = findings(0.2 * emg(30) + pulses)[Check.HEART]
    assert found.flagged
    assert "72 a minute" in found.sentence or "71 a minute" in found.sentence or "73 a minute" in found.sentence
    middles = np.array([(b + e) / 2 for b, e in found.places]) / float(RATE)
    hit = [np.min(np.abs(middles - beat)) < 0.03 for beat in at]
    assert np.mean(hit) > 0.95
    assert len(found.places) <= len(at) + 2


def test_the_share_of_heartbeats_is_that_of_their_power() -> None:
    pulses, _ = _beats(30, 0.8)
    fast = signal.sosfiltfilt(signal.butter(1, 4, "highpass", fs=float(RATE), output="sos"), pulses)
    muscle = 0.2 * emg(30)
    expected = 100 * np.mean(fast**2) / (np.mean(fast**2) + np.mean(muscle**2))
    assert findings(muscle + pulses)[Check.HEART].figure == pytest.approx(expected, rel=0.15)


@pytest.mark.parametrize("seed", range(6))
def test_no_heart_is_found_in_emg_alone(seed: int) -> None:
    assert findings(in_bursts(emg(20, seed)))[Check.HEART].figure == 0
    assert findings(emg(20, seed))[Check.HEART].figure == 0


def test_a_heart_is_not_looked_for_at_100_hz() -> None:
    assert Check.HEART not in findings(noise(20, rate=Fraction(100)), Fraction(100))
    assert Check.RATE in flagged(noise(20, rate=Fraction(100)), Fraction(100))
