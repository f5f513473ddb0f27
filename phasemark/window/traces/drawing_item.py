"""An item of the scene that paints some part of a drawing of marks, wherever it is exposed."""

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from phasemark.window.traces.device_pixels import DeviceGrid, device_grid
from phasemark.window.traces.marks_drawing import MarksDrawing


class DrawingItem(QGraphicsItem):
    """Holds the drawing; what is painted of it is up to the kind of item. Coordinates are seconds and logical px."""

    def __init__(self) -> None:
        super().__init__()
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemUsesExtendedStyleOption)
        self._drawing: MarksDrawing | None = None
        self._rect = QRectF()

    def set_drawing(self, drawing: MarksDrawing | None, rect: QRectF) -> None:
        """What to paint within which rectangle; the caller says by update() what is to be painted anew."""
        if rect != self._rect:
            self.prepareGeometryChange()
            self._rect = rect
        self._drawing = drawing

    def boundingRect(self) -> QRectF:
        """The whole recording."""
        return self._rect

    def paint(self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None) -> None:
        """Paint what is exposed, and leave the painter as it was."""
        if self._drawing is None:
            return
        exposed: QRectF = option.exposedRect
        grid = device_grid(painter.deviceTransform(), exposed)
        painter.save()
        self.paint_drawing(painter, grid, self._drawing)
        painter.restore()

    def paint_drawing(self, painter: QPainter, grid: DeviceGrid, drawing: MarksDrawing) -> None:
        """Paint this item's part of the drawing."""
        raise NotImplementedError
