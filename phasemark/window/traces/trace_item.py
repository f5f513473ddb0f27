"""All traces of a trial as one item; its coordinates are seconds and logical pixels from the top of the view."""

from collections.abc import Sequence

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from phasemark.window.palette import Scheme
from phasemark.window.traces.device_pixels import device_grid, enter_device_pixels
from phasemark.window.traces.lane_layout import Band
from phasemark.window.traces.trace_layer import TraceLayer, colours_of
from phasemark.window.traces.trial_picture import Lane


class TraceItem(QGraphicsItem):
    """Shows every lane's recorded signal and, in front of it, its envelope; gaps are tinted."""

    def __init__(self, scheme: Scheme) -> None:
        super().__init__()
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemUsesExtendedStyleOption)
        self._scheme = scheme
        self._layer = TraceLayer()
        self._rect = QRectF()

    def set_lanes(self, lanes: Sequence[Lane], bands: Sequence[Band], rect: QRectF) -> None:
        """What to show, where, and the rectangle (s, logical px) that holds all of it."""
        self.prepareGeometryChange()
        self._rect = rect
        self._layer.set_lanes(lanes, bands, colours_of(self._scheme))
        self.update()

    def set_scheme(self, scheme: Scheme) -> None:
        """Other colours, from the next set_lanes on."""
        self._scheme = scheme

    def boundingRect(self) -> QRectF:
        """The whole recording."""
        return self._rect

    def paint(self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None) -> None:
        """Show the exposed device columns of all lanes."""
        exposed: QRectF = option.exposedRect
        grid = device_grid(painter.deviceTransform(), exposed)
        if grid.last <= grid.first:
            return
        painter.save()
        enter_device_pixels(painter)
        self._layer.show(painter, grid, self._rect.bottom())
        painter.restore()
