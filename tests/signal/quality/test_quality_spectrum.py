"""Power line, low frequencies, artefacts, offset, drift, band: against closed forms and known disturbances."""

from fractions import Fraction
from math import pi, sqrt

import numpy as np
import pytest
from quality_cases import RATE, emg, findings, flagged, in_bursts, noise, times

from phasemark.model.quality_settings import QualitySettings
from phasemark.signal.quality.finding import Check
from phasemark.signal.quality.spectra import window_spectra


def _wave(hz: float, amplitude: float, seconds: float, rate: Fraction = RATE) -> np.ndarray:
    return np.asarray(amplitude * np.sin(2 * np.pi * hz * times(seconds, rate) + 0.7))


def test_the_lines_of_a_spectrum_add_up_to_the_power_of_the_signal() -> None:
    """Parseval: their mean over windows is the variance, for noise and for a sine (A^2 / 2)."""
    for values in (noise(60), _wave(100, 3.0, 60)):
        spectra = window_spectra(values, RATE)
        assert spectra.power.sum(axis=1).mean() == pytest.approx(values.var(), rel=0.01)


def test_a_straight_trend_has_no_power() -> None:
    assert window_spectra(np.linspace(-5, 5, 10000), RATE).power.max() < 1e-25


@pytest.mark.parametrize(("missing", "uncovered"), [(0, 0), (5, 500), (999, 1000), (1000, 1000), (1001, 1500)])
def test_no_window_holds_a_missing_sample(missing: int, uncovered: int) -> None:
    values = noise(5)
    values[3000 : 3000 + missing] = np.nan
    spectra = window_spectra(values, RATE)
    covered = np.zeros(len(values), dtype=bool)
    for begin in spectra.begins:
        covered[begin : begin + spectra.length] = True
    assert np.isfinite(spectra.power).all()
    assert np.sum(~covered) == uncovered


@pytest.mark.parametrize(("level", "amplitude"), [(1.0, 0.5), (10.0, 5.0), (1.0, 2.0)])
@pytest.mark.parametrize("hz", [50.0, 60.0, 49.8])
def test_share_of_a_power_line_is_its_closed_form(level: float, amplitude: float, hz: float) -> None:
    """(A^2 / 2) / (s^2 + A^2 / 2) of the power: 0.1111 for s = 10, A = 5 (closed form)."""
    values = level * noise(60) + _wave(hz, amplitude, 60)
    hum = amplitude**2 / 2
    found = findings(values)[Check.LINE]
    assert found.figure == pytest.approx(100 * hum / (level**2 + hum), rel=0.05)
    assert found.flagged


def test_harmonics_are_counted_and_named() -> None:
    values = noise(60) + sum(_wave(hz, 0.5, 60) for hz in (50, 100, 150))
    found = findings(values)[Check.LINE]
    assert found.figure == pytest.approx(100 * 0.375 / 1.375, rel=0.02)
    assert "50, 100 and 150 Hz" in found.sentence
    assert "notch is an option" in found.sentence


def test_another_line_frequency_is_a_setting() -> None:
    values = noise(60) + _wave(390, 1.0, 60)
    assert not findings(values)[Check.LINE].flagged
    assert findings(values, settings=QualitySettings(line_hz=390))[Check.LINE].flagged


def test_emg_between_50_and_60_hz_is_no_power_line() -> None:
    assert findings(in_bursts(emg(3)))[Check.LINE].figure < 1
    assert findings(emg(1.2))[Check.LINE].figure < 5
    assert Check.LINE not in findings(emg(0.9))


@pytest.mark.parametrize("offset", [-0.5, 0.03])
def test_offset_beside_the_rms_is_its_closed_form(offset: float) -> None:
    """A sine of amplitude A has an RMS of A / sqrt(2) without its offset."""
    found = findings(_wave(80, 0.1, 10) + offset)[Check.OFFSET]
    assert found.figure == pytest.approx(abs(offset) / (0.1 / sqrt(2)), rel=1e-6)
    assert found.flagged is (abs(offset) > 5 * 0.1 / sqrt(2))


def test_drift_is_how_far_the_mean_of_a_second_wanders() -> None:
    """Means of one second of a wave of 0.05 Hz reach sinc(0.05) of its amplitude."""
    slow = _wave(0.05, 0.4, 40)
    found = findings(emg(40) + slow)[Check.DRIFT]
    reach = 0.4 * np.sin(pi * 0.05) / (pi * 0.05)
    assert found.figure == pytest.approx(2 * reach / 0.1, rel=0.05)
    assert found.flagged
    assert not findings(emg(40) + 5.0)[Check.DRIFT].flagged


