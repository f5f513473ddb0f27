"""Values at a sample: position, speed and envelopes of a trial whose movement and envelopes are known functions."""

from dataclasses import replace
from fractions import Fraction
from math import isnan, pi, sin
from time import perf_counter

import numpy as np
import pytest
from known_rep import SECONDS, height, known

from phasemark.model.clock import Alignment
from phasemark.model.recording import MovementTrace, Up
from phasemark.session.readout import readout
from phasemark.signal.pyramid import build


@pytest.mark.parametrize("sample", [3000, 6001, 8000, 12_345])
def test_position_speed_and_envelopes_are_those_of_the_known_functions(sample: int) -> None:
    """Raised cosines of 6 s: height, its derivative, and envelopes of a hundredth of the time at both rates."""
    _, signals, _ = known()
    time = sample / 2000
    found = readout(signals, sample)
    assert found.sample == sample
    assert found.time_s == pytest.approx(time)
    assert found.position == pytest.approx(float(height(np.array([time]))[0]), abs=0.005)
    assert found.speed == pytest.approx(-0.5 * sin(2 * pi * (time - 1) / 6) * 2 * pi / 6, abs=0.02)
    assert found.values[0] == pytest.approx(time / 100, abs=1e-9)
    assert time / 100 <= found.values[1] + 1e-12 <= (time + 1 / 1111.11) / 100 + 1e-9
    assert found.others == ()


def test_a_trace_in_which_smaller_is_raised_keeps_its_own_values_and_raises_with_a_speed_above_zero() -> None:
    """Depth in cm: the position is the depth as recorded, the speed is above zero while the depth gets smaller."""
    _, signals, _ = known(Up.SMALLER)
    found = readout(signals, 11_000)  # 5.5 s, half way up
    assert found.position == pytest.approx(50, abs=0.5)
    assert found.speed == pytest.approx(100 * 0.5 * 2 * pi / 6, rel=0.02)


def test_without_a_movement_trace_position_and_speed_are_missing() -> None:
    """The envelopes are read all the same."""
    _, signals, _ = known(movement=False)
    found = readout(signals, 4000)
    assert isnan(found.position)
    assert isnan(found.speed)
    assert found.values[0] == pytest.approx(0.02)


def test_missing_and_outside_values_are_missing() -> None:
    """A gap in an envelope, and samples before and after the recording."""
    gap = np.full(int(SECONDS * 2000), 0.5)
    gap[4000:4100] = np.nan
    _, signals, _ = known(envelopes=[gap, gap[:8000]])
    assert isnan(readout(signals, 4050).values[0])
    assert readout(signals, 4100).values[0] == 0.5
    assert isnan(readout(signals, 16_000).values[0])
    assert isnan(readout(signals, -1).values[0])
    assert isnan(readout(signals, 16_100).position)


def test_further_traces_are_read_where_they_lie() -> None:
    """A second trace at another rate, shifted by half a second: its sample at or after the cursor."""
    trial, signals, _ = known()
    second = MovementTrace("knee angle", Fraction(10), "deg", alignment=Alignment(Fraction(1, 2)))
    trial = replace(
        trial,
        movement=(*trial.movement, second),
        recording=replace(trial.recording, movement_samples=(*trial.recording.movement_samples, 60)),
    )
    signals = replace(signals, trial=trial, traces=(*signals.traces, build(np.arange(60.0))))
    assert readout(signals, 3000).others == (10.0,)
    assert readout(signals, 3001).others == (11.0,)
    assert isnan(readout(signals, 700).others[0])


def test_a_readout_of_sixteen_muscles_takes_well_under_a_millisecond() -> None:
    """It is read at every move of the mouse."""
    trial, signals, _ = known()
    emg = tuple(replace(trial.emg[1], muscle=f"muscle {k}") for k in range(16))
    trial = replace(trial, emg=(trial.emg[0], *emg))
    signals = replace(signals, trial=trial, envelopes=(signals.envelopes[0], *(signals.envelopes[1],) * 16))
    started = perf_counter()
    for sample in range(0, 10_000, 100):
        readout(signals, sample)
    assert (perf_counter() - started) / 100 < 0.001
