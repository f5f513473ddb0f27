"""Where the parts of the figure of a rep lie: columns of muscles, rows of text, heights of positions (logical px)."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import floor, isfinite, log10

from PySide6.QtGui import QFontMetricsF

from phasemark.session.rep_figure import FigureMuscle, FigureSide, RepFigure, Unit
from phasemark.window.figure.figure_words import DASH, is_left, position_text
from phasemark.window.traces.lane_layout import Band
from phasemark.window.traces.tick_values import decimals_of, number_text

AIR = 4.0
COLUMN_GAP = 8.0
_WIDEST_COLUMN = 240.0
_NARROWEST_CURVE = 38.0
MOST_NAME_ROWS = 3
SMALL = 0.85
"""Size of the words of errors beside that of values."""
_LIMITS = (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)


def scale_limit(peak: float) -> float:
    """The end of a scale from 0 that holds a peak (mV): a short number, at most a third above it."""
    if not (isfinite(peak) and peak > 0):
        return 1.0
    power = 10.0 ** floor(log10(peak))
    return next((factor * power for factor in _LIMITS if factor * power >= peak * 1.001), 12.0 * power)


@dataclass(frozen=True, slots=True)
class Scale:
    """A muscle's scale from 0: its end in the unit that is shown, and how many mV one of that unit is."""

    end: float
    unit: Unit = Unit.MILLIVOLTS
    millivolts: float = 1.0


def unit_of(muscle: FigureMuscle, unit: Unit) -> Unit:
    """What a muscle is stated in where a unit is asked for: one without a reference stays in mV."""
    return unit if muscle.reference > 0 else Unit.MILLIVOLTS


def scales_of(figure: RepFigure, unit: Unit, *, one_scale: bool) -> list[Scale]:
    """Each muscle's scale; one for all of a unit is that of the muscles in it that are not excluded."""
    units = [unit_of(muscle, unit) for muscle in figure.muscles]
    mv = [
        muscle.reference / 100 if own is Unit.PERCENT else 1.0
        for muscle, own in zip(figure.muscles, units, strict=True)
    ]
    peaks = [muscle.peak / per for muscle, per in zip(figure.muscles, mv, strict=True)]
    if one_scale:
        peaks = [_highest_alike(figure, peaks, units, own) for own in units]
    return [Scale(scale_limit(peak), own, per) for peak, own, per in zip(peaks, units, mv, strict=True)]


def _highest_alike(figure: RepFigure, peaks: Sequence[float], units: Sequence[Unit], own: Unit) -> float:
    """The highest peak among muscles in a unit, of those that are not excluded where there are some."""
    alike = [(m, p) for m, p, unit in zip(figure.muscles, peaks, units, strict=True) if unit is own]
    return max([p for m, p in alike if m.excluded is None] or [p for _, p in alike])


def value_text(value: float, limit: float) -> str:
    """A value with the decimals of a column whose scale ends at limit: a hundredth of it, or finer, is seen.

    Tenths of a microvolt are the finest on a scale of some microvolts: noise of recordings lies above (common
    practice, no source).
    """
    if not isfinite(value):
        return DASH
    decimals = max(0, 2 - floor(log10(limit)))
    return number_text(value, min(decimals, 4) if limit >= 0.001 else decimals)


def limit_text(limit: float) -> str:
    """A scale's end as it is written."""
    decimals = decimals_of(10.0 ** floor(log10(limit)))
    digits = decimals if abs(round(limit, decimals) - limit) < 1e-9 * limit else decimals + 1
    return number_text(limit, digits)


@dataclass(frozen=True, slots=True)
class Column:
    """One muscle's place: its edges and centre line, and how far from it the end of its scale lies."""

    muscle: int
    left: float
    right: float
    centre: float
    reach: float
    scale: Scale

    @property
    def limit(self) -> float:
        """The end of the scale in the unit that is shown."""
        return self.scale.end

    def x(self, phase: str, millivolts: float) -> float:
        """Where an envelope or a value (mV) lies on the side of a phase."""
        away = self.reach * millivolts / (self.scale.end * self.scale.millivolts)
        return self.centre - away if is_left(phase) else self.centre + away


@dataclass(frozen=True, slots=True)
class Rows:
    """Tops of the rows of text, and how many rows the names have; notes is None where there is no room for them."""

    title: float
    notes: float | None
    names: float
    name_rows: int
    arrows: float
    scale: float
    whole: float
    whole_error: float


@dataclass(frozen=True, slots=True)
class FigureLayout:
    """All places of the figure at one size of the widget; apart says that values stand beside the curves."""

    band: Band
    gutter: float
    columns: tuple[Column, ...]
    rows: Rows
    row: float
    small: float
    apart: bool

    @property
    def left(self) -> float:
        """Left edge of the first column."""
        return self.columns[0].left if self.columns else self.gutter

    @property
    def right(self) -> float:
        """Right edge of the last column that is seen."""
        return self.columns[-1].right if self.columns else self.gutter

    def column_at(self, x: float) -> Column | None:
        """The column under a place, with half the gap on either side."""
        reach = COLUMN_GAP / 2
        return next((c for c in self.columns if c.left - reach <= x <= c.right + reach), None)


def room_above(metrics: QFontMetricsF, name_rows: int = MOST_NAME_ROWS) -> float:
    """Logical px that title, notes, names and arrows need above the axis."""
    return (2 + name_rows) * metrics.height() + metrics.height() * 0.8 + 4 * AIR


