"""Every command on repetitions and marks, by its key or its menu, and undo and redo of each."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from add_dialog_driver import popups_allowed
from curls_study import REPS, make_study
from mouse import click, drag, x_of
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from whole_window import (
    ALT,
    CTRL,
    RETURN,
    SHIFT,
    back_in,
    choose,
    finished,
    last_edit,
    marks_in,
    press,
    saved,
    session_of,
    trial_in,
    trigger,
    window_on,
    write,
)

from phasemark.model.checking import unchecked
from phasemark.model.clock import seconds
from phasemark.model.mark_edits import Address, boundary_at
from phasemark.model.marks import Origin, Place
from phasemark.window.actions import ActionName
from phasemark.window.exclude_dialog import ExcludeDialog
from phasemark.window.main_window import MainWindow
from phasemark.window.rep_commands import NO_OTHER, NOTHING_LEFT
from phasemark.window.traces.view_span import Span

KEY = Qt.Key


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path) -> Iterator[MainWindow]:
    with window_on(qtbot, make_study(tmp_path / "curls")) as window:
        window.desk.plot.setFocus()
        yield window


def left(window: MainWindow) -> list[tuple[str, int]]:
    """Every rep that is still to be looked at."""
    return [(trial.id, rep) for trial in session_of(window).study.trials for rep in unchecked(trial, "R1")]


def in_hand(window: MainWindow) -> tuple[str, int | None]:
    return window.desk.trial_id, window.desk.rep_in_hand


def loaded(qtbot: QtBot, window: MainWindow, trial: str) -> None:
    qtbot.waitUntil(lambda: window.desk.trial_id == trial and window.desk.signals is not None, timeout=10_000)


def test_return_in_the_traces_accepts_and_goes_on_until_nothing_is_left(qtbot: QtBot, window: MainWindow) -> None:
    seen = []
    for spot in left(window):
        loaded(qtbot, window, spot[0])
        seen.append(in_hand(window))
        press(RETURN)
    assert len(seen) == 2 * REPS
    assert seen == [(trial, rep) for trial in ("T001", "T002") for rep in sorted(r for t, r in seen if t == trial)]
    assert left(window) == []
    assert window.messages.text == NOTHING_LEFT
    assert all(rep.checked.rater == "R1" for rep in marks_in(window, "T002").reps if rep.checked)


def test_the_return_of_a_field_of_the_table_accepts_nothing(window: MainWindow) -> None:
    view, model = window.desk.table_view, window.desk.marks_table
    view.setFocus()
    view.setCurrentIndex(model.index(1, 2))
    press(KEY.Key_F2)
    press(RETURN)
    assert len(left(window)) == 2 * REPS


def test_going_back_leads_to_the_one_to_check_before(qtbot: QtBot, window: MainWindow) -> None:
    ids = [rep.id for rep in marks_in(window).reps]
    press(RETURN)
    press(RETURN)
    assert in_hand(window) == ("T001", ids[2])
    press(RETURN, CTRL | SHIFT)
    loaded(qtbot, window, "T002")
    assert window.desk.rep_in_hand == marks_in(window, "T002").reps[-1].id, "the ones before it are checked"


def test_going_back_from_the_only_one_left_says_so(qtbot: QtBot, window: MainWindow) -> None:
    for trial in ("T001", "T002"):
        loaded(qtbot, window, trial)
        press(RETURN, CTRL | ALT)
    session_of(window).undo()
    loaded(qtbot, window, "T002")
    for _ in range(REPS - 1):
        press(RETURN)
    assert left(window) == [in_hand(window)]
    press(RETURN, CTRL | SHIFT)
    assert window.messages.text == NO_OTHER


def test_a_whole_trial_is_accepted_as_one_edit(qtbot: QtBot, window: MainWindow) -> None:
    press(RETURN, CTRL | ALT)
    assert {trial for trial, _ in left(window)} == {"T002"}
    loaded(qtbot, window, "T002")
    assert last_edit(window) == f"accepted {REPS} reps of trial T001"
    press(KEY.Key_Z, CTRL)
    assert len(left(window)) == 2 * REPS


def test_an_acceptance_is_taken_back(window: MainWindow) -> None:
    rep = window.desk.rep_in_hand
    assert rep is not None
    press(RETURN)
    window.desk.take_rep(rep)
    trigger(window, ActionName.TAKE_BACK_ACCEPTANCE)
    assert marks_in(window).rep(rep).checked is None
    assert (window.desk.trial_id, rep) in left(window)


def test_a_repetition_is_excluded_with_a_reason_and_taken_back(qtbot: QtBot, window: MainWindow) -> None:
    rep = window.desk.rep_in_hand
    assert rep is not None
    press(KEY.Key_X, CTRL)
    dialog = window.reps.dialog
    assert isinstance(dialog, ExcludeDialog)
    qtbot.waitUntil(dialog.reason.hasFocus)
    assert not dialog.exclude.isEnabled(), "without a reason nothing is excluded"
    write("  foot slipped ")
    press(RETURN)
    excluded = marks_in(window).rep(rep).excluded
    assert excluded is not None
    assert (excluded.reason, excluded.rater) == ("foot slipped", "R1")
    assert window.desk.figure.figure is not None
    assert window.desk.figure.figure.excluded == "foot slipped"
    back_in(qtbot, window)
    press(KEY.Key_X, CTRL | SHIFT)
    assert marks_in(window).rep(rep).excluded is None
    press(KEY.Key_X, CTRL | SHIFT)
    assert window.messages.text == "Nothing is excluded here."


@pytest.mark.parametrize(
    ("text", "held"),
    [
        ("biceps brachii (right) in rep 1", lambda w: len(marks_in(w).reps[0].excluded_channels)),
        ("triceps brachii (right) in the whole trial", lambda w: len(trial_in(w).excluded_channels)),
        ("the whole trial", lambda w: int(trial_in(w).excluded is not None)),
    ],
)
def test_muscles_and_the_trial_are_excluded_and_taken_back(
    qtbot: QtBot, window: MainWindow, text: str, held: Callable[[MainWindow], int]
) -> None:
    press(KEY.Key_X, CTRL)
    dialog = window.reps.dialog
    assert isinstance(dialog, ExcludeDialog)
    dialog.what.setFocus()
    places = [dialog.what.itemText(n) for n in range(dialog.what.count())]
    press(KEY.Key_Down, times=places.index(text))
    assert dialog.what.currentText() == text
    dialog.reason.setFocus()
    write("electrode came off")
    qtbot.mouseClick(dialog.exclude, Qt.MouseButton.LeftButton)
    assert held(window) == 1
    back_in(qtbot, window)
    press(KEY.Key_X, CTRL | SHIFT)
    assert held(window) == 0


def test_escape_excludes_nothing(qtbot: QtBot, window: MainWindow) -> None:
    press(KEY.Key_X, CTRL)
    assert window.reps.dialog is not None
    qtbot.waitUntil(window.reps.dialog.reason.hasFocus)
    write("a reason")
    press(KEY.Key_Escape)
    assert last_edit(window) == ""


def test_a_repetition_is_taken_as_incomplete_and_complete_again(window: MainWindow) -> None:
    rep = window.desk.rep_in_hand
    assert rep is not None
    press(KEY.Key_K, CTRL)
    assert not marks_in(window).rep(rep).complete
    assert marks_in(window).numbers().get(rep) is None
    press(KEY.Key_K, CTRL)
    assert marks_in(window).rep(rep).complete


def test_a_deleted_repetition_can_be_added_over_what_is_seen(window: MainWindow) -> None:
    first, second = marks_in(window).reps[:2]
    press(KEY.Key_Delete, CTRL)
    assert marks_in(window).reps[0].id == second.id == window.desk.rep_in_hand
    clock = trial_in(window).clock
    window.desk.plot.show_span(Span(max(seconds(first.begin, clock) - 0.4, 0.0), seconds(first.end, clock) + 0.4))
    press(KEY.Key_A, CTRL | SHIFT)
    added = marks_in(window).reps[0]
    assert added.id == window.desk.rep_in_hand
    assert added.id not in (first.id, second.id), "a deleted rep stays deleted; this one is new"
    assert abs(added.phases[0].end.sample - first.phases[0].end.sample) < 100
    press(KEY.Key_A, CTRL | SHIFT)
    assert "There is a repetition already" in window.messages.text
    assert len(marks_in(window).reps) == REPS


def test_a_deleted_repetition_is_drawn_again_by_keys_alone(window: MainWindow) -> None:
    """From its begin, which the cursor of the keys is brought to, to the begin of the next one."""
    first, second = marks_in(window).reps[:2]
    press(KEY.Key_Delete, CTRL)
    press(KEY.Key_D, CTRL)
    press(KEY.Key_Up, times=REPS * 9)  # to the begin of the recording
    press(KEY.Key_Right, CTRL, times=round(10 * first.begin / trial_in(window).clock))
    press(RETURN)
    press(KEY.Key_Down)
    press(RETURN)
    added = marks_in(window).reps[0]
    assert added.id == window.desk.rep_in_hand != first.id
    assert first.begin - 100 <= added.begin < added.end <= second.begin
    assert last_edit(window) == "added rep 1 by hand"
    assert all(rep.checked is None for rep in marks_in(window).reps), "Return did not accept"


def test_two_repetitions_are_merged_and_split_at_the_selected_boundary(window: MainWindow) -> None:
    one, two = marks_in(window).reps[:2]
    press(KEY.Key_J, CTRL)
    merged = marks_in(window).reps[0]
    assert (merged.begin, merged.end, len(marks_in(window).reps)) == (one.begin, two.end, REPS - 1)
    assert last_edit(window) == "merged rep 1 with rep 2"
    plot = window.desk.plot
    address = Address(merged.id, 0, Place.END)
    at = boundary_at(marks_in(window), address).sample
    click(plot, x_of(plot, seconds(at, trial_in(window).clock)))
    assert plot.selected_address == address
    press(KEY.Key_B, CTRL)
    assert len(marks_in(window).reps) == REPS
    assert marks_in(window).reps[0].end <= at <= marks_in(window).reps[1].begin
    assert last_edit(window).startswith("split rep 1 at ")


def test_the_last_repetition_has_none_to_merge_with(window: MainWindow) -> None:
    window.desk.take_rep(marks_in(window).reps[-1].id)
    press(KEY.Key_J, CTRL)
    assert "none after it to merge with" in window.messages.text
    assert last_edit(window) == ""


def test_marking_again_keeps_what_a_hand_has_placed(qtbot: QtBot, window: MainWindow) -> None:
    plot, before = window.desk.plot, marks_in(window)
    end = seconds(before.reps[0].phases[0].end.sample, trial_in(window).clock)
    drag(plot, x_of(plot, end), x_of(plot, end - 0.3))
    window.desk.take_rep(before.reps[1].id)
    press(KEY.Key_Delete, CTRL)
    for mark_again in (lambda: press(KEY.Key_M, CTRL | SHIFT), lambda: trigger(window, ActionName.MARK_AGAIN)):
        mark_again()
        assert "Marked" in finished(qtbot, window)
        after = marks_in(window)
        assert after.reps[0].phases[0].end.origin is Origin.HAND
        assert abs(seconds(after.reps[0].phases[0].end.sample, trial_in(window).clock) - (end - 0.3)) < 0.03
        assert [rep.id for rep in after.reps] == [before.reps[0].id, before.reps[2].id]


def test_measuring_measures_what_is_stale(qtbot: QtBot, window: MainWindow) -> None:
    press(KEY.Key_R, CTRL)
    assert finished(qtbot, window) == "Measured 2 trials."
    press(KEY.Key_K, CTRL)
    press(KEY.Key_R, CTRL)
    assert finished(qtbot, window) in ("Measured 1 trial.", "Measured 0 trials.")
    assert session_of(window).result_of(trial_in(window)) is not None


def test_the_next_and_previous_trial_come_into_view(qtbot: QtBot, window: MainWindow) -> None:
    press(KEY.Key_PageDown, CTRL)
    loaded(qtbot, window, "T002")
    press(KEY.Key_PageUp, CTRL)
    loaded(qtbot, window, "T001")


def test_the_whole_trial_is_seen_again(window: MainWindow) -> None:
    plot = window.desk.plot
    whole = plot.span
    plot.show_span(Span(2.0, 3.0))
    press(KEY.Key_0, CTRL)
    assert plot.span == whole


EDITS: dict[str, Callable[[MainWindow], None]] = {
    "accept": lambda w: press(RETURN),
    "accept trial": lambda w: press(RETURN, CTRL | ALT),
    "complete": lambda w: press(KEY.Key_K, CTRL),
    "delete": lambda w: press(KEY.Key_Delete, CTRL),
    "split": lambda w: press(KEY.Key_B, CTRL),
    "merge": lambda w: press(KEY.Key_J, CTRL),
    "exclude": lambda w: w.desk.marks_table.exclusionTyped.emit(w.desk.rep_in_hand, "slipped"),
    "setting": lambda w: w.commands.change_setting("filter.highpass_hz", "30"),
}


@pytest.mark.parametrize("edit", EDITS)
def test_every_edit_is_one_undo_that_goes_to_its_trial_and_rep(qtbot: QtBot, window: MainWindow, edit: str) -> None:
    before, rep = session_of(window).study, window.desk.rep_in_hand
    EDITS[edit](window)
    after = session_of(window).study
    assert after != before
    window.show_trial("T002")
    loaded(qtbot, window, "T002")
    window.desk.plot.setFocus()
    press(KEY.Key_Z, CTRL)
    assert session_of(window).study == before
    if edit != "setting":
        loaded(qtbot, window, "T001")
        assert window.desk.rep_in_hand == rep
    else:
        loaded(qtbot, window, "T002")
    assert session_of(window).history.undoable is None
    press(KEY.Key_Z, CTRL | SHIFT)
    assert session_of(window).study == after
    saved(qtbot, window)


def test_the_menu_says_what_would_be_undone(qtbot: QtBot, window: MainWindow) -> None:
    with popups_allowed():
        choose(window, ActionName.COMPLETE)
        assert window.action(ActionName.UNDO).text() == "&Undo: took rep 1 as incomplete"
        choose(window, ActionName.UNDO)
    assert marks_in(window).reps[0].complete
    assert QApplication.activePopupWidget() is None
