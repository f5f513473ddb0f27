"""Long work in the status bar: what is under way, how far it is, and a button to stop it."""

import time
from collections.abc import Callable
from typing import Protocol

from PySide6.QtWidgets import QHBoxLayout, QLabel, QProgressBar, QPushButton, QWidget

_STEPS = 1000
_PAUSE_S = 0.05  # the bar paints at once whenever it changes


class Stoppable(Protocol):
    """Work under way that can be asked to stop."""

    def cancel(self) -> None:
        """Ask it to stop."""


class LongWork(QWidget):
    """Hidden while nothing is under way; one piece of work at a time."""

    def __init__(self) -> None:
        super().__init__()
        self._cancel: Callable[[], None] | None = None
        self._shown = 0.0
        self._title = QLabel()
        self._bar = QProgressBar()
        self._bar.setAccessibleName("Progress")
        self._bar.setRange(0, _STEPS)
        self._bar.setMaximumWidth(22 * self.fontMetrics().averageCharWidth())
        self.stop = QPushButton("Stop")
        self.stop.setAccessibleName("Stop the work under way")
        self.stop.clicked.connect(self._on_stop)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        for part in (self._title, self._bar, self.stop):
            row.addWidget(part)
        self.hide()

    @property
    def busy(self) -> bool:
        """Whether something is under way."""
        return not self.isHidden()

    def begin(self, title: str) -> None:
        """Show that work has begun."""
        self._cancel = None
        self._title.setText(title)
        self._shown = 0.0
        self._bar.setValue(0)
        self.stop.setEnabled(False)
        self.show()

    def hold(self, work: Stoppable) -> None:
        """Have the button stop this work."""
        self._cancel = work.cancel
        self.stop.setEnabled(True)

    def show_share(self, share: float) -> None:
        """Show how far it is, 0 to 1."""
        now = time.monotonic()
        if now - self._shown >= _PAUSE_S or share >= 1:
            self._shown = now
            self._bar.setValue(round(_STEPS * share))

    @property
    def share(self) -> float:
        """How far it is, 0 to 1."""
        return self._bar.value() / _STEPS

    def end(self) -> None:
        """Show that it has ended."""
        self._cancel = None
        self.hide()

    def _on_stop(self) -> None:
        if self._cancel is not None:
            self._cancel()
            self.stop.setEnabled(False)
