"""What lies behind the traces: grid, phases tinted with their thirds, and excluded reps hatched."""

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QPainter, QTransform

from phasemark.model.marks import Rep
from phasemark.window.traces.device_pixels import DeviceGrid, enter_device_pixels
from phasemark.window.traces.drawing_item import DrawingItem
from phasemark.window.traces.marks_drawing import FEWEST_PX_FOR_THIRDS, MarksDrawing


class BackdropItem(DrawingItem):
    """Paints grid and tints."""

    def paint_drawing(self, painter: QPainter, grid: DeviceGrid, drawing: MarksDrawing) -> None:
        """Tints below, the grid over them, hatching on top."""
        enter_device_pixels(painter)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        reps = drawing.lines.reps_between(*drawing.samples_exposed(grid, 1))
        for rep in reps:
            self._paint_tints(painter, grid, drawing, rep)
        self._paint_grid(painter, grid, drawing)
        for rep in reps:
            if rep.excluded is not None:
                self._paint_hatch(painter, grid, drawing, rep)

    def _column(self, grid: DeviceGrid, drawing: MarksDrawing, begin: int, end: int) -> QRectF:
        """The device rectangle through all lanes over a stretch of the clock, cut to what is exposed."""
        left = max(round(drawing.x(grid, begin)), grid.first - 1)
        right = min(max(round(drawing.x(grid, end)), left + 1), grid.last + 1)
        top, bottom = round(grid.y(drawing.header)), round(grid.y(drawing.height))
        return QRectF(left, top, max(right - left, 0), bottom - top)

    def _paint_tints(self, painter: QPainter, grid: DeviceGrid, drawing: MarksDrawing, rep: Rep) -> None:
        narrow = FEWEST_PX_FOR_THIRDS * grid.scale
        for phase in rep.phases:
            wide = drawing.x(grid, phase.end.sample) - drawing.x(grid, phase.begin.sample)
            whole = (("", phase.begin.sample, phase.end.sample),)
            for third, begin, end in drawing.thirds(phase) if wide >= narrow else whole:
                tint = drawing.scheme.tint(phase.name, third if rep.complete else "lower")
                painter.fillRect(self._column(grid, drawing, begin, end), tint)

    def _paint_hatch(self, painter: QPainter, grid: DeviceGrid, drawing: MarksDrawing, rep: Rep) -> None:
        brush = QBrush(drawing.scheme.hatch, Qt.BrushStyle.BDiagPattern)
        brush.setTransform(QTransform.fromScale(grid.scale, grid.scale))
        painter.setBrushOrigin(QPointF(round(drawing.x(grid, rep.begin)) % round(8 * grid.scale), 0))
        painter.fillRect(self._column(grid, drawing, rep.begin, rep.end), brush)

    def _paint_grid(self, painter: QPainter, grid: DeviceGrid, drawing: MarksDrawing) -> None:
        """Faint lines: time ticks, each lane's zero, and between lanes."""
        # Filled, since a painter takes ten times as long to draw a line.
        colour, wide = drawing.scheme.hair, max(1, int(grid.scale))
        top, bottom = round(grid.y(drawing.header)), round(grid.y(drawing.height))
        for tick in drawing.time_ticks:
            x = round(grid.x(tick.value))
            if grid.first <= x < grid.last:
                painter.fillRect(x - wide // 2, top, wide, bottom - top, colour)
        for level in drawing.grid_levels:
            painter.fillRect(grid.first, round(grid.y(level)) - wide // 2, grid.last - grid.first, wide, colour)
