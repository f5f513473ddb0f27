"""All traces of a trial as one item: drawn at device pixels from min/max pyramids.

The item's coordinates are seconds and logical pixels from the top of the view.
"""

from collections.abc import Sequence

import numpy as np
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from phasemark.model.recording import Samples
from phasemark.signal.pyramid import Pyramid, columns, gaps_in, samples_in
from phasemark.window.device_pixels import DeviceGrid, device_grid, draw_lines, enter_device_pixels
from phasemark.window.lane_layout import Band
from phasemark.window.palette import Scheme
from phasemark.window.trace_lines import bars, lone_points, ribbon, strokes
from phasemark.window.trial_picture import Lane, LaneKind

FRONT_PX = 1.6
"""Width (logical px) of an envelope or a movement trace."""
_DOTS_FROM_PX = 7.0
_OFF_SCALE_PX = 3.0


def _cosmetic(colour: QColor, width: float) -> QPen:
    pen = QPen(colour, width)
    pen.setCosmetic(True)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    return pen


class TraceItem(QGraphicsItem):
    """Paints every lane's recorded signal and, in front of it, its envelope; gaps are tinted."""

    def __init__(self, scheme: Scheme) -> None:
        super().__init__()
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemUsesExtendedStyleOption)
        self._scheme = scheme
        self._lanes: Sequence[Lane] = ()
        self._bands: Sequence[Band] = ()
        self._rect = QRectF()

    def set_lanes(self, lanes: Sequence[Lane], bands: Sequence[Band], rect: QRectF) -> None:
        """What to paint, where, and the rectangle (s, logical px) that holds all of it."""
        self.prepareGeometryChange()
        self._lanes, self._bands, self._rect = lanes, bands, rect
        self.update()

    def set_scheme(self, scheme: Scheme) -> None:
        """Other colours."""
        self._scheme = scheme
        self.update()

    def boundingRect(self) -> QRectF:
        """The whole recording."""
        return self._rect

    def paint(self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None) -> None:
        """Paint the exposed device columns of all lanes."""
        exposed: QRectF = option.exposedRect
        grid = device_grid(painter.deviceTransform(), exposed)
        if grid.last <= grid.first:
            return
        painter.save()
        enter_device_pixels(painter)
        for lane, band in zip(self._lanes, self._bands, strict=True):
            if grid.top + exposed.top() * grid.scale <= grid.y(band.bottom) + 1:
                self._paint_lane(painter, grid, lane, band)
        painter.restore()

    def _paint_lane(self, painter: QPainter, grid: DeviceGrid, lane: Lane, band: Band) -> None:
        trace = _Trace(lane, band, grid)
        painter.setClipRect(QRectF(grid.first, trace.top, grid.last - grid.first, trace.bottom - trace.top))
        for left, right in trace.gaps():
            painter.fillRect(QRectF(left, trace.top, right - left, trace.bottom - trace.top), self._scheme.gap)
        alone = lane.envelope is None and lane.kind is LaneKind.MOVEMENT
        self._paint_signal(painter, trace, lane.raw, (lane.raw_gain, lane.raw_offset), front=alone)
        if lane.envelope is not None:
            self._paint_signal(painter, trace, lane.envelope, (1.0, 0.0), front=True)

    def _paint_signal(
        self, painter: QPainter, trace: "_Trace", pyramid: Pyramid, scaling: tuple[float, float], *, front: bool
    ) -> None:
        width = FRONT_PX * trace.grid.scale if front else 1.0
        pen = _cosmetic(self._scheme.front if front else self._scheme.raw, width)
        painter.setPen(pen)
        if trace.samples_per_px < 1:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
            self._paint_samples(painter, trace, pyramid, scaling, width)
            return
        top, bottom = trace.column_heights(pyramid, scaling)
        if front:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
            smooth, upright = ribbon(top, bottom, trace.grid.first, width)
            draw_lines(painter, smooth)
            painter.setPen(_cosmetic(self._scheme.front, 1.0))
        else:
            upright = bars(trace.kept(top), trace.kept(bottom), trace.grid.first)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        draw_lines(painter, upright)
        self._paint_off_scale(painter, trace, top, bottom)

    def _paint_samples(
        self, painter: QPainter, trace: "_Trace", pyramid: Pyramid, scaling: tuple[float, float], width: float
    ) -> None:
        x, y = trace.points(pyramid, scaling)
        draw_lines(painter, strokes(x, y))
        wide = trace.samples_per_px * _DOTS_FROM_PX * trace.grid.scale < 1
        dots = np.flatnonzero(np.isfinite(y)) if wide else lone_points(y)
        if len(dots):
            pen = _cosmetic(painter.pen().color(), max(3.0 * trace.grid.scale, width + 1))
            pen.setCapStyle(Qt.PenCapStyle.RoundCap)
            painter.setPen(pen)
            draw_lines(painter, np.column_stack((x[dots], y[dots], x[dots] + 0.01, y[dots])))

    def _paint_off_scale(self, painter: QPainter, trace: "_Trace", top: Samples, bottom: Samples) -> None:
        """A thick edge wherever values go beyond the lane's scale."""
        mark = _OFF_SCALE_PX * trace.grid.scale
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        for beyond, edge in ((top < trace.top, trace.top), (bottom > trace.bottom, trace.bottom - mark)):
            where = np.flatnonzero(beyond)
            if len(where):
                painter.setPen(_cosmetic(self._scheme.front, 1.0))
                x = where + (trace.grid.first + 0.5)
                draw_lines(painter, np.column_stack((x, np.full(len(x), edge), x, np.full(len(x), edge + mark))))


