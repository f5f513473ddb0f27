"""Starts the window: the application object, the study to open, and the last border for unforeseen faults."""

import os
import sys
from pathlib import Path
from types import TracebackType

from PySide6.QtWidgets import QApplication

from phasemark.window.main_window import MainWindow

# Platforms of Qt that need a screen of the desktop; others (offscreen, vnc, ...) bring their own.
_ON_SCREEN = ("xcb", "wayland", "")


def run_window(study: str | None) -> int:
    """Open the window, on a study if one is named, and stay until it is closed."""
    if not has_screen():
        print("There is no screen here to open the window on; the commands work without one.", file=sys.stderr)
        return 1
    app = QApplication.instance() or QApplication(sys.argv[:1])
    app.setApplicationName("Phasemark")
    window = MainWindow()
    _report_to(window)
    window.show()
    if study is not None:
        window.open_study(Path(study))
    return QApplication.exec()


def has_screen() -> bool:
    """Whether there is a screen; without one Qt would end the whole process instead of saying so."""
    if sys.platform in ("win32", "darwin") or os.environ.get("QT_QPA_PLATFORM", "xcb").split(":")[0] not in _ON_SCREEN:
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def _report_to(window: MainWindow) -> None:
    """Show what nobody caught in the window, and go on; what was done before is on the disk."""

    def hook(kind: type[BaseException], problem: BaseException, at: TracebackType | None) -> None:
        sys.__excepthook__(kind, problem, at)
        if isinstance(problem, Exception):
            window.say_problem(problem)

    sys.excepthook = hook
