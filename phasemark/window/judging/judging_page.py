"""What both pages of judging have in common: how wide they ask to be, and Escape that puts them away."""

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame

_LETTERS = 108
_LEAST_LETTERS = 38


class JudgingPage(QFrame):
    """A page beside the trial: done() says that it is to be put away, measureWanted() that trials are to be checked."""

    measureWanted = Signal()
    done = Signal()

    def sizeHint(self) -> QSize:
        """Wide enough to read a row; it can be made narrower."""
        return QSize(_LETTERS * self.fontMetrics().averageCharWidth(), super().sizeHint().height())

    def minimumSizeHint(self) -> QSize:
        """As wide as words and buttons need at the least."""
        least = super().minimumSizeHint()
        return QSize(min(least.width(), _LEAST_LETTERS * self.fontMetrics().averageCharWidth()), least.height())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape puts the page away."""
        if event.key() == Qt.Key.Key_Escape:
            self.done.emit()
            return
        super().keyPressEvent(event)

    def changeEvent(self, event: QEvent) -> None:
        """Follow the system's font: the width is made from it."""
        super().changeEvent(event)
        if event.type() is QEvent.Type.FontChange:
            self.updateGeometry()
