"""A note that always takes the same few lines, so that what stands above it keeps its place."""

from PySide6.QtCore import QPointF, QSize
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from phasemark.window.palette import scheme_of
from phasemark.window.wrapped_text import wrapped_lines

_LINES = 2


class WrappedNote(QWidget):
    """Text in two lines; what does not fit is in its hint."""

    def __init__(self) -> None:
        super().__init__()
        self._text = ""
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)

    def say(self, text: str) -> None:
        """Show a text."""
        if text != self._text:
            self._text = text
            self.setToolTip(text)
            self.setAccessibleName(text)
            self.update()

    @property
    def text(self) -> str:
        """The whole text."""
        return self._text

    def sizeHint(self) -> QSize:
        """The height of its lines."""
        return QSize(0, round(_LINES * QFontMetricsF(self.font()).height()))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the lines."""
        painter, metrics = QPainter(self), QFontMetricsF(self.font())
        painter.setPen(scheme_of(self.palette()).ink)
        for n, line in enumerate(wrapped_lines(self._text, metrics, self.width(), _LINES)):
            painter.drawText(QPointF(0, n * metrics.height() + metrics.ascent()), line)
        painter.end()
