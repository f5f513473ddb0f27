"""Around the columns of the figure of a rep: title, notes, names, the vertical axis, third levels, what rows hold."""

from math import isfinite

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPen

from phasemark.model.marks import LOWERING, RAISING
from phasemark.session.rep_figure import Unit
from phasemark.window.figure.figure_columns import Look, hairline, paint_arrow, small, snapped
from phasemark.window.figure.figure_layout import AIR, Column
from phasemark.window.figure.figure_words import ERROR, SHIFT, is_left, position_text, unit_words
from phasemark.window.traces.lane_gutter import wrapped
from phasemark.window.traces.tick_values import ticks

_LEVEL_DASHES = [3.0, 4.0]
_TICK = 4.0
STICKING_PX = 4.0


def bold(font: QFont) -> QFont:
    """The font in the weight of titles and names."""
    made = QFont(font)
    made.setWeight(QFont.Weight.DemiBold)
    return made


def paint_headings(
    painter: QPainter, look: Look, texts: tuple[str, str], rooms: tuple[float, float], unit: Unit
) -> None:
    """Which repetition, and below it what is to be known of it, each in so many pixels; one row if that is all."""
    (title, note), (title_room, note_room) = texts, rooms
    rows, heavy = look.layout.rows, bold(look.font)
    metrics, plain = QFontMetricsF(heavy), QFontMetricsF(look.font)
    if rows.notes is None and note:
        title = f"{title}  ·  {note}"
    painter.setFont(heavy)
    painter.setPen(look.scheme.ink)
    shown = metrics.elidedText(title, Qt.TextElideMode.ElideRight, title_room)
    painter.drawText(QPointF(AIR, rows.title + metrics.ascent()), shown)
    painter.setFont(look.font)
    after = AIR + metrics.horizontalAdvance(shown)
    measured = f"  ·  {look.measure}, {unit_words(unit)}"
    if plain.horizontalAdvance(measured) <= title_room - after:
        painter.setPen(look.scheme.soft)
        painter.drawText(QPointF(after, rows.title + metrics.ascent()), measured)
        after += plain.horizontalAdvance(measured)
    _paint_legend(painter, look, after, title_room)
    if rows.notes is not None and note:
        painter.setPen(look.scheme.ink)
        text = plain.elidedText(note, Qt.TextElideMode.ElideRight, note_room)
        painter.drawText(QPointF(AIR, rows.notes + plain.ascent()), text)


def _paint_legend(painter: QPainter, look: Look, left: float, right: float) -> None:
    """Which side is which phase, as arrows and words, where there is room for both."""
    metrics = QFontMetricsF(look.font)
    present = {phase.name for phase in look.figure.phases}
    names = [name for name in (LOWERING, RAISING) if name in present]
    half, gap = metrics.ascent() * 0.3, metrics.horizontalAdvance("  ·  ")
    wide = sum(metrics.horizontalAdvance(name) + 2 * half + 2 * AIR for name in names)
    if left + gap + wide > right:
        return
    baseline, x = look.layout.rows.title + metrics.ascent(), left + gap
    for name in names:
        at = QPointF(x + half, baseline - metrics.ascent() * 0.38)
        paint_arrow(painter, at, half, up=name == RAISING, colour=look.scheme.hue(name))
        painter.setPen(look.scheme.soft)
        painter.drawText(QPointF(x + 2 * half + AIR, baseline), name)
        x += metrics.horizontalAdvance(name) + 2 * half + 3 * AIR


def paint_name(painter: QPainter, look: Look, column: Column, *, current: bool, note: str) -> None:
    """A muscle's name over its column, above the arrows of the two phases; the current one is underlined."""
    rows, heavy = look.layout.rows, bold(look.font)
    metrics = QFontMetricsF(heavy)
    muscle = look.figure.muscles[column.muscle]
    wide = column.right - column.left
    lines = wrapped(muscle.label, metrics, wide + 4, rows.name_rows)
    painter.setFont(heavy)
    painter.setPen(look.scheme.soft if muscle.excluded is not None else look.scheme.ink)
    for place, line in enumerate(lines):
        x = (column.left + column.right - metrics.horizontalAdvance(line)) / 2
        y = rows.names + (rows.name_rows - len(lines) + place) * look.layout.row
        painter.drawText(QPointF(max(x, column.left - 2), y + metrics.ascent()), line)
    if current:
        painter.setPen(QPen(look.scheme.ink, 2))
        y = rows.arrows - 1
        painter.drawLine(QPointF(column.left, y), QPointF(column.right, y))
    _paint_sides(painter, look, column, note)


def _paint_sides(painter: QPainter, look: Look, column: Column, note: str) -> None:
    """Arrow and word of each phase where there is room, arrows else; a muscle that is out says so instead."""
    font = small(look.font)
    metrics = QFontMetricsF(font)
    middle = look.layout.rows.arrows + look.layout.row * 0.45
    half = metrics.ascent() * 0.34
    painter.setFont(font)
    baseline = middle + metrics.ascent() * 0.38
    if note:
        painter.setPen(look.scheme.ink)
        text = metrics.elidedText(note, Qt.TextElideMode.ElideRight, column.right - column.left)
        painter.drawText(QPointF((column.left + column.right - metrics.horizontalAdvance(text)) / 2, baseline), text)
        return
    room = (column.right - column.left) / 2
    names = [phase.name for phase in look.figure.phases]
    words = max(metrics.horizontalAdvance(name) for name in names) + 2 * half + 3 * AIR < room
    for name in names:
        way = -1.0 if is_left(name) else 1.0
        at = column.centre + way * (AIR + half)
        if name in (LOWERING, RAISING):
            paint_arrow(painter, QPointF(at, middle), half, up=name == RAISING, colour=look.scheme.hue(name))
        if words or name not in (LOWERING, RAISING):
            painter.setPen(look.scheme.soft)
            x = at + half + AIR if way > 0 else at - half - AIR - metrics.horizontalAdvance(name)
            painter.drawText(QPointF(x, baseline), name)


