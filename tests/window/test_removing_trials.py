"""Removing the trial in view: with a reason, as one edit, and back by undo."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from curls_study import REPS, make_study
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot
from whole_window import CTRL, RETURN, SHIFT, back_in, last_edit, marks_in, press, session_of, window_on, write

from phasemark.window.main_window import MainWindow

KEY = Qt.Key


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path) -> Iterator[MainWindow]:
    with window_on(qtbot, make_study(tmp_path / "curls")) as window:
        window.desk.plot.setFocus()
        yield window


def trials(window: MainWindow) -> list[str]:
    return [trial.id for trial in session_of(window).study.trials]


def remove(qtbot: QtBot, window: MainWindow, reason: str) -> None:
    press(KEY.Key_Delete, CTRL | SHIFT)
    dialog = window.trials.dialog
    assert dialog is not None
    qtbot.waitUntil(dialog.reason.hasFocus)
    write(reason)
    press(RETURN)
    back_in(qtbot, window)


def in_view(qtbot: QtBot, window: MainWindow, trial: str) -> None:
    qtbot.waitUntil(lambda: window.desk.trial_id == trial and window.desk.signals is not None, timeout=10_000)


def test_the_trial_in_view_is_removed_by_keys_and_the_next_one_shown(qtbot: QtBot, window: MainWindow) -> None:
    remove(qtbot, window, "added twice")
    assert trials(window) == ["T002"]
    assert last_edit(window) == "removed trial T001: added twice"
    assert window.grid.grid.place_of("T001") is None
    in_view(qtbot, window, "T002")
    press(KEY.Key_Z, CTRL)
    assert trials(window) == ["T001", "T002"]
    in_view(qtbot, window, "T001")
    assert len(marks_in(window).reps) == REPS, "its marks came back with it"
    press(KEY.Key_Z, CTRL | SHIFT)
    assert trials(window) == ["T002"]
    in_view(qtbot, window, "T002")


def test_a_study_whose_last_trial_is_removed_is_an_empty_one(qtbot: QtBot, window: MainWindow) -> None:
    remove(qtbot, window, "mistake")
    in_view(qtbot, window, "T002")
    remove(qtbot, window, "mistake")
    assert trials(window) == []
    assert window.empty.isVisible()
    press(KEY.Key_Z, CTRL)
    in_view(qtbot, window, "T002")


def test_without_a_reason_nothing_is_removed(qtbot: QtBot, window: MainWindow) -> None:
    press(KEY.Key_Delete, CTRL | SHIFT)
    dialog = window.trials.dialog
    assert dialog is not None
    qtbot.waitUntil(dialog.reason.hasFocus)
    write("  ")
    assert not dialog.go.isEnabled()
    press(RETURN)
    press(KEY.Key_Escape)
    assert trials(window) == ["T001", "T002"]


def test_the_dialog_is_put_away_with_its_study(qtbot: QtBot, window: MainWindow) -> None:
    press(KEY.Key_Delete, CTRL | SHIFT)
    dialog = window.trials.dialog
    assert dialog is not None
    window.close_study()
    assert not dialog.isVisible()
