"""A view of a few large items that moves and zooms them by one transform, and never scrolls itself."""

from collections.abc import Callable

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QResizeEvent, QTransform
from PySide6.QtWidgets import (
    QFrame,
    QGraphicsItem,
    QGraphicsScene,
    QGraphicsView,
    QStyleOptionGraphicsItem,
    QWidget,
)


class _Ground(QGraphicsItem):
    """Carries the items; nothing is seen of it."""

    def boundingRect(self) -> QRectF:
        """Nothing."""
        return QRectF()

    def paint(self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None) -> None:
        """Nothing."""


class CanvasView(QGraphicsView):
    """Shows items on a ground; scene coordinates are logical pixels of the view."""

    def __init__(self, base: QColor, resized: Callable[[], None]) -> None:
        super().__init__()
        self._scene = QGraphicsScene(self)
        self._scene.setItemIndexMethod(QGraphicsScene.ItemIndexMethod.NoIndex)
        self._ground = _Ground()
        self._scene.addItem(self._ground)
        self._resized = resized
        self.setScene(self._scene)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        self.setOptimizationFlag(QGraphicsView.OptimizationFlag.DontSavePainterState)  # each item restores it
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        # The view's own brush fills all of it; filling it with the widget's before that shows nothing.
        self.viewport().setAutoFillBackground(False)
        self.viewport().setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.set_base(base)

    def set_base(self, colour: QColor) -> None:
        """The colour behind everything."""
        self.setBackgroundBrush(colour)

    def add(self, item: QGraphicsItem, height: int) -> None:
        """Put an item on the ground, above those of a lower height."""
        item.setParentItem(self._ground)
        item.setZValue(height)

    def place(self, left: float, px_per_unit: float) -> None:
        """Show the ground's 0 at a place (logical px) and its units so many pixels wide; heights are pixels."""
        self._ground.setTransform(QTransform.fromScale(px_per_unit, 1.0) * QTransform.fromTranslate(left, 0.0))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep scene and viewport the same, and tell."""
        super().resizeEvent(event)
        self.setSceneRect(QRectF(self.viewport().rect()))
        self._resized()
