"""What a person does with whole reps: each one edit, one undo, one sentence in the history."""

import pytest
from small_study import Open, arrival, new, recording

from phasemark.model.errors import BadCall
from phasemark.model.mark_edits import Address, boundary_at
from phasemark.model.marks import BURST, LOWERING, RAISING, Marks, MarksError, Origin, Place
from phasemark.model.study import Study
from phasemark.session import rep_edits
from phasemark.session.boundary_move import keep_move, move, move_text, preview_move
from phasemark.session.excluding import exclude
from phasemark.session.marking import mark_one
from phasemark.session.measuring import measure, stale_trials


def marks_of(at: Open, trial: str = "T001") -> Marks:
    return at.study.trial(trial).marks_of("R1")


def last(at: Open) -> str:
    entry = at.session.history.undoable
    assert entry is not None
    assert entry.trial in ("T001", "T002")
    return entry.text


def test_every_operation_is_one_edit_with_its_sentence_and_one_undo(at: Open) -> None:
    """A walk through all of them; then as many undos as edits lead back to where it began."""
    session, signals = at.session, at.signals()
    begun = at.study
    states: list[Study] = [begun]
    begin, end, third = marks_of(at).rep(2).begin, marks_of(at).rep(2).end, marks_of(at).rep(3).id

    def did(text: str) -> None:
        assert last(at) == text
        states.append(at.study)

    assert rep_edits.delete_rep(session, signals, 2) == third
    did("deleted rep 2")
    assert rep_edits.add_rep(session, signals, begin + 50, end - 50) == 4
    did("added rep 2 by hand")
    turn = marks_of(at).rep(4).phases[0].end.sample
    assert rep_edits.split_rep(session, signals, 4, turn) == (4, 5)
    did(f"split rep 2 at {turn / 2000:.2f} s")
    first, second = marks_of(at).rep(4).begin, marks_of(at).rep(5).begin
    assert rep_edits.merge_with_next(session, signals, 4) == 4
    did(f"merged the incomplete rep at {first / 2000:.2f} s with the incomplete rep at {second / 2000:.2f} s")
    assert [phase.name for phase in marks_of(at).rep(4).phases] == [LOWERING, RAISING]
    assert rep_edits.mark_complete(session, signals, 4, False, "cut short")
    did("took rep 2 as incomplete")
    decision = marks_of(at).rep(4).checked
    assert decision is not None
    assert (decision.rater, decision.reason) == ("R1", "cut short")
    assert rep_edits.mark_complete(session, signals, 4, True)
    did(f"took the incomplete rep at {first / 2000:.2f} s as complete")
    assert rep_edits.take_back_acceptance(session, "T001", 4)
    did("took back the acceptance of rep 2")
    assert rep_edits.accept_rep(session, "T001", 4) == ("T001", 3)
    did("accepted rep 2")
    assert rep_edits.accept_trial(session, "T001") == ("T002", 1)
    did("accepted 2 reps of trial T001")
    assert rep_edits.accept_trial(session, "T002") is None
    did("accepted 3 reps of trial T002")
    for state in reversed(states):
        assert at.study == state
        session.undo()
    assert session.undo() is None
    assert at.study == begun


def test_what_changes_nothing_is_no_edit(at: Open) -> None:
    session, signals = at.session, at.signals()
    assert not rep_edits.mark_complete(session, signals, 1, True)
    assert not rep_edits.take_back_acceptance(session, "T001", 1)
    rep_edits.accept_rep(session, "T001", 1)
    history = session.history.undoable
    assert rep_edits.accept_rep(session, "T001", 1) == ("T001", 2)  # goes on, keeps the first decision
    assert session.history.undoable is history


def test_what_is_refused_leaves_the_study_as_it_was(at: Open) -> None:
    session, signals, before = at.session, at.signals(), at.study
    rep = marks_of(at).rep(2)
    with pytest.raises(MarksError, match="would overlap rep 2"):
        rep_edits.add_rep(session, signals, rep.begin + 10, rep.end - 10)
    with pytest.raises(MarksError, match="shorter than"):
        rep_edits.split_rep(session, signals, 2, rep.begin + 1)
    with pytest.raises(MarksError, match="last rep"):
        rep_edits.merge_with_next(session, signals, 3)
    with pytest.raises(MarksError, match="no rep with id 9"):
        rep_edits.accept_rep(session, "T001", 9)
    exclude(session, before.trial("T001"), rep=None, channels=(), reason="wrong day")
    with pytest.raises(BadCall, match="Trial T001 is excluded"):
        rep_edits.accept_trial(session, "T001")
    session.undo()
    assert at.study == before


def test_deleting_the_last_rep_puts_the_one_before_in_hand_and_none_where_none_is_left(at: Open) -> None:
    signals = at.signals()
    assert rep_edits.delete_rep(at.session, signals, 3) == 2
    assert rep_edits.delete_rep(at.session, signals, 1) == 2
    assert rep_edits.delete_rep(at.session, signals, 2) is None


