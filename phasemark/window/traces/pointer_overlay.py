"""Cursor, snap marks and the stretch being chosen, as one item on top of all others.

The cursor is a hairline with a ring on each value that is read; what a boundary may snap to is a small notch at the
top of the lanes, what it will snap to a filled one with a broken guide through the lanes and its word.
"""

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen, QPolygonF, QTransform
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from phasemark.phases.snapping import Candidate
from phasemark.window.traces.lane_gutter import wrapped
from phasemark.window.traces.marks_drawing import MarksDrawing
from phasemark.window.traces.pointer_drawing import Pointer, length_text

_AIR = 5.0
_RING = 3.0
_NOTCH = 4.0
_ROOM = 8  # logical px to either side of a place that cursor, ring or notch take


@dataclass(frozen=True, slots=True)
class _Frame:
    """The lanes that are painted on, and where samples lie on the view (logical px)."""

    drawing: MarksDrawing
    left: float
    px_per_s: float

    def x(self, sample: int) -> float:
        return self.left + self.drawing.time(sample) * self.px_per_s

    def coming(self, pointer: Pointer) -> Candidate | None:
        return pointer.coming(float(self.drawing.clock) / self.px_per_s)

    def stripe(self, sample: int | None) -> list[QRect]:
        if sample is None:
            return []
        top = int(self.drawing.header) - _ROOM
        return [QRect(round(self.x(sample)) - _ROOM, top, 2 * _ROOM, int(self.drawing.height) - top)]


def _changes(frame: _Frame, before: Pointer, after: Pointer, row: float) -> list[QRect]:
    """The stretches of the view (logical px) on which two pointers differ."""
    drawing, rects = frame.drawing, []
    if (before.cursor, before.dots) != (after.cursor, after.dots):
        rects += [*frame.stripe(before.cursor), *frame.stripe(after.cursor)]
    snapping = [(p.snaps, p.near, p.target, p.free) for p in (before, after)]
    if snapping[0] != snapping[1]:
        above = int(row + 2 * _AIR)
        rects.append(QRect(0, int(drawing.header) - above, int(drawing.width) + 1, above + 2 * _ROOM))
        for coming in (frame.coming(before), frame.coming(after)):
            rects += frame.stripe(None if coming is None else coming.sample)
    if before.start != after.start:
        rects += [*frame.stripe(before.start), *frame.stripe(after.start)]
    if (before.stretch, before.prompt) != (after.stretch, after.prompt):
        rects.append(QRect(0, 0, int(drawing.width) + 1, int(drawing.height) + 1))
    return rects


class PointerOverlay(QGraphicsItem):
    """Paints a Pointer in logical pixels of the view."""

    def __init__(self, font: QFont) -> None:
        super().__init__()
        self._font = font
        self._rect = QRectF()
        self._drawing: MarksDrawing | None = None
        self._pointer = Pointer()

    def set_font(self, font: QFont) -> None:
        """The font of words and lengths."""
        self._font = font

    def set_drawing(self, drawing: MarksDrawing | None, rect: QRectF) -> None:
        """On which lanes to paint, within which rectangle (s, logical px)."""
        if rect != self._rect:
            self.prepareGeometryChange()
            self._rect = rect
        self._drawing = drawing

    def set_pointer(self, pointer: Pointer, left: float, px_per_s: float) -> list[QRect]:
        """What to paint, and on which stretches of the view (logical px) that changes it.

        left is the place of time 0 on the view.
        """
        before, self._pointer = self._pointer, pointer
        if self._drawing is None or before == pointer:
            return []
        return _changes(_Frame(self._drawing, left, px_per_s), before, pointer, QFontMetricsF(self._font).height())

    def boundingRect(self) -> QRectF:
        """The whole recording."""
        return self._rect

    def paint(self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None) -> None:
        """Paint the pointer."""
        if self._drawing is None or self._pointer == Pointer():
            return
        place = painter.worldTransform()
        painter.save()
        painter.resetTransform()
        painter.setFont(self._font)
        frame = _Frame(self._drawing, place.m31(), place.m11())
        _Brush(painter, frame, painter.deviceTransform(), self._pointer).paint()
        painter.restore()


