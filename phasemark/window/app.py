"""Starts the window: the application object, the study to open, and the last border for unforeseen faults."""

import sys
from pathlib import Path
from types import TracebackType

from PySide6.QtWidgets import QApplication

from phasemark.window.main_window import MainWindow


def run_window(study: str | None) -> int:
    """Open the window, on a study if one is named, and stay until it is closed."""
    app = QApplication.instance() or QApplication(sys.argv[:1])
    app.setApplicationName("Phasemark")
    window = MainWindow()
    _report_to(window)
    window.show()
    if study is not None:
        window.open_study(Path(study))
    return QApplication.exec()


def _report_to(window: MainWindow) -> None:
    """Show what nobody caught in the window, and go on; what was done before is on the disk."""

    def hook(kind: type[BaseException], problem: BaseException, at: TracebackType | None) -> None:
        sys.__excepthook__(kind, problem, at)
        if isinstance(problem, Exception):
            window.say_problem(problem)

    sys.excepthook = hook
