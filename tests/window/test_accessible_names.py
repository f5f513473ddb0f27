"""Everything that takes the focus says a name to a screen reader, in every state of the window and in its dialogs."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from curls_study import make_study
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QDialog, QLineEdit, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot
from whole_window import CTRL, SHIFT, nameless, press, tab_to, window_on

from phasemark.window.main_window import MainWindow

KEY = Qt.Key


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path) -> Iterator[MainWindow]:
    with window_on(qtbot, make_study(tmp_path / "curls")) as window:
        window.desk.plot.setFocus()
        yield window


def test_what_takes_the_focus_in_the_window_has_a_name(window: MainWindow) -> None:
    assert nameless(window) == []


def test_settings_have_names(window: MainWindow) -> None:
    press(KEY.Key_Comma, CTRL)
    assert window.settings.isVisible()
    assert nameless(window) == []


def test_blind_all_has_names(qtbot: QtBot, window: MainWindow) -> None:
    with qtbot.waitSignal(window.desk.shown, timeout=10_000):
        press(KEY.Key_B, CTRL | SHIFT)
    assert nameless(window) == []


@pytest.mark.parametrize(
    ("key", "held", "dialog"),
    [
        (KEY.Key_X, CTRL, lambda window: window.reps.dialog),
        (KEY.Key_Delete, CTRL | SHIFT, lambda window: window.trials.dialog),
        (KEY.Key_N, CTRL, lambda window: window.commands.dialog),
        (KEY.Key_I, CTRL, lambda window: window.commands.dialog),
    ],
    ids=["exclude", "remove", "new study", "add recordings"],
)
def test_dialogs_have_names_and_give_the_focus_back(
    qtbot: QtBot,
    window: MainWindow,
    key: Qt.Key,
    held: Qt.KeyboardModifier,
    dialog: Callable[[MainWindow], QDialog | None],
) -> None:
    press(key, held)
    shown = dialog(window)
    assert shown is not None
    qtbot.waitUntil(shown.isActiveWindow)
    assert nameless(shown) == []
    press(KEY.Key_Escape)
    assert not shown.isVisible()


def test_every_part_of_the_window_is_reached_by_tab(window: MainWindow) -> None:
    """Grid, traces, figure and table, one after another and round; no part holds the focus for good."""
    desk = window.desk
    for part in (desk.figure, desk.table_view, window.grid.table, desk.plot):
        tab_to(part.hasFocus)


def test_the_walk_finds_what_has_no_name(qtbot: QtBot) -> None:
    bare, named = QLineEdit(), QLineEdit()
    named.setAccessibleName("Reason")
    whole = QWidget()
    qtbot.addWidget(whole)
    column = QVBoxLayout(whole)
    column.addWidget(bare)
    column.addWidget(named)
    whole.show()
    QApplication.processEvents()
    assert nameless(whole) == [("QLineEdit", "QWidget", "")]
