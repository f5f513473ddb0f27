"""Which value of the figure is meant: the one under the mouse, and the one that a key goes to."""

from PySide6.QtCore import QPointF

from phasemark.results.segments import WHOLE
from phasemark.session.rep_figure import FigureMuscle, RepFigure
from phasemark.window.figure.figure_layout import FigureLayout, value_heights
from phasemark.window.figure.figure_words import is_left


def value_at(layout: FigureLayout, figure: RepFigure, at: QPointF) -> tuple[int, str, str] | None:
    """The muscle, phase and third (or whole phase) at a place of the figure; None where there is no value."""
    column = layout.column_at(at.x())
    if column is None:
        return None
    left = at.x() < column.centre
    sides = figure.muscles[column.muscle].sides
    side = next((side for side in sides if is_left(side.phase.name) is left), None)
    if side is None:
        return None
    if at.y() >= layout.rows.whole:
        return column.muscle, side.phase.name, WHOLE
    if not layout.band.top <= at.y() <= layout.band.bottom or not side.phase.thirds:
        return None
    heights = value_heights(figure, side, layout.band, layout.row)
    nearest = min(range(len(heights)), key=lambda place: abs(heights[place] - at.y()))
    return column.muscle, side.phase.name, side.phase.thirds[nearest]


def beside(muscle: FigureMuscle, picked: tuple[str, str] | None, way: int) -> tuple[str, str] | None:
    """The value (phase and third) after one of a muscle, or before it where way is -1; None where it has none."""
    keys = [(side.phase.name, third) for side in muscle.sides for third in (*side.phase.thirds, WHOLE)]
    if not keys:
        return None
    if picked not in keys:
        return keys[0] if way > 0 else keys[-1]
    return keys[min(max(keys.index(picked) + way, 0), len(keys) - 1)]
