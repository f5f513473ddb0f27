"""Stretches over the lanes: those that a person placed for a purpose, with their names, and edges of the filters.

A placed one has a bracket along the foot of its lanes, and its name there. Where filtered values rest partly on what
nobody recorded (at the ends of a trial and beside gaps) the trace is veiled and the stretch dotted.
"""

from bisect import bisect_left, bisect_right
from math import ceil, floor

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QFontMetricsF, QPainter, QTransform

from phasemark.model.clock import seconds
from phasemark.window.traces.device_pixels import DeviceGrid, enter_device_pixels
from phasemark.window.traces.drawing_item import DrawingItem
from phasemark.window.traces.lane_layout import Band
from phasemark.window.traces.marks_drawing import MarksDrawing
from phasemark.window.traces.trial_picture import Lane, LaneKind, PlacedStretch

EDGE_WORDS = (
    "The filters lack samples on one side here, at an end of the signal or beside a gap: "
    "filtered values rest partly on its reflection."
)
_VEIL = 0.55
_BAR_PX = 3.0
_AIR_PX = 3.0


class LaneStretchesItem(DrawingItem):
    """Paints edges and placed stretches of a drawing over the traces."""

    def __init__(self, font: QFont) -> None:
        super().__init__()
        self._font = font

    def set_font(self, font: QFont) -> None:
        """The font of the names of stretches."""
        self._font = font

    def paint_drawing(self, painter: QPainter, grid: DeviceGrid, drawing: MarksDrawing) -> None:
        """The veils, then the placed stretches with their names."""
        enter_device_pixels(painter)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        for lane, band in zip(drawing.lanes, drawing.bands, strict=True):
            _paint_edges(painter, grid, drawing, lane, band)
        painter.setFont(self._font)
        for stretch in drawing.stretches:
            _paint_stretch(painter, grid, drawing, stretch)


def _columns(grid: DeviceGrid, begin_s: float, end_s: float) -> tuple[int, int] | None:
    """The device columns of a stretch that are exposed; None where none is."""
    left, right = floor(grid.x(begin_s)), ceil(grid.x(end_s))
    left, right = max(left, grid.first - 1), min(max(right, left + 1), grid.last + 1)
    return (left, right) if left < right else None


def _paint_edges(painter: QPainter, grid: DeviceGrid, drawing: MarksDrawing, lane: Lane, band: Band) -> None:
    exposed = _exposed(lane, grid.time_at(grid.first), grid.time_at(grid.last))
    if not exposed:
        return
    veil = QColor(drawing.scheme.base)
    veil.setAlphaF(_VEIL)
    dots = QBrush(drawing.scheme.soft, Qt.BrushStyle.Dense6Pattern)
    dots.setTransform(QTransform.fromScale(grid.scale, grid.scale))
    for begin, end in exposed:
        columns = _columns(grid, lane.time_of(begin), lane.time_of(end))
        if columns is not None:
            top, bottom = round(grid.y(band.top)), round(grid.y(band.bottom))
            box = QRectF(columns[0], top, columns[1] - columns[0], bottom - top)
            painter.fillRect(box, veil)
            painter.fillRect(box, dots)


def _exposed(lane: Lane, begin_s: float, end_s: float) -> tuple[tuple[int, int], ...]:
    """The edges of a lane, in order of time and apart, that reach into a stretch of time."""
    first = bisect_left(lane.edges, lane.position_at(begin_s), key=lambda edge: edge[1])
    last = bisect_right(lane.edges, lane.position_at(end_s), key=lambda edge: edge[0])
    return lane.edges[first:last]


def _paint_stretch(painter: QPainter, grid: DeviceGrid, drawing: MarksDrawing, stretch: PlacedStretch) -> None:
    begin_s, end_s = drawing.time(stretch.begin), drawing.time(stretch.end)
    columns = _columns(grid, begin_s, end_s)
    places = lanes_of(drawing, stretch)
    if columns is None or not places:
        return
    ink, bar, wide = drawing.scheme.ink, round(_BAR_PX * grid.scale), max(1, round(grid.scale))
    for place in places:
        band = drawing.bands[place]
        top, bottom = round(grid.y(band.top)), round(grid.y(band.bottom))
        painter.fillRect(QRectF(columns[0], bottom - bar, columns[1] - columns[0], bar), ink)
        for x in (floor(grid.x(begin_s)), ceil(grid.x(end_s)) - wide):
            if grid.first - wide <= x <= grid.last:
                painter.fillRect(QRectF(x, top + (bottom - top) // 2, wide, bottom - top - (bottom - top) // 2), ink)
    _paint_name(painter, grid, drawing, stretch, drawing.bands[places[0]])


def _paint_name(painter: QPainter, grid: DeviceGrid, drawing: MarksDrawing, stretch: PlacedStretch, band: Band) -> None:
    """The name above the bracket of the uppermost lane, as far as the stretch is wide or a little beyond."""
    metrics, scale = QFontMetricsF(painter.font()), grid.scale
    wide, high = metrics.horizontalAdvance(stretch.words) + 2 * _AIR_PX, metrics.height()
    left = max(grid.x(drawing.time(stretch.begin)), 0.0)
    painter.save()
    painter.translate(left, round(grid.y(band.bottom)) - round((_BAR_PX + high) * scale))
    painter.scale(scale, scale)
    painter.fillRect(QRectF(0, 0, wide, high), drawing.scheme.ink)
    painter.setPen(drawing.scheme.base)
    painter.drawText(QPointF(_AIR_PX, metrics.ascent()), stretch.words)
    painter.restore()


def lanes_of(drawing: MarksDrawing, stretch: PlacedStretch) -> tuple[int, ...]:
    """The lanes that a stretch concerns: its own, or those of all muscles."""
    if stretch.lane is not None:
        return (stretch.lane,) if stretch.lane < len(drawing.bands) else ()
    return tuple(place for place, lane in enumerate(drawing.lanes) if lane.kind is LaneKind.MUSCLE)


def stretch_words(drawing: MarksDrawing, sample: int, y: float) -> str:
    """What there is to say of a sample at a height (logical px): a placed stretch, or that filters are unsure there."""
    at = next((place for place, band in enumerate(drawing.bands) if band.top <= y <= band.bottom), None)
    if at is None:
        return ""
    time_s = seconds(sample, drawing.clock)
    said = [
        f"{stretch.words}: {seconds(stretch.begin, drawing.clock):.3f} to {seconds(stretch.end, drawing.clock):.3f} s."
        for stretch in drawing.stretches
        if stretch.begin <= sample < stretch.end and at in lanes_of(drawing, stretch)
    ]
    lane = drawing.lanes[at]
    index = lane.position_at(time_s)
    if any(begin <= index < end for begin, end in _exposed(lane, time_s, time_s)):
        said.append(EDGE_WORDS)
    return " ".join(said)
