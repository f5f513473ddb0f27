"""All boundaries as one item: lines through every lane, third levels, handles, and the selected one.

A boundary tells by form what it is: phase boundaries are solid and third lines dashed, those of
incomplete reps dotted; automatic ones thin, hand-placed ones thick with a diamond as handle.
"""

from collections.abc import Iterable

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen

from phasemark.model.marks import Origin
from phasemark.window.traces.device_pixels import DeviceGrid, enter_device_pixels
from phasemark.window.traces.drawing_item import DrawingItem
from phasemark.window.traces.mark_lines import MarkLine
from phasemark.window.traces.marks_drawing import FEWEST_PX_FOR_THIRDS, MarksDrawing
from phasemark.window.traces.rep_header import paint_header

REACH_PX = 6.0
"""How far (logical px) from a boundary the cursor still takes it: a grab zone of 12 pixels."""
HALO_PX = 9.0
_HANDLE_ROWS = 0.3  # half a handle, in heights of a row of text
_DASHES = {"phase": None, "third": [4.0, 3.0], "incomplete": [1.0, 3.0]}


class BoundaryOverlay(DrawingItem):
    """Paints every boundary of the marks over the traces."""

    def __init__(self, font: QFont) -> None:
        super().__init__()
        self._font = font

    def set_font(self, font: QFont) -> None:
        """The font of rep numbers and phase words."""
        self._font = font

    def paint_drawing(self, painter: QPainter, grid: DeviceGrid, drawing: MarksDrawing) -> None:
        """The strip above the lanes, then levels and lines, the chosen one on top."""
        painter.setFont(self._font)
        paint_header(painter, grid, drawing)
        enter_device_pixels(painter)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        self._paint_levels(painter, grid, drawing)
        self._paint_halo(painter, grid, drawing, drawing.line(drawing.hovered), 0.10)
        self._paint_halo(painter, grid, drawing, drawing.line(drawing.selected), 0.18)
        self._paint_lines(painter, grid, drawing, drawing.lines.between(*drawing.samples_exposed(grid, HALO_PX)))
        self._paint_chosen(painter, grid, drawing)

    def _handle(self, grid: DeviceGrid) -> float:
        """Half the size (device px) of a handle: it grows with the text."""
        return _HANDLE_ROWS * QFontMetricsF(self._font).height() * grid.scale

    def _paint_levels(self, painter: QPainter, grid: DeviceGrid, drawing: MarksDrawing) -> None:
        band = drawing.movement_band
        if band is None:
            return
        painter.setPen(_pen(drawing.scheme.soft, grid.scale, [3.0, 4.0]))
        for rep in drawing.lines.reps_between(*drawing.samples_exposed(grid, 1)):
            left, right = drawing.x(grid, rep.begin), drawing.x(grid, rep.end)
            for level in drawing.levels.get(rep.id, ()):
                if band.low <= level <= band.high and right - left > FEWEST_PX_FOR_THIRDS * grid.scale:
                    y = round(grid.y(band.y(level))) + 0.5
                    painter.drawLine(QPointF(left + _whole_dashes(grid, left), y), QPointF(right, y))

    def _paint_halo(
        self, painter: QPainter, grid: DeviceGrid, drawing: MarksDrawing, line: MarkLine | None, strength: float
    ) -> None:
        if line is None:
            return
        veil = QColor(drawing.scheme.ink)
        veil.setAlphaF(strength)
        wide = HALO_PX * grid.scale
        top, bottom = grid.y(drawing.header), grid.y(drawing.height)
        painter.fillRect(QRectF(round(drawing.x(grid, line.sample) - wide / 2), top, wide, bottom - top), veil)

    def _paint_lines(
        self, painter: QPainter, grid: DeviceGrid, drawing: MarksDrawing, lines: Iterable[MarkLine]
    ) -> None:
        top, bottom = grid.y(drawing.header), grid.y(drawing.height)
        px_per_s, left = grid.px_per_s / grid.scale, grid.left
        alike: dict[tuple[str, int, str], list[QLineF]] = {}
        widths = {origin: _width(origin, grid, chosen=False) for origin in Origin}
        for line in lines:
            if not drawing.seen(line, px_per_s) or line.address == drawing.selected:
                continue
            width = widths[line.origin]
            at = _place(left + drawing.time(line.sample) * grid.px_per_s, width)
            alike.setdefault((_form(line), width, line.phase), []).append(QLineF(at, top, at, bottom))
        for (form, width, phase), same in alike.items():
            if _DASHES[form] is None:  # filled, which a painter does in a fraction of the time of a line
                for upright in same:
                    box = QRectF(upright.x1() - width / 2, top, width, bottom - top)
                    painter.fillRect(box, drawing.scheme.hue(phase))
            else:
                painter.setPen(_pen(drawing.scheme.hue(phase), width, _DASHES[form]))
                painter.drawLines(same)
            if width > int(grid.scale):
                _paint_diamonds(painter, [line.p1() for line in same], self._handle(grid), drawing.scheme.hue(phase))

    def _paint_chosen(self, painter: QPainter, grid: DeviceGrid, drawing: MarksDrawing) -> None:
        line = drawing.line(drawing.selected)
        if line is None:
            return
        width, colour = _width(line.origin, grid, chosen=True), drawing.scheme.ink
        at = _place(drawing.x(grid, line.sample), width)
        top, bottom = QPointF(at, grid.y(drawing.header)), QPointF(at, grid.y(drawing.height))
        painter.setPen(_pen(colour, width, _DASHES[_form(line)]))
        painter.drawLine(top, bottom)
        if line.origin is Origin.HAND:
            _paint_diamonds(painter, [top], self._handle(grid), colour)
        _paint_pointer(painter, bottom, self._handle(grid), colour)


def _form(line: MarkLine) -> str:
    return "third" if line.is_third else "phase" if line.complete else "incomplete"


def _width(origin: Origin, grid: DeviceGrid, *, chosen: bool) -> int:
    """Width (device px): a line that a hand has placed, or the chosen one, is thick."""
    return max(1, int((2.0 if chosen or origin is Origin.HAND else 1.0) * grid.scale))


def _place(x: float, width: int) -> float:
    """Where a line of so many device pixels is drawn so that it fills whole ones."""
    return int(x // 1) + (0.5 if width % 2 else 0.0)


def _whole_dashes(grid: DeviceGrid, left: float) -> float:
    """How much of a line that begins far left of what is exposed can be left out without shifting its dashes."""
    period = 7.0 * max(1, int(grid.scale))
    return max(0.0, (grid.first - left) // period * period)


def _pen(colour: QColor, width: float, dashes: list[float] | None) -> QPen:
    pen = QPen(colour, max(1, int(width)))
    pen.setCosmetic(True)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    if dashes is not None:
        pen.setDashPattern(dashes)
    return pen


def _fill(painter: QPainter, shapes: Iterable[list[QPointF]], colour: QColor) -> None:
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour)
    for points in shapes:
        painter.drawConvexPolygon(points)
    painter.restore()


def _paint_diamonds(painter: QPainter, places: list[QPointF], half: float, colour: QColor) -> None:
    """The handles of boundaries that a hand has placed."""
    right, down = QPointF(half, 0), QPointF(0, half)
    _fill(painter, ([at - down, at + right, at + down, at - right] for at in places), colour)


def _paint_pointer(painter: QPainter, at: QPointF, half: float, colour: QColor) -> None:
    """Points from the selected boundary to its time on the axis below."""
    x, y = at.x(), at.y()
    _fill(painter, [[QPointF(x - half, y - 2 * half), QPointF(x + half, y - 2 * half), QPointF(x, y)]], colour)
