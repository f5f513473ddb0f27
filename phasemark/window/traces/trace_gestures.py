"""The mouse on the traces: what was pressed, dragged, clicked or turned, told as signals. It changes nothing itself.

An invisible item on top of all others takes real mouse events, so that a press is told from a drag here
and not by a time limit of the plot library, and one drag gives exactly one end.
"""

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import (
    QGraphicsObject,
    QGraphicsSceneHoverEvent,
    QGraphicsSceneMouseEvent,
    QGraphicsSceneWheelEvent,
    QStyleOptionGraphicsItem,
    QWidget,
)

from phasemark.window.traces.mark_lines import MarkLine

DRAG_FROM_PX = 3.0
"""A press that moves less than this (logical px) is a click."""
WHEEL_STEP = 120.0
"""Eighths of a degree in one step of an ordinary wheel (Qt's QWheelEvent)."""


@dataclass(slots=True)
class _Press:
    """The mouse button is down: where, on which boundary, and what became of it."""

    x: float
    last_x: float
    line: MarkLine | None
    grip: int  # samples from the cursor to the boundary, so that it does not jump under the cursor
    dragging: bool = False
    dropped: bool = False
    sample: int = 0
    begin: int | None = None  # where a stretch that is being chosen begins


class TraceGestures(QGraphicsObject):
    """Takes the mouse over the whole view.

    line_at and sample_at say which boundary and which sample of the clock lie under a place (logical px from
    the left edge of the view).
    """

    hovered = Signal(object)  # MarkLine or None
    pressed = Signal(object)  # MarkLine or None, before anything else
    dragStarted = Signal(object)  # MarkLine
    dragMoved = Signal(object, object)  # MarkLine, sample
    dragFinished = Signal(object, object)  # MarkLine, sample
    dragCancelled = Signal(object)  # MarkLine
    clicked = Signal(float)  # x of a click on no boundary
    panned = Signal(float)  # px to the right
    pointed = Signal(object)  # QPointF where the mouse is, or None
    stretchMoved = Signal(object)  # two samples in any order, or None when the stretch was let go
    stretchChosen = Signal(object, object)  # begin, end
    stretchDropped = Signal()
    zoomed = Signal(float, float)  # wheel steps toward the user's screen, x

    def __init__(self, line_at: Callable[[float], MarkLine | None], sample_at: Callable[[float], int]) -> None:
        super().__init__()
        self.setAcceptHoverEvents(True)
        self.setAcceptedMouseButtons(
            Qt.MouseButton.LeftButton | Qt.MouseButton.MiddleButton | Qt.MouseButton.RightButton
        )
        self._line_at, self._sample_at = line_at, sample_at
        self._rect = QRectF()
        self._press: _Press | None = None
        self._asking = False
        self.free = False
        """Alt is held: what is dragged goes anywhere."""

    def set_rect(self, rect: QRectF) -> None:
        """Where the mouse is taken."""
        self.prepareGeometryChange()
        self._rect = rect

    def boundingRect(self) -> QRectF:
        """Where the mouse is taken."""
        return self._rect

    def paint(self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None) -> None:
        """Nothing is seen of it."""

    @property
    def dragged(self) -> MarkLine | None:
        """The boundary that is being dragged."""
        press = self._press
        return press.line if press is not None and press.dragging and not press.dropped else None

    def cancel(self) -> bool:
        """Drop a boundary that is being dragged, so that it goes back; whether there was one."""
        line = self.dragged
        if self._press is None or line is None:
            return False
        self._press.dropped = True
        self.dragCancelled.emit(line)
        return True

    def ask_stretch(self) -> None:
        """Until one is chosen or dropped, a drag chooses a stretch instead of moving a boundary or the view."""
        self.cancel()
        self._asking = True
        self.setCursor(Qt.CursorShape.CrossCursor)

    @property
    def asking(self) -> bool:
        """Whether a stretch is to be chosen."""
        return self._asking

    def drop_stretch(self) -> bool:
        """Choose no stretch; whether one was to be chosen."""
        if not self._asking:
            return False
        self._asking = False
        if self._press is not None and self._press.begin is not None:
            self._press.dropped = True
        self.unsetCursor()
        self.stretchDropped.emit()
        return True

    def choose(self, begin: int, end: int) -> None:
        """Choose a stretch that was shown otherwise than by the mouse, whose ends come in any order."""
        self._asking = False
        self.unsetCursor()
        self.stretchChosen.emit(*sorted((begin, end)))

    def pull(self, width: float, reach: float) -> float:
        """How far what is dragged is in the zone at an edge of the view, -1 (left) to 1; 0 where it is not.

        Only an edge toward which the mouse was moved pulls; width and reach (logical px) are those of view and zone.
        """
        press = self._press
        if press is None or not press.dragging or press.dropped or (press.line is None and press.begin is None):
            return 0.0
        if press.last_x > press.x:
            return min(max((press.last_x - (width - reach)) / reach, 0.0), 1.0)
        return -min(max((reach - press.last_x) / reach, 0.0), 1.0)

    def carry_on(self) -> None:
        """The view has moved under the mouse: what is dragged goes along."""
        press = self._press
        if press is not None and press.dragging and not press.dropped:
            self._carry(press)

    def set_free(self, free: bool) -> None:
        """Alt was pressed or let go; where a boundary is dragged that is told as another move of it."""
        if free != self.free:
            self.free = free
            line = self.dragged
            if line is not None and self._press is not None:
                self.dragMoved.emit(line, self._press.sample)

    def mousePressEvent(self, event: QGraphicsSceneMouseEvent) -> None:
        """Take hold of a boundary, a stretch or the view; the right button lets go of what was asked or dragged."""
        if event.button() is Qt.MouseButton.RightButton:
            if not self.cancel():
                self.drop_stretch()
            return
        if self._press is not None:
            return
        x = event.scenePos().x()
        left = event.button() is Qt.MouseButton.LeftButton
        if left and self._asking:
            self._press = _Press(x, x, None, 0, begin=self._sample_at(x))
            self.pressed.emit(None)
            return
        line = self._line_at(x) if left else None
        grip = 0 if line is None else line.sample - self._sample_at(x)
        self._press = _Press(x, x, line, grip, sample=0 if line is None else line.sample)
        self.free = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier)
        self.pressed.emit(line)

    def mouseMoveEvent(self, event: QGraphicsSceneMouseEvent) -> None:
        """Carry the boundary, the stretch's end or the view along."""
        press, at = self._press, event.scenePos()
        if press is None or press.dropped:
            self.pointed.emit(at)
            return
        self.free = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier)
        if not press.dragging and abs(at.x() - press.x) >= DRAG_FROM_PX:
            self._begin_drag(press)
        if press.dragging and press.line is None and press.begin is None:
            by = round(at.x() - press.last_x)  # whole pixels; a pen's parts of them are not lost
            press.last_x += by
            self.panned.emit(by)
        elif press.dragging:
            press.last_x = at.x()
            self._carry(press)
        self.pointed.emit(at)

    def _begin_drag(self, press: _Press) -> None:
        press.dragging = True
        if press.line is not None:
            self.dragStarted.emit(press.line)
        elif press.begin is None:
            self.setCursor(Qt.CursorShape.ClosedHandCursor)

    def _carry(self, press: _Press) -> None:
        sample = self._sample_at(press.last_x) + press.grip
        if sample == press.sample:
            return
        press.sample = sample
        if press.line is not None:
            self.dragMoved.emit(press.line, sample)
        elif press.begin is not None:
            self.stretchMoved.emit((press.begin, sample))

    def mouseReleaseEvent(self, event: QGraphicsSceneMouseEvent) -> None:
        """Let go; a boundary's drag, or the choice of a stretch, ends here, once."""
        press = self._press
        if press is None or event.buttons() & (Qt.MouseButton.LeftButton | Qt.MouseButton.MiddleButton):
            return
        self._press = None
        if press.begin is not None:
            self._end_stretch(press)
        elif press.line is None:
            self.unsetCursor()
            if not press.dragging and event.button() is Qt.MouseButton.LeftButton:
                self.clicked.emit(press.x)
        elif press.dragging and not press.dropped:
            self.dragFinished.emit(press.line, press.sample)
        self._hover(event.scenePos())

    def _end_stretch(self, press: _Press) -> None:
        if press.dropped or press.begin is None:
            return
        if not press.dragging or press.sample == press.begin:
            self.stretchMoved.emit(None)  # a click chooses nothing
            return
        self._asking = False
        self.stretchChosen.emit(*sorted((press.begin, press.sample)))

    def sceneEvent(self, event: QEvent) -> bool:
        """The mouse may be taken away in the middle of a drag (another window opens): then nothing is moved."""
        if event.type() is QEvent.Type.UngrabMouse:
            self.cancel()
            if self._press is not None and self._press.begin is not None:
                self.drop_stretch()
            self._press = None
        return super().sceneEvent(event)

    def hoverMoveEvent(self, event: QGraphicsSceneHoverEvent) -> None:
        """Show what a press would take hold of."""
        self._hover(event.scenePos())

    def hoverLeaveEvent(self, event: QGraphicsSceneHoverEvent) -> None:
        """Nothing is under the cursor."""
        self.hovered.emit(None)
        self.pointed.emit(None)

    def _hover(self, at: QPointF) -> None:
        if self._asking:
            self.setCursor(Qt.CursorShape.CrossCursor)
        else:
            line = self._line_at(at.x())
            self.setCursor(Qt.CursorShape.SplitHCursor if line is not None else Qt.CursorShape.ArrowCursor)
            self.hovered.emit(line)
        self.pointed.emit(at)

    def wheelEvent(self, event: QGraphicsSceneWheelEvent) -> None:
        """Zoom about the cursor; a sideways wheel, or Shift with the wheel, moves the view."""
        steps = event.delta() / WHEEL_STEP
        sideways = event.orientation() is Qt.Orientation.Horizontal
        if sideways or event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
            self.panned.emit(steps * 80.0)
        else:
            self.zoomed.emit(steps, event.scenePos().x())
        event.accept()
