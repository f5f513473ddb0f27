"""Marking blind from the window: nothing on the screen says which trial it is, what is decided says it was blind."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from curls_study import make_study
from mouse import move, x_of
from PySide6.QtCore import QAbstractItemModel, Qt
from PySide6.QtWidgets import QAbstractItemView, QLabel, QWidget
from pytestqt.qtbot import QtBot
from whole_window import (
    CTRL,
    RETURN,
    SHIFT,
    finished,
    last_edit,
    marks_in,
    press,
    session_of,
    trial_in,
    window_on,
)

from phasemark.session.trial_signals import SignalsCache
from phasemark.window.actions import ActionName
from phasemark.window.main_window import MainWindow

KEY, NO_BUTTON = Qt.Key, Qt.MouseButton.NoButton
TELLING = ("P01", "P02", "curl", "T001", "T002", "R0001", "R0002", "made 0", "made 1")
_ROLES = (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole)


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path) -> Iterator[MainWindow]:
    with window_on(qtbot, make_study(tmp_path / "biceps")) as window:
        window.desk.plot.setFocus()
        yield window


def switch(qtbot: QtBot, window: MainWindow) -> None:
    """Switch blind marking by its key, and wait for the trial that is then in view."""
    press(KEY.Key_B, CTRL | SHIFT)
    qtbot.waitUntil(lambda: window.desk.signals is not None, timeout=10_000)


def texts(window: MainWindow) -> list[str]:
    """All that is written or told anywhere in the window."""
    found = [window.windowTitle(), *(action.text() for action in window._actions.values())]
    for widget in window.findChildren(QWidget):
        if widget.isVisibleTo(window):
            found += [widget.toolTip(), widget.accessibleName(), widget.accessibleDescription()]
            found += [widget.text()] if isinstance(widget, QLabel) else []
            if isinstance(widget, QAbstractItemView):
                found += of_model(widget.model())
    return found


def of_model(model: QAbstractItemModel) -> list[str]:
    cells = [model.index(row, column) for row in range(model.rowCount()) for column in range(model.columnCount())]
    found = [str(model.data(cell, role)) for cell in cells for role in _ROLES]
    for way, count in ((Qt.Orientation.Horizontal, model.columnCount()), (Qt.Orientation.Vertical, model.rowCount())):
        found += [str(model.headerData(section, way, role)) for section in range(count) for role in _ROLES]
    return found


def told(window: MainWindow) -> set[str]:
    """What of a trial is told anywhere in the window."""
    return {word for word in TELLING for text in texts(window) if word in text}


def test_nothing_in_the_window_gives_a_trial_away(qtbot: QtBot, window: MainWindow) -> None:
    assert {"P01", "P02", "curl", "T001"} <= told(window), "openly it is all there"
    switch(qtbot, window)
    press(RETURN, CTRL | Qt.KeyboardModifier.AltModifier)  # its words stand in the menu, for undo
    qtbot.waitUntil(lambda: window.desk.signals is not None, timeout=10_000)
    window.say_problem("recordings/R0001.h5 of P01's curl in T001 (made 0) is missing.")
    window.trial_failed("T002", ValueError("made 1 cannot be read"))
    assert told(window) == set()
    assert window.action(ActionName.BLIND).isChecked()
    press(KEY.Key_B, CTRL | SHIFT)
    assert {"P01", "P02", "curl"} <= told(window)
    assert not window.action(ActionName.BLIND).isChecked()


def test_a_recording_that_is_missing_gives_nothing_away(qtbot: QtBot, window: MainWindow) -> None:
    switch(qtbot, window)
    trial = trial_in(window, "T001")
    (session_of(window).path / trial.recording.path).unlink()
    session_of(window).cache = SignalsCache()
    press(KEY.Key_PageDown, CTRL)
    qtbot.waitUntil(lambda: "missing" in window.messages.text, timeout=10_000)
    assert "Trial 2" in window.messages.text
    assert told(window) == set()


def test_no_amplitude_is_shown(qtbot: QtBot, window: MainWindow) -> None:
    plot = window.desk.plot
    assert window.desk.figure.figure is not None
    move(plot, x_of(plot, 3.0), NO_BUTTON)
    assert plot._gutter._values is not None
    assert all("mV" in texts[0] for texts in plot._gutter._values[1:])
    openly = plot._gutter.grab().toImage()
    switch(qtbot, window)
    move(plot, x_of(plot, 5.0), NO_BUTTON)
    move(plot, x_of(plot, 3.0), NO_BUTTON)
    assert window.desk.figure.figure is None
    assert not window.desk.figure.isVisible()
    assert window.desk.blind_note.isVisible()
    assert plot._gutter._values is not None
    assert "deg" in plot._gutter._values[0][0], "the movement is what is marked by"
    assert set(plot._gutter._values[1:]) == {()}
    assert all(lane.covered for lane in plot._picture.lanes[1:])  # type: ignore[union-attr]
    assert plot._gutter.grab().toImage() != openly


def test_what_is_decided_and_moved_blind_says_so(qtbot: QtBot, window: MainWindow) -> None:
    switch(qtbot, window)
    here = window.desk.trial_id
    press(KEY.Key_Down)
    press(KEY.Key_Right, CTRL)
    window.desk.gestures.commit()
    assert last_edit(window).endswith(" (blind)")
    press(KEY.Key_Escape)
    press(RETURN)
    checked = [rep.checked for rep in marks_in(window, here).reps if rep.checked]
    assert [decision.blind for decision in checked] == [True]
    press(KEY.Key_B, CTRL | SHIFT)
    press(RETURN)
    blind = {rep.checked.blind for trial in ("T001", "T002") for rep in marks_in(window, trial).reps if rep.checked}
    assert blind == {True, False}


def test_trials_are_stepped_through_in_the_order_drawn(qtbot: QtBot, window: MainWindow) -> None:
    """Also the mode stays from trial to trial, and the one in view when it was switched on is not offered first."""
    assert window.desk.trial_id == "T001"
    switch(qtbot, window)
    assert window.desk.trial_id == "T002"
    assert window.grid.grid.participants == ("Trial 1", "Trial 2")
    press(KEY.Key_PageDown, CTRL)
    qtbot.waitUntil(lambda: window.desk.signals is not None, timeout=10_000)
    assert window.desk.trial_id == "T001"
    assert window.desk._title.text() == "Trial 2"
    assert session_of(window).blind


def test_marking_again_blind_gives_nothing_away(qtbot: QtBot, window: MainWindow) -> None:
    switch(qtbot, window)
    press(KEY.Key_M, CTRL | SHIFT, times=1)
    assert finished(qtbot, window) == "Marked 1 trial."
    assert told(window) == set()


def test_an_excluded_trial_is_still_said_to_be(qtbot: QtBot, window: MainWindow) -> None:
    switch(qtbot, window)
    press(KEY.Key_X, CTRL)
    dialog = window.reps.dialog
    assert dialog is not None
    dialog.what.setCurrentIndex(dialog.what.count() - 1)
    dialog.reason.setText("P02 slipped")
    dialog.exclude.click()
    assert trial_in(window, "T002").excluded is not None
    assert window.desk._title.text() == "Trial 1  ·  excluded"
    assert "P02" not in "".join(of_model(window.grid.table.model()))
