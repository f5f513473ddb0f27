"""Reps added, split and merged by hand: phases from the movement, what a hand placed stays, marking again too."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from synthetic import SETTINGS, Case, Script, recorded

from phasemark.model.mark_edits import Address, addresses, boundary_at, check_rep, exclude_rep, move_boundary
from phasemark.model.marks import (
    BURST,
    LOWERING,
    RAISING,
    Boundary,
    Decision,
    Marks,
    MarksError,
    Origin,
    Place,
    Rep,
)
from phasemark.model.recording import Up
from phasemark.model.settings import ThirdsRule
from phasemark.phases.by_hand import Ground, draw_rep, erase_rep, join_with_next, judge_rep, part_rep
from phasemark.phases.marking import mark_trial
from phasemark.phases.movement import Movement
from phasemark.phases.stretch import phases_between

DECISION = Decision("R1", "2025-01-01T00:00:00Z", "looked at")


def four_reps(pause: float = 0.5, up: Up = Up.LARGER) -> Case:
    script = Script().hold(1)
    for _ in range(4):
        script.rep(1, 1.2, -50, pause=pause).hold(1)
    return recorded(script, np.random.default_rng(0), noise=0.05, up=up)


CASE = four_reps()
MOVEMENT: Movement = CASE.movement()
GROUND = Ground(CASE.clock, MOVEMENT, SETTINGS)
BARE = replace(GROUND, movement=None)
FIRST = CASE.marks()
EMPTY = Marks("R1", MOVEMENT.length)


def again(marks: Marks) -> Marks:
    return mark_trial(MOVEMENT, SETTINGS, LOWERING, marks)


def shape(rep: Rep) -> list[tuple[str, int, int]]:
    return [(phase.name, phase.begin.sample, phase.end.sample) for phase in rep.phases]


def seconds(value: float) -> int:
    return round(value * float(CASE.clock))


# Adding


@pytest.mark.parametrize("up", [Up.LARGER, Up.SMALLER])
@pytest.mark.parametrize("pause", [0.0, 0.5])
def test_a_rep_drawn_by_hand_turns_where_the_automatic_one_does(pause: float, up: Up) -> None:
    """Drawn from the rest before to the rest after: the pause, or the turning point, is that of the rule."""
    case = four_reps(pause, up)
    found = case.marks()
    auto = found.reps[1]
    ground = Ground(case.clock, case.movement(), SETTINGS)
    begin, end = auto.begin - 600, auto.end + 500
    marks = draw_rep(replace(found, reps=(found.reps[0], *found.reps[2:])), begin, end, ground)
    rep = marks.rep(found.next_id)
    assert [phase.name for phase in rep.phases] == [phase.name for phase in auto.phases]
    assert (rep.phases[0].begin, rep.phases[1].end) == (Boundary(begin, Origin.HAND), Boundary(end, Origin.HAND))
    stop, start = rep.phases[0].end, rep.phases[1].begin
    assert stop.sample == pytest.approx(auto.phases[0].end.sample, abs=30)
    assert start.sample == pytest.approx(auto.phases[1].begin.sample, abs=30)
    assert {stop.origin, start.origin} == {Origin.AUTOMATIC}
    assert (stop == start) == (pause == 0)
    assert all(line.origin is Origin.AUTOMATIC for phase in rep.phases for line in phase.lines or ())
    assert rep.complete
    assert rep.phases[0].lines is not None


def test_a_rep_that_turns_the_other_way_is_raised_first() -> None:
    """From the bottom of one rep to the bottom of the next: raising, then lowering."""
    begin, end = FIRST.reps[0].phases[1].begin.sample, FIRST.reps[1].phases[0].end.sample
    rep = draw_rep(EMPTY, begin, end, GROUND).reps[0]
    assert [phase.name for phase in rep.phases] == [RAISING, LOWERING]
    assert rep.complete


def test_one_way_is_one_phase_and_incomplete() -> None:
    """Only the way down, with a little of the way up at the end that would be no turning point by prominence."""
    phase = FIRST.reps[0].phases[0]
    rep = draw_rep(EMPTY, phase.begin.sample, phase.end.sample + seconds(0.5 + 0.2), GROUND).reps[0]
    assert [p.name for p in rep.phases] == [LOWERING]
    assert not rep.complete
    up = FIRST.reps[0].phases[1]
    rep = draw_rep(EMPTY, up.begin.sample, up.end.sample, GROUND).reps[0]
    assert [p.name for p in rep.phases] == [RAISING]


def test_ends_that_differ_make_two_phases_that_are_incomplete() -> None:
    """Half of the way up: two phases, but the rep ends half of its range away."""
    down, up = FIRST.reps[0].phases
    rep = draw_rep(EMPTY, down.begin.sample, (up.begin.sample + up.end.sample) // 2, GROUND).reps[0]
    assert [p.name for p in rep.phases] == [LOWERING, RAISING]
    assert not rep.complete
    assert any("of its range away" in text for text in rep.doubts)


def test_without_a_movement_trace_a_stretch_is_one_burst() -> None:
    rep = draw_rep(EMPTY, 4000, 1000, BARE).reps[0]  # drawn from right to left
    assert shape(rep) == [(BURST, 1000, 4000)]
    assert rep.complete
    assert rep.phases[0].lines is None
    timed = replace(BARE, settings=replace(SETTINGS, thirds=ThirdsRule.TIME))
    rep = draw_rep(EMPTY, 1000, 4000, timed).reps[0]
    assert [line.sample for line in rep.phases[0].lines or ()] == [2000, 3000]


def test_what_cannot_be_a_rep_is_refused_in_one_sentence() -> None:
    rep = FIRST.reps[1]
    with pytest.raises(MarksError, match=r"A rep from .* s would overlap rep 2 \(from .* s\); choose a stretch"):
        draw_rep(FIRST, rep.begin - 500, rep.begin + 1, GROUND)
    with pytest.raises(MarksError, match=r"A rep from 0\.10 to 0\.15 s would be shorter than 0\.1 s; make it longer"):
        draw_rep(EMPTY, 200, 300, GROUND)
    with pytest.raises(MarksError, match="shorter than"):
        draw_rep(EMPTY, MOVEMENT.length - 100, MOVEMENT.length + 5000, GROUND)  # outside there is nothing
    gone = MOVEMENT.height.copy()
    gone[:500] = np.nan
    lost = replace(MOVEMENT, height=gone)
    with pytest.raises(MarksError, match=r"movement trace is missing from 0\.50 to 2\.00 s"):
        phases_between(Boundary(1000), Boundary(4000), lost, SETTINGS)
    flat = replace(MOVEMENT, height=np.zeros(len(gone)))
    with pytest.raises(MarksError, match="does not move"):
        phases_between(Boundary(1000), Boundary(4000), flat, SETTINGS)


def test_a_rep_drawn_beside_another_without_a_sample_between_is_allowed() -> None:
    gone = erase_rep(FIRST, 2, GROUND)
    marks = draw_rep(gone, gone.rep(1).end, gone.rep(3).begin, GROUND)
    assert [rep.id for rep in marks.reps] == [1, 5, 3, 4]


def test_a_rep_drawn_where_one_was_deleted_takes_its_tombstone_away() -> None:
    """And one that only reaches a little into the place leaves it."""
    gone = erase_rep(FIRST, 2, GROUND)
    assert len(gone.tombstones) == 1
    rep = FIRST.rep(2)
    drawn = draw_rep(gone, rep.begin, rep.end, GROUND)
    assert drawn.tombstones == ()
    assert [r.id for r in again(drawn).reps] == [1, 5, 3, 4]
    assert [r.id for r in again(erase_rep(drawn, 5, GROUND)).reps] == [1, 3, 4]
    beside = draw_rep(erase_rep(gone, 1, GROUND), FIRST.rep(1).begin, rep.begin + 200, GROUND)
    assert [stone.rep for stone in beside.tombstones] == [2]


def test_a_deleted_rep_no_longer_weighs_in_the_levels_of_the_trial() -> None:
    """With thirds of the trial, a much higher rep lifts the lines of all while it is there, and only then."""
    trial = replace(GROUND, settings=replace(SETTINGS, thirds=ThirdsRule.TRIAL))
    height = MOVEMENT.height.copy()
    first, last = (round(FIRST.rep(4).begin / 20) - 10, len(height))
    height[first:last] = 2 * height[first:last]
    trial = replace(trial, movement=replace(MOVEMENT, height=height, position=height))
    with_it = mark_trial(trial.movement, trial.settings, LOWERING, FIRST)
    assert all(len(rep.phases) == 2 for rep in with_it.reps)
    without = erase_rep(with_it, 4, trial)
    alone = replace(with_it, reps=with_it.reps[:3])
    assert without.rep(1).phases[0].lines != with_it.rep(1).phases[0].lines
    assert without.reps == mark_trial(trial.movement, trial.settings, LOWERING, without).reps
    assert [rep.id for rep in alone.reps] == [rep.id for rep in without.reps]


# Splitting


def joined_pair() -> Marks:
    """Reps 2 and 3 as one rep that runs over both, as one that missed the rest between would."""
    return join_with_next(FIRST, 2, GROUND)


def test_a_rep_that_holds_two_becomes_two_with_their_own_turning_points() -> None:
    pair = joined_pair()
    at = (FIRST.rep(2).end + FIRST.rep(3).begin) // 2
    marks = part_rep(pair, 2, at, GROUND)
    assert [rep.id for rep in marks.reps] == [1, 2, 5, 4]
    for rep, old in ((marks.rep(2), FIRST.rep(2)), (marks.rep(5), FIRST.rep(3))):
        assert rep.complete
        assert rep.phases[0].end.sample == pytest.approx(old.phases[0].end.sample, abs=30)
        assert rep.phases[1].begin.sample == pytest.approx(old.phases[1].begin.sample, abs=30)
    assert marks.rep(2).phases[1].end == marks.rep(5).phases[0].begin == Boundary(at, Origin.HAND)


@pytest.mark.parametrize("share", [-0.02, 0.5, 1.02])
def test_a_rep_split_at_its_turning_becomes_its_two_phases_as_they_are(share: float) -> None:
    """Anywhere in the pause or just beside it, where neither side turns by itself."""
    down, up = FIRST.rep(2).phases
    at = round(down.end.sample + share * (up.begin.sample - down.end.sample))
    marks = part_rep(FIRST, 2, at, GROUND)
    assert shape(marks.rep(2)) + shape(marks.rep(5)) == shape(FIRST.rep(2))
    assert not marks.rep(2).complete
    assert not marks.rep(5).complete
    lines = [line.sample for line in marks.rep(2).phases[0].lines or ()]
    assert lines == pytest.approx([line.sample for line in down.lines or ()], abs=3)  # its range is its own now
    assert list(marks.numbers()) == [1, 3, 4]


def test_hand_placed_boundaries_that_still_make_sense_stay_when_a_rep_is_split() -> None:
    """A line and a turning point placed by hand are where they were; the line is in the part it belongs to."""
    line, turn = Address(2, 1, Place.SECOND_LINE), Address(2, 0, Place.END)
    placed = move_boundary(joined_pair(), turn, FIRST.rep(2).phases[0].end.sample - 150)
    placed = move_boundary(placed, Address(2, 1, Place.BEGIN), FIRST.rep(2).phases[1].begin.sample + 90)
    placed = move_boundary(placed, line, FIRST.rep(3).phases[1].begin.sample + 700)
    marks = part_rep(placed, 2, (FIRST.rep(2).end + FIRST.rep(3).begin) // 2, GROUND)
    assert marks.rep(2).phases[0].end == boundary_at(placed, turn)
    raised = marks.rep(5).phases[1].lines or ()
    assert raised[1] == boundary_at(placed, line)
    assert raised[0].origin is Origin.AUTOMATIC
    assert {b.origin for b in marks.rep(2).phases[1].lines or ()} == {Origin.AUTOMATIC}


def test_hand_placed_boundaries_that_still_make_sense_stay_when_reps_are_merged() -> None:
    """A hesitation that was taken for a rep of its own: merged, the turning point is where the hand had it."""
    turn = Address(2, 0, Place.END)
    placed = move_boundary(FIRST, turn, boundary_at(FIRST, turn).sample - 150)
    early = (FIRST.rep(2).begin + boundary_at(placed, turn).sample) // 2
    parted = part_rep(placed, 2, early, GROUND)
    assert [len(parted.rep(i).phases) for i in (2, 5)] == [1, 2]
    assert parted.rep(5).phases[0].end == boundary_at(placed, turn)
    assert join_with_next(parted, 2, GROUND).rep(2).phases[0].end == boundary_at(placed, turn)


def test_a_part_that_would_be_too_short_is_refused() -> None:
    rep = FIRST.rep(2)
    for at in (rep.begin + 50, rep.end - 50, rep.begin - 500, rep.end + 500):
        with pytest.raises(MarksError, match=r"The part of the rep from .* would be shorter than 0\.1 s"):
            part_rep(FIRST, 2, at, GROUND)


def test_a_burst_is_split_into_bursts_and_merged_again() -> None:
    burst = draw_rep(EMPTY, 1000, 5000, BARE)
    two = part_rep(burst, 1, 3000, BARE)
    assert [shape(rep) for rep in two.reps] == [[(BURST, 1000, 3000)], [(BURST, 3000, 5000)]]
    assert all(rep.complete for rep in two.reps)
    one = join_with_next(two, 1, BARE)
    assert [shape(rep) for rep in one.reps] == [[(BURST, 1000, 5000)]]
    assert one.reps[0].complete


def test_where_the_trace_is_missing_a_rep_is_split_into_its_phases() -> None:
    gone = MOVEMENT.height.copy()
    gone[:] = np.nan
    marks = part_rep(FIRST, 2, FIRST.rep(2).begin + 500, replace(GROUND, movement=replace(MOVEMENT, height=gone)))
    assert shape(marks.rep(2)) + shape(marks.rep(5)) == shape(FIRST.rep(2))


# Merging


def test_two_incomplete_neighbours_become_a_rep_of_their_phases_as_they_are() -> None:
    """Where the order was taken the wrong way round: split, then merged across, then back."""
    down, up = FIRST.rep(2).phases
    parted = part_rep(FIRST, 2, (down.end.sample + up.begin.sample) // 2, GROUND)
    whole = join_with_next(parted, 2, GROUND)
    assert shape(whole.rep(2)) == shape(FIRST.rep(2))
    assert whole.rep(2).complete
    assert [rep.id for rep in whole.reps] == [1, 2, 3, 4]
    assert whole.tombstones == ()


def test_any_other_neighbours_become_a_rep_drawn_anew() -> None:
    """Two whole reps: from begin to end of both, by hand, turning at the lowest point."""
    rep = joined_pair().rep(2)
    assert rep.phases[0].begin == Boundary(FIRST.rep(2).begin, Origin.HAND)
    assert rep.phases[-1].end == Boundary(FIRST.rep(3).end, Origin.HAND)
    assert [phase.name for phase in rep.phases] == [LOWERING, RAISING]


def test_the_last_rep_has_none_to_merge_with_and_unlike_reps_need_a_trace() -> None:
    with pytest.raises(MarksError, match="last rep of the trial"):
        join_with_next(FIRST, 4, GROUND)
    with pytest.raises(MarksError, match="Without a movement trace"):
        join_with_next(FIRST, 1, BARE)


def test_exclusions_outlive_splitting_and_merging_and_checks_do_not() -> None:
    marks = check_rep(exclude_rep(FIRST, 2, DECISION), 2, DECISION)
    parted = part_rep(marks, 2, FIRST.rep(2).phases[0].end.sample, GROUND)
    assert [(rep.excluded, rep.checked) for rep in (parted.rep(2), parted.rep(5))] == [(DECISION, None)] * 2
    whole = join_with_next(parted, 2, GROUND)
    assert (whole.rep(2).excluded, whole.rep(2).checked) == (DECISION, None)


# Marking again, deciding


@pytest.mark.parametrize("what", ["draw", "split", "merge", "merge phases", "complete"])
def test_marking_again_leaves_what_a_hand_has_made(what: str) -> None:
    """Added, split, merged and judged reps stay as they are, under other settings too, and nothing doubles them."""
    rep = FIRST.rep(2)
    turn = rep.phases[0].end.sample
    marks = {
        "draw": lambda: draw_rep(erase_rep(FIRST, 2, GROUND), rep.begin - 100, rep.end + 100, GROUND),
        "split": lambda: part_rep(FIRST, 2, turn, GROUND),
        "merge": joined_pair,
        "merge phases": lambda: join_with_next(part_rep(FIRST, 2, turn, GROUND), 2, GROUND),
        "complete": lambda: judge_rep(FIRST, 2, False, DECISION, GROUND),
    }[what]()
    touched = [r.id for r in marks.reps if r.touched]
    assert touched
    for other in (again(marks), mark_trial(MOVEMENT, replace(SETTINGS, speed_share=0.2), LOWERING, marks)):
        assert [r.id for r in other.reps] == [r.id for r in marks.reps]
        assert [(shape(other.rep(i)), other.rep(i).complete) for i in touched] == [
            (shape(marks.rep(i)), marks.rep(i).complete) for i in touched
        ]


def test_a_rep_taken_as_complete_is_still_said_to_end_elsewhere() -> None:
    """The person decides, the number stays to be seen; without the check the rule decides again."""
    down, up = FIRST.reps[0].phases
    half = draw_rep(EMPTY, down.begin.sample, (up.begin.sample + up.end.sample) // 2, GROUND)
    taken = judge_rep(half, 1, True, DECISION, GROUND)
    assert (taken.rep(1).complete, taken.rep(1).checked) == (True, DECISION)
    assert taken.rep(1).doubts == half.rep(1).doubts
    back = again(check_rep(judge_rep(FIRST, 2, False, DECISION, GROUND), 2, None))
    assert back == FIRST


def test_one_trial_is_never_cut_by_two_rules_of_thirds() -> None:
    """Settings ask for thirds of time now; a rep drawn into marks of the range of motion has those too."""
    timed = replace(GROUND, settings=replace(SETTINGS, thirds=ThirdsRule.TIME))
    rep = FIRST.rep(2)
    for ground in (GROUND, timed):
        marks = draw_rep(erase_rep(FIRST, 2, ground), rep.begin, rep.end, ground)
        assert marks.thirds_rule == "rep"
        for new, old in zip(marks.rep(5).phases, rep.phases, strict=True):
            for a, b in zip(new.lines or (), old.lines or (), strict=True):
                assert a.sample == pytest.approx(b.sample, abs=3)
    fixed = replace(FIRST, thirds_rule="fixed")
    drawn = draw_rep(erase_rep(fixed, 2, GROUND), rep.begin, rep.end, GROUND)
    assert drawn.rep(5).phases[0].lines is None  # levels that the settings no longer have


EDITS = st.lists(
    st.tuples(
        st.sampled_from(["draw", "delete", "split", "merge", "judge", "move", "alone", "check", "exclude", "again"]),
        st.integers(0, 10**6),
        st.integers(-3000, MOVEMENT.length + 3000),
        st.integers(0, 6000),
    ),
    max_size=14,
)


def edited(marks: Marks, edit: tuple[str, int, int, int], ground: Ground = GROUND) -> Marks:
    """The marks after one edit, or as they were where it is refused."""
    what, which, sample, length = edit
    if what == "draw":
        return draw_rep(marks, sample, sample + length, ground)
    if what == "again" or not marks.reps:
        return again(marks)
    rep = marks.reps[which % len(marks.reps)].id
    place = addresses(marks)[which % len(addresses(marks))]
    decision = DECISION if length % 2 else None
    edits = {
        "move": lambda: move_boundary(marks, place, sample),
        "alone": lambda: move_boundary(marks, place, sample, alone=True),
        "split": lambda: part_rep(marks, rep, marks.rep(rep).begin + length, ground),
        "check": lambda: check_rep(marks, rep, decision),
        "exclude": lambda: exclude_rep(marks, rep, decision),
        "judge": lambda: judge_rep(marks, rep, length % 2 == 0, DECISION, ground),
        "delete": lambda: erase_rep(marks, rep, ground),
        "merge": lambda: join_with_next(marks, rep, ground),
    }
    return edits[what]()


@settings(max_examples=60, deadline=None)
@given(EDITS)
def test_no_sequence_of_edits_breaks_the_marks_and_marking_again_respects_all(edits: list) -> None:
    """Arriving here is the proof for the types; then: no id is given twice, what is touched stays."""
    marks = FIRST
    for edit in edits:
        before = marks
        try:
            marks = edited(marks, edit)
        except MarksError:
            continue
        new = {rep.id for rep in marks.reps} - {rep.id for rep in before.reps}
        assert all(rep_id >= before.next_id for rep_id in new)
        assert marks.next_id >= before.next_id
        assert all(0 <= rep.doubt <= 1 and "nan" not in "".join(rep.doubts) for rep in marks.reps)
    after = again(marks)
    for rep in (rep for rep in marks.reps if rep.touched):
        assert [(p.begin, p.end) for p in after.rep(rep.id).phases] == [(p.begin, p.end) for p in rep.phases]
        assert after.rep(rep.id).complete == rep.complete
    assert again(after) == after


@settings(max_examples=150, deadline=None)
@given(
    st.integers(0, 2**32 - 1),
    st.lists(st.tuples(st.integers(0, 400), st.integers(1, 150)), max_size=3),
    st.integers(0, 8000),
    st.integers(200, 8000),
)
def test_any_trace_gives_phases_or_a_sentence(seed: int, gaps: list[tuple[int, int]], begin: int, length: int) -> None:
    """Random walks with gaps and plateaus: phases lie within the stretch and rise, or it is refused."""
    draw = np.random.default_rng(seed)
    values = np.cumsum(draw.normal(0, 1, 400) * (draw.random(400) < draw.random()))
    for at, size in gaps:
        values[at : at + size] = np.nan
    movement = Case(values, CASE.trace, [], LOWERING, CASE.clock).movement()
    end = min(begin + length, movement.length)
    if end - begin < 200:
        return
    try:
        found = phases_between(Boundary(begin), Boundary(end), movement, SETTINGS)
    except MarksError:
        return
    assert (found.phases[0].begin.sample, found.phases[-1].end.sample) == (begin, end)
    assert len({phase.name for phase in found.phases}) == len(found.phases)
    draw_rep(Marks("R1", movement.length), begin, end, Ground(CASE.clock, movement, SETTINGS))
