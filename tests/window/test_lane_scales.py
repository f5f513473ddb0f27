"""Scales of the user: larger and smaller about zero, from trial to trial, held or not."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pictures import lane, movement

from phasemark.window.traces.lane_scales import STEPS_TWICE, LaneScales

MUSCLE = lane(np.zeros(4))
OTHER = replace(MUSCLE, label="gastrocnemius")
BAR = movement()
FITTED, LARGER_TRIAL = (-1.0, 2.0), (-3.0, 6.0)


def test_left_alone_a_lane_fits_its_values_and_says_nothing() -> None:
    assert LaneScales().limits(MUSCLE, FITTED) == FITTED
    assert LaneScales().word(MUSCLE) == ""


def test_two_steps_draw_a_muscle_twice_as_large_about_zero() -> None:
    scales = LaneScales().scaled([MUSCLE], STEPS_TWICE)
    assert scales.limits(MUSCLE, FITTED) == (-0.5, 1.0)
    assert scales.limits(OTHER, FITTED) == FITTED
    assert scales.word(MUSCLE) == "×2"


def test_a_movement_is_drawn_larger_about_its_middle() -> None:
    assert LaneScales().scaled([BAR], STEPS_TWICE).limits(BAR, (10.0, 30.0)) == (15.0, 25.0)


def test_a_scale_without_zero_stays_about_its_middle() -> None:
    assert LaneScales().scaled([MUSCLE], STEPS_TWICE).limits(MUSCLE, (2.0, 6.0)) == (3.0, 5.0)


@given(st.lists(st.integers(-3, 3), max_size=20))
def test_steps_up_and_down_again_lead_back(steps: list[int]) -> None:
    """Whatever was done within the bounds of the scale is undone by the same steps the other way."""
    scales = LaneScales()
    total = 0
    for step in steps:
        if -10 <= total + step <= 16:
            total += step
            scales = scales.scaled([MUSCLE], step)
    assert scales.scaled([MUSCLE], -total).steps == {}


def test_a_scale_has_bounds_and_comes_back_from_them_at_once() -> None:
    scales = LaneScales().scaled([MUSCLE], 1000)
    low, high = scales.limits(MUSCLE, FITTED)
    assert (low, high) == (-1 / 256, 2 / 256)
    assert scales.scaled([MUSCLE], -STEPS_TWICE).limits(MUSCLE, FITTED) == (-1 / 128, 2 / 128)


def test_what_is_held_has_the_same_scale_in_every_trial() -> None:
    scales = LaneScales().scaled([MUSCLE], STEPS_TWICE).hold([MUSCLE], [FITTED])
    assert scales.limits(MUSCLE, LARGER_TRIAL) == (-0.5, 1.0)
    assert scales.word(MUSCLE) == "×2 held"
    assert scales.limits(OTHER, LARGER_TRIAL) == LARGER_TRIAL, "not seen while holding began"
    later = scales.hold([MUSCLE, OTHER], [LARGER_TRIAL, LARGER_TRIAL])
    assert later.limits(OTHER, FITTED) == LARGER_TRIAL
    assert later.limits(MUSCLE, LARGER_TRIAL) == (-0.5, 1.0)


def test_let_go_a_lane_fits_each_trial_as_many_times_larger() -> None:
    scales = LaneScales().scaled([MUSCLE], STEPS_TWICE).hold([MUSCLE], [FITTED]).let_go()
    assert scales.limits(MUSCLE, LARGER_TRIAL) == (-1.5, 3.0)


def test_back_to_automatic_fits_this_trial_also_where_it_is_held() -> None:
    scales = LaneScales().scaled([MUSCLE, OTHER], 3).fitted([MUSCLE], [FITTED])
    assert scales.limits(MUSCLE, FITTED) == FITTED
    assert scales.limits(OTHER, FITTED) != FITTED
    held = LaneScales().hold([MUSCLE], [FITTED]).scaled([MUSCLE], 1).fitted([MUSCLE], [LARGER_TRIAL])
    assert held.limits(MUSCLE, FITTED) == LARGER_TRIAL


def test_covered_numbers_are_not_told_by_a_held_scale() -> None:
    covered = replace(MUSCLE, covered=True)
    scales = LaneScales().hold([MUSCLE], [FITTED]).scaled([MUSCLE], STEPS_TWICE)
    assert scales.limits(covered, LARGER_TRIAL) == pytest.approx((-1.5, 3.0))
    assert scales.word(covered) == "×2"
