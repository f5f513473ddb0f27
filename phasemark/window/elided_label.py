"""One line of text that gives way where room is short; the whole of it is in its hint."""

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QLabel, QSizePolicy


class ElidedLabel(QLabel):
    """A label of one line that never asks for width."""

    def __init__(self, text: str = "") -> None:
        super().__init__(text)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)

    def minimumSizeHint(self) -> QSize:
        """The height of a line."""
        return QSize(0, super().minimumSizeHint().height())

    @property
    def shown(self) -> str:
        """What there is room for."""
        return self.fontMetrics().elidedText(self.text(), Qt.TextElideMode.ElideRight, self.width())

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint what there is room for."""
        shown = self.shown
        self.setToolTip(self.text() if shown != self.text() else "")
        painter = QPainter(self)
        flags = Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft
        self.style().drawItemText(
            painter, QRect(self.rect()), int(flags), self.palette(), self.isEnabled(), shown, self.foregroundRole()
        )
        painter.end()
