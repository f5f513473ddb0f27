"""Edits of marks clamp or refuse, and never break what marks must hold."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phasemark.model.mark_edits import (
    Address,
    add_rep,
    addresses,
    boundary_at,
    check_rep,
    delete_rep,
    exclude_rep,
    joined,
    limits,
    move_boundary,
    side_toward,
)
from phasemark.model.marks import (
    LOWERING,
    RAISING,
    Boundary,
    Decision,
    Marks,
    MarksError,
    Origin,
    Phase,
    Place,
    Rep,
    third_names,
)


def phase(name: str, *samples: int) -> Phase:
    begin, first, second, end = (Boundary(s) for s in samples)
    return Phase(name, begin, end, (first, second))


@pytest.fixture
def marks() -> Marks:
    """Two reps: a touch-and-go one, then one with a pause between its phases."""
    empty = Marks("R1", 1000)
    one = add_rep(empty, (phase(LOWERING, 100, 130, 160, 200), phase(RAISING, 200, 230, 260, 300)))
    return add_rep(one, (phase(LOWERING, 400, 430, 460, 500), phase(RAISING, 600, 630, 660, 700)))


def test_a_boundary_moved_by_hand_knows_it(marks: Marks) -> None:
    moved = move_boundary(marks, Address(2, 0, Place.BEGIN), 380)
    assert moved.rep(2).phases[0].begin == Boundary(380, Origin.HAND)
    assert moved.rep(1) == marks.rep(1)


def test_a_turning_point_where_two_phases_meet_moves_as_one(marks: Marks) -> None:
    here = Address(1, 0, Place.END)
    assert joined(marks, here) == Address(1, 1, Place.BEGIN)
    moved = move_boundary(marks, here, 190)
    assert [p.at(place).sample for p, place in zip(moved.rep(1).phases, (Place.END, Place.BEGIN), strict=True)] == [
        190,
        190,
    ]


def test_a_boundary_stops_at_its_neighbours(marks: Marks) -> None:
    assert move_boundary(marks, Address(2, 0, Place.BEGIN), 0).rep(2).begin == 300
    assert move_boundary(marks, Address(2, 0, Place.END), 900).rep(2).phases[0].end.sample == 600
    assert move_boundary(marks, Address(2, 1, Place.END), 5000).rep(2).end == 1000


def test_automatic_third_lines_give_way_and_hand_placed_ones_stand(marks: Marks) -> None:
    by_hand = move_boundary(marks, Address(2, 0, Place.FIRST_LINE), 420)
    moved = move_boundary(by_hand, Address(2, 0, Place.BEGIN), 470)
    assert moved.rep(2).begin == 420
    free = move_boundary(marks, Address(2, 0, Place.BEGIN), 470)
    assert [b.sample for _, b in free.rep(2).phases[0].boundaries()] == [470, 470, 470, 500]


def test_moving_to_where_it_is_changes_nothing(marks: Marks) -> None:
    assert move_boundary(marks, Address(1, 0, Place.BEGIN), 100) is marks


@given(data=st.data())
def test_no_sequence_of_moves_breaks_the_marks(data: st.DataObject) -> None:
    """The types refuse broken marks, so that arriving here at all is the proof; limits say what is possible."""
    marks = Marks("R1", 1000)
    marks = add_rep(marks, (phase(LOWERING, 100, 130, 160, 200), phase(RAISING, 200, 230, 260, 300)))
    marks = add_rep(marks, (phase(LOWERING, 300, 430, 460, 500),), complete=False)
    for _ in range(data.draw(st.integers(1, 12))):
        address = data.draw(st.sampled_from(addresses(marks)))
        target = data.draw(st.integers(-50, 1050))
        allowed = limits(marks, address)
        marks = move_boundary(marks, address, target)
        assert boundary_at(marks, address).sample == min(max(target, allowed.low), allowed.high)


def test_a_deleted_rep_leaves_a_tombstone_and_its_id_is_not_given_again(marks: Marks) -> None:
    after = add_rep(delete_rep(marks, 1), (phase(RAISING, 10, 20, 30, 40),))
    assert [rep.id for rep in after.reps] == [3, 2]
    assert (after.tombstones[0].rep, after.tombstones[0].begin, after.tombstones[0].end) == (1, 100, 300)


def test_numbers_are_places_among_complete_reps_and_exclusion_does_not_renumber(marks: Marks) -> None:
    first = add_rep(marks, (phase(RAISING, 10, 20, 30, 40),), complete=False)
    excluded = exclude_rep(first, 1, Decision("R1", "2026-01-01T00:00:00Z", "foot slipped"))
    assert excluded.numbers() == {1: 1, 2: 2}
    assert check_rep(excluded, 2, Decision("R1", "2026-01-01T00:00:00Z")).rep(2).touched


def test_overlapping_reps_and_boundaries_that_fall_are_refused(marks: Marks) -> None:
    with pytest.raises(MarksError):
        add_rep(marks, (phase(RAISING, 250, 260, 270, 280),))
    with pytest.raises(MarksError):
        phase(RAISING, 10, 30, 20, 40)
    with pytest.raises(MarksError):
        replace(marks, length=650)
    with pytest.raises(MarksError):
        replace(marks, reps=(Rep(7, (phase(RAISING, 1, 2, 3, 4),)),))


def test_thirds_are_named_by_height_in_order_of_time() -> None:
    assert third_names(phase(RAISING, 1, 2, 3, 4), "rep") == ("lower", "middle", "upper")
    assert third_names(phase(LOWERING, 1, 2, 3, 4), "rep") == ("upper", "middle", "lower")
    assert third_names(phase(LOWERING, 1, 2, 3, 4), "time") == ("first", "second", "last")


def test_a_joined_boundary_is_parted_on_the_side_it_is_dragged_to(marks: Marks) -> None:
    """An earlier sample moves the end alone, a later one the begin alone; the other side stays as it was."""
    here = Address(1, 0, Place.END)
    assert side_toward(marks, here, 180) == here
    assert side_toward(marks, here, 220) == Address(1, 1, Place.BEGIN)
    assert side_toward(marks, Address(1, 1, Place.BEGIN), 180) == here
    assert side_toward(marks, here, 200) == here
    assert side_toward(marks, Address(2, 0, Place.END), 480) == Address(2, 0, Place.END)
    parted = move_boundary(marks, here, 180, alone=True)
    assert parted.rep(1).phases[0].end == Boundary(180, Origin.HAND)
    assert parted.rep(1).phases[1].begin == Boundary(200)
    assert joined(parted, here) is None


def test_a_parted_boundary_joins_again_on_its_neighbour(marks: Marks) -> None:
    """Dragged past its neighbour it stops there, is one with it, and moves as one from then on."""
    here = Address(1, 0, Place.END)
    parted = move_boundary(marks, here, 180, alone=True)
    again = move_boundary(parted, here, 900)
    assert boundary_at(again, here).sample == 200
    assert joined(again, here) == Address(1, 1, Place.BEGIN)
    assert move_boundary(again, here, 210).rep(1).phases[1].begin.sample == 210


def test_one_side_alone_never_crosses_the_other(marks: Marks) -> None:
    here = Address(1, 0, Place.END)
    assert move_boundary(marks, here, 220, alone=True) is marks
    assert limits(marks, here, alone=True).high == 200
    assert limits(marks, here).high > 200


def test_moving_a_boundary_takes_the_check_off_the_reps_it_belongs_to(marks: Marks) -> None:
    """A check vouches for boundaries as they stood; the other reps keep theirs."""
    decision = Decision("R1", "2026-01-01T00:00:00Z")
    checked = check_rep(check_rep(marks, 1, decision), 2, decision)
    moved = move_boundary(checked, Address(2, 0, Place.BEGIN), 380)
    assert (moved.rep(1).checked, moved.rep(2).checked) == (decision, None)
    meeting = move_boundary(checked, Address(2, 0, Place.BEGIN), 300)
    both = check_rep(meeting, 2, decision)
    assert move_boundary(both, Address(1, 1, Place.END), 290).rep(2).checked is None
    assert move_boundary(both, Address(1, 1, Place.END), 290, alone=True).rep(2).checked == decision
    assert move_boundary(checked, Address(1, 0, Place.BEGIN), 100).rep(1).checked == decision