class _Trace:
    """One lane on the device grid: heights of values, positions of columns."""

    def __init__(self, lane: Lane, band: Band, grid: DeviceGrid) -> None:
        self.lane, self.band, self.grid = lane, band, grid
        self.top, self.bottom = grid.y(band.top), grid.y(band.bottom)
        self.begin, self.end = lane.position_at(grid.time_at(grid.first)), lane.position_at(grid.time_at(grid.last))
        self.samples_per_px = (self.end - self.begin) / (grid.last - grid.first)

    def heights(self, values: Samples, scaling: tuple[float, float]) -> Samples:
        """Device heights of values; those far off the lane's scale are brought near it."""
        gain, offset = scaling
        per_unit = self.band.px_per_unit * self.grid.scale
        reach = 4 * (self.bottom - self.top)
        heights = self.bottom - (values * gain + (offset - self.band.at_bottom)) * per_unit
        return np.clip(heights, self.top - reach, self.bottom + reach)

    def kept(self, heights: Samples) -> Samples:
        """Heights kept within the lane."""
        return np.clip(heights, self.top, self.bottom)

    def column_heights(self, pyramid: Pyramid, scaling: tuple[float, float]) -> tuple[Samples, Samples]:
        """Heights of the highest and lowest sample of each exposed column."""
        low, high = columns(pyramid, self.begin, self.end, self.grid.last - self.grid.first)
        one, other = self.heights(high, scaling), self.heights(low, scaling)
        return (one, other) if scaling[0] * self.band.px_per_unit >= 0 else (other, one)

    def points(self, pyramid: Pyramid, scaling: tuple[float, float]) -> tuple[Samples, Samples]:
        """Device positions of the exposed samples and their neighbours."""
        first, values = samples_in(pyramid, self.begin, self.end)
        indices = np.arange(first, first + len(values), dtype=np.float64)
        x = self.grid.first + (indices - self.begin) / self.samples_per_px
        return x, self.heights(values, scaling)

    def gaps(self) -> list[tuple[float, float]]:
        """Left and right device edge of each exposed gap, at least a pixel wide; those of one pixel are drawn once."""
        edges: list[tuple[float, float]] = []
        for begin, end in gaps_in(self.lane.raw, self.begin, self.end):
            left = self.grid.first + (begin - self.begin) / self.samples_per_px
            right = max(self.grid.first + (end - self.begin) / self.samples_per_px, left + 1)
            if edges and left < edges[-1][1]:
                edges[-1] = (edges[-1][0], max(right, edges[-1][1]))
            else:
                edges.append((left, right))
        return edges
