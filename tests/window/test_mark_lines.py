"""Bisection finds what looking at every boundary finds."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pictures import THREE_REPS, marks, phase, rep

from phasemark.model.mark_edits import Address, addresses, boundary_at, check_rep, exclude_rep, move_boundary
from phasemark.model.marks import BURST, Decision, Marks, Phase, Place, Rep
from phasemark.window.traces.mark_lines import MarkLine, MarkLines, changed_reps, same_reps
from phasemark.window.traces.mark_words import line_text, place_text, rep_text, time_text

SAID = Decision("R1", "2025-01-01T00:00:00Z", "artefact")


@st.composite
def some_marks(draw: st.DrawFn) -> Marks:
    """Up to six reps of any length, some touching, with and without pauses."""
    at, reps = 0, []
    for rep_id in range(1, draw(st.integers(0, 6)) + 1):
        begin = at + draw(st.integers(0, 300))
        length, pause = draw(st.integers(8, 900)), draw(st.sampled_from([0, 0, 2]))
        at = begin + length
        reps.append(rep(rep_id, begin, at, pause=pause))
    return marks(*reps)


def everything(line: MarkLine) -> bool:
    return True


@given(some_marks(), st.floats(-10, 7000), st.floats(0, 200))
def test_the_nearest_boundary_is_the_nearest(held: Marks, at: float, reach: float) -> None:
    """The same distance as the best of all, and none where all are out of reach."""
    found = MarkLines(held).nearest(at, reach, None, everything)
    distances = [abs(boundary_at(held, a).sample - at) for a in addresses(held)]
    if not distances or min(distances) > reach:
        assert found is None
    else:
        assert found is not None
        assert abs(found.sample - at) == min(distances)


@given(some_marks(), st.integers(-10, 7000), st.integers(0, 3000))
def test_stretches_hold_the_boundaries_and_reps_that_lie_in_them(held: Marks, low: int, width: int) -> None:
    """What bisection gives is what a look at each gives."""
    lines, high = MarkLines(held), low + width
    assert [line.address for line in lines.between(low, high)] == [
        a for a in addresses(held) if low <= boundary_at(held, a).sample <= high
    ]
    assert lines.reps_between(low, high) == tuple(r for r in held.reps if r.end >= low and r.begin <= high)
    assert lines.rep_at(low) == next((r for r in held.reps if r.begin <= low < r.end), None)


@given(some_marks())
def test_stepping_there_and_back_meets_the_same_places(held: Marks) -> None:
    """Every sample that has a boundary is met going forward, and again going back."""
    lines = MarkLines(held)
    there: list[MarkLine] = []
    line = lines.step(None, 1, 0, held.length)
    while line is not None:
        there.append(line)
        line = lines.step(line.address, 1, 0, held.length)
    assert {met.sample for met in there} == {boundary_at(held, a).sample for a in addresses(held)}
    back: list[MarkLine] = []
    line = lines.step(None, -1, 0, held.length)
    while line is not None:
        back.append(line)
        line = lines.step(line.address, -1, 0, held.length)
    assert back == there[::-1]


def test_a_third_never_entered_gives_way_to_the_phase_boundary() -> None:
    """Where a third line lies on its phase's begin, a press takes the begin; selected, the line is taken."""
    begin, line = phase("lowering", 100, 400).begin, phase("lowering", 100, 400).lines
    assert line is not None
    held = marks(Rep(1, (Phase("lowering", begin, phase("lowering", 100, 400).end, (begin, line[1])),)))
    first = Address(1, 0, Place.FIRST_LINE)
    taken = MarkLines(held).nearest(101, 5, None, everything)
    chosen = MarkLines(held).nearest(101, 5, first, everything)
    assert taken is not None
    assert chosen is not None
    assert taken.address.place is Place.BEGIN
    assert chosen.address == first


def test_an_edit_changes_the_reps_it_touches_and_no_other() -> None:
    """Moving one boundary of rep 1 names rep 1 before and after; a shared boundary names both reps."""
    moved = move_boundary(THREE_REPS, Address(1, 0, Place.BEGIN), 1500)
    assert {r.id for r in changed_reps(THREE_REPS, moved)} == {1}
    assert {r.begin for r in changed_reps(THREE_REPS, moved)} == {1500, 2000}
    shared = move_boundary(THREE_REPS, Address(2, 1, Place.END), 10_200)
    assert {r.id for r in changed_reps(THREE_REPS, shared)} == {2, 3}
    assert changed_reps(THREE_REPS, replace(THREE_REPS)) == ()


def test_what_renumbers_reps_is_not_a_change_of_one() -> None:
    """Reps added, deleted or no longer complete change the numbers of others."""
    fewer = replace(THREE_REPS, reps=THREE_REPS.reps[1:])
    partial = replace(THREE_REPS, reps=(replace(THREE_REPS.reps[0], complete=False), *THREE_REPS.reps[1:]))
    assert not same_reps(THREE_REPS, fewer)
    assert not same_reps(THREE_REPS, partial)
    assert same_reps(THREE_REPS, exclude_rep(THREE_REPS, 2, SAID))


@pytest.mark.parametrize(
    ("sample", "clock", "text"),
    [(5812, Fraction(1000), "5.812 s"), (3, Fraction(2000), "0.0015 s"), (10, Fraction(50), "0.20 s")],
)
def test_times_tell_two_samples_apart(sample: int, clock: Fraction, text: str) -> None:
    """As many decimals as the clock needs."""
    assert time_text(sample, clock) == text
    assert time_text(sample + 1, clock) != text


def test_boundaries_are_named_as_the_body_moves() -> None:
    """Lowering passes from upper to lower; thirds of time and bursts are first, second, last."""
    lines = {line.address: line for line in MarkLines(THREE_REPS).lines}
    first, second = (Address(2, 0, place) for place in (Place.FIRST_LINE, Place.SECOND_LINE))
    assert place_text(THREE_REPS, lines[first]) == "upper | middle of lowering"
    assert place_text(THREE_REPS, lines[second]) == "middle | lower of lowering"
    bursts = marks(Rep(1, (phase(BURST, 10, 40),)))
    assert place_text(bursts, MarkLines(bursts).lines[1]) == "first | second of burst"
    by_hand = move_boundary(THREE_REPS, first, 6600)
    said = line_text(by_hand, lines[first], Fraction(1000))
    assert said.endswith("placed by hand")


def test_reps_say_what_was_decided() -> None:
    """Number, excluded and checked; incomplete ones have no number."""
    held = check_rep(exclude_rep(THREE_REPS, 2, SAID), 2, SAID)
    assert rep_text(held.rep(2), 2) == "rep 2, excluded, checked"
    assert rep_text(replace(held.rep(1), complete=False), None) == "incomplete"
