"""The signs of the grid in words: only those that are in the grid, flowing into as many lines as they need."""

from collections.abc import Iterator
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from phasemark.results.study_grid import TO_DO, Grid, State
from phasemark.window.grid.grid_signs import paint_pennant, paint_sign, pennant_width, sign_height, sign_width
from phasemark.window.grid.grid_words import EXPLANATIONS, FINDINGS, findings_text
from phasemark.window.palette import scheme_of

_AIR = 4.0
# A frame in the legend is filled half, to show that it fills.
_SHARE = 0.5


@dataclass(frozen=True, slots=True)
class _Entry:
    """A sign with its words; state is None where it is the pennant of findings."""

    words: str
    explained: str
    state: State | None


def _entries(grid: Grid) -> tuple[_Entry, ...]:
    """The signs that are in a grid, the most urgent first."""
    entries = [_Entry(state, EXPLANATIONS[state], state) for state in State if state in grid.states]
    if grid.findings:
        place = sum(entry.state in TO_DO for entry in entries)
        entries.insert(place, _Entry(findings_text(grid.findings), FINDINGS, None))
    return tuple(entries)


class GridLegend(QWidget):
    """Sign and words of each state, and of the pennant of findings."""

    def __init__(self) -> None:
        super().__init__()
        self._entries: tuple[_Entry, ...] = ()
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setAccessibleName("Signs of the grid")

    def show_signs_of(self, grid: Grid) -> None:
        """Show the signs that are in a grid."""
        shown = _entries(grid)
        if shown != self._entries:
            self._entries = shown
            self.setAccessibleDescription(", ".join(entry.words for entry in shown))
            self.setToolTip("\n".join(f"{entry.words}: {entry.explained}" for entry in shown))
            self.updateGeometry()
            self.update()

    @property
    def metrics(self) -> QFontMetricsF:
        """Of the words."""
        return QFontMetricsF(self.font())

    def _gap(self) -> float:
        return round(1.9 * sign_width(self.metrics))

    def _places(self, width: float) -> Iterator[tuple[_Entry, QPointF]]:
        """Upper left corner of each entry, as many in a line as fit."""
        x = y = 0.0
        for entry in self._entries:
            wide = self._gap() + self.metrics.horizontalAdvance(entry.words)
            if x and x + wide > width:
                x, y = 0.0, y + self._line()
            yield entry, QPointF(x, y)
            x += wide + 4 * _AIR

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
        for entry, at in self._places(self.width()):
            if at.y() + metrics.height() > self.height():
                break
            middle = at.y() + metrics.height() / 2
            sign = QRectF(
                at.x() + 1, round(middle - sign_height(metrics) / 2), sign_width(metrics), sign_height(metrics)
            )
            if entry.state is None:
                wide = pennant_width(metrics)
                paint_pennant(painter, sign.translated(-(sign.width() + wide) / 2, 0), wide, scheme)
            else:
                paint_sign(painter, sign, entry.state, _SHARE, scheme)
            painter.setPen(scheme.soft)
            room = self.width() - at.x() - self._gap()
            words = metrics.elidedText(entry.words, Qt.TextElideMode.ElideRight, room)
            painter.drawText(QPointF(at.x() + self._gap(), at.y() + metrics.ascent()), words)
        painter.end()
