"""Lost signal, clipping and resolution, against closed forms."""

from math import acos, pi, sqrt

import numpy as np
import pytest
from quality_cases import RATE, emg, findings, flagged, in_bursts, noise, times

from phasemark.model.quality_settings import QualitySettings
from phasemark.model.recording import Treatment
from phasemark.signal.quality.finding import Check
from phasemark.signal.quality.levels import level_pieces


@pytest.mark.parametrize("rail", [0.95, 0.90, 0.80, 0.50])
def test_share_at_the_rail_of_a_clipped_sine_is_its_closed_form(rail: float) -> None:
    """2 / pi * arccos(c) of the samples of a sine of amplitude 1 lie at the rails +-c (closed form)."""
    values = np.clip(np.sin(2 * np.pi * 7.3 * times(10) + 0.1), -rail, rail)
    found = findings(values)[Check.CLIPPING]
    assert found.figure == pytest.approx(100 * 2 / pi * acos(rail), abs=0.02)
    assert found.flagged
    assert sum(e - b for b, e in found.places) == pytest.approx(found.figure / 100 * len(values))
    assert all((np.abs(values[b:e]) == rail).all() for b, e in found.places)


def test_an_unclipped_sine_is_none() -> None:
    assert findings(np.sin(2 * np.pi * 7.3 * times(10)))[Check.CLIPPING].figure == 0


def test_lone_samples_at_a_rail_are_none() -> None:
    """Noise clipped at 4 SD reaches the rail 63 times in a million samples (closed form), but not in runs."""
    values = np.clip(noise(500), -4, 4)
    assert 30 < np.sum(np.abs(values) == 4) < 120
    assert findings(values)[Check.CLIPPING].figure == 0


@pytest.mark.parametrize(("run", "expected"), [(2, False), (3, True)])
def test_three_samples_in_a_row_are_a_clipped_run(run: int, expected: bool) -> None:
    values = emg(5)
    values[500 : 500 + run] = values.min() - 1
    assert findings(values)[Check.CLIPPING].flagged is expected


def test_the_length_of_a_clipped_run_is_a_setting() -> None:
    values = emg(5)
    values[500:504] = values.max() + 1
    assert findings(values)[Check.CLIPPING].places == ((500, 504),)
    longer = QualitySettings(clipping_run_samples=5)
    assert not findings(values, settings=longer)[Check.CLIPPING].flagged


def test_a_share_that_is_allowed_is_a_setting() -> None:
    values = emg(5)
    values[500:504] = values.max() + 1
    found = findings(values, settings=QualitySettings(clipping_share=0.001))[Check.CLIPPING]
    assert found.figure == pytest.approx(0.04)
    assert not found.flagged


def test_noise_of_a_coarse_channel_is_not_clipped() -> None:
    """A quiet channel of few steps has runs at its highest value by chance; values pile up only at a rail."""
    values = np.rint(noise(60) * 0.8)
    top = values == values.max()
    values[1000:1003] = values.max()
    assert top.sum() < 100
    assert findings(values)[Check.CLIPPING].figure == 0


def test_a_rectified_signal_has_no_lower_rail() -> None:
    values = np.abs(np.where(noise(10, 2) > 0, noise(10), 0.0))
    assert (values == 0).mean() > 0.4
    assert not findings(values, treatment=Treatment.RECTIFIED)[Check.CLIPPING].flagged


def test_a_stretch_without_signal_is_lost_wherever_it_lies() -> None:
    values = emg(10)
    values[:400] = np.nan
    values[5000:5200] = 0.0
    values[-150:] = np.nan
    found = findings(values)[Check.LOST]
    assert found.places == ((0, 400), (5000, 5200), (19850, 20000))
    assert (found.figure, found.flagged) == (200.0, True)
    assert "375 ms in all" in found.sentence


def test_a_short_stretch_is_not_lost() -> None:
    values = emg(10)
    values[5000:5090] = 0.0
    found = findings(values)[Check.LOST]
    assert (found.figure, found.flagged, found.places) == (45.0, False, ())


@pytest.mark.parametrize("value", [np.nan, 0.0, 3.3])
def test_a_channel_without_any_signal_says_so_and_nothing_else(value: float) -> None:
    values = np.full(4000, value)
    assert flagged(values) == {Check.LOST}
    found = findings(values)[Check.LOST]
    assert found.places == ((0, 4000),)
    assert "no signal at all" in found.sentence


def test_runs_of_equal_values_are_found_as_a_plain_loop_finds_them() -> None:
    values = np.random.default_rng(5).integers(0, 3, 400).astype(float)
    values[::17] = np.nan
    expected, begin = [], 0
    for i in range(1, 401):
        if i == 400 or values[i] != values[begin]:
            if i - begin > 1:
                expected.append((begin, i))
            begin = i
    assert level_pieces(values) == tuple(expected)


@pytest.mark.parametrize(("bits", "expected"), [(4, True), (12, False)])
def test_few_distinct_values_are_told_from_many(bits: int, expected: bool) -> None:
    step = 2.0 / 2**bits
    values = np.rint(np.sin(2 * np.pi * 7.3 * times(10)) / step) * step
    found = findings(values)[Check.DISTINCT]
    assert found.figure == pytest.approx(2**bits, abs=1)
    assert found.flagged is expected


def test_the_noise_of_rounding_is_that_of_its_closed_form() -> None:
    """Rounding to steps of q adds noise of q / sqrt(12) RMS (closed form)."""
    exact = in_bursts(emg(20))
    rounded = np.rint(exact / 0.02) * 0.02
    assert np.sqrt(np.mean((rounded - exact)[2000:] ** 2)) == pytest.approx(0.02 / sqrt(12), rel=0.3)
    assert f"{20 / sqrt(12):.2g} uV RMS" in findings(rounded)[Check.DISTINCT].sentence


def test_a_recording_too_short_to_have_many_values_is_not_judged() -> None:
    assert Check.DISTINCT not in findings(emg(1)[: int(RATE) // 10])
