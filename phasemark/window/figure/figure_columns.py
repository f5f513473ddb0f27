"""One muscle's column of the figure of a rep: envelope against position on either side, and its values."""

from dataclasses import dataclass
from math import floor, isfinite

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QFontMetricsF, QPainter, QPainterPath, QPen, QPolygonF

from phasemark.model.marks import Origin
from phasemark.model.recording import Samples
from phasemark.results.segments import WHOLE
from phasemark.session.rep_figure import FigureSide, Measure, Reading, RepFigure
from phasemark.signal.gaps import valid_pieces
from phasemark.window.figure.figure_layout import (
    AIR,
    SMALL,
    Column,
    FigureLayout,
    value_heights,
    value_lines,
    value_text,
)
from phasemark.window.figure.figure_words import NOTED, error_text, is_left, shift_text
from phasemark.window.palette import Scheme

_DIAMOND = 4.5
_DOT = 3.5
_PLATE = 0.75


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """What all columns share: figure, places, colours, font, which measure is read, and what is picked out by keys.

    picked is a muscle, a phase and a third.
    """

    figure: RepFigure
    layout: FigureLayout
    scheme: Scheme
    font: QFont
    measure: Measure
    picked: tuple[int, str, str] | None = None


def small(font: QFont) -> QFont:
    """The font in the size of errors."""
    made = QFont(font)
    if made.pointSizeF() > 0:
        made.setPointSizeF(max(made.pointSizeF() * SMALL, 5.0))
    else:
        made.setPixelSize(max(round(made.pixelSize() * SMALL), 7))
    return made


def snapped(painter: QPainter, y: float) -> float:
    """The middle of the device row that a height falls in, so that a hairline there is one row of pixels."""
    device = painter.deviceTransform()
    return (round(device.dy() + y * device.m22()) + 0.5 - device.dy()) / device.m22()


def hairline(colour: QColor, painter: QPainter, dashes: list[float] | None = None) -> QPen:
    """A pen of a whole device pixel, wider on finer displays."""
    pen = QPen(colour, max(1, int(painter.deviceTransform().m22())))
    pen.setCosmetic(True)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    if dashes is not None:
        pen.setDashPattern(dashes)
    return pen


def paint_column(painter: QPainter, look: Look, column: Column) -> None:
    """Envelope, centre line, values and whole phases of one muscle."""
    muscle = look.figure.muscles[column.muscle]
    band = look.layout.band
    painter.save()
    painter.setClipRect(QRectF(column.left, band.top - 1, column.right - column.left, band.height + 2))
    for side in muscle.sides:
        _paint_curve(painter, look, column, side)
    _paint_centre(painter, look, column)
    if muscle.excluded is not None:
        _paint_hatch(painter, look, column)
    painter.restore()
    for side in muscle.sides:
        _paint_edges(painter, look, column, side)
        _paint_values(painter, look, column, side)


def _paint_curve(painter: QPainter, look: Look, column: Column, side: FigureSide) -> None:
    """Each third filled with its shade to the centre line, then the envelope as one line."""
    curve, band, phase = side.curve, look.layout.band, side.phase
    x = column.x(phase.name, 1.0) - column.centre
    across = column.centre + curve.envelope * x
    down = band.bottom - (curve.positions - band.at_bottom) * band.px_per_unit
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    painter.setPen(Qt.PenStyle.NoPen)
    for part, (first, last) in enumerate(zip(curve.edges, curve.edges[1:], strict=False)):
        shade = look.scheme.tint(phase.name, phase.thirds[part] if phase.thirds else "")
        painter.setBrush(shade)
        for begin, end in valid_pieces(across[first : last + 1] + down[first : last + 1]):
            if end - begin > 1:
                run = slice(first + begin, first + end)
                painter.drawPath(_filled(across[run], down[run], column.centre))
    _paint_steps(painter, look, column, side)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(look.scheme.hue(phase.name), 1))
    painter.drawPath(pg.arrayToQPath(across, down, connect="finite"))


def _paint_steps(painter: QPainter, look: Look, column: Column, side: FigureSide) -> None:
    """Each third's value as an upright line on the scale of the envelope, through the stretch it was measured in."""
    places = [look.layout.band.y(edge.position) for edge in side.phase.edges]
    pen = QPen(look.scheme.ink, 1)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    painter.setPen(pen)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    for reading, one, other in zip(side.thirds, places, places[1:], strict=False):
        x = column.x(side.phase.name, reading.number(look.measure, column.scale.unit) * column.scale.millivolts)
        if isfinite(x + one + other):
            painter.drawLine(QPointF(floor(x) + 0.5, one), QPointF(floor(x) + 0.5, other))


