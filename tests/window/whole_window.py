"""The main window on a study, and what a person does with it: keys where the focus is, clicks on menus and cells."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from add_dialog_driver import popups_allowed
from PySide6.QtCore import QMimeData, QModelIndex, QPointF, Qt, QUrl
from PySide6.QtGui import QAccessible, QDropEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractItemView,
    QAbstractScrollArea,
    QAbstractSpinBox,
    QApplication,
    QFileDialog,
    QLineEdit,
    QMenuBar,
    QWidget,
)
from pytestqt.qtbot import QtBot

from phasemark.model.marks import Marks
from phasemark.model.study import Trial
from phasemark.session.session import Session
from phasemark.window.actions import ACTIONS, ActionName
from phasemark.window.main_window import MainWindow

LEFT = Qt.MouseButton.LeftButton
CTRL, SHIFT, ALT = (
    Qt.KeyboardModifier.ControlModifier,
    Qt.KeyboardModifier.ShiftModifier,
    Qt.KeyboardModifier.AltModifier,
)
NO_KEYS = Qt.KeyboardModifier.NoModifier
RETURN, TAB = Qt.Key.Key_Return, Qt.Key.Key_Tab


@contextmanager
def shown_window(qtbot: QtBot) -> Iterator[MainWindow]:
    """An active window without a study."""
    window = MainWindow()
    qtbot.addWidget(window)
    window.resize(1280, 720)
    window.show()
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    yield window
    window.close()


@contextmanager
def window_on(qtbot: QtBot, study: Path) -> Iterator[MainWindow]:
    """An active window with a study's first trial in view."""
    with shown_window(qtbot) as window:
        with qtbot.waitSignal(window.desk.shown, timeout=10_000):
            window.open_study(study)
        yield window


def open_in(qtbot: QtBot, window: MainWindow, study: Path) -> None:
    """Open a study in the window and wait until it has come in."""
    window.open_study(study)
    comes_in(qtbot, window, study)


def comes_in(qtbot: QtBot, window: MainWindow, study: Path) -> None:
    """Wait until a study that is on its way in is there."""
    qtbot.waitUntil(lambda: window.session is not None and window.session.path == study, timeout=10_000)


def session_of(window: MainWindow) -> Session:
    """The open study's session."""
    assert window.session is not None
    return window.session


def trial_in(window: MainWindow, trial: str = "T001") -> Trial:
    """A trial as it is now."""
    return session_of(window).study.trial(trial)


def marks_in(window: MainWindow, trial: str = "T001") -> Marks:
    """The marks of a trial as they are now."""
    return trial_in(window, trial).marks_of("R1")


def last_edit(window: MainWindow) -> str:
    """What the last edit was, in words; '' where there is none."""
    entry = session_of(window).history.undoable
    return "" if entry is None else entry.text


def press(key: Qt.Key, modifiers: Qt.KeyboardModifier = NO_KEYS, times: int = 1) -> None:
    """Press a key where the focus is."""
    for _ in range(times):
        target = QApplication.focusWidget() or QApplication.activeWindow()
        assert target is not None
        QTest.keyClick(target, key, modifiers)
        QApplication.processEvents()


def write(text: str) -> None:
    """Type letters where the focus is, in place of what is selected there."""
    for letter in text:
        target = QApplication.focusWidget()
        assert target is not None
        QTest.keyClicks(target, letter)


def tab_to(reached: Callable[[], bool], most: int = 40) -> None:
    """Press Tab until the focus is where it is wanted."""
    for _ in range(most):
        if reached():
            return
        press(TAB)
    raise AssertionError("Tab does not lead there")


def choose(window: MainWindow, name: ActionName) -> None:
    """Choose an action by mouse: click on its menu, then on it. Popups must be allowed."""
    text = next(action.text for action in ACTIONS if action.name is name)
    title = next(action.menu for action in ACTIONS if action.name is name)
    bar = window.menuBar()
    head = next(action for action in bar.actions() if action.text() == title)
    QTest.mouseClick(bar, LEFT, NO_KEYS, bar.actionGeometry(head).center())
    menu = head.menu()
    item = next(action for action in menu.actions() if action.text().split(":")[0] == text)
    assert item.isEnabled(), f"{text} cannot be chosen"
    QTest.mouseClick(menu, LEFT, NO_KEYS, menu.actionGeometry(item).center())
    QApplication.processEvents()


def trigger(window: MainWindow, name: ActionName) -> None:
    """Do an action that has no key of its own."""
    action = window.action(name)
    assert action.isEnabled(), f"{name} cannot be done"
    action.trigger()


def click_cell(view: QAbstractItemView, index: QModelIndex) -> None:
    """Click on a cell of a table."""
    view.scrollTo(index)
    QTest.mouseClick(view.viewport(), LEFT, NO_KEYS, view.visualRect(index).center())


def retype(view: QAbstractItemView, index: QModelIndex, text: str) -> None:
    """Click on a cell, open it with F2, type over what is there, Return."""
    click_cell(view, index)
    press(Qt.Key.Key_F2)
    press(Qt.Key.Key_A, CTRL)
    write(text)
    press(RETURN)


def dropped(*paths: Path) -> QDropEvent:
    """Files or folders let go of over a window."""
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    event = QDropEvent(QPointF(5, 5), Qt.DropAction.CopyAction, data, LEFT, NO_KEYS)
    event.data_kept = data  # type: ignore[attr-defined]  # an event does not keep its data alive
    return event


def answer_with_folder(qtbot: QtBot, folder: Path) -> None:
    """Type a folder into the dialog that asks for one, Return."""
    qtbot.waitUntil(lambda: isinstance(QApplication.activeModalWidget(), QFileDialog))
    chooser = QApplication.activeModalWidget()
    assert isinstance(chooser, QFileDialog)
    line = chooser.findChild(QLineEdit, "fileNameEdit")
    assert line is not None
    with popups_allowed():  # it proposes names while one is typed
        line.setFocus()
        press(Qt.Key.Key_A, CTRL)
        write(str(folder))
        press(RETURN)


def back_in(qtbot: QtBot, window: MainWindow) -> None:
    """Go back to the window; a desktop does it by itself when a dialog closes."""
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)


def nameless(whole: QWidget) -> list[tuple[str, str, str]]:
    """What takes the focus in a window and says no name to a screen reader: its type, its parent's, its own id."""
    found = [
        widget
        for widget in whole.findChildren(QWidget)
        if widget.focusPolicy() != Qt.FocusPolicy.NoFocus and widget.isVisibleTo(whole) and not _named(widget)
    ]
    return [(type(w).__name__, type(w.parent()).__name__, w.objectName()) for w in found]


def _named(widget: QWidget) -> bool:
    """Whether it has a name, or is a part that Qt itself puts inside a widget that has one."""
    parent = widget.parent()
    in_area = isinstance(parent, QAbstractScrollArea) and parent.viewport() is widget
    of_qt = widget.objectName().startswith("qt_") or in_area or isinstance(parent, QAbstractSpinBox)
    found = QAccessible.queryAccessibleInterface(widget)
    return of_qt or isinstance(widget, QMenuBar) or (found is not None and bool(found.text(QAccessible.Text.Name)))


def saved(qtbot: QtBot, window: MainWindow) -> None:
    """Wait until every edit is on the disk."""
    qtbot.waitUntil(lambda: session_of(window).unsaved == 0)


def finished(qtbot: QtBot, window: MainWindow) -> str:
    """Wait until long work has ended; what was said."""
    qtbot.waitUntil(lambda: not window.work.busy, timeout=20_000)
    return window.messages.text
