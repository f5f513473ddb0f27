"""Draws a difference with its interval in a cell, against zero and the smallest effect that matters.

The shape of the mean says the verdict: a full square where one level has more, a ring where nothing is settled, a full
lozenge where the two are similar.
"""

from math import isfinite

from PySide6.QtCore import QLineF, QModelIndex, QPersistentModelIndex, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPen, QPolygonF
from PySide6.QtWidgets import QStyledItemDelegate, QStyleOptionViewItem

from phasemark.results.comparison.compared import ComparedCell
from phasemark.results.comparison.verdict import Verdict
from phasemark.session.comparison_tables import Scale
from phasemark.window.comparing.comparison_model import CELL_ROLE, ComparisonModel
from phasemark.window.palette import Scheme, scheme_of

_LETTERS = 24
_AIR = 8.0
_MARK = 0.42


class IntervalDelegate(QStyledItemDelegate):
    """The drawn column of the comparison's table; all rows on one scale."""

    def __init__(self, model: ComparisonModel) -> None:
        super().__init__()
        self._model = model

    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> QSize:
        """Wide enough to see a difference."""
        metrics = QFontMetricsF(option.font)
        return QSize(round(_LETTERS * metrics.averageCharWidth()), round(metrics.height()))

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        """The ground of the row, then the drawing."""
        super().paint(painter, option, index)
        cell, scale = index.data(CELL_ROLE), self._model.scale
        if not isinstance(cell, ComparedCell) or scale is None:
            return
        palette = option.palette
        palette.setCurrentColorGroup(palette.ColorGroup.Active)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        size = QFontMetricsF(option.font).height() * _MARK
        _IntervalDrawing(QRectF(option.rect), scale, scheme_of(palette), size).paint(painter, cell)
        painter.restore()


class _IntervalDrawing:
    """One cell's drawing."""

    def __init__(self, box: QRectF, scale: Scale, scheme: Scheme, size: float) -> None:
        self._box, self._scale, self._scheme, self._size = box, scale, scheme, size

    def _x(self, value: float) -> float:
        scale, room = self._scale, self._box.adjusted(_AIR, 0, -_AIR, 0)
        return room.left() + room.width() * (value - scale.low) / (scale.high - scale.low)

    def paint(self, painter: QPainter, cell: ComparedCell) -> None:
        """Lines of zero and the smallest effect, the interval, the mean."""
        self._limits(painter)
        mean, interval = cell.difference.mean, cell.difference.interval
        if not isfinite(mean):
            return
        y = round(self._box.center().y()) + 0.5
        painter.setPen(QPen(self._scheme.ink, 1.5))
        if isfinite(interval.low) and isfinite(interval.high):
            painter.drawLine(QLineF(self._x(interval.low), y, self._x(interval.high), y))
        self._mark(painter, QPointF(self._x(mean), y), cell)

    def _limits(self, painter: QPainter) -> None:
        top, bottom = self._box.top(), self._box.bottom()
        painter.setPen(QPen(self._scheme.soft, 1))
        at = round(self._x(0.0)) + 0.5
        painter.drawLine(QLineF(at, top, at, bottom))
        if isfinite(self._scale.smallest):
            painter.setPen(QPen(self._scheme.soft, 1, Qt.PenStyle.DashLine))
            for end in (-self._scale.smallest, self._scale.smallest):
                at = round(self._x(end)) + 0.5
                painter.drawLine(QLineF(at, top, at, bottom))

    def _mark(self, painter: QPainter, at: QPointF, cell: ComparedCell) -> None:
        half = self._size / 2
        verdict = Verdict.NOT_SETTLED if cell.detail is None else cell.detail.verdict
        painter.setPen(QPen(self._scheme.ink, 1.5))
        painter.setBrush(self._scheme.base if verdict is Verdict.NOT_SETTLED else self._scheme.ink)
        if verdict is Verdict.NOT_SETTLED:
            painter.drawEllipse(at, half, half)
        elif verdict is Verdict.SIMILAR:
            half *= 1.2
            corners = ((0, -half), (half, 0), (0, half), (-half, 0))
            painter.drawPolygon(QPolygonF([at + QPointF(x, y) for x, y in corners]))
        else:
            painter.drawRect(QRectF(at.x() - half, at.y() - half, 2 * half, 2 * half))