def test_share_under_20_hz_of_two_sines_is_that_of_their_powers() -> None:
    found = findings(_wave(8, 1.0, 20) + _wave(120, 2.0, 20))[Check.LOW_FREQUENCY]
    assert found.figure == pytest.approx(20.0, rel=0.02)
    assert not found.flagged
    assert findings(_wave(8, 1.0, 20) + _wave(120, 1.0, 20))[Check.LOW_FREQUENCY].flagged


def test_a_second_that_is_mostly_missing_has_no_mean() -> None:
    values = emg(20)
    values[4000:5990] = np.nan
    values[5990:6000] = 0.5
    assert not findings(values)[Check.DRIFT].flagged


def _with_swing(values: np.ndarray, at_s: float, size: float) -> np.ndarray:
    since = times(len(values) / float(RATE)) - at_s
    return np.asarray(values + np.where(since > 0, size * np.sin(2 * pi * 4 * since) * np.exp(-since / 0.12), 0.0))


@pytest.mark.parametrize("at_s", [0.0, 4.6, 9.7])
def test_a_movement_artefact_is_found_where_it_is(at_s: float) -> None:
    found = findings(_with_swing(in_bursts(emg(10)), at_s, 0.6))[Check.ARTEFACT]
    assert found.flagged
    assert len(found.places) == 1
    (begin, end), at = found.places[0], at_s * float(RATE)
    assert begin <= at + 200
    assert end >= min(at + 200, 20000)
    assert end - begin <= 2000


def test_bursts_of_emg_are_no_artefacts() -> None:
    assert findings(in_bursts(emg(20), rest=0.001))[Check.ARTEFACT].figure == 0


def test_a_swing_too_small_to_matter_beside_the_emg_is_none() -> None:
    """In a rest of 0.1 uV a swing of 20 uV is a great one, but not beside bursts of 100 uV RMS."""
    strong = np.floor(times(12)) % 4 == 1
    values = emg(12) * np.where(strong, 1.0, 0.001)
    assert not findings(_with_swing(values, 6.6, 0.02))[Check.ARTEFACT].flagged
    assert findings(_with_swing(values, 6.6, 0.4))[Check.ARTEFACT].flagged


@pytest.mark.parametrize(("rate", "expected"), [(500, True), (1000, False), (2000, False)])
def test_a_low_sampling_rate_is_flagged(rate: int, expected: bool) -> None:
    assert findings(emg(5, rate=Fraction(rate)), Fraction(rate))[Check.RATE].flagged is expected


def test_a_band_that_the_sampling_cuts_off_is_flagged() -> None:
    """EMG sampled at 200 Hz without a filter before it is cut off at 100 Hz, where its spectrum is at its height."""
    full = in_bursts(emg(20))
    assert findings(full)[Check.BANDWIDTH].figure < 1
    slow = findings(np.ascontiguousarray(full[::10]), Fraction(200))
    assert slow[Check.BANDWIDTH].flagged
    assert slow[Check.RATE].flagged


def test_the_flat_noise_of_a_muscle_at_rest_tells_nothing_of_its_band() -> None:
    assert Check.BANDWIDTH not in findings(noise(20))


def test_the_noise_below_a_burst_is_not_counted_to_the_muscle() -> None:
    """Under bursts of 100 uV white noise of 40 uV is 14 % of the power, and a tenth of it in the highest tenth."""
    found = findings(in_bursts(emg(40), rest=0.0) + 0.04 * noise(40, 7))[Check.BANDWIDTH]
    assert found.figure < 0.7


def test_flags_are_those_of_the_disturbances_and_no_others() -> None:
    """Each disturbance alone raises its own flag (drift and offset are both slow)."""
    clean = np.round(in_bursts(emg(20)), 5)
    assert flagged(clean) == set()
    assert flagged(clean + _wave(50, 0.05, 20)) == {Check.LINE}
    assert flagged(clean + 0.5) == {Check.OFFSET}
    assert flagged(clean + _wave(0.05, 0.1, 20)) == {Check.DRIFT}
    assert flagged(_with_swing(clean, 4.6, 0.6)) == {Check.ARTEFACT}
