"""The sketch of a column's values: lowest to highest in each stretch, with the two extremes beside it."""

import numpy as np
from PySide6.QtCore import QLineF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPalette, QPen
from PySide6.QtWidgets import QStyledItemDelegate, QStyleOptionViewItem

from phasemark.session.glance import Sketch
from phasemark.window.adding.add_cells import Index
from phasemark.window.adding.add_column_model import SKETCH
from phasemark.window.palette import scheme_of
from phasemark.window.traces.tick_values import MINUS

_PAD = 3.0


def extreme_text(value: float) -> str:
    """An extreme with three significant digits."""
    return f"{value:.3g}".replace("-", MINUS)


def sketch_lines(sketch: Sketch, room: QRectF) -> list[QLineF]:
    """A vertical line for each stretch that holds values, reaching to the next so that the trace does not break."""
    count = len(sketch.lows)
    reach = sketch.highest - sketch.lowest or 1.0
    x = room.left() + (np.arange(count) + 0.5) * room.width() / count
    low, high = sketch.lows.copy(), sketch.highs.copy()
    # A steep trace leaves no value between two stretches: each line is drawn as far as its neighbour begins.
    low[1:] = np.fmin(low[1:], np.where(np.isnan(low[1:]), np.nan, sketch.highs[:-1]))
    high[1:] = np.fmax(high[1:], np.where(np.isnan(high[1:]), np.nan, sketch.lows[:-1]))
    top = room.bottom() - (high - sketch.lowest) / reach * room.height()
    bottom = room.bottom() - (low - sketch.lowest) / reach * room.height()
    held = ~np.isnan(sketch.lows)
    return [QLineF(at, up - 0.5, at, down + 0.5) for at, up, down in zip(x[held], top[held], bottom[held], strict=True)]


class SketchDelegate(QStyledItemDelegate):
    """Paints the sketch that a cell holds."""

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """Wide enough for the trace and its extremes, two lines of text high."""
        letters = option.fontMetrics
        return QSize(30 * letters.averageCharWidth(), 2 * letters.height() + 6)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """The ground as any cell's, then trace and extremes."""
        super().paint(painter, option, index)
        sketch = index.data(SKETCH)
        if not isinstance(sketch, Sketch):
            return
        scheme = scheme_of(option.palette)
        selected = bool(option.state & option.state.State_Selected)
        ink = option.palette.color(QPalette.ColorRole.HighlightedText) if selected else scheme.front
        soft = ink if selected else scheme.soft
        texts = (extreme_text(sketch.highest), extreme_text(sketch.lowest))
        beside = max(option.fontMetrics.horizontalAdvance(text) for text in texts) + 2 * _PAD
        room = QRectF(option.rect).adjusted(_PAD, _PAD, -beside - _PAD, -_PAD)
        painter.save()
        painter.setClipRect(option.rect)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        pen = QPen(ink, max(1.0, room.width() / max(len(sketch.lows), 1)))
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        painter.setPen(pen)
        painter.drawLines(sketch_lines(sketch, room))
        painter.setPen(soft)
        words = QRectF(option.rect).adjusted(0, 1, -_PAD, -1)
        for text, place in zip(texts, (Qt.AlignmentFlag.AlignTop, Qt.AlignmentFlag.AlignBottom), strict=True):
            painter.drawText(words, int(Qt.AlignmentFlag.AlignRight | place), text)
        painter.restore()
