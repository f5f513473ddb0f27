"""Any message of Qt, and whatever a window leaves behind, fails a test; Python warnings are errors already."""

import gc
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, QMessageLogContext, QStandardPaths, QTimer, QtMsgType, qInstallMessageHandler
from PySide6.QtWidgets import QApplication, QWidget
from shiboken6 import isValid

from phasemark.window import remembered

# What the offscreen platform says of itself whenever a window with a least size is shown.
_OF_THE_PLATFORM = ("This plugin does not support propagateSizeHints()",)


# What the program remembers between sittings goes where tests may write, never among the user's own settings.
QStandardPaths.setTestModeEnabled(True)


@pytest.fixture(scope="session", autouse=True)
def what_was_there_before() -> Iterator[None]:
    """Leave what was imported out of the garbage collector's rounds, of which every test has two."""
    gc.collect()
    gc.freeze()
    yield
    gc.unfreeze()


@pytest.fixture(autouse=True)
def no_qt_messages(qapp: object) -> Iterator[None]:
    """Fail on whatever Qt prints during a test."""
    said: list[str] = []

    def keep(kind: QtMsgType, context: QMessageLogContext, text: str) -> None:
        if text not in _OF_THE_PLATFORM:
            said.append(f"{kind.name}: {text}")

    before = qInstallMessageHandler(keep)
    yield
    gc.collect()
    qInstallMessageHandler(before)
    assert said == []


@pytest.fixture
def nothing_remembered(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """No study was opened before and no mapping kept, and none stays for other tests, nor for those beside this one."""
    monkeypatch.setattr(remembered, "_file", lambda: tmp_path / "settings" / "remembered.json")


def _swept(app: QApplication) -> None:
    """Let what was told to go be gone."""
    app.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
    app.processEvents()
    gc.collect()


def _windows(app: QApplication) -> set[QWidget]:
    return {widget for widget in app.topLevelWidgets() if widget.metaObject().className() != "QTipLabel"}


def _timers() -> set[QTimer]:
    timers = [found for found in gc.get_objects() if issubclass(type(found), QTimer)]
    return {timer for timer in timers if isValid(timer) and timer.isActive()}


def _threads() -> set[threading.Thread]:
    return {thread for thread in threading.enumerate() if not thread.daemon}


@pytest.fixture(autouse=True)
def nothing_left_behind(qapp: QApplication, no_qt_messages: None) -> Iterator[None]:
    """Fail on windows, running timers and threads that a test leaves."""
    windows, timers, threads = _windows(qapp), _timers(), _threads()
    yield
    _swept(qapp)
    end = time.monotonic() + 2
    while _threads() - threads and time.monotonic() < end:
        time.sleep(0.01)
    left = (_windows(qapp) - windows, _timers() - timers, _threads() - threads)
    assert left == (set(), set(), set()), "widgets, timers or threads are left behind"
