"""Below the traces: the time axis in seconds, and on it the times of the selected boundary and of the cursor."""

from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from phasemark.window.palette import Scheme
from phasemark.window.traces.tick_values import Tick, ticks
from phasemark.window.traces.view_span import Span

_TICK = 5.0
_AIR = 3.0


def time_ticks(span: Span, width: float, metrics: QFontMetricsF) -> tuple[Tick, ...]:
    """Ticks (s) whose texts keep clear of each other over so many pixels."""
    most = max(1, int(width / (7.5 * metrics.horizontalAdvance("0"))))
    while True:
        found = ticks(span.begin_s, span.end_s, most)
        widest = max((metrics.horizontalAdvance(tick.text) for tick in found), default=0.0)
        if len(found) < 2 or most == 1:
            return found
        apart = (found[1].value - found[0].value) / span.width_s * width
        if apart >= widest * 1.6:
            return found
        most = min(most - 1, max(1, int(most * 0.8)))


class TimeAxis(QWidget):
    """Times (s) level with the traces above it; margin is how far left of them the axis' title may reach."""

    def __init__(self, scheme: Scheme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._scheme = scheme
        self._span = Span(0.0, 1.0)
        self._ticks: tuple[Tick, ...] = ()
        self._tag: tuple[float, str] | None = None
        self._cursor: tuple[float, str] | None = None
        self._margin = 0.0

    def set_axis(
        self, span: Span, shown: tuple[Tick, ...], margin: float, tag: tuple[float, str] | None, scheme: Scheme
    ) -> None:
        """What to show; tag is a time (s) and its text."""
        new = (span, shown, margin, tag, scheme)
        if new != (self._span, self._ticks, self._margin, self._tag, self._scheme):
            self._span, self._ticks, self._margin, self._tag, self._scheme = new
            self.update()

    def set_cursor(self, cursor: tuple[float, str] | None) -> None:
        """The cursor's time (s) and its text, None for none; only its places are painted anew."""
        metrics = QFontMetricsF(self.font())
        if cursor != self._cursor:
            for box in (self._tag_box(self._cursor, metrics), self._tag_box(cursor, metrics)):
                if box is not None:  # times that the tag hides, or has hidden, reach further
                    self.update(box.adjusted(-2 * box.width(), -_TICK, 2 * box.width(), _TICK).toAlignedRect())
            self._cursor = cursor

    def sizeHint(self) -> QSize:
        """As tall as a row of text with its ticks."""
        return QSize(200, round(QFontMetricsF(self.font()).height() + _TICK + 3 * _AIR))

    def place(self, time_s: float) -> float:
        """Place (px) of a time on this widget."""
        share = (time_s - self._span.begin_s) / self._span.width_s
        return self._margin + share * (self.width() - self._margin)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint line, ticks, times and the tag."""
        painter = QPainter(self)
        metrics = QFontMetricsF(self.font())
        painter.setPen(QPen(self._scheme.soft, 1))
        painter.drawLine(QPointF(self._margin, 0.5), QPointF(self.width(), 0.5))
        title = QRectF(0, _TICK + _AIR, self._margin - 8 * _AIR, metrics.height())
        painter.drawText(title, int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter), "time (s)")
        tag, cursor = self._tag_box(self._tag, metrics), self._tag_box(self._cursor, metrics)
        tags = [box.adjusted(-2 * _AIR, 0, 2 * _AIR, 0) for box in (tag, cursor) if box is not None]
        places = [round(self.place(tick.value)) + 0.5 for tick in self._ticks]
        painter.drawLines([QLineF(x, 0.5, x, _TICK) for x in places])
        for x, tick in zip(places, self._ticks, strict=True):
            box = self._text_box(x, tick.text, metrics)
            hidden = any(one.intersects(box) for one in tags)
            if not hidden and title.right() + _AIR <= box.left() and box.right() <= self.width():
                painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), tick.text)
        if tag is not None and self._tag is not None:
            self._paint_tag(painter, tag, self._tag[1], strong=True)
        if cursor is not None and self._cursor is not None:
            self._paint_tag(painter, cursor, self._cursor[1], strong=False)
        painter.end()

    def _text_box(self, x: float, text: str, metrics: QFontMetricsF) -> QRectF:
        """Where a text goes under a place."""
        wide = metrics.horizontalAdvance(text) + 2
        return QRectF(x - wide / 2, _TICK + _AIR, wide, metrics.height())

    def _tag_box(self, tag: tuple[float, str] | None, metrics: QFontMetricsF) -> QRectF | None:
        if tag is None:
            return None
        x = self.place(tag[0])
        if not self._margin <= x <= self.width():
            return None
        box = self._text_box(x, tag[1] + "00", metrics).adjusted(0, -1, 0, 1)
        return box.translated(min(0.0, self.width() - 1 - box.right()), 0)

    def _paint_tag(self, painter: QPainter, box: QRectF, text: str, *, strong: bool) -> None:
        """The selected boundary's time on a dark ground, the cursor's in a frame."""
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        painter.setPen(Qt.PenStyle.NoPen if strong else QPen(self._scheme.soft, 1))
        painter.setBrush(self._scheme.ink if strong else self._scheme.base)
        painter.drawRoundedRect(box, 3, 3)
        painter.setPen(self._scheme.base if strong else self._scheme.ink)
        painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), text)
