"""Any message of Qt fails a test of the window; Python warnings are errors already."""

import gc
from collections.abc import Iterator

import pytest
from PySide6.QtCore import QMessageLogContext, QStandardPaths, QtMsgType, qInstallMessageHandler

# What the offscreen platform says of itself whenever a window with a least size is shown.
_OF_THE_PLATFORM = ("This plugin does not support propagateSizeHints()",)


# What the program remembers between sittings goes where tests may write, never among the user's own settings.
QStandardPaths.setTestModeEnabled(True)


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
