"""Places in a lane that want a look, such as where a quality check found something: hatched, framed and named.

The hatching slants the other way than that of what is excluded, and a bar lies over it, so that a place is told from
its surroundings without colour and stays seen where it is narrower than a pixel.
"""

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QFont, QFontMetricsF, QPainter, QPen, QTransform

from phasemark.window.palette import Scheme
from phasemark.window.traces.device_pixels import DeviceGrid, enter_device_pixels
from phasemark.window.traces.drawing_item import DrawingItem
from phasemark.window.traces.lane_layout import Band
from phasemark.window.traces.marks_drawing import MarksDrawing
from phasemark.window.traces.trial_picture import LanePlace

_LEAST_PX = 3.0
_BAR_PX = 3.0
_AIR_PX = 3.0
_HATCH_PX = 8


class LanePlacesItem(DrawingItem):
    """Paints the places of a drawing over the traces."""

    def __init__(self, font: QFont) -> None:
        super().__init__()
        self._font = font

    def set_font(self, font: QFont) -> None:
        """The font of the name of the chosen place."""
        self._font = font

    def paint_drawing(self, painter: QPainter, grid: DeviceGrid, drawing: MarksDrawing) -> None:
        """All that are exposed, the chosen one last."""
        if not drawing.places:
            return
        enter_device_pixels(painter)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        done: dict[int, float] = {}
        chosen = []
        for place in drawing.places:
            if not 0 <= place.lane < len(drawing.bands):
                continue
            box = _box(grid, drawing.bands[place.lane], place)
            if place.chosen:  # its name reaches out of its box
                chosen.append((place, box))
            elif (
                grid.first <= box.right()
                and box.left() <= grid.last
                and box.right() > done.get(place.lane, float("-inf"))
            ):
                done[place.lane] = box.right()
                _paint_place(painter, grid, drawing, box)
        for place, box in chosen:
            _paint_place(painter, grid, drawing, box, chosen=True, hatched=not place.whole)
            painter.setFont(self._font)
            view = self._view(grid, drawing)
            _paint_name(painter, grid, view, (box, place.words), drawing.scheme)

    def _view(self, grid: DeviceGrid, drawing: MarksDrawing) -> tuple[float, float]:
        """Device pixels of the left and right edge of the view, which need not begin at the device's own."""
        left = grid.left - self.sceneTransform().m31() * grid.scale
        return left, left + drawing.width * grid.scale


def _box(grid: DeviceGrid, band: Band, place: LanePlace) -> QRectF:
    """The place in device pixels, wide enough to be seen."""
    left, right = round(grid.x(place.begin_s)), round(grid.x(place.end_s))
    least = round(_LEAST_PX * grid.scale)
    if right - left < least:
        left = round((left + right - least) / 2)
        right = left + least
    top = round(grid.y(band.top))
    return QRectF(left, top, right - left, round(grid.y(band.bottom)) - top)


def _paint_place(
    painter: QPainter,
    grid: DeviceGrid,
    drawing: MarksDrawing,
    box: QRectF,
    *,
    chosen: bool = False,
    hatched: bool = True,
) -> None:
    scheme, inside = drawing.scheme, box
    if box.left() < grid.first - 1 or box.right() > grid.last + 1:  # a brush over millions of pixels takes its time
        left = max(box.left(), grid.first - 1)
        inside = QRectF(left, box.top(), min(box.right(), grid.last + 1) - left, box.height())
    brush = QBrush(scheme.hatch, Qt.BrushStyle.FDiagPattern)
    brush.setTransform(QTransform.fromScale(grid.scale, grid.scale))
    painter.setBrushOrigin(QPointF(box.left() % round(_HATCH_PX * grid.scale), 0))
    if hatched:
        painter.fillRect(inside, brush)
    ink = scheme.ink if chosen else scheme.raw
    bar = round((_BAR_PX + chosen) * grid.scale)
    painter.fillRect(QRectF(inside.left(), box.top(), inside.width(), bar), ink)
    wide = max(1, int(grid.scale * (2 if chosen else 1)))
    for x in (box.left(), box.right() - wide):
        if grid.first - wide <= x <= grid.last:
            painter.fillRect(QRectF(x, box.top(), wide, box.height()), ink)


def _paint_name(
    painter: QPainter, grid: DeviceGrid, view: tuple[float, float], named: tuple[QRectF, str], scheme: Scheme
) -> None:
    """The name on a label under the bar, at the place's begin or as near to it as the view allows."""
    (box, words), metrics, scale = named, QFontMetricsF(painter.font()), grid.scale
    wide, high = metrics.horizontalAdvance(words) + 2 * _AIR_PX, metrics.height()
    left = max(min(box.left(), view[1] - wide * scale), view[0])
    painter.save()
    painter.translate(left, box.top() + round((_BAR_PX + 1) * scale))
    painter.scale(scale, scale)
    painter.fillRect(QRectF(0, 0, wide, high), scheme.base)
    painter.setPen(QPen(scheme.ink, 1))
    painter.drawText(QPointF(_AIR_PX, metrics.ascent()), words)
    painter.restore()
