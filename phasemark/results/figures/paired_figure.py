"""The picture of each participant's paired values in every phase and third, and of the difference with its interval."""

from collections.abc import Iterable, Sequence
from math import isfinite, nan

from phasemark.model.plan import AgainstLoad, AnalysisPlan
from phasemark.model.recording import Side
from phasemark.results.comparison.compared import ComparedCell, Comparison
from phasemark.results.figures.axes import name_axis, short_unit, tight_axis, value_axis
from phasemark.results.figures.description import (
    Axis,
    Block,
    Element,
    Entry,
    Figure,
    Interval,
    Line,
    Panel,
    Points,
    Row,
    Rule,
    RuleStyle,
    Tone,
)
from phasemark.results.segments import WHOLE
from phasemark.statistics.one_sample import one_sample_t

_VALUES_MM, _DIFFERENCE_MM = 25.0, 15.0
_APART, _MEAN_APART = 0.12, 0.35
_PHASE_TITLES = {
    AgainstLoad.WITH: "With the load",
    AgainstLoad.AGAINST: "Against the load",
    AgainstLoad.REP: "Rep",
}


def paired_figure(comparison: Comparison) -> Figure:
    """Every participant's two values at each place, their means, and the paired difference, a block for each muscle."""
    plan = comparison.plan
    muscles = dict.fromkeys((cell.place.muscle, cell.place.side) for cell in comparison.cells)
    blocks = tuple(_block(comparison, muscle, side) for muscle, side in muscles)
    level = f"{100 * plan.confidence:g} %"
    counts = sorted({cell.n for cell in comparison.cells})
    people = "0" if not counts else str(counts[0]) if len(counts) == 1 else f"{counts[0]} to {counts[-1]}"
    smallest = f"{plan.smallest_effect:g} {comparison.difference_unit}"
    dashed = f"; dashed: the smallest difference that matters ({smallest})" if _applies(comparison) else ""
    primary = "; larger: the primary comparison" if comparison.primary is not None else ""
    return Figure(
        f"Paired values: {plan.a} and {plan.b}",
        _summary(comparison),
        blocks,
        (Entry(0, plan.a, line=False, marker=True), Entry(1, plan.b, line=False, marker=True)),
        f"Thin lines: one participant each (n = {people}). Above: means with {level} intervals between participants. "
        f"Below: mean paired difference, {plan.a} minus {plan.b}, with its {level} interval{dashed}{primary}.",
    )


def _applies(comparison: Comparison) -> bool:
    """Whether the smallest effect of the plan is in the unit of this comparison."""
    return any(cell.detail is not None and cell.detail.equivalence is not None for cell in comparison.cells)


def _block(comparison: Comparison, muscle: str, side: Side) -> Block:
    plan = comparison.plan
    own = [cell for cell in comparison.cells if (cell.place.muscle, cell.place.side) == (muscle, side)]
    phases = [phase for phase in _PHASE_TITLES if any(cell.place.phase is phase for cell in own)]
    columns = [_in_order([cell for cell in own if cell.place.phase is phase]) for phase in phases]
    smallest = plan.smallest_effect if _applies(comparison) else nan
    values = [value for cell in own for of in (cell.a, cell.b) for value in (*of, *_mean_interval(of, plan)[1:])]
    y = value_axis(values, str(plan.outcome), comparison.unit, most=4, from_zero=True)
    limits = [0.0, -smallest, smallest]
    limits += [x for cell in own for x in (cell.difference.interval.low, cell.difference.interval.high)]
    limits += [cell.difference.mean for cell in own]
    difference = tight_axis(limits, "Difference", short_unit(comparison.difference_unit), most=3)
    rows = (
        Row(tuple(_values_panel(cells, plan, y) for cells in columns), _VALUES_MM),
        Row(tuple(_difference_panel(cells, smallest, difference) for cells in columns), _DIFFERENCE_MM),
    )
    title = muscle if side is Side.NONE else f"{muscle} ({side})"
    weights = tuple(float(max(len(cells), 1)) for cells in columns)
    return Block(title, rows, tuple(_PHASE_TITLES[phase] for phase in phases), weights)


def _in_order(cells: Sequence[ComparedCell]) -> list[ComparedCell]:
    """The thirds as the plan names them, the whole phase last."""
    return sorted(cells, key=lambda cell: cell.place.third == WHOLE)


def _slots(cells: Iterable[ComparedCell]) -> Axis:
    return name_axis([cell.place.third for cell in cells])


def _mean_interval(values: Sequence[float], plan: AnalysisPlan) -> tuple[float, float, float]:
    if not values:
        return nan, nan, nan
    found = one_sample_t(values, level=plan.confidence)
    return found.mean, found.interval.low, found.interval.high


def _values_panel(cells: Sequence[ComparedCell], plan: AnalysisPlan, y: Axis) -> Panel:
    lines: list[Element] = []
    points: list[Element] = []
    means: list[Element] = []
    for place, cell in enumerate(cells):
        left, right = place - _APART, place + _APART
        lines += [
            Line((left, right), pair, Tone.SOFT, width_pt=0.35, plain=True) for pair in zip(cell.a, cell.b, strict=True)
        ]
        points.append(Points(tuple(left for _ in cell.a), cell.a, 0, 1.7))
        points.append(Points(tuple(right for _ in cell.b), cell.b, 1, 1.7))
        for series, of, at in ((0, cell.a, place - _MEAN_APART), (1, cell.b, place + _MEAN_APART)):
            means.append(Interval(at, *_mean_interval(of, plan), series))
    return Panel(_slots(cells), y, (*lines, *points, *means))


def _difference_panel(cells: Sequence[ComparedCell], smallest: float, y: Axis) -> Panel:
    rules: list[Element] = [Rule(0.0)]
    if isfinite(smallest):
        rules += [Rule(end, style=RuleStyle.DASHED) for end in (smallest, -smallest)]
    intervals = [
        Interval(
            float(place),
            cell.difference.mean,
            cell.difference.interval.low,
            cell.difference.interval.high,
            Tone.INK,
            size_pt=4.5 if cell.primary else 3.5,
        )
        for place, cell in enumerate(cells)
    ]
    return Panel(_slots(cells), y, (*rules, *intervals))


def _summary(comparison: Comparison) -> str:
    unit = comparison.difference_unit
    return " ".join(
        f"{cell.place.text}: {cell.difference.mean:.3g} {unit} ({cell.difference.interval.low:.3g} to "
        f"{cell.difference.interval.high:.3g}), n = {cell.n}."
        for cell in comparison.cells
    )
