"""The mouse on the traces: what was pressed, dragged, clicked or turned, told as signals. It changes nothing itself.

An invisible item on top of all others takes real mouse events, so that a press is told from a drag here
and not by a time limit of the plot library, and one drag gives exactly one end.
"""

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QRectF, Qt, Signal
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import (
    QGraphicsObject,
    QGraphicsSceneHoverEvent,
    QGraphicsSceneMouseEvent,
    QGraphicsSceneWheelEvent,
    QStyleOptionGraphicsItem,
    QWidget,
)

from phasemark.window.mark_lines import MarkLine

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

    def mousePressEvent(self, event: QGraphicsSceneMouseEvent) -> None:
        """Take hold of a boundary or of the view; the right button lets a boundary go."""
        if event.button() is Qt.MouseButton.RightButton:
            self.cancel()
            return
        if self._press is not None:
            return
        x = event.scenePos().x()
        line = self._line_at(x) if event.button() is Qt.MouseButton.LeftButton else None
        grip = 0 if line is None else line.sample - self._sample_at(x)
        self._press = _Press(x, x, line, grip, sample=0 if line is None else line.sample)
        self.pressed.emit(line)

    def mouseMoveEvent(self, event: QGraphicsSceneMouseEvent) -> None:
        """Carry the boundary or the view along."""
        press = self._press
        if press is None or press.dropped:
            return
        x = event.scenePos().x()
        if not press.dragging:
            if abs(x - press.x) < DRAG_FROM_PX:
                return
            press.dragging = True
            if press.line is None:
                self.setCursor(Qt.CursorShape.ClosedHandCursor)
            else:
                self.dragStarted.emit(press.line)
        if press.line is None:
            by = round(x - press.last_x)  # whole pixels; a pen's parts of them are not lost
            press.last_x += by
            self.panned.emit(by)
            return
        sample = self._sample_at(x) + press.grip
        if sample != press.sample:
            press.sample = sample
            self.dragMoved.emit(press.line, sample)

    def mouseReleaseEvent(self, event: QGraphicsSceneMouseEvent) -> None:
        """Let go; a boundary's drag ends here, once."""
        press = self._press
        if press is None or event.buttons() & (Qt.MouseButton.LeftButton | Qt.MouseButton.MiddleButton):
            return
        self._press = None
        if press.line is None:
            self.unsetCursor()
            if not press.dragging and event.button() is Qt.MouseButton.LeftButton:
                self.clicked.emit(press.x)
        elif press.dragging and not press.dropped:
            self.dragFinished.emit(press.line, press.sample)
        self._hover(event.scenePos().x())

    def sceneEvent(self, event: QEvent) -> bool:
        """The mouse may be taken away in the middle of a drag (another window opens): then nothing is moved."""
        if event.type() is QEvent.Type.UngrabMouse:
            self.cancel()
            self._press = None
        return super().sceneEvent(event)

    def hoverMoveEvent(self, event: QGraphicsSceneHoverEvent) -> None:
        """Show what a press would take hold of."""
        self._hover(event.scenePos().x())

    def hoverLeaveEvent(self, event: QGraphicsSceneHoverEvent) -> None:
        """Nothing is under the cursor."""
        self.hovered.emit(None)

    def _hover(self, x: float) -> None:
        line = self._line_at(x)
        self.setCursor(Qt.CursorShape.SplitHCursor if line is not None else Qt.CursorShape.ArrowCursor)
        self.hovered.emit(line)

    def wheelEvent(self, event: QGraphicsSceneWheelEvent) -> None:
        """Zoom about the cursor; a sideways wheel, or Shift with the wheel, moves the view."""
        steps = event.delta() / WHEEL_STEP
        sideways = event.orientation() is Qt.Orientation.Horizontal
        if sideways or event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
            self.panned.emit(steps * 80.0)
        else:
            self.zoomed.emit(steps, event.scenePos().x())
        event.accept()
