"""Where the parts of the figure of a rep lie: columns of muscles, rows of text, heights of positions (logical px)."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import floor, isfinite, log10

from PySide6.QtGui import QFontMetricsF

from phasemark.session.rep_figure import FigureSide, RepFigure
from phasemark.window.figure.figure_words import DASH, is_left, position_text
from phasemark.window.traces.lane_layout import Band
from phasemark.window.traces.tick_values import decimals_of, number_text

AIR = 4.0
COLUMN_GAP = 8.0
_WIDEST_COLUMN = 240.0
_NARROWEST_CURVE = 38.0
MOST_NAME_ROWS = 3
_LIMITS = (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)


def scale_limit(peak: float) -> float:
    """The end of a scale from 0 that holds a peak (mV): a short number, at most a third above it."""
    if not (isfinite(peak) and peak > 0):
        return 1.0
    power = 10.0 ** floor(log10(peak))
    return next((factor * power for factor in _LIMITS if factor * power >= peak * 1.001), 12.0 * power)


def scale_limits(figure: RepFigure, *, one_scale: bool) -> list[float]:
    """The end (mV) of each muscle's scale; one for all is that of the muscles that are not excluded."""
    peaks = [muscle.peak for muscle in figure.muscles]
    if one_scale:
        standing = [muscle.peak for muscle in figure.muscles if muscle.excluded is None] or peaks
        peaks = [max(standing)] * len(peaks)
    return [scale_limit(peak) for peak in peaks]


def value_text(millivolts: float, limit: float) -> str:
    """A value (mV) with the decimals of a column whose scale ends at limit: a hundredth of it, or finer, is seen.

    Tenths of a microvolt are the finest on a scale of some microvolts: noise of recordings lies above (common
    practice, no source).
    """
    if not isfinite(millivolts):
        return DASH
    decimals = max(0, 2 - floor(log10(limit)))
    return number_text(millivolts, min(decimals, 4) if limit >= 0.001 else decimals)


def limit_text(limit: float) -> str:
    """A scale's end as it is written."""
    decimals = decimals_of(10.0 ** floor(log10(limit)))
    digits = decimals if abs(round(limit, decimals) - limit) < 1e-9 * limit else decimals + 1
    return number_text(limit, digits)


@dataclass(frozen=True, slots=True)
class Column:
    """One muscle's place: its edges and centre line, and how far from it the end of its scale (mV) lies."""

    muscle: int
    left: float
    right: float
    centre: float
    reach: float
    limit: float

    def x(self, phase: str, millivolts: float) -> float:
        """Where an envelope or a value lies on the side of a phase."""
        away = self.reach * millivolts / self.limit
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


@dataclass(frozen=True, slots=True)
class FigureLayout:
    """All places of the figure at one size of the widget; apart says that values stand beside the curves."""

    band: Band
    gutter: float
    columns: tuple[Column, ...]
    rows: Rows
    row: float
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
    """Logical px that the scale and the values of the whole phases need below the axis."""
    return 2 * metrics.height() + 4 * AIR


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
    return Rows(title, notes, top, names, at, scale, scale + row + AIR)


def gutter_width(figure: RepFigure, metrics: QFontMetricsF) -> float:
    """Width (px) of the positions and the names of the thirds at the left."""
    texts = [position_text(figure, value) for value in (figure.axis.bottom, figure.axis.top, *(figure.levels or ()))]
    texts += [name for phase in figure.phases for name in phase.thirds] if figure.levels else []
    widest = max(metrics.horizontalAdvance(text) for text in [*texts, "middle", "whole"])
    return widest + 4 * AIR


def label_width(limits: Sequence[float], metrics: QFontMetricsF) -> float:
    """Width (px) that the values take on scales that end at these limits (mV)."""
    return max(metrics.horizontalAdvance(value_text(limit, limit)) for limit in limits)


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
    limits: Sequence[float], first: int, seen: int, edges: tuple[float, float], label: float, *, one_sided: bool
) -> tuple[tuple[Column, ...], bool]:
    """So many columns between two edges from the first one seen; whether values stand beside curves and not on them.

    limits are the ends (mV) of all muscles' scales, label the width (px) of their values.
    """
    gutter, right = edges
    share = (right - gutter - COLUMN_GAP * (seen - 1)) / seen
    wide = max(min(share, _WIDEST_COLUMN), 2.0)
    half, beside = wide if one_sided else wide / 2, label + 4 * AIR
    apart = half >= beside + _NARROWEST_CURVE
    reach = max(half - beside if apart else half - 2, 1.0)
    lefts = [gutter + place * (wide + COLUMN_GAP) for place in range(seen)]
    columns = (
        Column(first + place, left, left + wide, floor(left + wide - half) + 0.5, reach, limits[first + place])
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


def _apart(wanted: Sequence[float], row: float, band: Band) -> tuple[float, ...]:
    """Heights at least a row apart and within the axis, as near to those wanted as going from the top allows."""
    order = sorted(range(len(wanted)), key=lambda place: wanted[place])
    found, least = [0.0] * len(wanted), band.top + row / 2
    for rank, place in enumerate(order):
        most = band.bottom - row / 2 - (len(order) - 1 - rank) * row
        found[place] = max(min(wanted[place], most), least)
        least = found[place] + row
    return tuple(found)
