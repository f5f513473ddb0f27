"""The figure of a rep painted whole: headings, axis, columns, third levels, what the cursor points at."""

from dataclasses import dataclass

from PySide6.QtCore import QPointF
from PySide6.QtGui import QFont, QFontMetricsF, QPainter

from phasemark.session.rep_figure import RepFigure, Unit
from phasemark.window.figure import figure_layout as places
from phasemark.window.figure.figure_columns import Look, hairline, paint_column, paint_pointer, paint_scale, snapped
from phasemark.window.figure.figure_frame import (
    bold,
    paint_gutter,
    paint_headings,
    paint_levels,
    paint_name,
    paint_sticking,
)
from phasemark.window.figure.figure_layout import AIR, FigureLayout
from phasemark.window.figure.figure_words import muscle_note, notes, titles


@dataclass(frozen=True, slots=True)
class Around:
    """What the widget gives: its width and the room of the title (px), the unit that was asked for.

    current is the muscle that the keyboard is at (None without focus), pointer the muscle and position under the
    cursor.
    """

    width: float
    title_room: float
    unit: Unit
    current: int | None
    pointer: tuple[int, float] | None


def paint_figure(painter: QPainter, look: Look, around: Around) -> None:
    """Paint all of it."""
    layout, figure = look.layout, look.figure
    units = {column.scale.unit for column in layout.columns}
    said = units.pop() if len(units) == 1 else around.unit
    texts = fitting_title(figure, layout, look.font, around.title_room), " · ".join(notes(figure))
    paint_headings(painter, look, texts, (around.title_room, around.width - 2 * AIR), said)
    paint_gutter(painter, look)
    for column in layout.columns:
        paint_column(painter, look, column)
        paint_scale(painter, look, column, places.limit_text(column.limit))
        aside = muscle_note(figure, figure.muscles[column.muscle], look.measure, around.unit)
        paint_name(painter, look, column, current=column.muscle == around.current, note=aside)
    paint_levels(painter, look, layout.right)
    paint_sticking(painter, look)
    _paint_pointer(painter, look, around.pointer)


def fitting_title(figure: RepFigure, layout: FigureLayout, font: QFont, room: float) -> str:
    """The longest title that there is room for, else the shortest."""
    metrics, columns = QFontMetricsF(bold(font)), layout.columns
    said = titles(figure, (columns[0].muscle, columns[-1].muscle))
    return next((text for text in said if metrics.horizontalAdvance(text) <= room), said[-1])


def _paint_pointer(painter: QPainter, look: Look, pointer: tuple[int, float] | None) -> None:
    if pointer is None:
        return
    place, position = pointer
    column = next((c for c in look.layout.columns if c.muscle == place), None)
    if column is None:
        return
    painter.setPen(hairline(look.scheme.soft, painter))
    y = snapped(painter, look.layout.band.y(position))
    painter.drawLine(QPointF(look.layout.gutter - AIR, y), QPointF(look.layout.right, y))
    paint_pointer(painter, look, column, position)