def paint_levels(painter: QPainter, look: Look, right: float) -> None:
    """The two third levels from edge to edge, level with those in the movement trace."""
    band = look.layout.band
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    painter.setPen(hairline(look.scheme.soft, painter, _LEVEL_DASHES))
    for level in look.figure.levels or ():
        if band.low <= level <= band.high:
            y = snapped(painter, band.y(level))
            painter.drawLine(QPointF(look.layout.gutter - AIR, y), QPointF(right, y))


def paint_gutter(painter: QPainter, look: Look) -> None:
    """The axis' name above, its values at the rep's ends and at the third levels, names of the thirds between."""
    layout, metrics = look.layout, QFontMetricsF(look.font)
    painter.setFont(look.font)
    painter.setPen(look.scheme.soft)
    rows = layout.rows.name_rows
    unit = (look.figure.axis.unit,) if look.figure.axis.unit else ()
    title = (*wrapped(look.figure.axis.name, metrics, layout.gutter - 2 * AIR, max(rows + 1 - len(unit), 1)), *unit)
    for place, line in enumerate(title):
        top = layout.band.top - AIR - (len(title) - place) * layout.row
        right = layout.gutter - 3 * AIR - metrics.horizontalAdvance(line)
        painter.drawText(QPointF(max(right, AIR), top + metrics.ascent()), line)
    units = {"%" if column.scale.unit is Unit.PERCENT else "mV" for column in layout.columns}
    for text, top in (("/".join(sorted(units)), layout.rows.scale), ("whole", layout.rows.whole)):
        _right_aligned(painter, look, text, top + layout.row / 2)
    _paint_error_names(painter, look)
    painter.setFont(look.font)
    taken = _paint_axis_values(painter, look)
    if look.figure.levels is not None:
        _paint_third_names(painter, look, taken)


def _right_aligned(painter: QPainter, look: Look, text: str, middle: float) -> None:
    box = QRectF(0, middle - look.layout.row / 2, look.layout.gutter - 3 * AIR, look.layout.row)
    painter.drawText(box, int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter), text)


def _paint_error_names(painter: QPainter, look: Look) -> None:
    """What the signs of the errors stand for, in words where they fit."""
    font = small(look.font)
    metrics, room = QFontMetricsF(font), look.layout.gutter - 3 * AIR
    painter.setFont(font)
    for place, (word, sign) in enumerate((("error", ERROR), ("shift", SHIFT))):
        both = f"{word} {sign}"
        text = both if metrics.horizontalAdvance(both) <= room else sign
        _right_aligned(painter, look, text, look.layout.rows.whole_error + (place + 0.5) * look.layout.small)


def paint_sticking(painter: QPainter, look: Look) -> None:
    """A bar beside the axis where the raising movement sticks: from the first peak of its speed to the dip after it."""
    for motion in look.figure.motion:
        if motion.sticking is None or look.figure.axis.of_time:
            continue
        ends = sorted(look.layout.band.y(position) for position in motion.sticking)
        if not all(map(isfinite, ends)):
            continue
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        bar = QRectF(look.layout.gutter - AIR - 1, ends[0], STICKING_PX, max(ends[1] - ends[0], 1.0))
        painter.fillRect(bar, look.scheme.hue(motion.name))


def _paint_axis_values(painter: QPainter, look: Look) -> list[float]:
    """Values of the axis that stand clear of one another; gives the heights at which they are."""
    figure, band, row = look.figure, look.layout.band, look.layout.row
    if figure.levels is None:
        most = max(2, int(band.height / (2.5 * row)))
        wanted = [(tick.value, tick.text) for tick in ticks(band.low, band.high, most)]
    else:
        values = (*figure.levels, figure.axis.bottom, figure.axis.top)
        wanted = [(value, position_text(figure, value)) for value in values]
    taken: list[float] = []
    for value, text in wanted:
        y = band.y(value)
        if not band.top - 1 <= y <= band.bottom + 1 or any(abs(y - other) < row for other in taken):
            continue
        taken.append(y)
        painter.setPen(look.scheme.soft)
        _right_aligned(painter, look, text, y)
        painter.setPen(hairline(look.scheme.soft, painter))
        level, right = snapped(painter, y), look.layout.gutter - AIR
        painter.drawLine(QPointF(right - _TICK, level), QPointF(right, level))
    return taken


def _paint_third_names(painter: QPainter, look: Look, taken: list[float]) -> None:
    figure, band, row = look.figure, look.layout.band, look.layout.row
    low, high = sorted(figure.levels or (0.0, 0.0), key=lambda level: -band.y(level))
    ends = (figure.axis.bottom, low, high, figure.axis.top)
    painter.setPen(look.scheme.ink)
    for name, one, other in zip(("lower", "middle", "upper"), ends, ends[1:], strict=False):
        middle = (band.y(one) + band.y(other)) / 2
        if band.y(one) - band.y(other) >= row and all(abs(middle - y) >= row * 0.95 for y in taken):
            _right_aligned(painter, look, name, middle)
