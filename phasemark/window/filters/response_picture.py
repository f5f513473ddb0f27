"""A magnitude response over frequency, painted: decibels upward, the -3 dB points named, notches shown."""

from dataclasses import dataclass
from math import log10

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from phasemark.session.filter_chain import LOWEST_HZ, FilterChain
from phasemark.window.palette import Scheme, scheme_of
from phasemark.window.traces.tick_values import MINUS, ticks

FLOOR_DB, TOP_DB = -60.0, 6.0
_DB_TICKS = (0, -20, -40, -60)
_AIR = 4.0
_STEPS = (1, 2, 5)
_ROWS = 13
NO_CHANNEL = "No recorded channel is filtered by these."


def hz_text(hz: float) -> str:
    """A frequency to a tenth of a Hz, without needless decimals."""
    return f"{round(hz, 1):g}"


@dataclass(frozen=True, slots=True)
class ResponsePlot:
    """Where frequencies (Hz) and decibels lie in a rectangle (logical px)."""

    box: QRectF
    half_hz: float
    linear: bool

    def x(self, hz: float) -> float:
        """Where a frequency lies."""
        share = hz / self.half_hz if self.linear else log10(max(hz, LOWEST_HZ) / LOWEST_HZ) / self._decades
        return self.box.left() + share * self.box.width()

    @property
    def _decades(self) -> float:
        return log10(self.half_hz / LOWEST_HZ)

    def y(self, decibels: float) -> float:
        """Where decibels lie; what is below the floor lies on it."""
        share = (TOP_DB - max(decibels, FLOOR_DB)) / (TOP_DB - FLOOR_DB)
        return self.box.top() + share * self.box.height()

    def points(self, chain: FilterChain) -> tuple[np.ndarray, np.ndarray]:
        """The curve, cut off at the floor."""
        there = chain.frequencies >= (0.0 if self.linear else LOWEST_HZ)
        hz, db = chain.frequencies[there], np.maximum(chain.decibels[there], FLOOR_DB)
        share = hz / self.half_hz if self.linear else np.log10(hz / LOWEST_HZ) / self._decades
        across = self.box.left() + share * self.box.width()
        return across, self.box.top() + (TOP_DB - db) / (TOP_DB - FLOOR_DB) * self.box.height()

    def ticks(self, most: int) -> list[tuple[float, str]]:
        """Frequencies with their texts."""
        if self.linear:
            return [(tick.value, tick.text) for tick in ticks(0.0, self.half_hz, most)]
        found = [step * 10.0**power for power in range(6) for step in _STEPS]
        return [(hz, f"{hz:g}") for hz in found if LOWEST_HZ <= hz <= self.half_hz]


