"""The whole trial in one strip: its first trace, its reps, and a frame around the seconds that are seen below."""

import numpy as np
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QBrush, QColor, QFontMetricsF, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from phasemark.model.clock import seconds
from phasemark.model.marks import BURST, Marks
from phasemark.signal.pyramid import columns
from phasemark.window.palette import scheme_of
from phasemark.window.traces.lane_layout import value_limits
from phasemark.window.traces.trial_picture import Lane, TrialPicture
from phasemark.window.traces.view_span import Span, kept_within, moved, whole
from phasemark.window.wrapped_text import wrapped_lines

_LOOKS = (QEvent.Type.PaletteChange, QEvent.Type.FontChange)
_EDGE_PX = 5.0
_TICK_PX = 10.0  # below the trace, for ticks
_STRONG = {BURST: "last"}  # one shade for a whole phase, seen through the veil beside the frame


class OverviewStrip(QWidget):
    """A picture and a span go in; the span that the user drags the frame to, or a picked rep, comes out.

    A press inside the frame carries it, one at its edge stretches it, one beside it brings it there.
    """

    spanWanted = Signal(object)  # Span
    repPicked = Signal(object)  # rep id

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Overview of the whole trial")
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._picture: TrialPicture | None = None
        self._marks: Marks | None = None
        self._span = Span(0.0, 1.0)
        self._left = self._right = 0.0
        self._trace = QPolygonF()
        self._drawn_for: tuple[int, int] = (0, 0)
        self._held: tuple[str, float, Span] | None = None

    def sizeHint(self) -> QSize:
        """Three lines of text high."""
        return QSize(300, round(3.2 * QFontMetricsF(self.font()).height()))

    def set_margins(self, left: float, right: float) -> None:
        """Where the traces below begin and end (px from the edges), so that the strip stands over them."""
        if (left, right) != (self._left, self._right):
            self._left, self._right = left, right
            self._drawn_for = (0, 0)
            self.update()

    def set_picture(self, picture: TrialPicture | None) -> None:
        """Show another trial."""
        self._picture, self._marks = picture, None if picture is None else picture.marks
        self._drawn_for = (0, 0)
        self._held = None
        self.update()

    def set_marks(self, marks: Marks) -> None:
        """Show other marks of the same trial."""
        self._marks = marks
        self.update()

    def set_span(self, span: Span) -> None:
        """Put the frame around other seconds."""
        if span != self._span:
            self._span = span
            self.setAccessibleDescription(f"Seen are the seconds {span.begin_s:.1f} to {span.end_s:.1f}.")
            self.update()

    # Places

    @property
    def _whole(self) -> Span:
        return whole(0.0 if self._picture is None else self._picture.duration_s)

    def _x(self, time_s: float) -> float:
        room = max(self.width() - self._left - self._right, 1.0)
        return self._left + (time_s - self._whole.begin_s) / self._whole.width_s * room

    def _time(self, x: float) -> float:
        room = max(self.width() - self._left - self._right, 1.0)
        return self._whole.begin_s + (x - self._left) / room * self._whole.width_s

    # Painting

    def paintEvent(self, event: QPaintEvent) -> None:
        """Reps below, the trace over them, the frame on top."""
        painter = QPainter(self)
        scheme = scheme_of(self.palette())
        painter.fillRect(self.rect(), scheme.base)
        picture, marks = self._picture, self._marks
        if picture is None or marks is None or not picture.lanes:
            return
        self._paint_words(painter, picture)
        self._paint_reps(painter, marks)
        if self._drawn_for != (self.width(), self.height()):
            self._trace = self._trace_of(picture.lanes[0])
            self._drawn_for = (self.width(), self.height())
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        pen = QPen(scheme.front, 1.2)
        pen.setCosmetic(True)
        painter.setPen(pen)
        painter.drawPolyline(self._trace)
        self._paint_frame(painter, scheme.base, scheme.ink)

    def _paint_words(self, painter: QPainter, picture: TrialPicture) -> None:
        """What the strip is, where the names of the lanes stand below."""
        area = QRectF(6.0, 0.0, self._left - 12.0, self.height())
        lines = wrapped_lines(f"whole trial, {picture.duration_s:.1f} s", QFontMetricsF(self.font()), area.width(), 2)
        painter.setPen(scheme_of(self.palette()).soft)
        painter.drawText(area, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, "\n".join(lines))

    def _paint_reps(self, painter: QPainter, marks: Marks) -> None:
        scheme = scheme_of(self.palette())
        assert self._picture is not None
        clock = self._picture.clock
        for rep in marks.reps:
            for phase in rep.phases:
                left, right = (self._x(seconds(b.sample, clock)) for b in (phase.begin, phase.end))
                area = QRectF(left, 2.0, right - left, self.height() - 4.0)
                painter.fillRect(area, scheme.tint(phase.name, _STRONG.get(phase.name, "upper")))
                if rep.excluded is not None:
                    painter.fillRect(area, QColor(scheme.base))
                    painter.fillRect(area, _hatched(scheme.soft))
            if rep.checked is not None:
                self._paint_tick(painter, (self._x(seconds(rep.begin, clock)) + self._x(seconds(rep.end, clock))) / 2)

    def _paint_tick(self, painter: QPainter, x: float) -> None:
        """A checked rep carries a tick."""
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(scheme_of(self.palette()).ink, 1.6))
        y = self.height() - 7.0
        painter.drawPolyline(QPolygonF([QPointF(x - 4, y), QPointF(x - 1, y + 3), QPointF(x + 4, y - 4)]))
        painter.restore()

    def _trace_of(self, lane: Lane) -> QPolygonF:
        """The lane's front trace (or its raw one), one point for the lowest and highest value of each pixel."""
        source, gain, offset = (
            (lane.envelope, 1.0, 0.0) if lane.envelope is not None else (lane.raw, lane.raw_gain, lane.raw_offset)
        )
        room = max(round(self.width() - self._left - self._right), 1)
        span = self._whole
        begin, end = lane.position_at(span.begin_s), lane.position_at(span.end_s)
        low, high = columns(source, begin, end, room)
        bottom, top = value_limits(lane)
        if lane.downward:
            bottom, top = top, bottom
        scale = (self.height() - 8.0 - _TICK_PX) / (bottom - top)
        there = np.flatnonzero(np.isfinite(low))
        heights = 4.0 + (np.stack((low, high))[:, there] * gain + offset - top) * scale
        pairs = zip(there.tolist(), heights.T.tolist(), strict=True)
        return QPolygonF([QPointF(self._left + x, y) for x, ys in pairs for y in ys])

    def _paint_frame(self, painter: QPainter, base: QColor, ink: QColor) -> None:
        left, right = self._x(self._span.begin_s), self._x(self._span.end_s)
        veil = QColor(base)
        veil.setAlphaF(0.45)
        edge_left, edge_right = self._x(self._whole.begin_s), self._x(self._whole.end_s)
        painter.fillRect(QRectF(edge_left, 0, max(left - edge_left, 0), self.height()), veil)
        painter.fillRect(QRectF(right, 0, max(edge_right - right, 0), self.height()), veil)
        painter.setPen(QPen(ink, 2.0 if self.hasFocus() else 1.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(QRectF(left + 0.5, 1.0, max(right - left - 1, 2.0), self.height() - 2.0))

    def changeEvent(self, event: QEvent) -> None:
        """Follow the system's colours and font."""
        super().changeEvent(event)
        if event.type() in _LOOKS:
            self.updateGeometry()
            self.update()

    # Gestures

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of the frame, its edge, or bring it here."""
        if self._picture is None or event.button() is not Qt.MouseButton.LeftButton:
            return
        x = event.position().x()
        part = self._part_at(x)
        if part == "beside":
            self._bring_to(self._time(x))
            part = "inside"
        self._held = (part, self._time(x), self._span)

    def _part_at(self, x: float) -> str:
        left, right = self._x(self._span.begin_s), self._x(self._span.end_s)
        if abs(x - left) <= _EDGE_PX:
            return "left"
        if abs(x - right) <= _EDGE_PX:
            return "right"
        return "inside" if left < x < right else "beside"

    def _bring_to(self, time_s: float) -> None:
        self._want(moved(self._span, time_s - (self._span.begin_s + self._span.end_s) / 2, self._whole))
        if self._picture is not None and self._marks is not None:
            for rep in self._marks.reps:
                if seconds(rep.begin, self._picture.clock) <= time_s < seconds(rep.end, self._picture.clock):
                    self.repPicked.emit(rep.id)

    def _want(self, span: Span) -> None:
        self.set_span(span)
        self.spanWanted.emit(span)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Carry or stretch the frame."""
        x = event.position().x()
        if self._held is None:
            edge = self._picture is not None and self._part_at(x) in ("left", "right")
            self.setCursor(Qt.CursorShape.SizeHorCursor if edge else Qt.CursorShape.ArrowCursor)
            return
        part, from_s, before = self._held
        by = self._time(x) - from_s
        if part == "inside":
            self._want(moved(before, by, self._whole))
            return
        ends = sorted(
            (before.begin_s + (by if part == "left" else 0.0), before.end_s + (by if part == "right" else 0.0))
        )
        self._want(kept_within(Span(*ends), self._whole, 0.002 * self._whole.width_s))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go."""
        self._held = None

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Left and right carry the frame by half of what is seen, Home and End to the ends."""
        step = {Qt.Key.Key_Left: -0.5, Qt.Key.Key_Right: 0.5, Qt.Key.Key_Home: -1e9, Qt.Key.Key_End: 1e9}
        by = step.get(Qt.Key(event.key()))
        if by is None or self._picture is None:
            super().keyPressEvent(event)
            return
        self._want(moved(self._span, by * self._span.width_s, self._whole))


def _hatched(colour: QColor) -> QBrush:
    return QBrush(colour, Qt.BrushStyle.BDiagPattern)
