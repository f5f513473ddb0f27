"""Starts the window: the application object, the study to open, and the last border for unforeseen faults."""

import gc
import os
import sys
from pathlib import Path
from types import TracebackType

from PySide6.QtWidgets import QApplication

from phasemark.window.main_window import MainWindow

# Platforms of Qt that need a screen of the desktop; others (offscreen, vnc, ...) bring their own.
_ON_SCREEN = ("xcb", "wayland", "")


# How long (s) a thread that computes may keep the interpreter once the window asks for it. Each call of Qt asks anew,
# so that with Python's own 5 ms a single painting takes many of them.
_TURN_S = 0.0005
_NEVER = 2**31 - 1


def put_window_first() -> None:
    """Have threads that compute give way to the window's thread quickly, and no round over all objects stop it.

    A long round holds the interpreter for as long as there are objects (0.3 s with the results of 70 trials). A
    study's values hold no cycles and are let go of by hand on closing, so that the short rounds over what is new are
    enough.
    """
    sys.setswitchinterval(_TURN_S)
    gc.freeze()
    young, middle, _ = gc.get_threshold()
    gc.set_threshold(young, middle, _NEVER)


def run_window(study: str | None) -> int:
    """Open the window, on a study if one is named, and stay until it is closed."""
    if not has_screen():
        print("There is no screen here to open the window on; the commands work without one.", file=sys.stderr)
        return 1
    app = QApplication.instance() or QApplication(sys.argv[:1])
    app.setApplicationName("Phasemark")
    window = MainWindow()
    put_window_first()
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
