"""Third lines against closed forms and a published recording, for every rule."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from time import perf_counter

import numpy as np
import pytest
from synthetic import Script, Shape, clean, cosine, jerk, recorded

from phasemark.model.mark_edits import Address, move_boundary
from phasemark.model.marks import LOWERING, RAISING, Boundary, Decision, Marks, Origin, Phase, Place, Rep
from phasemark.model.recording import MovementTrace, Samples, Up
from phasemark.model.settings import PhaseSettings, ThirdsRule
from phasemark.phases.movement import Movement, filtered_movement
from phasemark.phases.thirds import place_all_thirds, place_thirds, third_levels

UNFILTERED = PhaseSettings(movement_lowpass_hz=None)
CLOCK = Fraction(2000)


def movement_of(values: Samples, rate: Fraction, clock: Fraction = CLOCK, up: Up = Up.LARGER) -> Movement:
    length = int(len(values) / rate * clock) + 1
    return filtered_movement(values, MovementTrace("height", rate, "cm", up), clock, length, UNFILTERED)


def marks_of(movement: Movement, *phases: tuple[str, float, float]) -> Marks:
    """Marks with one rep of these phases (s)."""
    clock = float(movement.clock)
    made = tuple(Phase(n, Boundary(round(b * clock)), Boundary(round(e * clock))) for n, b, e in phases)
    return Marks("R1", movement.length, (Rep(1, made),), 2)


def lines(marks: Marks, phase: int = 0) -> tuple[int, int]:
    found = marks.reps[0].phases[phase].lines
    assert found is not None
    return found[0].sample, found[1].sample


@pytest.mark.parametrize(("shape", "third"), [(cosine, 0.3918265520), (jerk, 0.4091300162)])
@pytest.mark.parametrize("rate", [100, 1000])
def test_thirds_of_closed_forms(shape: Shape, third: float, rate: int) -> None:
    """Raised cosine and minimum jerk reach a third of the range after 0.3918 and 0.4091 of their time (closed form).

    Within one sample of a 2000 Hz clock, also from a trace at 100 Hz (linear between its samples).
    """
    movement = movement_of(clean(Script().hold(1).rep(2, 2, 50, shape=shape).hold(1), rate), Fraction(rate))
    marks = place_all_thirds(marks_of(movement, (RAISING, 1, 3), (LOWERING, 3, 5)), movement, UNFILTERED)
    up = [(1 + 2 * third) * 2000, (3 - 2 * third) * 2000]
    assert lines(marks, 0) == pytest.approx(up, abs=1)
    assert lines(marks, 1) == pytest.approx([t + 4000 for t in up], abs=1)
    assert marks.thirds_rule == "rep"


@pytest.mark.parametrize(
    ("phase", "levels", "times"),
    [
        ((RAISING, 0.0201, 0.9447), (0.834367, 1.519533), (0.430850, 0.634638)),
        ((LOWERING, 0.9447, 1.7889), (0.978100, 1.591400), (1.263408, 1.442344)),
        ((RAISING, 1.7889, 2.0904), (0.843567, 1.322333), (1.920376, 1.982973)),
    ],
)
def test_thirds_of_a_hand_turned_bar(
    open_data: Path, phase: tuple[str, float, float], levels: tuple[float, float], times: tuple[float, float]
) -> None:
    """Pezzack, Norman and Winter 1977 (J Biomech 10:377-382): thirds between raw extremes, linear between samples."""
    rate = Fraction(10000, 201)
    values = np.loadtxt(open_data / "epos" / "epos.txt")[:, 1]
    movement = movement_of(values, rate, clock=Fraction(1_000_000))
    marks = place_all_thirds(marks_of(movement, phase), movement, UNFILTERED)
    assert third_levels(marks.reps[0], movement, UNFILTERED, marks) == pytest.approx(levels, abs=1e-6)
    assert [s / 1e6 for s in lines(marks)] == pytest.approx(times, abs=1e-5)


def unlike_reps() -> tuple[Movement, Marks]:
    """A rep of 60 cm and one of 30 cm, raised from 0 in straight lines of 3 s each way."""
    knots = [(0, 0), (3, 60), (6, 0), (9, 30), (12, 0)]
    t = np.arange(1201) / 100
    movement = movement_of(np.interp(t, *zip(*knots, strict=True)), Fraction(100))
    marks = marks_of(movement, (RAISING, 0, 3), (LOWERING, 3, 6))
    second = Rep(
        2, tuple(Phase(p.name, *(Boundary(b.sample + 12000) for b in (p.begin, p.end))) for p in marks.reps[0].phases)
    )
    return movement, replace(marks, reps=(*marks.reps, second), next_id=3)


def test_thirds_of_the_trial_are_one_pair_of_levels() -> None:
    """Mean extremes 0 and 45: levels 15 and 30; the small rep touches the upper level only at its top."""
    movement, marks = unlike_reps()
    settings = replace(UNFILTERED, thirds=ThirdsRule.TRIAL)
    placed = place_all_thirds(marks, movement, settings)
    assert third_levels(placed.reps[1], movement, settings, placed) == pytest.approx((15, 30))
    assert lines(placed) == pytest.approx((0.75 * 2000, 1.5 * 2000), abs=1)
    small = placed.reps[1].phases[0].lines
    assert small is not None
    assert small[0].sample == pytest.approx(7.5 * 2000, abs=1)
    assert small[1].sample == pytest.approx(9 * 2000, abs=1)


def test_incomplete_and_excluded_reps_do_not_make_the_trial_levels() -> None:
    """With the small rep excluded, or incomplete, the levels are those of the large one."""
    movement, marks = unlike_reps()
    settings = replace(UNFILTERED, thirds=ThirdsRule.TRIAL)
    out = Decision("R1", "2025-01-01T00:00:00Z", "stumbled")
    for change in ({"excluded": out}, {"complete": False}):
        other = replace(marks, reps=(marks.reps[0], replace(marks.reps[1], **change)))
        assert third_levels(other.reps[0], movement, settings, other) == pytest.approx((20, 40))


@pytest.mark.parametrize("up", [Up.LARGER, Up.SMALLER])
def test_fixed_levels_and_a_third_never_entered(up: Up) -> None:
    """Typed levels are in the trace's unit whatever its sign; a third that is never entered has coinciding lines."""
    movement, marks = unlike_reps()
    sign = 1 if up is Up.LARGER else -1
    movement = movement_of(sign * movement.position, Fraction(100), up=up)
    low, high = sorted((sign * 10.0, sign * 40.0))
    settings = replace(UNFILTERED, thirds=ThirdsRule.FIXED, fixed_levels=(low, high))
    placed = place_all_thirds(marks, movement, settings)
    assert third_levels(placed.reps[0], movement, settings, placed) == (low, high)
    assert lines(placed) == pytest.approx((0.5 * 2000, 2 * 2000), abs=1)
    raising, lowering = placed.reps[1].phases
    assert raising.lines is not None
    assert lowering.lines is not None
    assert raising.lines[1].sample == raising.end.sample
    assert lowering.lines[0].sample == lowering.begin.sample


