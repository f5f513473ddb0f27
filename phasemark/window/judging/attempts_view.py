"""Attempts at a reference side by side: the envelope of each on one scale, its window hatched, its RMS as a level."""

from collections.abc import Callable
from dataclasses import dataclass
from math import isfinite

import numpy as np
from PySide6.QtCore import QModelIndex, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QBrush, QColor, QFontMetricsF, QMouseEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from phasemark.session.attempt_sketches import Sketch
from phasemark.session.reference_pictures import AttemptPicture
from phasemark.window.judging.references_model import AttemptsModel, millivolts
from phasemark.window.palette import Scheme, scheme_of

AROUND_S = 2.5
"""Seconds shown on either side of an attempt's window."""
_CELL_LETTERS = 15
_PLOT_ROWS = 4.0
_AIR = 6.0
_MOST_ROWS = 8


@dataclass(frozen=True, slots=True)
class _Look:
    """What the drawing of each attempt shares."""

    scheme: Scheme
    metrics: QFontMetricsF
    top_mv: float


class AttemptsView(QWidget):
    """Draws what the model of the attempts holds; picked(place) when one is clicked; the table below has the keys."""

    picked = Signal(int)

    def __init__(self, model: AttemptsModel, sketch_of: Callable[[AttemptPicture], Sketch | None]) -> None:
        super().__init__()
        self._model, self._sketch_of = model, sketch_of
        self._chosen = -1
        self.setAccessibleName("Attempts side by side")
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        model.modelReset.connect(self._on_changed)
        model.dataChanged.connect(lambda *_: self._on_changed())

    def _on_changed(self) -> None:
        self.updateGeometry()
        self.update()

    def choose(self, index: QModelIndex) -> None:
        """Frame the attempt in hand."""
        self._chosen = index.row() if index.isValid() else -1
        self.update()

    # Layout

    def _cell(self) -> tuple[float, float]:
        """Least width and height of an attempt's drawing."""
        metrics = QFontMetricsF(self.font())
        return _CELL_LETTERS * metrics.averageCharWidth(), (_PLOT_ROWS + 3) * metrics.height() + _AIR

    def boxes(self, width: float) -> list[QRectF]:
        """Where each attempt lies in a width."""
        count = len(self._model.rows)
        least, high = self._cell()
        across = max(1, min(count, int((width + _AIR) // (least + _AIR)), _MOST_ROWS))
        wide = min((width + _AIR) / across - _AIR, 2.0 * least)
        return [QRectF((n % across) * (wide + _AIR), (n // across) * (high + _AIR), wide, high) for n in range(count)]

    def hasHeightForWidth(self) -> bool:
        """Narrower is higher."""
        return True

    def heightForWidth(self, width: int) -> int:
        """The height of all rows of attempts."""
        boxes = self.boxes(float(width))
        return round(boxes[-1].bottom()) + 1 if boxes else 0

    def sizeHint(self) -> QSize:
        """Room for a few in a row."""
        wide = round(4 * self._cell()[0])
        return QSize(wide, self.heightForWidth(wide))

    def minimumSizeHint(self) -> QSize:
        """Room for one in a row."""
        return QSize(round(self._cell()[0]), 0)

    # Mouse and paint

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Pick the attempt under the mouse."""
        for place, box in enumerate(self.boxes(float(self.width()))):
            if box.contains(event.position()):
                self.picked.emit(place)
                return
        super().mousePressEvent(event)

    def _top(self) -> float:
        """The end (mV) of the scale that all share."""
        peaks = [_level(row) for row in self._model.rows]
        for row in self._model.rows:
            sketch = self._sketch_of(row)
            if sketch is not None:
                values = _around(row, sketch)[1]
                peaks.append(float(np.nanmax(values, initial=0.0)) if len(values) else 0.0)
        held = [peak for peak in peaks if isfinite(peak)]
        return 1.08 * max(held, default=0.0) or 1.0

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint all attempts."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        look = _Look(scheme_of(self.palette()), QFontMetricsF(self.font()), self._top())
        boxes = self.boxes(float(self.width()))
        for place, (row, box) in enumerate(zip(self._model.rows, boxes, strict=True)):
            _paint_attempt(painter, look, row, self._sketch_of(row), box, chosen=place == self._chosen)
        painter.end()


def _level(row: AttemptPicture) -> float:
    """The RMS of an attempt, its mean amplitude where it has none."""
    return row.rms if isfinite(row.rms) else row.mean_amplitude


def _around(row: AttemptPicture, sketch: Sketch) -> tuple[np.ndarray, np.ndarray]:
    """Times (s) and envelope (mV) around the window of an attempt."""
    times = (np.arange(len(sketch.highest)) + 0.5) * sketch.duration_s / max(len(sketch.highest), 1)
    near = (times >= row.begin_s - AROUND_S) & (times <= row.end_s + AROUND_S)
    return times[near], sketch.highest[near]


def _paint_attempt(
    painter: QPainter, look: _Look, row: AttemptPicture, sketch: Sketch | None, box: QRectF, *, chosen: bool
) -> None:
    high, scheme = look.metrics.height(), look.scheme
    plot = QRectF(box.left(), box.top() + high + 2, box.width(), _PLOT_ROWS * high)
    painter.fillRect(plot, scheme.base)
    _paint_curve(painter, look, row, sketch, plot)
    _paint_window(painter, look, row, plot)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(scheme.ink if chosen else scheme.hair, 2.0 if chosen else 1.0))
    painter.drawRect(plot.adjusted(0.5, 0.5, -0.5, -0.5))
    used = row.used or row.mean_used
    font = painter.font()
    font.setBold(used)
    painter.setFont(font)
    painter.setPen(scheme.ink)
    value = f"{millivolts(_level(row))} mV"
    _write(painter, box, box.top(), f"✓ {value}" if used else value)
    font.setBold(False)
    painter.setFont(font)
    _write(painter, box, plot.bottom() + 2, f"{row.number}  {row.trial}")
    painter.setPen(scheme.soft)
    _write(painter, box, plot.bottom() + 2 + high, row.position)


def _write(painter: QPainter, box: QRectF, top: float, text: str) -> None:
    metrics = QFontMetricsF(painter.font())
    shown = metrics.elidedText(text, Qt.TextElideMode.ElideRight, box.width())
    painter.drawText(QPointF(box.left(), top + metrics.ascent()), shown)


def _x(row: AttemptPicture, plot: QRectF, time_s: float) -> float:
    begin, end = row.begin_s - AROUND_S, row.end_s + AROUND_S
    return plot.left() + (time_s - begin) / (end - begin) * plot.width()


def _paint_curve(painter: QPainter, look: _Look, row: AttemptPicture, sketch: Sketch | None, plot: QRectF) -> None:
    if sketch is None:
        return
    times, values = _around(row, sketch)
    painter.setPen(QPen(look.scheme.raw, 1.0))
    points: list[QPointF] = []
    for time, value in zip(times, values, strict=True):
        if isfinite(value):
            y = plot.bottom() - 1 - value / look.top_mv * (plot.height() - 2)
            points.append(QPointF(_x(row, plot, float(time)), y))
        elif points:
            painter.drawPolyline(QPolygonF(points))
            points = []
    if points:
        painter.drawPolyline(QPolygonF(points))


def _paint_window(painter: QPainter, look: _Look, row: AttemptPicture, plot: QRectF) -> None:
    level = _level(row)
    if not isfinite(level) or row.end_s <= row.begin_s:
        return
    left, right = _x(row, plot, row.begin_s), _x(row, plot, row.end_s)
    top = plot.bottom() - 1 - level / look.top_mv * (plot.height() - 2)
    bar = QRectF(left, top, max(right - left, 3.0), plot.bottom() - 1 - top)
    veil = QColor(look.scheme.ink)
    veil.setAlphaF(0.22 if row.used or row.mean_used else 0.10)
    painter.fillRect(bar, veil)
    if row.faults:
        painter.fillRect(bar, QBrush(look.scheme.hatch, Qt.BrushStyle.FDiagPattern))
    painter.setPen(QPen(look.scheme.ink, 2.0))
    painter.drawLine(QPointF(bar.left(), top), QPointF(bar.right(), top))
