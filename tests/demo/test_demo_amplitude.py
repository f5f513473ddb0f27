"""The EMG of the invented study: spectrum, amplitude against the truth, and the effects it is said to hold."""

from collections.abc import Iterator

import numpy as np
import pytest
from scipy.signal import welch

from phasemark.demo import FLAT, RAISED, InventedTrial, TruthRow
from phasemark.demo.activation import HEEL_EFFECTS, MUSCLES, Muscle
from phasemark.demo.shaped_noise import emg_noise, spectrum_shape
from phasemark.model.study import Kind
from phasemark.model.units import millivolts_per_value

FREQUENCIES = np.arange(0.0, 1000.5, 0.5)


def _power(corners_hz: tuple[float, float]) -> np.ndarray:
    return spectrum_shape(FREQUENCIES, *corners_hz) ** 2


def _bandwidth(corners_hz: tuple[float, float]) -> float:
    """Statistical bandwidth (Hz) of the noise: (sum P)^2 / sum P^2."""
    power = _power(corners_hz)
    return float(power.sum() ** 2 / (power**2).sum() * 0.5)


@pytest.mark.parametrize("muscle", MUSCLES, ids=lambda m: m.name)
def test_spectrum_is_that_of_surface_emg(muscle: Muscle) -> None:
    """Median frequency 60 to 130 Hz, 99 % of the power within 20 to 450 Hz (common practice, no source)."""
    noise = emg_noise(400_000, 2000.0, muscle.corners_hz, np.random.default_rng(5))
    frequencies, power = welch(noise, 2000.0, nperseg=4000)
    share = np.cumsum(power) / power.sum()
    assert 60 < frequencies[np.searchsorted(share, 0.5)] < 130
    inside = (frequencies >= 20) & (frequencies <= 450)
    assert power[inside].sum() / power.sum() > 0.99


def test_noise_has_the_expected_rms_and_is_gaussian() -> None:
    """RMS 1 within four standard errors 1 / (2 sqrt(B T)); kurtosis 3 (closed form)."""
    corners = (60.0, 120.0)
    noise = emg_noise(600_000, 2000.0, corners, np.random.default_rng(6))
    assert np.sqrt(np.mean(noise**2)) == pytest.approx(1.0, abs=4 / (2 * np.sqrt(_bandwidth(corners) * 300)))
    assert np.mean(noise**4) / np.mean(noise**2) ** 2 == pytest.approx(3.0, abs=0.08)


def test_noise_of_another_rate_has_the_same_rms() -> None:
    noise = emg_noise(300_001, 1111.11, (60.0, 120.0), np.random.default_rng(7))
    assert np.sqrt(np.mean(noise**2)) == pytest.approx(1.0, abs=0.01)


def _segments(trials: list[InventedTrial]) -> Iterator[tuple[TruthRow, np.ndarray, float]]:
    """Each true segment with its samples in mV and the statistical bandwidth of its muscle."""
    bandwidths = [_bandwidth(muscle.corners_hz) for muscle in MUSCLES]
    for trial in trials:
        recording = trial.recording
        times = np.arange(len(recording.emg_values[0])) / 2000
        for row in trial.truth:
            place = [muscle.name for muscle in MUSCLES].index(row.muscle)
            here = slice(*np.searchsorted(times, [row.begin_s, row.end_s]))
            values = recording.emg_values[place][here]
            yield row, values * millivolts_per_value(recording.emg[place].unit, 1.0), bandwidths[place]


def test_rms_of_each_segment_is_the_true_one_within_its_sampling_error(clean: list[InventedTrial]) -> None:
    """Over all thirds the deviation divided by 1 / (2 sqrt(B T)) has mean 0 and SD 1.

    The formula holds for a constant amplitude and long segments; thirds are nearly so. RMS is biased down by
    half its relative variance (Jensen), which is taken off.
    """
    scores = []
    for row, values, bandwidth in _segments(clean):
        if row.third != "whole" and row.complete:
            error = 1 / (2 * np.sqrt(bandwidth * (row.end_s - row.begin_s)))
            deviation = np.sqrt(np.mean(values**2)) / row.rms_mv - 1
            scores.append((deviation + error**2 / 2) / error)
    assert len(scores) == 48 * 8 * 6 * 4
    assert np.mean(scores) == pytest.approx(0, abs=0.06)
    assert np.std(scores) == pytest.approx(1, abs=0.12)


def test_plateaus_of_mvic_trials_are_the_true_ones(clean: list[InventedTrial]) -> None:
    """Three to five seconds each, none off by more than five standard errors; the muscles that are meant, no other."""
    seen = set()
    for row, values, bandwidth in _segments([t for t in clean if t.kind is Kind.MVIC]):
        duration = row.end_s - row.begin_s
        assert 3 <= duration <= 5
        error = 1 / (2 * np.sqrt(bandwidth * duration))
        assert np.sqrt(np.mean(values**2)) == pytest.approx(row.rms_mv, rel=5 * error)
        seen.add(row.muscle)
    assert seen == {muscle.name for muscle in MUSCLES}


def test_a_quiet_trial_without_disturbance_is_silent(clean: list[InventedTrial]) -> None:
    for trial in clean:
        if trial.kind is Kind.QUIET:
            assert trial.truth == ()
            assert not any(values.any() for values in trial.recording.emg_values)


def test_the_effect_of_the_heels_is_where_it_is_said_to_be(clean: list[InventedTrial]) -> None:
    """Ratio raised to flat of the true amplitudes, geometric mean over participants: as stated within 6 %, else 1."""
    logs: dict[tuple[str, str, str], dict[str, list[float]]] = {}
    for trial in clean:
        for row in trial.truth:
            if row.third != "whole" and row.complete:
                cell = logs.setdefault((row.muscle, row.phase, row.third), {FLAT: [], RAISED: []})
                cell[trial.exercise].append(np.log(row.rms_mv))
    assert len(logs) == 4 * 2 * 3
    for place, cell in logs.items():
        ratio = np.exp(np.mean(cell[RAISED]) - np.mean(cell[FLAT]))
        assert ratio == pytest.approx(HEEL_EFFECTS.get(place, 1.0), rel=0.06), place


def test_gains_of_electrodes_differ_between_people(clean: list[InventedTrial]) -> None:
    """The largest plateau in mV of one muscle is more than twice the smallest, so that mV cannot be compared raw."""
    plateaus = [r.rms_mv for t in clean for r in t.truth if r.phase == "effort" and r.muscle == "vastus medialis"]
    assert max(plateaus) > 2 * min(plateaus)
