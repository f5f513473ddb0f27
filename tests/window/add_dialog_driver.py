"""A dialog of adding recordings, driven as a person does it: clicks on cells, keys to whatever has the focus."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from PySide6.QtCore import QMessageLogContext, QModelIndex, Qt, QtMsgType, qInstallMessageHandler
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from phasemark.model.study import Study
from phasemark.session.importing import Arrival
from phasemark.session.kept_mappings import KeptMappings
from phasemark.window.adding.add_cells import CellTable
from phasemark.window.adding.add_dialog import AddRecordingsDialog
from phasemark.window.bridge import Bridge
from phasemark.worker import Worker

ENTER, TAB, DOWN = Qt.Key.Key_Return, Qt.Key.Key_Tab, Qt.Key.Key_Down
CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
NO_KEYS = Qt.KeyboardModifier.NoModifier


@contextmanager
def popups_allowed() -> Iterator[None]:
    """The offscreen platform says of each popup that it can neither raise it nor grab the keyboard for it."""
    before = qInstallMessageHandler(None)

    def keep(kind: QtMsgType, context: QMessageLogContext, text: str) -> None:
        if before is not None and not text.startswith("This plugin does not support"):
            before(kind, context, text)

    qInstallMessageHandler(keep)
    yield
    qInstallMessageHandler(before)


class Driver:
    """The dialog with what it has given."""

    def __init__(self, qtbot: QtBot, dialog: AddRecordingsDialog) -> None:
        self.qtbot, self.dialog = qtbot, dialog
        self.given: list[tuple[Arrival, ...]] = []
        dialog.ready.connect(self.given.append)

    def settle(self) -> None:
        """Wait until every file was looked at."""
        self.qtbot.waitUntil(lambda: not any(file.waiting for file in self.dialog.draft.files), timeout=10_000)

    def press(self, key: Qt.Key, modifiers: Qt.KeyboardModifier = NO_KEYS, times: int = 1) -> None:
        """Press a key where the focus is."""
        for _ in range(times):
            target = QApplication.focusWidget()
            assert target is not None
            QTest.keyClick(target, key, modifiers)
            QApplication.processEvents()  # an editor hands in its text only after its key press

    def type(self, text: str) -> None:
        """Type letters where the focus is."""
        for letter in text:
            target = QApplication.focusWidget()
            assert target is not None
            QTest.keyClicks(target, letter)

    def click_cell(self, table: CellTable, row: int, title: str) -> QModelIndex:
        """Click on the cell under a title."""
        model = table.model()
        titles = [model.headerData(c, Qt.Orientation.Horizontal) for c in range(model.columnCount())]
        index = model.index(row, titles.index(title))
        table.scrollTo(index)
        QTest.mouseClick(table.viewport(), Qt.MouseButton.LeftButton, NO_KEYS, table.visualRect(index).center())
        return index

    def fill(self, table: CellTable, row: int, title: str, text: str) -> None:
        """Click on a cell, type, Return."""
        self.click_cell(table, row, title)
        self.type(text)
        self.press(ENTER)

    def fill_rows(self, table: CellTable, title: str, rows: int, text: str) -> None:
        """Type into the first cell, mark it with those below, fill down."""
        self.fill(table, 0, title, text)
        self.click_cell(table, 0, title)
        self.press(DOWN, SHIFT, rows - 1)
        self.press(Qt.Key.Key_D, CTRL)

    def page(self, place: int) -> None:
        """Click on the tab of a page."""
        bar = self.dialog.pages.tabBar()
        QTest.mouseClick(bar, Qt.MouseButton.LeftButton, NO_KEYS, bar.tabRect(place).center())

    def click(self, button: object) -> None:
        """Click on a button."""
        QTest.mouseClick(button, Qt.MouseButton.LeftButton)


@contextmanager
def adding(qtbot: QtBot, study: Study, files: Sequence[Path], kept: KeptMappings | None = None) -> Iterator[Driver]:
    """An open dialog over a worker of its own."""
    bridge = Bridge()
    worker = Worker(bridge.deliver)
    dialog = AddRecordingsDialog(study, worker, files, kept)
    qtbot.addWidget(dialog)
    dialog.resize(1280, 720)
    dialog.open()
    dialog.activateWindow()
    qtbot.waitUntil(dialog.isActiveWindow)
    driver = Driver(qtbot, dialog)
    driver.settle()
    yield driver
    dialog.done(0)
    worker.close()
    bridge.shut()
