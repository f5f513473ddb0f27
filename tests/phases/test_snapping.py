"""Where a dragged boundary may snap to, and what it snaps to."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from synthetic import SETTINGS, Case, Script, recorded

from phasemark.model.mark_edits import Address, addresses, boundary_at, limits, move_boundary
from phasemark.model.marks import LOWERING, Marks, Place
from phasemark.model.recording import Up
from phasemark.model.settings import ThirdsRule
from phasemark.phases.by_hand import Ground, draw_rep
from phasemark.phases.marking import mark_trial
from phasemark.phases.snapping import Candidate, snap, snap_candidates


def reps(pause: float, up: Up = Up.LARGER) -> Case:
    script = Script().hold(1)
    for _ in range(3):
        script.rep(1, 1.2, -50, pause=pause).hold(1)
    return recorded(script, np.random.default_rng(0), noise=0.05, up=up)


CASE = reps(0.5)
MOVEMENT = CASE.movement()
MARKS = CASE.marks()


def offered(marks: Marks, address: Address, word: str, case: Case = CASE) -> list[int]:
    found = snap_candidates(case.movement(), marks, address, SETTINGS)
    return [candidate.sample for candidate in found if candidate.word == word]


@pytest.mark.parametrize("up", [Up.LARGER, Up.SMALLER])
@pytest.mark.parametrize("pause", [0.0, 0.5])
@pytest.mark.parametrize(("phase", "place"), [(0, Place.BEGIN), (0, Place.END), (1, Place.BEGIN), (1, Place.END)])
def test_a_boundary_that_was_moved_away_is_offered_where_the_rule_has_it(
    pause: float, up: Up, phase: int, place: Place
) -> None:
    """Every begin and end of the middle rep, with a pause and without, both ways of the trace."""
    case = reps(pause, up)
    marks = case.marks()
    address = Address(2, phase, place)
    rule = boundary_at(marks, address).sample
    moved = move_boundary(marks, address, rule + (170 if place is Place.BEGIN else -170))
    near = offered(moved, address, "speed rule", case)
    assert near == pytest.approx([rule], abs=25)


def test_turning_points_nearby_are_offered_to_begin_and_end() -> None:
    """The bottom of the rep lies in its pause; sway and noise offer nothing."""
    turns = offered(MARKS, Address(2, 0, Place.END), "turning point")
    down, up = MARKS.rep(2).phases
    assert len(turns) == 1
    assert down.end.sample <= turns[0] <= up.begin.sample


def test_the_neighbour_is_offered_so_that_a_pause_can_be_closed() -> None:
    address = Address(2, 0, Place.END)
    assert offered(MARKS, address, "begin of raising") == [MARKS.rep(2).phases[1].begin.sample]
    assert offered(MARKS, Address(2, 0, Place.BEGIN), "end of raising") == [MARKS.rep(1).end]
    assert offered(MARKS, Address(1, 0, Place.BEGIN), "end of raising") == []


def test_third_lines_are_offered_every_crossing_of_the_levels() -> None:
    """A line moved by hand is offered the place it came from and its phase's ends, not the other's level."""
    for back in addresses(MARKS):
        if back.place in (Place.FIRST_LINE, Place.SECOND_LINE):
            away = boundary_at(MARKS, back).sample + 60
            here = offered(move_boundary(MARKS, back, away), back, "third level")
            assert here == pytest.approx([away - 60], abs=2)
    address = Address(2, 1, Place.FIRST_LINE)
    rule = boundary_at(MARKS, address).sample
    moved = move_boundary(MARKS, address, rule + 60)
    assert offered(moved, address, "third level") == pytest.approx([rule], abs=2)
    phase = MARKS.rep(2).phases[1]
    assert offered(moved, address, "begin of raising") == [phase.begin.sample]
    second = Address(2, 1, Place.SECOND_LINE)
    assert offered(move_boundary(moved, second, phase.end.sample - 5), second, "end of raising") == [phase.end.sample]
    timed = replace(SETTINGS, thirds=ThirdsRule.TIME)
    marks = mark_trial(MOVEMENT, timed, LOWERING, MARKS)
    assert {c.word for c in snap_candidates(MOVEMENT, marks, address, timed)} == {"begin of raising"}


def test_without_a_movement_trace_only_neighbours_are_offered() -> None:
    ground = Ground(CASE.clock, None, SETTINGS)
    bursts = draw_rep(draw_rep(Marks("R1", 20_000), 1000, 4000, ground), 6000, 9000, ground)
    assert snap_candidates(None, bursts, Address(1, 0, Place.END), SETTINGS) == (Candidate(6000, "begin of burst"),)
    assert snap_candidates(MOVEMENT, bursts, Address(2, 0, Place.END), SETTINGS) == ()


def test_one_side_alone_is_offered_its_own_neighbour_only_on_its_side() -> None:
    """Parting a touch-and-go turning point: nothing beyond the other side."""
    case = reps(0.0)
    address = Address(2, 0, Place.END)
    found = snap_candidates(case.movement(), case.marks(), address, SETTINGS, alone=True)
    assert all(candidate.sample < boundary_at(case.marks(), address).sample for candidate in found)


def test_the_nearest_candidate_within_reach_is_taken() -> None:
    offers = (Candidate(100, "a"), Candidate(140, "b"))
    assert snap(108, offers, 10) == (100, offers[0])
    assert snap(131, offers, 10) == (140, offers[1])
    assert snap(120, offers, 10) == (120, None)
    assert snap(5000, offers, 10) == (5000, None)
    assert snap(7, (), 10) == (7, None)


@settings(max_examples=100, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(0, 10**6), st.integers(0, 8000), st.integers(200, 8000))
def test_any_trace_offers_only_what_is_possible(seed: int, which: int, begin: int, length: int) -> None:
    """Random walks with gaps: candidates rise, lie within the limits, and moving to one arrives there."""
    draw = np.random.default_rng(seed)
    values = np.cumsum(draw.normal(0, 1, 400) * (draw.random(400) < draw.random()))
    at = draw.integers(0, 400)
    values[at : at + draw.integers(0, 80)] = np.nan
    movement = Case(values, CASE.trace, [], LOWERING, CASE.clock).movement()
    marks = mark_trial(movement, SETTINGS, LOWERING, Marks("R1", movement.length))
    if not marks.reps:
        return
    places = addresses(marks)
    address = places[which % len(places)]
    marks = move_boundary(marks, address, begin)
    found = snap_candidates(movement, marks, address, SETTINGS)
    samples = [candidate.sample for candidate in found]
    assert samples == sorted(set(samples))
    allowed = limits(marks, address)
    for sample in samples:
        assert allowed.low <= sample <= allowed.high
        assert boundary_at(move_boundary(marks, address, sample), address).sample == sample
    taken, candidate = snap(begin + length, found, 50)
    assert abs(taken - begin - length) <= 50
    assert (candidate is None) == (all(abs(sample - begin - length) > 50 for sample in samples))