def test_accepting_skips_what_is_excluded_and_marking_again_keeps_what_was_accepted(at: Open) -> None:
    session = at.session
    trial = at.study.trial("T001")
    exclude(session, trial, rep=marks_of(at).rep(2), channels=(), reason="foot slipped")
    assert rep_edits.accept_rep(session, "T001", 1) == ("T001", 3)
    before = marks_of(at)
    at.wait(lambda **back: mark_one(session, "T001", **back))
    assert marks_of(at) == before


def test_one_trial_is_marked_again_and_what_a_hand_made_stays(at: Open) -> None:
    """Split and merged reps are not doubled; an untouched rep that was lost comes back with its doubt; one undo."""
    session, signals = at.session, at.signals()
    rep_edits.split_rep(session, signals, 2, marks_of(at).rep(2).phases[0].end.sample)
    by_hand = marks_of(at)
    session.edit_marks("lost", "T001", lambda marks: Marks("R1", marks.length, marks.reps[1:3], marks.next_id))
    other = marks_of(at, "T002")
    marked = at.wait(lambda **back: mark_one(session, "T001", **back))
    assert marked.trials == ("T001",)
    assert last(at) == "marked trial T001 automatically"
    assert [rep.id for rep in marks_of(at).reps] == [5, 2, 4, 6]
    assert [marks_of(at).rep(i).phases for i in (2, 4)] == [by_hand.rep(i).phases for i in (2, 4)]
    assert marks_of(at, "T002") is other
    session.undo()
    assert [rep.id for rep in marks_of(at).reps] == [2, 4]


def test_bursts_are_added_split_and_merged_where_no_movement_was_recorded(tmp_path: object) -> None:
    at = new(tmp_path / "study")  # type: ignore[operator]
    at.add(arrival(made=recording(movement=False)))
    signals = at.signals()
    rep = rep_edits.add_rep(at.session, signals, 8000, 4000)
    assert rep_edits.split_rep(at.session, signals, rep, 6000) == (rep, rep + 1)
    assert rep_edits.merge_with_next(at.session, signals, rep) == rep
    (burst,) = marks_of(at).reps
    assert [(phase.name, burst.begin, burst.end) for phase in burst.phases] == [(BURST, 4000, 8000)]
    assert at.wait(lambda **back: measure(at.session, stale_trials(at.session), **back)) is not None
    assert at.session.result_of(at.study.trial("T001")) is not None
    at.session.close()


def test_a_joined_turning_point_is_parted_and_joined_again(at: Open) -> None:
    """A pause opened by hand on the side that is dragged, shown as it is kept; back on its neighbour it is one."""
    session, signals = at.session, at.signals()
    turn = Address(2, 0, Place.END)
    here = boundary_at(marks_of(at), turn).sample
    assert marks_of(at).rep(2).phases[1].begin.sample == here
    for to, moved in ((here - 300, turn), (here + 300, Address(2, 1, Place.BEGIN))):
        shown = preview_move(marks_of(at), turn, to, signals, at.study.settings, alone=True)
        assert set(shown.values) == {2}
        assert keep_move(session, turn, to, signals, alone=True)
        assert marks_of(at) == shown.marks
        held = {a: boundary_at(marks_of(at), a) for a in (turn, Address(2, 1, Place.BEGIN))}
        assert held.pop(moved).origin is Origin.HAND
        assert [(b.sample, b.origin) for b in held.values()] == [(here, Origin.AUTOMATIC)]
        word = "lowering end" if moved == turn else "raising begin"
        assert last(at) == f"moved {word} of rep 2, apart from its neighbour"
        assert keep_move(session, moved, here + (9000 if moved == turn else -9000), signals)
        assert last(at) == f"moved {word} of rep 2, onto its neighbour"
        assert boundary_at(marks_of(at), turn).sample == boundary_at(marks_of(at), Address(2, 1, Place.BEGIN)).sample
        session.undo()
        session.undo()


def test_a_moved_boundary_takes_the_check_off_and_says_so(at: Open) -> None:
    """And the doubt of its rep, and of no other, is that of the boundaries as they are now."""
    session, signals = at.session, at.signals()
    for rep in (1, 2, 3):
        rep_edits.accept_rep(session, "T001", rep)
    end = Address(3, 1, Place.END)
    before = marks_of(at)
    assert keep_move(session, end, boundary_at(before, end).sample - 1500, signals)
    assert last(at) == "moved raising end of rep 3, which is no longer checked"
    after = marks_of(at)
    assert [rep.checked is not None for rep in after.reps] == [True, True, False]
    assert any("of its range away from where it began" in text for text in after.rep(3).doubts)
    assert after.rep(1) is before.rep(1)
    session.undo()
    assert marks_of(at) == before
    same = move(before, end, boundary_at(before, end).sample, signals, at.study.settings)
    assert same is before
    line = Address(1, 0, Place.FIRST_LINE)
    moved = move(before, line, boundary_at(before, line).sample + 10, signals, at.study.settings)
    text = "moved lowering first third line of rep 1, which is no longer checked"
    assert move_text(before, moved, line) == text
