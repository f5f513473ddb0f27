"""What is still to be said of a file's columns before their plan is a mapping, each point at its place."""

from collections import Counter
from dataclasses import dataclass

from phasemark.formats.mapping import TIME_UNITS
from phasemark.formats.titles import Heading
from phasemark.model.clock import Rate, parse_rate
from phasemark.model.errors import BadData
from phasemark.model.recording import EmgChannel
from phasemark.model.units import COUNTS, EMG_UNITS
from phasemark.session.column_plan import ColumnPlan, ColumnUse, Field, Use, mapping_from, parse_gain, with_point


@dataclass(frozen=True, slots=True)
class OpenPoint:
    """What is still to be said: of which column (0: of the file) and field, in words."""

    column: int
    field: Field
    words: str


def open_points(plan: ColumnPlan, headings: tuple[Heading, ...]) -> tuple[OpenPoint, ...]:
    """All that is still to be said before the plan is a mapping, column by column, then of the whole file."""
    points = [point for column in plan.columns for point in _column_points(column, plan, headings)]
    traces = [c for c in plan.columns if c.use.is_trace]
    if not traces:
        points.append(OpenPoint(0, Field.USE, "say which columns are EMG and which are movement"))
    elif any(c.use.is_movement for c in traces) and not any(c.use is Use.PHASES for c in traces):
        points.append(OpenPoint(0, Field.USE, "say which movement defines the phases"))
    if plan.rate.strip() and not _is_rate(plan.rate):
        points.append(OpenPoint(0, Field.RATE, "the sampling rate is a number above zero, such as 1000"))
    elif not plan.rate.strip() and _needs_rate(plan, traces):
        points.append(OpenPoint(0, Field.RATE, "give the sampling rate, or say which column is the time"))
    return tuple(points) or _refused(plan)


def _refused(plan: ColumnPlan) -> tuple[OpenPoint, ...]:
    """What the mapping's own rules still have against a plan that seems complete."""
    try:
        mapping_from(plan)
    except BadData as problem:
        return (OpenPoint(0, Field.USE, str(problem).rstrip(".")),)
    return ()


def _needs_rate(plan: ColumnPlan, traces: list[ColumnUse]) -> bool:
    timed = any(c.use is Use.TIME for c in plan.columns)
    return bool(traces) and not timed and any(not c.rate.strip() for c in traces)


def _is_rate(text: str) -> bool:
    try:
        parse_rate(with_point(text))
    except BadData:
        return False
    return True


def _is_gain(text: str) -> bool:
    try:
        return parse_gain(text) not in (None, 0.0)
    except BadData:
        return False


def _column_points(column: ColumnUse, plan: ColumnPlan, headings: tuple[Heading, ...]) -> list[OpenPoint]:
    say = [*_name_points(column, plan), *_unit_points(column), *_number_points(column)]
    if column.use is Use.PHASES and column.up is None:
        say.append((Field.VALUES, "say which way is raising"))
    if column.use is Use.TIME and [c.use for c in plan.columns].count(Use.TIME) > 1:
        say.append((Field.USE, "only one column can be the time"))
    return [OpenPoint(column.number, field, words) for field, words in say]


def _name_points(column: ColumnUse, plan: ColumnPlan) -> list[tuple[Field, str]]:
    if not column.use.is_trace:
        return []
    if not column.name.strip():
        return [(Field.NAME, "name the muscle" if column.use is Use.EMG else "say what it measures")]
    labels = Counter((c.name.strip(), c.side) for c in plan.columns if c.use is Use.EMG)
    if column.use is Use.EMG and labels[column.name.strip(), column.side] > 1:
        return [(Field.NAME, f"two columns are called {_label(column)}")]
    return []


def _label(column: ColumnUse) -> str:
    return EmgChannel(column.name.strip(), Rate(1), column.side).label


def _unit_points(column: ColumnUse) -> list[tuple[Field, str]]:
    if column.use is Use.EMG and column.unit not in EMG_UNITS:
        return [(Field.UNIT, f"choose the unit ({', '.join(EMG_UNITS)})")]
    if column.use is Use.TIME and column.unit not in TIME_UNITS:
        return [(Field.UNIT, f"choose the unit ({', '.join(TIME_UNITS)})")]
    return []


def _number_points(column: ColumnUse) -> list[tuple[Field, str]]:
    points = []
    if column.use.is_trace and column.gain.strip() and not _is_gain(column.gain):
        points.append((Field.GAIN, "the gain is a number other than zero"))
    elif column.use is Use.EMG and column.unit == COUNTS and not column.gain.strip():
        points.append((Field.GAIN, "state the gain in mV a count"))
    if column.use.is_trace and column.rate.strip() and not _is_rate(column.rate):
        points.append((Field.RATE, "the rate is a number above zero"))
    return points
