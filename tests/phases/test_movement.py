"""A movement trace on the recording's clock: filter, gaps, spikes, places."""

from fractions import Fraction

import numpy as np
import pytest
from synthetic import Script, clean

from phasemark.model.clock import Alignment
from phasemark.model.errors import BadData
from phasemark.model.recording import MovementTrace, Up
from phasemark.model.settings import PhaseSettings
from phasemark.phases.movement import clock_sample, filtered_movement, height_at, inside, trace_index

SETTINGS = PhaseSettings()
VALUES = clean(Script().hold(1).rep(1, 1, 50).hold(1), 100)


def test_up_turns_height_and_not_position() -> None:
    """Position keeps the trace's sign; height and speed are turned so that larger is raised."""
    movement = filtered_movement(VALUES, MovementTrace("h", Fraction(100), up=Up.SMALLER), Fraction(100), 400, SETTINGS)
    assert movement.position.max() > 45
    assert movement.height.min() < -45
    assert np.array_equal(movement.height, -movement.position)
    assert movement.speed[150] < 0


def test_places_follow_the_alignment() -> None:
    """A trace that starts 0.5 s late and runs 2 % slow lies where its alignment says, both ways."""
    trace = MovementTrace("h", Fraction(100), alignment=Alignment(Fraction(1, 2), Fraction(102, 100)))
    movement = filtered_movement(VALUES, trace, Fraction(2000), 10000, SETTINGS)
    assert clock_sample(movement, 100) == (0.5 + 1.02) * 2000
    assert trace_index(movement, 3040) == pytest.approx(100)
    assert inside(movement, 1000, 3040) == (0, 101)
    assert height_at(movement, 999) == movement.height[0]
    assert np.isnan(height_at(movement, 0))


def test_heights_between_samples_are_linear() -> None:
    """A height half way between two samples is their mean."""
    movement = filtered_movement(VALUES, MovementTrace("h", Fraction(100)), Fraction(2000), 8000, SETTINGS)
    assert height_at(movement, 3010) == pytest.approx(movement.height[150:152].mean())


def test_gaps_and_spikes_are_bridged_and_said() -> None:
    """A short gap and a single spike are interpolated and listed; a long gap at rest or moving stays missing."""
    values = VALUES.copy()
    values[150:160] = np.nan
    values[50] = 80
    values[310:390] = np.nan
    movement = filtered_movement(values, MovementTrace("h", Fraction(100)), Fraction(100), 400, SETTINGS)
    assert movement.bridged == ((50, 51), (150, 160))
    assert movement.position[50] == pytest.approx(0, abs=1)
    assert np.isnan(movement.position[310:390]).all()
    assert movement.pieces == ((0, 310), (390, 400))


def test_a_trace_too_slow_for_the_filter_is_not_filtered() -> None:
    """At 10 Hz a low-pass of 6 Hz has no place; the values stay as given."""
    movement = filtered_movement(VALUES[::10], MovementTrace("h", Fraction(10)), Fraction(10), 40, SETTINGS)
    assert np.array_equal(movement.position, VALUES[::10])


def test_two_dimensions_are_refused() -> None:
    """A table is no trace."""
    with pytest.raises(BadData, match="one row of values"):
        filtered_movement(np.ones((3, 2)), MovementTrace("h", Fraction(10)), Fraction(10), 3, SETTINGS)