def _filled(across: Samples, down: Samples, base: float) -> QPainterPath:
    x = np.concatenate(([base], across, [base]))
    y = np.concatenate((down[:1], down, down[-1:]))
    path: QPainterPath = pg.arrayToQPath(x, y, connect="all", finiteCheck=False)
    path.setFillRule(Qt.FillRule.WindingFill)
    return path


def _paint_centre(painter: QPainter, look: Look, column: Column) -> None:
    band, axis = look.layout.band, look.figure.axis
    pen = QPen(look.scheme.soft, 1, Qt.PenStyle.SolidLine if look.figure.complete else Qt.PenStyle.DotLine)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    painter.setPen(pen)
    painter.drawLine(QPointF(column.centre, band.y(axis.bottom)), QPointF(column.centre, band.y(axis.top)))


def _paint_hatch(painter: QPainter, look: Look, column: Column) -> None:
    band = look.layout.band
    painter.setBrushOrigin(QPointF(column.left, band.top))
    brush = QBrush(look.scheme.hatch, Qt.BrushStyle.BDiagPattern)
    painter.fillRect(QRectF(column.left, band.top, column.right - column.left, band.height), brush)


def _paint_edges(painter: QPainter, look: Look, column: Column, side: FigureSide) -> None:
    """A short tick at each third line of this phase, and a diamond at each boundary that a hand has placed."""
    outward = -1.0 if is_left(side.phase.name) else 1.0
    hue = look.scheme.hue(side.phase.name)
    for place, edge in enumerate(side.phase.edges):
        if not isfinite(edge.position):
            continue
        at = QPointF(column.centre, look.layout.band.y(edge.position))
        if edge.origin is Origin.HAND:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
            painter.setPen(QPen(look.scheme.base, 1))
            painter.setBrush(hue)
            middle = at + QPointF(outward * (_DIAMOND + 1), 0)
            arms = [QPointF(0, -_DIAMOND), QPointF(_DIAMOND, 0), QPointF(0, _DIAMOND), QPointF(-_DIAMOND, 0)]
            painter.drawPolygon(QPolygonF([middle + arm for arm in arms]))
        elif 0 < place < len(side.phase.edges) - 1:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
            painter.setPen(QPen(hue, 2))
            painter.drawLine(at, at + QPointF(outward * 5, 0))


def _paint_values(painter: QPainter, look: Look, column: Column, side: FigureSide) -> None:
    """Each third's value with its errors below it as far as there is room, and those of the whole phase."""
    layout = look.layout
    row, small_row, band = layout.row, layout.small, layout.band
    heights = value_heights(look.figure, side, band, row)
    named = look.figure.levels is None and band.height > 8 * row
    lines = 1 if named else value_lines(heights, row, small_row, band)
    for name, reading, height in zip(side.phase.thirds, side.thirds, heights, strict=True):
        key = (column.muscle, side.phase.name, name)
        if named:
            _paint_label(painter, look, column, side, _Label(name, height - row / 2, faint=True))
            _paint_label(painter, look, column, side, _label(reading, look, column, height + row / 2, key))
            continue
        tall = (lines - 1) * small_row
        middle = min(max(height - tall / 2, band.top + row / 2), band.bottom - tall - row / 2)
        _paint_label(painter, look, column, side, _label(reading, look, column, middle, key))
        for label in _errors(reading, look, column, middle + row / 2)[: lines - 1]:
            _paint_label(painter, look, column, side, label)
    whole = (column.muscle, side.phase.name, WHOLE)
    _paint_label(painter, look, column, side, _label(side.whole, look, column, layout.rows.whole + row / 2, whole))
    for label in _errors(side.whole, look, column, layout.rows.whole_error):
        _paint_label(painter, look, column, side, label)


@dataclass(frozen=True, slots=True)
class _Label:
    text: str
    height: float
    way: int = 0
    faint: bool = False
    small: bool = False
    picked: bool = False


def _label(reading: Reading, look: Look, column: Column, height: float, key: tuple[int, str, str]) -> _Label:
    measure = look.measure
    number = reading.number(measure, column.scale.unit)
    way = 0
    if reading.moved(measure) and reading.before is not None:
        then, now = Reading(reading.before).number(measure), reading.number(measure)
        way = 1 if now > then or not isfinite(then) else -1
    noted = NOTED if reading.notes else ""
    return _Label(f"{value_text(number, column.limit)}{noted}", height, way, picked=key == look.picked)


