"""The signs of the grid in words: only those that are in the grid, flowing into as many lines as they need."""

from collections.abc import Iterator

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from phasemark.results.study_grid import State
from phasemark.window.grid.grid_signs import paint_sign, sign_height, sign_width
from phasemark.window.grid.grid_words import EXPLANATIONS
from phasemark.window.palette import scheme_of

_AIR = 4.0
# A frame in the legend is filled half, to show that it fills.
_SHARE = 0.5


class GridLegend(QWidget):
    """Sign and word of each state."""

    def __init__(self) -> None:
        super().__init__()
        self._states: tuple[State, ...] = ()
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setAccessibleName("Signs of the grid")

    def show_states(self, states: frozenset[State]) -> None:
        """Show the signs of these states."""
        shown = tuple(state for state in State if state in states)
        if shown != self._states:
            self._states = shown
            self.setAccessibleDescription(", ".join(shown))
            self.setToolTip("\n".join(f"{state}: {EXPLANATIONS[state]}" for state in shown))
            self.updateGeometry()
            self.update()

    @property
    def metrics(self) -> QFontMetricsF:
        """Of the words."""
        return QFontMetricsF(self.font())

    def _gap(self) -> float:
        return round(1.9 * sign_width(self.metrics))

    def _places(self, width: float) -> Iterator[tuple[State, QPointF]]:
        """Upper left corner of each entry, as many in a line as fit."""
        x = y = 0.0
        for state in self._states:
            entry = self._gap() + self.metrics.horizontalAdvance(state)
            if x and x + entry > width:
                x, y = 0.0, y + self._line()
            yield state, QPointF(x, y)
            x += entry + 4 * _AIR

    def _line(self) -> float:
        return round(self.metrics.height() + _AIR)

    def keep_within(self, height: float) -> None:
        """Take so many pixels at most, in whole lines and two at least; the least urgent signs are then left out."""
        self.setMaximumHeight(round(max(2, height // self._line()) * self._line()))

    def hasHeightForWidth(self) -> bool:
        """Its height depends on its width."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Height of the lines that the entries flow into."""
        return round(max((at.y() for _, at in self._places(width)), default=-self._line()) + self._line())

    def sizeHint(self) -> QSize:
        """Two entries side by side, or so."""
        return QSize(round(24 * self.metrics.averageCharWidth()), round(self._line()))

    def minimumSizeHint(self) -> QSize:
        """One entry."""
        return QSize(round(12 * self.metrics.averageCharWidth()), round(self._line()))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the entries."""
        painter, scheme, metrics = QPainter(self), scheme_of(self.palette()), self.metrics
        for state, at in self._places(self.width()):
            if at.y() + metrics.height() > self.height():
                break
            middle = at.y() + metrics.height() / 2
            sign = QRectF(
                at.x() + 1, round(middle - sign_height(metrics) / 2), sign_width(metrics), sign_height(metrics)
            )
            paint_sign(painter, sign, state, _SHARE, scheme)
            painter.setPen(scheme.soft)
            room = self.width() - at.x() - self._gap()
            words = metrics.elidedText(state, Qt.TextElideMode.ElideRight, room)
            painter.drawText(QPointF(at.x() + self._gap(), at.y() + metrics.ascent()), words)
        painter.end()
