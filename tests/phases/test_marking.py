"""Marking a trial, and marking it again over what a hand has done."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from synthetic import SETTINGS, Case, Script, recorded

from phasemark.model.mark_edits import (
    Address,
    add_rep,
    addresses,
    check_rep,
    delete_rep,
    exclude_rep,
    move_boundary,
)
from phasemark.model.marks import LOWERING, RAISING, Boundary, Decision, Marks, Origin, Phase, Place
from phasemark.model.settings import ThirdsRule
from phasemark.phases.marking import mark_trial
from phasemark.phases.movement import Movement


def five_reps() -> Case:
    script = Script().hold(1)
    for _ in range(5):
        script.rep(1, 1.2, -50, pause=0.5).hold(1)
    return recorded(script, np.random.default_rng(0), noise=0.05)


CASE = five_reps()
MOVEMENT: Movement = CASE.movement()
FIRST = CASE.marks()
DECISION = Decision("R1", "2025-01-01T00:00:00Z", "checked")


def again(marks: Marks) -> Marks:
    return mark_trial(MOVEMENT, SETTINGS, LOWERING, marks)


def test_marks_of_a_trial() -> None:
    """Five complete reps with ids 1 to 5, all automatic, with lines, and the rules named."""
    assert [rep.id for rep in FIRST.reps] == [1, 2, 3, 4, 5]
    assert all(rep.complete and not rep.touched and len(rep.phases) == 2 for rep in FIRST.reps)
    assert all(phase.lines is not None for rep in FIRST.reps for phase in rep.phases)
    assert FIRST.thirds_rule == "rep"
    assert "prominence, 30 %" in FIRST.phase_rule
    assert "low-pass 6 Hz, order 4" in FIRST.phase_rule


def test_marking_again_changes_nothing() -> None:
    """The same rules give the same marks with the same ids."""
    assert again(FIRST) == FIRST


def test_ids_stay_under_other_settings() -> None:
    """Reps found again by another speed rule keep their ids; their boundaries move."""
    other = mark_trial(MOVEMENT, replace(SETTINGS, speed_share=0.2), LOWERING, FIRST)
    assert [rep.id for rep in other.reps] == [1, 2, 3, 4, 5]
    assert other.reps[0].begin > FIRST.reps[0].begin
    assert other.next_id == FIRST.next_id


def test_a_deleted_rep_does_not_come_back() -> None:
    """Its tombstone keeps the place free, and the other reps keep their ids."""
    assert [rep.id for rep in again(delete_rep(FIRST, 3)).reps] == [1, 2, 4, 5]


@pytest.mark.parametrize("edit", [check_rep, exclude_rep])
def test_decisions_keep_a_rep_as_it_is(edit: object) -> None:
    """A checked or excluded rep stays where it was, also under other settings."""
    decided = edit(FIRST, 2, DECISION)
    other = mark_trial(MOVEMENT, replace(SETTINGS, speed_share=0.2), LOWERING, decided)
    kept, old = other.rep(2), decided.rep(2)
    assert (kept.begin, kept.end, kept.checked, kept.excluded) == (old.begin, old.end, old.checked, old.excluded)


def test_a_hand_placed_boundary_wins_over_the_next_rep() -> None:
    """A rep drawn out into the rest of the next keeps its end, and the next one begins there at the earliest."""
    gone = replace(FIRST, reps=FIRST.reps[:2])
    late = FIRST.reps[2].begin + 200
    moved = move_boundary(gone, Address(2, 1, Place.END), late)
    marks = again(moved)
    assert marks.rep(2).phases[1].end == Boundary(late, Origin.HAND)
    assert len(marks.reps) == 5
    assert marks.reps[2].begin == late
    assert [rep.id for rep in marks.reps] == [1, 2, 6, 7, 8]


def test_a_rep_added_by_hand_replaces_the_automatic_one() -> None:
    """A rep drawn by hand over the place of a rep stays the only one there."""
    rep = FIRST.reps[1]
    hand = tuple(
        Phase(p.name, Boundary(p.begin.sample + 20, Origin.HAND), Boundary(p.end.sample - 20, Origin.HAND))
        for p in rep.phases
    )
    drawn = add_rep(replace(FIRST, reps=(FIRST.reps[0], *FIRST.reps[2:])), hand)
    marks = again(drawn)
    assert [r.id for r in marks.reps] == [1, 6, 3, 4, 5]
    assert (marks.reps[1].begin, marks.reps[1].end) == (rep.begin + 20, rep.end - 20)


def test_the_other_order_makes_dangling_phases() -> None:
    """With raising first the first lowering and the last raising are incomplete reps of one phase."""
    marks = mark_trial(MOVEMENT, SETTINGS, RAISING, Marks("R1", MOVEMENT.length))
    assert [(len(rep.phases), rep.complete) for rep in marks.reps] == [(1, False), *[(2, True)] * 4, (1, False)]
    assert marks.reps[0].doubts[0] == "only one phase"


def test_thirds_rule_is_followed() -> None:
    """Marking again under another thirds rule places the lines by it and names it."""
    marks = mark_trial(MOVEMENT, replace(SETTINGS, thirds=ThirdsRule.TIME), LOWERING, FIRST)
    phase = marks.reps[0].phases[0]
    assert phase.lines is not None
    assert phase.lines[0].sample - phase.begin.sample == pytest.approx(
        (phase.end.sample - phase.begin.sample) / 3, abs=1
    )
    assert marks.thirds_rule == "time"


EDITS = st.lists(
    st.tuples(
        st.sampled_from(["move", "delete", "check", "exclude", "again"]), st.integers(0, 99), st.integers(-4000, 4000)
    ),
    max_size=12,
)


@settings(max_examples=40, deadline=None)
@given(EDITS)
def test_marking_again_never_moves_what_a_hand_has_placed(edits: list[tuple[str, int, int]]) -> None:
    """After any edits, marking again keeps every touched rep's own boundaries and every id, and is stable."""
    marks = FIRST
    for what, which, by in edits:
        if what == "again" or not marks.reps:
            marks = again(marks)
            continue
        rep = marks.reps[which % len(marks.reps)].id
        if what == "delete":
            marks = delete_rep(marks, rep)
        elif what in ("check", "exclude"):
            marks = (check_rep if what == "check" else exclude_rep)(marks, rep, DECISION)
        else:
            places = addresses(marks)
            place = places[which % len(places)]
            sample = marks.rep(place.rep).phases[place.phase].at(place.place).sample
            marks = move_boundary(marks, place, sample + by)
    after = again(marks)
    for rep in (rep for rep in marks.reps if rep.touched):
        kept = after.rep(rep.id)
        hand = [[b for _, b in p.boundaries() if b.origin is Origin.HAND] for p in rep.phases]
        assert hand == [[b for _, b in p.boundaries() if b.origin is Origin.HAND] for p in kept.phases]
        assert [(p.begin, p.end) for p in kept.phases] == [(p.begin, p.end) for p in rep.phases]
    assert after.tombstones == marks.tombstones
    assert after.next_id >= marks.next_id
    assert again(after) == after
