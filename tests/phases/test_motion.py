"""Range of motion, speeds and sticking region of phases, against closed forms."""

from fractions import Fraction
from math import isnan, pi

import numpy as np
import pytest
from numpy.typing import NDArray

from phasemark.model.recording import MovementTrace, Up
from phasemark.model.settings import PhaseSettings
from phasemark.phases.motion import motion_between
from phasemark.phases.movement import Movement, filtered_movement
from phasemark.signal.kinematics import kinematics, sticking_region

CLOCK = Fraction(2000)
UNFILTERED = PhaseSettings(movement_lowpass_hz=None)


def movement_of(values: NDArray[np.float64], rate: int, up: Up = Up.LARGER) -> Movement:
    length = len(values) * 2000 // rate
    return filtered_movement(values, MovementTrace("height", Fraction(rate), "m", up), CLOCK, length, UNFILTERED)


def test_raised_cosine_has_the_peak_speed_of_its_closed_form_at_its_middle() -> None:
    """X = ROM/2 (1 - cos(2 pi t/T)): peak speed pi ROM/T at T/4 (check value D2, closed form)."""
    rate, period, rom = 200, 4.0, 0.6
    t = np.arange(rate * 4 + 1) / rate
    movement = movement_of(rom / 2 * (1 - np.cos(2 * pi * t / period)), rate)
    found = motion_between(movement, 0, 4000, raising=True)
    assert found.range_of_motion == pytest.approx(rom, rel=1e-9)
    assert found.mean_speed == pytest.approx(rom / 2, rel=1e-9)
    assert found.peak_speed == pytest.approx(pi * rom / period, rel=2e-4)
    assert found.peak_speed_at_s == pytest.approx(1.0, abs=0.005)
    assert isnan(found.sticking_begin_s)


def test_minimum_jerk_peaks_at_1_875_times_its_mean_speed() -> None:
    """Flash T, Hogan N (1985) J Neurosci 5:1688-1703 (citation from memory); the factor 1.875 is a closed form."""
    rate, duration, rom = 500, 1.0, 0.5
    tau = np.arange(rate + 1) / rate
    movement = movement_of(-rom * (10 * tau**3 - 15 * tau**4 + 6 * tau**5), rate, Up.SMALLER)
    found = motion_between(movement, 0, 2000)
    assert found.peak_speed == pytest.approx(1.875 * rom / duration, rel=1e-3)
    assert found.mean_speed == pytest.approx(rom, rel=1e-9)


def test_a_lift_that_slows_and_goes_on_has_a_sticking_region_from_first_peak_to_dip() -> None:
    t = np.arange(0, 2, 0.005)
    speed = np.exp(-(((t - 0.5) / 0.2) ** 2)) + 0.8 * np.exp(-(((t - 1.4) / 0.25) ** 2))
    region = sticking_region(speed)
    assert region is not None
    assert t[region.begin] == pytest.approx(0.5, abs=0.006)
    between = (t > 0.5) & (t < 1.4)
    assert speed[region.end] == pytest.approx(speed[between].min())
    assert region.least_speed < region.peak_speed
    movement = movement_of(np.cumsum(speed) * 0.005, 200)
    found = motion_between(movement, 0, 3990, raising=True)
    assert found.sticking_begin_s == pytest.approx(0.5, abs=0.02)
    assert found.sticking_least_speed == pytest.approx(region.least_speed, rel=0.02)


def test_ripple_of_under_five_percent_is_no_sticking_region() -> None:
    t = np.linspace(0, 1, 200)
    assert sticking_region(np.sin(pi * t) + 0.01 * np.sin(40 * pi * t)) is None
    assert sticking_region(np.full(100, np.nan)) is None
    assert sticking_region(-np.ones(50)) is None


def test_a_stretch_with_over_ten_percent_missing_has_no_motion() -> None:
    height = np.linspace(0, 1, 100)
    height[10:25] = np.nan
    assert isnan(kinematics(height, np.gradient(height), 0.01).range_of_motion)
    movement = movement_of(np.linspace(0, 1, 100), 100)
    assert isnan(motion_between(movement, 5000, 6000).peak_speed)
