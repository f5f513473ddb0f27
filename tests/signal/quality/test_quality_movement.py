"""Movement traces: jumps, gaps, a rate too low."""

from fractions import Fraction

import numpy as np
import pytest

from phasemark.model.quality_settings import QualitySettings
from phasemark.model.recording import MovementTrace, Samples
from phasemark.signal.quality.finding import Check, Finding
from phasemark.signal.quality.movement import movement_findings

JUMPS, GAPS, SLOW = Check.MOVEMENT_JUMPS, Check.MOVEMENT_GAPS, Check.MOVEMENT_RATE


def _squats(rate: float, each_s: float = 3.0, seed: int = 1) -> Samples:
    """Knee angle (degrees) of eight squats of 90 degrees, with 0.1 degrees of noise."""
    t = np.arange(round(8 * each_s * rate)) / rate
    return 45 - 45 * np.cos(2 * np.pi * t / each_s) + 0.1 * np.random.default_rng(seed).standard_normal(len(t))


def _found(values: Samples, rate: float = 100.0) -> dict[Check, Finding]:
    trace = MovementTrace("knee angle", Fraction(rate), "deg")
    return {f.check: f for f in movement_findings(values, trace, QualitySettings())}


@pytest.mark.parametrize("rate", [50.0, 100.0, 1000.0])
@pytest.mark.parametrize("each_s", [0.6, 3.0, 8.0])
def test_movements_of_any_speed_are_not_flagged(rate: float, each_s: float) -> None:
    assert not [f.sentence for f in _found(_squats(rate, each_s), rate).values() if f.flagged]


def test_a_spike_is_a_jump_where_it_is() -> None:
    values = _squats(100)
    values[700] += 40
    found = _found(values)[JUMPS]
    assert found.flagged
    assert found.places == ((699, 702),)
    assert found.figure == pytest.approx(100 * 40 / 90, rel=0.05)
    assert "7.00 s" in found.sentence or "6.99 s" in found.sentence


def test_a_level_that_changes_for_good_is_a_jump() -> None:
    values = _squats(100)
    values[700:] += 20
    found = _found(values)[JUMPS]
    assert found.places == ((699, 701),)
    assert found.figure == pytest.approx(100 * 20 / 110, rel=0.1)


def test_the_noise_of_a_trace_at_rest_is_no_jump() -> None:
    assert not _found(0.1 * np.random.default_rng(2).standard_normal(20000))[JUMPS].flagged


def test_a_gap_is_found_where_it_is() -> None:
    values = _squats(100)
    values[300:305] = np.nan
    assert not _found(values)[GAPS].flagged
    values[900:930] = np.nan
    found = _found(values)[GAPS]
    assert (found.figure, found.flagged, found.places) == (300.0, True, ((900, 930),))


def test_a_jump_across_a_gap_is_one_too() -> None:
    values = _squats(100)
    values[700:720] = np.nan
    assert not _found(values)[JUMPS].flagged
    values[720:] += 60
    assert _found(values)[JUMPS].flagged


@pytest.mark.parametrize(("sensor", "expected"), [(25, True), (50, False)])
def test_a_slow_sensor_in_a_file_of_a_high_rate_has_its_own_rate(sensor: int, expected: bool) -> None:
    """Each value is repeated until the sensor has the next one."""
    values = np.repeat(np.round(_squats(sensor), 1), 1000 // sensor)
    found = _found(values, 1000)[SLOW]
    assert found.figure == pytest.approx(sensor)
    assert found.flagged is expected


def test_steps_of_a_coarse_trace_are_neither_jumps_nor_a_slow_sensor() -> None:
    """Whole degrees at 1000 Hz: new values come seldom since the angle is coarse, not since the sensor is slow."""
    t = np.arange(24000) / 1000
    found = _found(np.rint(45 - 45 * np.cos(2 * np.pi * t / 6)), 1000)
    assert found[SLOW].figure == 1000
    assert not found[JUMPS].flagged


def test_a_trace_that_never_moves_has_only_its_gaps_looked_at() -> None:
    assert set(_found(np.full(500, 3.0))) == {GAPS}
    assert set(_found(np.full(500, np.nan))) == {GAPS}
    assert _found(np.full(500, np.nan))[GAPS].places == ((0, 500),)