class _Brush:
    def __init__(self, painter: QPainter, frame: _Frame, device: QTransform, pointer: Pointer) -> None:
        self.painter, self.frame, self.pointer = painter, frame, pointer
        self.drawing, self.scheme, self.scale = frame.drawing, frame.drawing.scheme, device.m11()
        self.metrics = QFontMetricsF(painter.font())

    def paint(self) -> None:
        pointer = self.pointer
        if pointer.stretch is not None:
            self.paint_stretch(pointer.stretch)
        if pointer.cursor is not None:
            self.paint_cursor(pointer.cursor)
        if pointer.start is not None:
            self.paint_start(pointer.start)
        if pointer.snaps and not pointer.free:
            self.paint_snaps()
        if pointer.prompt:
            self.paint_prompt()

    def column(self, sample: int) -> float:
        """Left edge (logical px) of the device column of a sample, where its boundary would be drawn."""
        return (self.frame.x(sample) * self.scale // 1) / self.scale

    def upright(self, sample: int, colour: QColor) -> None:
        """A line of one device pixel or, on fine displays, of one logical pixel through all lanes."""
        wide = max(1, int(self.scale)) / self.scale
        top = self.drawing.header
        self.painter.fillRect(QRectF(self.column(sample), top, wide, self.drawing.height - top), colour)

    def paint_cursor(self, sample: int) -> None:
        self.upright(sample, self.scheme.soft)
        self.painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        self.painter.setPen(QPen(self.scheme.ink, 1.4))
        self.painter.setBrush(self.scheme.base)
        at = self.column(sample) + 0.5
        for height in self.pointer.dots:
            self.painter.drawEllipse(QPointF(at, height), _RING, _RING)

    def paint_start(self, sample: int) -> None:
        """Where the dragged boundary was: a broken line under an empty lozenge, the form of one that is selected."""
        x, top = self.column(sample) + 0.5, self.drawing.header
        pen = QPen(self.scheme.ink, 1)
        pen.setDashPattern([6.0, 4.0])
        self.painter.setPen(pen)
        self.painter.drawLine(QPointF(x, top), QPointF(x, self.drawing.height))
        half = 1.2 * _NOTCH
        corners = [QPointF(x, top - half), QPointF(x + half, top), QPointF(x, top + half), QPointF(x - half, top)]
        self.painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        self.painter.setPen(QPen(self.scheme.ink, 1.4))
        self.painter.setBrush(self.scheme.base)
        self.painter.drawPolygon(QPolygonF(corners))

    def paint_snaps(self) -> None:
        coming = self.frame.coming(self.pointer)
        self.painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        for candidate in self.pointer.snaps:
            if candidate != coming and -_NOTCH < self.frame.x(candidate.sample) < self.drawing.width + _NOTCH:
                self.paint_notch(candidate.sample, _NOTCH, filled=False)
        if coming is not None:
            self.paint_coming(coming, reached=coming == self.pointer.target)

    def paint_notch(self, sample: int, half: float, *, filled: bool) -> None:
        """A notch that hangs from the top of the lanes."""
        x, y = self.column(sample) + 0.5, self.drawing.header + 1
        corners = QPolygonF([QPointF(x - half, y), QPointF(x, y + 1.6 * half), QPointF(x + half, y)])
        self.painter.setPen(QPen(self.scheme.ink, 1.4))
        self.painter.setBrush(self.scheme.ink if filled else self.scheme.base)
        self.painter.drawPolygon(corners)

    def paint_coming(self, candidate: Candidate, *, reached: bool) -> None:
        """What the boundary will snap to: guide, notch and word; the notch is filled once it has."""
        x, top = self.column(candidate.sample) + 0.5, self.drawing.header
        if not reached:  # afterwards the boundary itself is there
            pen = QPen(self.scheme.ink, 1)
            pen.setDashPattern([2.0, 3.0])
            self.painter.setPen(pen)
            self.painter.drawLine(QPointF(x, top), QPointF(x, self.drawing.height))
        self.paint_notch(candidate.sample, 1.5 * _NOTCH, filled=reached)
        self.plate(x + 2 * _NOTCH, top - self.metrics.height() - 4, candidate.word, strong=reached)

    def plate(self, x: float, y: float, text: str, *, strong: bool = False) -> None:
        """A text on a ground of its own, right of a place or left of it where there is no room."""
        wide = self.metrics.horizontalAdvance(text) + 2 * _AIR
        if x + wide > self.drawing.width:
            x = max(x - 4 * _NOTCH - wide, 0.0)
        box = QRectF(x, y, wide, self.metrics.height() + 2)
        self.painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        self.painter.setPen(Qt.PenStyle.NoPen if strong else QPen(self.scheme.soft, 1))
        self.painter.setBrush(self.scheme.ink if strong else self.scheme.base)
        self.painter.drawRoundedRect(box, 3, 3)
        self.painter.setPen(self.scheme.base if strong else self.scheme.ink)
        self.painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), text)

    def paint_stretch(self, stretch: tuple[int, int]) -> None:
        left, right = (self.column(sample) for sample in sorted(stretch))
        veil = QColor(self.scheme.ink)
        veil.setAlphaF(0.14)
        top, high = self.drawing.header, self.drawing.height - self.drawing.header
        self.painter.fillRect(QRectF(left, top, right - left, high), veil)
        for sample in stretch:
            self.upright(sample, self.scheme.ink)
        text = length_text(stretch, self.drawing.clock)
        wide = self.metrics.horizontalAdvance(text) + 2 * _AIR
        middle = (max(left, 0.0) + min(right, self.drawing.width)) / 2
        inside = right - left > wide + 2 * _AIR
        self.plate(middle - wide / 2 if inside else right + _AIR, self.drawing.height - 2 * self.metrics.height(), text)

    def paint_prompt(self) -> None:
        """What is asked for, in the strip above the lanes, in place of the reps' numbers."""
        width, header, row = self.drawing.width, self.drawing.header, self.metrics.height()
        self.painter.fillRect(QRectF(0, 0, width, header - row / 2), self.scheme.base)
        texts = wrapped(self.pointer.prompt, self.metrics, width - 4 * _AIR, 2)
        wide = max(self.metrics.horizontalAdvance(text) for text in texts) + 4 * _AIR
        box = QRectF((width - wide) / 2, 1, wide, row * len(texts) + 2)
        self.painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        self.painter.setPen(Qt.PenStyle.NoPen)
        self.painter.setBrush(self.scheme.ink)
        self.painter.drawRoundedRect(box, 3, 3)
        self.painter.setPen(self.scheme.base)
        self.painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), "\n".join(texts))
