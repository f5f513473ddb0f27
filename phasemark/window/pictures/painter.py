"""Painting a drawing with Qt: the same shapes, whatever they are painted on."""

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QFontMetricsF, QPainter, QPainterPath, QPen, QPolygonF

from phasemark.results.figures.drawing import Area, Drawing, Point, Stroke, Words
from phasemark.results.figures.svg_text import FONTS
from phasemark.results.figures.text_width import MM_PER_PT

_NOMINAL = 100
"""Text is set at this size in the painter's units and scaled: hinting for small sizes would change its widths."""


def paint_drawing(painter: QPainter, drawing: Drawing, units_per_mm: float) -> None:
    """Paint a drawing with its top left at the painter's origin, so many of the painter's units to a millimetre."""
    painter.save()
    painter.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.TextAntialiasing)
    painter.scale(units_per_mm, units_per_mm)
    painter.fillRect(QRectF(0, 0, drawing.width_mm, drawing.height_mm), QColor(drawing.ground))
    for shape in drawing.shapes:
        if isinstance(shape, Words):
            _words(painter, shape)
        elif isinstance(shape, Area):
            _area(painter, shape)
        else:
            _stroke(painter, shape)
    painter.restore()


def _pen(colour: str, width_pt: float, dashes: tuple[float, ...] = ()) -> QPen:
    pen = QPen(QColor(colour), width_pt * MM_PER_PT)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    if dashes:
        pen.setDashPattern([dash / width_pt for dash in dashes])  # Qt counts dashes in widths of the pen
    return pen


def _polygon(points: tuple[Point, ...]) -> QPolygonF:
    return QPolygonF([QPointF(x, y) for x, y in points])


def _stroke(painter: QPainter, stroke: Stroke) -> None:
    path = QPainterPath()
    path.addPolygon(_polygon(stroke.points))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(_pen(stroke.colour, stroke.width_pt, stroke.dashes))
    painter.drawPath(path)


def _area(painter: QPainter, area: Area) -> None:
    fill = QColor(area.fill)
    fill.setAlphaF(area.opacity)
    painter.setBrush(QBrush(fill))
    painter.setPen(_pen(area.outline, area.width_pt) if area.width_pt > 0 else Qt.PenStyle.NoPen)
    painter.drawPolygon(_polygon(area.points))


def picture_font(*, bold: bool) -> QFont:
    """The typeface of pictures at its nominal size: one of the widths that the layout counts with, if there is one."""
    font = QFont()
    font.setFamilies([*FONTS, "sans-serif"])
    font.setStyleHint(QFont.StyleHint.SansSerif)
    font.setPixelSize(_NOMINAL)
    font.setBold(bold)
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    font.setKerning(False)
    return font


def _words(painter: QPainter, words: Words) -> None:
    font = picture_font(bold=words.bold)
    across = QFontMetricsF(font).horizontalAdvance(words.text)
    if across <= 0:
        return
    size = words.size_pt * MM_PER_PT / _NOMINAL
    held = words.width_mm / (across * size) if words.width_mm > 0 else 1.0
    back = {"start": 0.0, "middle": 0.5, "end": 1.0}[words.anchor] * across
    painter.save()
    painter.translate(words.x, words.y)
    if words.turned:
        painter.rotate(-90)
    painter.scale(size * held, size)
    painter.setFont(font)
    painter.setPen(QColor(words.colour))
    painter.drawText(QPointF(-back, 0), words.text)
    painter.restore()