def test_thirds_of_time_need_no_movement() -> None:
    """Equal thirds of 3 s are 1 s each; no rule, no lines; and no movement, no thirds of the range."""
    _, marks = unlike_reps()
    timed = place_all_thirds(marks, None, replace(UNFILTERED, thirds=ThirdsRule.TIME))
    assert lines(timed) == (2000, 4000)
    assert timed.thirds_rule == "time"
    for settings in (replace(UNFILTERED, thirds=ThirdsRule.NONE), UNFILTERED):
        assert all(p.lines is None for r in place_all_thirds(timed, None, settings).reps for p in r.phases)


def test_first_crossing_counts() -> None:
    """A path that goes back over a level is parted where it first reached it."""
    t = np.arange(1001) / 100
    values = np.interp(t, [0, 2, 3, 10], [0, 24, 16, 60])
    movement = movement_of(values, Fraction(100))
    marks = place_all_thirds(marks_of(movement, (RAISING, 0, 10)), movement, UNFILTERED)
    assert lines(marks)[0] == pytest.approx(20 / 12 * 2000, abs=1)


def test_hand_placed_lines_stay() -> None:
    """Dragging a phase boundary moves automatic lines along; a line a hand has placed stays, others keep order."""
    movement, marks = unlike_reps()
    marks = place_all_thirds(marks, movement, UNFILTERED)
    marks = move_boundary(marks, Address(1, 0, Place.FIRST_LINE), 3500)
    marks = move_boundary(marks, Address(1, 0, Place.BEGIN), 1000)
    placed = place_thirds(marks, 1, movement, UNFILTERED)
    first, second = placed.reps[0].phases[0].lines or (None, None)
    assert first == Boundary(3500, Origin.HAND)
    assert second is not None
    assert second.origin is Origin.AUTOMATIC
    # The range runs from 0 (end of lowering) to 60 still: its upper level is 40 at 2 s.
    assert second.sample == pytest.approx(4000, abs=1)


def test_only_the_named_rep_is_touched() -> None:
    """Other reps are the same objects after one rep's lines are placed."""
    movement, marks = unlike_reps()
    placed = place_thirds(marks, 1, movement, UNFILTERED)
    assert placed.reps[1] is marks.reps[1]
    assert place_thirds(placed, 1, movement, UNFILTERED) is placed


def test_a_rep_over_missing_trace() -> None:
    """Where the trace is missing in the whole rep there are no lines; a gap in it invents no crossing."""
    movement, marks = unlike_reps()
    gone = movement.position.copy()
    gone[:620] = np.nan
    assert place_all_thirds(marks, movement_of(gone, Fraction(100)), UNFILTERED).reps[0].phases[0].lines is None
    part = movement.position.copy()
    part[50:160] = np.nan
    first, _ = lines(place_all_thirds(marks, movement_of(part, Fraction(100)), UNFILTERED))
    assert first == pytest.approx(1.6 * 2000, abs=21)


def test_placing_is_quick_enough_for_a_drag() -> None:
    """One rep of a one-minute trial at 2000 Hz is placed in well under a millisecond (best of 20)."""
    script = Script().hold(1)
    for _ in range(15):
        script.rep(1.2, 1.2, 50).hold(1.5)
    case = recorded(script, np.random.default_rng(0), rate=Fraction(2000))
    movement, marks = case.movement(), case.marks()
    moved = move_boundary(marks, Address(marks.reps[3].id, 0, Place.END), marks.reps[3].phases[0].end.sample + 40)
    best = 1.0
    for _ in range(20):
        begin = perf_counter()
        place_thirds(moved, marks.reps[3].id, movement, case.settings)
        best = min(best, perf_counter() - begin)
    assert best < 1e-3