class ResponsePicture(QWidget):
    """Paints a FilterChain; None, or one that is refused, is said in words."""

    def __init__(self) -> None:
        super().__init__()
        self._chain: FilterChain | None = None
        self._linear = False
        self.setBackgroundRole(QPalette.ColorRole.Base)
        self.setAutoFillBackground(True)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Magnitude response of the filters")

    def sizeHint(self) -> QSize:
        """Some rows of text high."""
        return QSize(200, round(_ROWS * self.fontMetrics().height()))

    def show_chain(self, chain: FilterChain | None) -> None:
        """Paint another response."""
        self._chain = chain
        self.setAccessibleDescription(chain_words(chain))
        self.update()

    def set_linear(self, on: bool) -> None:
        """Frequencies on a linear axis, or a logarithmic one."""
        self._linear = on
        self.update()

    def plot_of(self, chain: FilterChain) -> ResponsePlot:
        """Where frequencies and decibels of a response lie in this widget."""
        metrics = QFontMetricsF(self.font())
        left = metrics.horizontalAdvance(f"{MINUS}60") + 3 * _AIR
        box = QRectF(left, 1.5 * metrics.height() + _AIR, 0, 0)
        box.setRight(self.width() - 3 * _AIR)
        box.setBottom(self.height() - 2.2 * metrics.height() - _AIR)
        return ResponsePlot(box, float(chain.rate / 2), self._linear)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Axes, the curve, its -3 dB points and notches."""
        del event
        painter, chain, scheme = QPainter(self), self._chain, scheme_of(self.palette())
        metrics = QFontMetricsF(self.font())
        if chain is None or chain.refused:
            painter.setPen(scheme.ink)
            box = QRectF(self.rect()).adjusted(2 * _AIR, 2 * _AIR, -2 * _AIR, -2 * _AIR)
            painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap), chain_words(chain))
            painter.end()
            return
        plot = self.plot_of(chain)
        _paint_axes(painter, plot, scheme, metrics)
        _paint_notches(painter, plot, chain, scheme)
        _paint_curve(painter, plot, chain, scheme)
        _paint_points(painter, plot, chain, scheme, metrics)
        painter.end()


def _paint_axes(painter: QPainter, plot: ResponsePlot, scheme: Scheme, metrics: QFontMetricsF) -> None:
    box, row = plot.box, metrics.height()
    for decibels in _DB_TICKS:
        y = round(plot.y(decibels)) + 0.5
        painter.setPen(scheme.hair)
        painter.drawLine(QPointF(box.left(), y), QPointF(box.right(), y))
        painter.setPen(scheme.soft)
        text = str(decibels).replace("-", MINUS)
        painter.drawText(
            QPointF(box.left() - _AIR - metrics.horizontalAdvance(text), y + metrics.ascent() / 2 - 1), text
        )
    free = box.left() - _AIR
    for hz, text in plot.ticks(max(2, int(box.width() / (3 * row)))):
        x, wide = plot.x(hz), metrics.horizontalAdvance(text)
        painter.setPen(scheme.hair)
        painter.drawLine(QPointF(round(x) + 0.5, box.top()), QPointF(round(x) + 0.5, box.bottom()))
        if x - wide / 2 >= free and x + wide / 2 <= box.right() + 2 * _AIR:
            painter.setPen(scheme.soft)
            painter.drawText(QPointF(x - wide / 2, box.bottom() + metrics.ascent() + 2), text)
            free = x + wide / 2 + 2 * _AIR
    painter.setPen(scheme.soft)
    painter.drawText(QPointF(_AIR, _AIR + metrics.ascent()), "dB")
    name = "frequency (Hz)"
    at = QPointF(box.right() - metrics.horizontalAdvance(name), box.bottom() + row + metrics.ascent())
    painter.drawText(at, name)


def _paint_curve(painter: QPainter, plot: ResponsePlot, chain: FilterChain, scheme: Scheme) -> None:
    painter.save()
    painter.setClipRect(plot.box.adjusted(0, -1, 1, 1))
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    painter.setPen(QPen(scheme.ink, 1.6))
    painter.drawPath(pg.arrayToQPath(*plot.points(chain), connect="all"))
    painter.restore()


def _paint_notches(painter: QPainter, plot: ResponsePlot, chain: FilterChain, scheme: Scheme) -> None:
    """A veil over the width of each notch, and a wedge at its foot."""
    veil = QColor(scheme.ink)
    veil.setAlphaF(0.14)
    for hz, low, high in chain.notches:
        left, right = plot.x(low), plot.x(high)
        box = QRectF(left, plot.box.top(), max(right - left, 2.0), plot.box.height())
        painter.fillRect(box, veil)
        painter.setPen(QPen(scheme.ink, 2))
        x = plot.x(hz)
        painter.drawLine(QPointF(x, plot.box.bottom() - 6), QPointF(x, plot.box.bottom()))


def _paint_points(
    painter: QPainter, plot: ResponsePlot, chain: FilterChain, scheme: Scheme, metrics: QFontMetricsF
) -> None:
    """Each -3 dB point as a dot on its broken upright line, named above the picture."""
    named = [(hz, f"{hz_text(hz)} Hz: {MINUS}3 dB") for hz in (chain.low_hz, chain.high_hz) if hz is not None]
    free = _AIR + metrics.horizontalAdvance("dB") + 2 * _AIR
    for place, (hz, text) in enumerate(named):
        x, y = plot.x(hz), plot.y(-3.0103)
        wide = metrics.horizontalAdvance(text)
        rest = sum(metrics.horizontalAdvance(other) + 2 * _AIR for _, other in named[place + 1 :])
        left = max(min(x - wide / 2, plot.box.right() + _AIR - wide - rest), free)
        free = left + wide + 2 * _AIR
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        painter.setPen(QPen(scheme.ink, 1, Qt.PenStyle.DashLine))
        painter.drawLine(QPointF(x, plot.box.top() - 2), QPointF(x, plot.box.bottom()))
        painter.setPen(QPen(scheme.base, 1.5))
        painter.setBrush(scheme.ink)
        painter.drawEllipse(QPointF(x, y), 4.0, 4.0)
        painter.setPen(scheme.ink)
        painter.drawText(QPointF(left, _AIR + metrics.ascent()), text)


def _notches_words(notches: tuple[tuple[float, float, float], ...]) -> list[str]:
    """One notch with its -3 dB points; several with how wide they are."""
    if len(notches) < 2:
        return [f"notch at {hz_text(hz)} Hz, {low:.2f} to {high:.2f} Hz" for hz, low, high in notches]
    (_, low, high), (_, last_low, last_high) = notches[0], notches[-1]
    lines = ", ".join(hz_text(hz) for hz, _, _ in notches)
    return [f"notches at {lines} Hz, {high - low:.1f} to {last_high - last_low:.1f} Hz wide"]


def chain_words(chain: FilterChain | None) -> str:
    """A response in words."""
    if chain is None:
        return NO_CHANNEL
    if chain.refused:
        return chain.refused
    ends = [f"{hz_text(hz)} Hz" for hz in (chain.low_hz, chain.high_hz) if hz is not None]
    said = [f"{MINUS}3 dB at {' and '.join(ends)}" if ends else f"nothing is cut off at {MINUS}3 dB"]
    if chain.low_hz is None and chain.high_hz is None and chain.filters.highpass_hz and chain.filters.lowpass_hz:
        said = [f"nothing gets through at more than {MINUS}3 dB"]
    said += _notches_words(chain.notches)
    if chain.left_out:
        said.append(f"left out: {', '.join(hz_text(hz) for hz in chain.left_out)} Hz, too high for this rate")
    whole = "; ".join(said)
    return f"{whole[:1].upper()}{whole[1:]}. Both passes together, at {float(chain.rate):g} Hz ({chain.subject})."
