"""Whole reps split, merged and judged: ids, exclusions, checks and what must not be."""

from dataclasses import replace

import pytest

from phasemark.model.mark_edits import add_rep
from phasemark.model.marks import (
    BURST,
    LOWERING,
    RAISING,
    Boundary,
    ChannelExclusion,
    Decision,
    Marks,
    MarksError,
    Origin,
    Phase,
    Rep,
)
from phasemark.model.recording import Side
from phasemark.model.rep_edits import ends_by_hand, free_stretch, merge_reps, next_rep, set_complete, split_rep

SLIPPED = Decision("R1", "2026-01-01T00:00:00Z", "foot slipped")
LOST = ChannelExclusion("soleus", Side.LEFT, Decision("R1", "2026-01-01T00:00:00Z", "electrode lost"))


def phase(name: str, begin: int, end: int) -> Phase:
    return Phase(name, Boundary(begin), Boundary(end))


@pytest.fixture
def marks() -> Marks:
    """Two reps of two phases, then a burst-like rep of one phase."""
    held = Marks("R1", 1000)
    held = add_rep(held, (phase(LOWERING, 100, 200), phase(RAISING, 200, 300)))
    held = add_rep(held, (phase(LOWERING, 400, 500), phase(RAISING, 600, 700)))
    return add_rep(held, (phase(RAISING, 800, 900),), complete=False)


def test_free_stretches_lie_between_reps_and_the_ends_of_the_recording(marks: Marks) -> None:
    assert free_stretch(marks, 50) == (0, 100)
    assert free_stretch(marks, 300) == (300, 400)  # the sample after a rep is free
    assert free_stretch(marks, 950) == (900, 1000)
    assert [free_stretch(marks, sample) for sample in (100, 550, 899, -1, 1000)] == [None] * 5


def test_the_rep_after_another(marks: Marks) -> None:
    after = next_rep(marks, 1)
    assert after is marks.rep(2)
    assert next_rep(marks, 3) is None
    with pytest.raises(MarksError, match="no rep with id 9"):
        next_rep(marks, 9)


def test_ends_become_a_hands_where_they_are() -> None:
    phases = (phase(LOWERING, 100, 200), phase(RAISING, 200, 300))
    one, other = ends_by_hand(phases)
    assert (one.begin, one.end) == (Boundary(100, Origin.HAND), Boundary(200))
    assert (other.begin, other.end) == (Boundary(200), Boundary(300, Origin.HAND))
    assert ends_by_hand(phases, begin=False)[0] == phases[0]


def test_a_split_rep_keeps_its_id_and_exclusions_and_loses_its_check(marks: Marks) -> None:
    """Both parts are excluded as the whole was; nobody has looked at either."""
    held = replace(marks.rep(2), excluded=SLIPPED, excluded_channels=(LOST,), checked=SLIPPED, doubts=("odd",))
    before = replace(marks, reps=(marks.reps[0], held, marks.reps[2]))
    after = split_rep(
        before,
        2,
        Rep(1, (phase(LOWERING, 400, 500),), complete=False),
        Rep(1, (phase(RAISING, 600, 700),), complete=False),
    )
    assert [rep.id for rep in after.reps] == [1, 2, 4, 3]
    assert after.next_id == 5
    for rep in (after.rep(2), after.rep(4)):
        assert (rep.excluded, rep.excluded_channels, rep.checked, rep.doubts) == (SLIPPED, (LOST,), None, ())
        assert not rep.complete


def test_merged_reps_have_the_first_id_the_exclusions_of_both_and_no_tombstone(marks: Marks) -> None:
    other = replace(LOST, decision=SLIPPED)
    reps = (
        replace(marks.reps[0], excluded_channels=(LOST,), checked=SLIPPED),
        replace(marks.reps[1], excluded=SLIPPED, excluded_channels=(other,)),
        marks.reps[2],
    )
    whole = Rep(1, (phase(LOWERING, 100, 500), phase(RAISING, 600, 700)))
    after = merge_reps(replace(marks, reps=reps), 1, 2, whole)
    assert [rep.id for rep in after.reps] == [1, 3]
    merged = after.rep(1)
    assert (merged.excluded, merged.excluded_channels, merged.checked) == (SLIPPED, (LOST,), None)
    assert after.tombstones == ()
    assert after.next_id == marks.next_id


def test_parts_that_do_not_fit_are_refused(marks: Marks) -> None:
    with pytest.raises(MarksError):
        split_rep(marks, 1, Rep(1, (phase(LOWERING, 100, 210),)), Rep(1, (phase(RAISING, 200, 300),)))
    with pytest.raises(MarksError):
        merge_reps(marks, 1, 2, Rep(1, (phase(RAISING, 100, 850),)))


def test_complete_by_decision_checks_the_rep(marks: Marks) -> None:
    """The decision keeps it as it is when the trial is marked again, and renumbers."""
    after = set_complete(marks, 1, False, SLIPPED)
    assert (after.rep(1).complete, after.rep(1).checked, after.rep(1).touched) == (False, SLIPPED, True)
    assert after.numbers() == {2: 1}
    assert set_complete(after, 1, True, SLIPPED).numbers() == {1: 1, 2: 2}


def test_one_phase_is_no_complete_rep_unless_it_is_a_burst(marks: Marks) -> None:
    with pytest.raises(MarksError, match="only its raising phase and cannot be complete; merge"):
        set_complete(marks, 3, True, SLIPPED)
    burst = add_rep(Marks("R1", 1000), (phase(BURST, 10, 90),), complete=False)
    assert set_complete(burst, 1, True, SLIPPED).rep(1).complete
