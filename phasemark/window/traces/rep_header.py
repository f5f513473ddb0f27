"""The strip above the lanes: each rep's number between its ends, and below it arrow, word and length of each phase."""

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen, QPolygonF, QTransform

from phasemark.model.marks import LOWERING, RAISING, Phase, Rep
from phasemark.window.traces.device_pixels import DeviceGrid
from phasemark.window.traces.mark_words import rep_text
from phasemark.window.traces.marks_drawing import MarksDrawing
from phasemark.window.traces.rep_signs import paint_rep_sign, signs_of

_AIR = 4.0
_SERIF = 3.0


def header_height(metrics: QFontMetricsF) -> float:
    """Logical pixels that two rows of text need, with room for the handles at the lower edge."""
    return float(round(2 * metrics.height() + 4 * _AIR))


def paint_header(painter: QPainter, grid: DeviceGrid, drawing: MarksDrawing) -> None:
    """Paint what is exposed of the strip; leaves the painter as it was."""
    painter.save()
    # In logical pixels of the view, so that text has the size the font says.
    strip = _Strip(painter, painter.worldTransform(), drawing)
    painter.resetTransform()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    for rep in drawing.lines.reps_between(*drawing.samples_exposed(grid, 1)):
        strip.paint_rep(rep)
        for phase in rep.phases:
            strip.paint_phase(phase)
    painter.restore()


class _Strip:
    def __init__(self, painter: QPainter, transform: QTransform, drawing: MarksDrawing) -> None:
        self.painter, self.drawing = painter, drawing
        self.metrics = QFontMetricsF(painter.font())
        self.least = self.metrics.horizontalAdvance("0")
        self.left, self.px_per_s = transform.m31(), transform.m11()

    def extent(self, begin: int, end: int) -> tuple[float, float]:
        """Left and right (logical px) of what is seen of a stretch of the clock."""
        x = [self.left + self.drawing.time(sample) * self.px_per_s for sample in (begin, end)]
        return max(x[0], 0.0), min(x[1], self.drawing.width)

    def fitting(self, texts: list[str], room: float) -> str:
        """The first, longest text that fits in so many pixels; empty where none does."""
        if room < self.least:
            return ""
        return next((text for text in texts if self.metrics.horizontalAdvance(text) <= room), "")

    def paint_rep(self, rep: Rep) -> None:
        left, right = self.extent(rep.begin, rep.end)
        number = self.drawing.numbers.get(rep.id)
        chosen = self.drawing.selected is not None and self.drawing.selected.rep == rep.id
        signs = signs_of(rep)
        size = round(1.15 * self.metrics.ascent())
        aside = len(signs) * (size + _AIR)
        texts = [rep_text(rep, number), *(() if number is None else (f"rep {number}", str(number)))]
        text = self.fitting(texts, right - left - aside - 4 * _AIR) or self.fitting(texts[-1:], right - left)
        if self.metrics.horizontalAdvance(text) + aside > right - left:  # a sign says more than a number
            text = ""
        wide = self.metrics.horizontalAdvance(text) + (aside if right - left >= size else 0.0) - (0 if text else _AIR)
        middle, y = (left + right) / 2, _AIR + self.metrics.height() / 2
        colour = self.drawing.scheme.ink if chosen else self.drawing.scheme.soft
        self.paint_brace(rep, (left, right), wide / 2 + (_AIR if wide > 0 else 0), y, colour, chosen=chosen)
        at = middle - wide / 2
        for sign in signs if right - left >= size else ():
            ink = self.drawing.scheme.ink if sign == "doubtful" else colour
            paint_rep_sign(self.painter, QRectF(round(at), round(y - size / 2), size, size), sign, ink)
            at += size + _AIR
        self.painter.setPen(colour)
        self.painter.drawText(QPointF(at, _AIR + self.metrics.ascent()), text)

    def paint_brace(
        self, rep: Rep, ends: tuple[float, float], room: float, y: float, colour: QColor, *, chosen: bool
    ) -> None:
        """A line from end to end of a rep, open in its middle, broken where the rep is incomplete."""
        left, right = ends
        middle, y = (left + right) / 2, round(y) + 0.5
        form = Qt.PenStyle.SolidLine if rep.complete else Qt.PenStyle.DotLine
        self.painter.setPen(QPen(colour, 2 if chosen else 1, form))
        for one, other in ((left, middle - room), (middle + room, right)):
            if other > one:
                self.painter.drawLine(QPointF(one, y), QPointF(other, y))
        for end, seen in ((left, left > 0), (right, right < self.drawing.width)):
            if seen:
                self.painter.drawLine(QPointF(end, y - _SERIF), QPointF(end, y + _SERIF))

    def paint_phase(self, phase: Phase) -> None:
        left, right = self.extent(phase.begin.sample, phase.end.sample)
        half = self.metrics.ascent() * 0.30
        room = right - left - 2 * _AIR
        if room < 2 * half:
            return
        lasts = f"{self.drawing.time(phase.end.sample - phase.begin.sample):.2f} s"
        has_arrow = phase.name in (RAISING, LOWERING)
        arrow = 2 * half + _AIR if has_arrow else 0.0
        text = self.fitting([f"{phase.name} {lasts}", phase.name], room - arrow)
        wide = (arrow if text else 2 * half if has_arrow else 0.0) + self.metrics.horizontalAdvance(text)
        at, baseline = (left + right - wide) / 2, 2 * _AIR + self.metrics.height() + self.metrics.ascent()
        if has_arrow:
            self.paint_arrow(QPointF(at + half, baseline - self.metrics.ascent() * 0.38), half, phase.name)
        self.painter.setPen(self.drawing.scheme.ink)
        self.painter.drawText(QPointF(at + arrow, baseline), text)

    def paint_arrow(self, at: QPointF, half: float, phase: str) -> None:
        up = -half if phase == RAISING else half
        corners = [
            QPointF(at.x(), at.y() + up),
            QPointF(at.x() + half, at.y() - up),
            QPointF(at.x() - half, at.y() - up),
        ]
        self.painter.setPen(Qt.PenStyle.NoPen)
        self.painter.setBrush(self.drawing.scheme.hue(phase))
        self.painter.drawPolygon(QPolygonF(corners))
