"""The shapes of what is in a panel, and of the legend."""

from collections.abc import Sequence
from itertools import groupby
from math import isfinite

from phasemark.results.figures.description import (
    Band,
    Element,
    Entry,
    Interval,
    Line,
    Numbers,
    Paint,
    Points,
    Rule,
    RuleStyle,
    Tone,
)
from phasemark.results.figures.drawing import Area, Plot, Point, Shape, Stroke, Words, marker_points
from phasemark.results.figures.looks import Look, Marker
from phasemark.results.figures.text_width import MM_PER_PT, elided, text_mm

_BAND_OPACITY = 0.2
_RULE_PT = 0.5
_RULE_DASHES = {RuleStyle.SOLID: (), RuleStyle.DASHED: (2.5, 1.5), RuleStyle.DOTTED: (0.8, 1.2)}
_CAP_MM = 0.7
_INTERVAL_PT = 0.8
_OUTLINE_PT = 0.7
_LEGEND_PT, _LEGEND_LINE, _LEGEND_MARKER, _LEGEND_GAP, _LEGEND_HEIGHT = 7.0, 8.0, 2.0, 4.0, 3.6


def element_shapes(element: Element, plot: Plot, look: Look) -> list[Shape]:
    """The shapes of one element of a panel."""
    match element:
        case Line():
            dashes = () if element.plain or isinstance(element.paint, Tone) else look.of_series(element.paint).dashes
            colour = look.colour(element.paint)
            runs = _runs(element.x, element.y, plot)
            return [Stroke(run, colour, element.width_pt, dashes) for run in runs if len(run) > 1]
        case Band():
            return _band(element, plot, look)
        case Points():
            places = [place for run in _runs(element.x, element.y, plot) for place in run]
            return [_marker(place, element.paint, element.size_pt, look, filled=element.filled) for place in places]
        case Interval():
            return _interval(element, plot, look)
        case Rule():
            return _rule(element, plot, look)


def _runs(x: Numbers, y: Numbers, plot: Plot) -> list[tuple[Point, ...]]:
    """The places of points, in runs without a missing one."""
    there = groupby(zip(x, y, strict=True), key=lambda point: isfinite(point[0]) and isfinite(point[1]))
    return [tuple(plot.place(*point) for point in run) for present, run in there if present]


def _band(band: Band, plot: Plot, look: Look) -> list[Shape]:
    both = zip(band.x, band.low, band.high, strict=True)
    there = groupby(both, key=lambda at: all(map(isfinite, at)))
    shapes: list[Shape] = []
    for present, run in there:
        held = list(run)
        if present and len(held) > 1:
            over = [plot.place(x, high) for x, _, high in held]
            under = [plot.place(x, low) for x, low, _ in reversed(held)]
            shapes.append(Area((*over, *under), look.colour(band.paint), _BAND_OPACITY))
    return shapes


def _shape_of(paint: Paint, look: Look) -> Marker:
    return Marker.CIRCLE if isinstance(paint, Tone) else look.of_series(paint).marker


def _marker(place: Point, paint: Paint, size_pt: float, look: Look, *, filled: bool) -> Area:
    colour = look.colour(paint)
    points = marker_points(_shape_of(paint, look), *place, size_pt * MM_PER_PT)
    return Area(points, colour if filled else look.ground, outline=colour, width_pt=0.0 if filled else _OUTLINE_PT)


def _interval(element: Interval, plot: Plot, look: Look) -> list[Shape]:
    def place(value: float, aside: float = 0.0) -> Point:
        x, y = plot.place(value, element.at) if element.level else plot.place(element.at, value)
        return (x, y + aside) if element.level else (x + aside, y)

    if not isfinite(element.value):
        return []
    colour = look.colour(element.paint)
    shapes: list[Shape] = []
    if isfinite(element.low) and isfinite(element.high):
        shapes.append(Stroke((place(element.low), place(element.high)), colour, _INTERVAL_PT))
        shapes += [
            Stroke((place(end, -_CAP_MM), place(end, _CAP_MM)), colour, _INTERVAL_PT)
            for end in ((element.low, element.high) if element.capped else ())
        ]
    shapes.append(_marker(place(element.value), element.paint, element.size_pt, look, filled=element.filled))
    return shapes


def _rule(rule: Rule, plot: Plot, look: Look) -> list[Shape]:
    if rule.upright:
        x = plot.place(rule.value, plot.y.low)[0]
        points = ((x, plot.top), (x, plot.top + plot.height))
    else:
        y = plot.place(plot.x.low, rule.value)[1]
        points = ((plot.left, y), (plot.left + plot.width, y))
    return [Stroke(points, look.colour(rule.tone), _RULE_PT, _RULE_DASHES[rule.style])]


def legend_shapes(entries: Sequence[Entry], look: Look, at: Point, width: float) -> tuple[list[Shape], float]:
    """The legend from a place on within a width, its entries side by side where they fit; and where it ends (mm)."""
    left, top = at
    shapes: list[Shape] = []
    x, y = left, top
    for entry in entries:
        lead = _LEGEND_LINE if entry.line else _LEGEND_MARKER
        room = width - lead - 1.2
        name = elided(" ".join(entry.name.split()), _LEGEND_PT, room)
        taken = lead + 1.2 + text_mm(name, _LEGEND_PT)
        if x > left and x + taken > left + width:
            x, y = left, y + _LEGEND_HEIGHT
        shapes += _legend_entry(entry, name, (x, y), look)
        x += taken + _LEGEND_GAP
    return shapes, y + _LEGEND_HEIGHT + 1.0 if entries else top


def _legend_entry(entry: Entry, name: str, at: Point, look: Look) -> list[Shape]:
    x, middle = at[0], at[1] + _LEGEND_HEIGHT / 2
    colour, lead = look.colour(entry.series), _LEGEND_LINE if entry.line else _LEGEND_MARKER
    shapes: list[Shape] = []
    if entry.line:
        points = ((x, middle), (x + _LEGEND_LINE, middle))
        shapes.append(Stroke(points, colour, 1.2, look.of_series(entry.series).dashes))
    if entry.marker:
        shapes.append(_marker((x + lead / 2, middle), entry.series, 3.5, look, filled=True))
    baseline = middle + 0.35 * _LEGEND_PT * MM_PER_PT
    width = text_mm(name, _LEGEND_PT)
    shapes.append(Words(x + lead + 1.2, baseline, name, _LEGEND_PT, look.ink, width_mm=width))
    return shapes