def room_below(metrics: QFontMetricsF) -> float:
    """Logical px that the scale and the values of the whole phases with their errors need below the axis."""
    return 2 * metrics.height() + 2 * SMALL * metrics.height() + 4 * AIR


def rows_of(band: Band, metrics: QFontMetricsF, names_wanted: int = 2) -> Rows:
    """Rows above the axis from it upward, as many as there is room for, and those below it."""
    row, arrows = metrics.height(), metrics.height() * 0.8
    at = band.top - AIR - arrows
    room = int((at - 2 * AIR) / row)
    names = max(1, min(names_wanted, MOST_NAME_ROWS, room - 2 if room >= 3 else room - 1))
    top = at - AIR / 2 - names * row
    has_notes = top - AIR - 2 * row >= 0
    notes = top - AIR - row if has_notes else None
    title = max(top - AIR - (2 if has_notes else 1) * row, 0.0)
    scale = band.bottom + 2 * AIR
    return Rows(title, notes, top, names, at, scale, scale + row + AIR, scale + 2 * row + AIR)


def gutter_width(figure: RepFigure, metrics: QFontMetricsF) -> float:
    """Width (px) of the positions and the names of the thirds at the left."""
    texts = [position_text(figure, value) for value in (figure.axis.bottom, figure.axis.top, *(figure.levels or ()))]
    texts += [name for phase in figure.phases for name in phase.thirds] if figure.levels else []
    widest = max(metrics.horizontalAdvance(text) for text in [*texts, "middle", "whole"])
    return widest + 4 * AIR


def label_width(limits: Sequence[float], metrics: QFontMetricsF) -> float:
    """Width (px) that the values, and their errors below them, take on scales that end at these limits."""
    values = [metrics.horizontalAdvance(value_text(limit, limit)) for limit in limits]
    return max(*values, SMALL * metrics.horizontalAdvance("\u00b18.8 %"))


def narrowest_column(label: float, word: float = 0.0) -> float:
    """The least width (px) of a column in which two values of so many pixels stand side by side.

    The longest word of a muscle's name has room too, unless it is far wider than the values.
    """
    return max(2 * (label + 1.5 * AIR), min(word, 3 * label))


def usual_column(metrics: QFontMetricsF) -> float:
    """Width (px) of a column of usual values."""
    return narrowest_column(label_width((0.05,), metrics))


def columns_that_fit(width: float, narrowest: float) -> int:
    """How many muscles are seen at a time in so many pixels."""
    return max(1, int((width + COLUMN_GAP) / (narrowest + COLUMN_GAP)))


def columns_of(
    scales: Sequence[Scale], first: int, seen: int, edges: tuple[float, float], label: float, *, one_sided: bool
) -> tuple[tuple[Column, ...], bool]:
    """So many columns between two edges from the first one seen; whether values stand beside curves and not on them.

    scales are those of all muscles, label the width (px) of their values.
    """
    gutter, right = edges
    share = (right - gutter - COLUMN_GAP * (seen - 1)) / seen
    wide = max(min(share, _WIDEST_COLUMN), 2.0)
    half, beside = wide if one_sided else wide / 2, label + 4 * AIR
    apart = half >= beside + _NARROWEST_CURVE
    reach = max(half - beside if apart else half - 2, 1.0)
    lefts = [gutter + place * (wide + COLUMN_GAP) for place in range(seen)]
    columns = (
        Column(first + place, left, left + wide, floor(left + wide - half) + 0.5, reach, scales[first + place])
        for place, left in enumerate(lefts)
    )
    return tuple(columns), apart


def value_heights(figure: RepFigure, side: FigureSide, band: Band, row: float) -> tuple[float, ...]:
    """Heights (px) at which the values of a side's thirds are centred, in order of time.

    Where the thirds are between levels a value stands in the middle of its third, beside that of the other phase;
    else in the middle of the stretch that its third covers. Values never stand closer than a row apart.
    """
    if figure.levels is not None and set(side.phase.thirds) == {"lower", "middle", "upper"}:
        down, up = (band.y(figure.axis.bottom), band.y(figure.axis.top))
        one, two = sorted((band.y(level) for level in figure.levels), reverse=True)
        middles = {"lower": (down + one) / 2, "middle": (one + two) / 2, "upper": (two + up) / 2}
        wanted = [middles[name] for name in side.phase.thirds]
    else:
        places = [edge.position for edge in side.phase.edges]
        ends = pairwise(places)
        wanted = [band.y((a + b) / 2) if isfinite(a + b) else band.top for a, b in ends][: len(side.phase.thirds)]
    return _apart(wanted, row, band)


def value_lines(heights: Sequence[float], layout_row: float, small: float, band: Band) -> int:
    """How many lines there is room for at each of these heights: the value, its error, its sensitivity."""
    edges = sorted(heights)
    room = min([band.height, *(b - a for a, b in pairwise(edges))])
    return 1 + min(2, max(0, int((room - layout_row + 1) / small)))


def _apart(wanted: Sequence[float], row: float, band: Band) -> tuple[float, ...]:
    """Heights at least a row apart and within the axis, as near to those wanted as going from the top allows."""
    order = sorted(range(len(wanted)), key=lambda place: wanted[place])
    found, least = [0.0] * len(wanted), band.top + row / 2
    for rank, place in enumerate(order):
        most = band.bottom - row / 2 - (len(order) - 1 - rank) * row
        found[place] = max(min(wanted[place], most), least)
        least = found[place] + row
    return tuple(found)