def _errors(reading: Reading, look: Look, column: Column, top: float) -> tuple[_Label, ...]:
    """Sampling error and sensitivity of a value, one below the other; none while a boundary is on its way."""
    if reading.further is None or not isfinite(reading.number(look.measure, column.scale.unit)):
        return ()
    unit, step = column.scale.unit, look.layout.small
    texts = error_text(reading, look.measure, unit), shift_text(reading, look.measure, unit)
    return tuple(_Label(text, top + (place + 0.5) * step, faint=True, small=True) for place, text in enumerate(texts))


def _paint_label(painter: QPainter, look: Look, column: Column, side: FigureSide, label: _Label) -> None:
    """A value at the outer edge of its side; on a plate of the ground's colour where the curve may run under it.

    One that has moved is bold and has an arrow that says which way.
    """
    font = small(look.font) if label.small else QFont(look.font)
    font.setBold(label.way != 0)
    metrics = QFontMetricsF(font)
    wide, tall = metrics.horizontalAdvance(label.text), metrics.height()
    left_side = is_left(side.phase.name)
    left = column.left + 1 if left_side else column.right - 1 - wide
    box = QRectF(left, label.height - tall / 2, wide, tall)
    room = column.centre - column.left if left_side else column.right - column.centre
    arrow = tall * 0.4 if label.way and wide + tall * 0.4 + 2 < room else 0.0
    hatched = look.figure.muscles[column.muscle].excluded is not None
    if (hatched or not look.layout.apart) and label.height < look.layout.band.bottom:
        plate = QColor(look.scheme.base)
        plate.setAlphaF(_PLATE)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(plate)
        grown = box.adjusted(-2 - (0 if left_side else arrow), 1, 2 + (arrow if left_side else 0), -1)
        painter.drawRoundedRect(grown, 3, 3)
    painter.setFont(font)
    painter.setPen(look.scheme.soft if label.faint else look.scheme.ink)
    painter.drawText(QPointF(left, box.top() + metrics.ascent()), label.text)
    if label.picked:
        painter.setPen(QPen(look.scheme.ink, 2))
        painter.drawLine(QPointF(left, box.bottom()), QPointF(left + wide, box.bottom()))
    if arrow:
        at = QPointF(box.right() + 1 + arrow / 2 if left_side else left - 1 - arrow / 2, label.height)
        paint_arrow(painter, at, arrow / 2, up=label.way > 0, colour=look.scheme.ink)


def paint_arrow(painter: QPainter, at: QPointF, half: float, *, up: bool, colour: QColor) -> None:
    """A small triangle that points up or down."""
    tip = -half if up else half
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour)
    corners = [at + QPointF(0, tip), at + QPointF(half, -tip), at + QPointF(-half, -tip)]
    painter.drawPolygon(QPolygonF(corners))


def paint_pointer(painter: QPainter, look: Look, column: Column, position: float) -> None:
    """Dots where each phase first is at a position."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    painter.setPen(QPen(look.scheme.base, 1.5))
    painter.setBrush(look.scheme.ink)
    for side in look.figure.muscles[column.muscle].sides:
        time = side.curve.time_at(position)
        value = float("nan") if time is None else side.curve.envelope_at(time)
        if isfinite(value):
            at = QPointF(column.x(side.phase.name, value), look.layout.band.y(position))
            painter.drawEllipse(at, _DOT, _DOT)


def paint_scale(painter: QPainter, look: Look, column: Column, text: str) -> None:
    """The scale under a column: ticks at zero and at its end on each side that has a phase, its end in words."""
    layout, metrics = look.layout, QFontMetricsF(look.font)
    y = layout.band.bottom + AIR
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    painter.setPen(hairline(look.scheme.soft, painter))
    end = column.limit * column.scale.millivolts
    ends = [column.x(side.phase.name, end) for side in look.figure.muscles[column.muscle].sides]
    level = snapped(painter, y)
    painter.drawLine(QPointF(min([*ends, column.centre]), level), QPointF(max([*ends, column.centre]), level))
    for x in (*ends, column.centre):
        painter.drawLine(QPointF(round(x), y - AIR), QPointF(round(x), y))
    painter.setFont(look.font)
    baseline = layout.rows.scale + metrics.ascent()
    wide, zero = metrics.horizontalAdvance(text), metrics.horizontalAdvance("0")
    for x in ends:
        left = min(max(x - wide / 2, column.left), column.right - wide)
        if abs(left + wide / 2 - column.centre) > (wide + zero) / 2 + AIR:
            painter.drawText(QPointF(left, baseline), text)
    painter.drawText(QPointF(column.centre - zero / 2, baseline), "0")
