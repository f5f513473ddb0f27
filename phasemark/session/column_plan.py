"""How each column of a file is used, as a person fills it in: texts may still be open or wrong, and it is said where.

A plan becomes a mapping once nothing is open; a mapping becomes a plan for the columns of a file.
"""

from dataclasses import dataclass, replace
from enum import Enum, StrEnum
from typing import Any

from phasemark.formats.columns import find_columns
from phasemark.formats.mapping import TIME_UNITS, VERSION, EmgColumn, Mapping, MovementColumn
from phasemark.formats.mapping_json import parse_mapping
from phasemark.formats.titles import Heading
from phasemark.model.clock import Rate, rate_text
from phasemark.model.errors import BadData
from phasemark.model.recording import Side, Treatment, Up
from phasemark.model.units import EMG_UNITS


class Use(StrEnum):
    """What a column is used as; one movement trace defines the phases."""

    NONE = "not used"
    EMG = "EMG"
    PHASES = "movement (phases)"
    MOVEMENT = "movement (other)"
    TIME = "time"

    @property
    def is_movement(self) -> bool:
        """Whether the column is a movement trace."""
        return self in (Use.PHASES, Use.MOVEMENT)

    @property
    def is_trace(self) -> bool:
        """Whether the column's values are kept."""
        return self is Use.EMG or self.is_movement


class Field(Enum):
    """What can be said of a column; the value is its title."""

    USE = "Used as"
    NAME = "Muscle or movement"
    SIDE = "Side"
    UNIT = "Unit"
    VALUES = "Given as"
    GAIN = "Gain"
    RATE = "Rate (Hz)"


@dataclass(frozen=True, slots=True)
class ColumnUse:
    """One column: its number (from 1) and what was said of it. gain and rate are texts as typed, '' for none."""

    number: int
    use: Use = Use.NONE
    name: str = ""
    side: Side = Side.NONE
    unit: str = ""
    treatment: Treatment = Treatment.RAW
    up: Up | None = None
    gain: str = ""
    rate: str = ""


@dataclass(frozen=True, slots=True)
class ColumnPlan:
    """All columns of a file, and the rate (Hz, as typed) of those that state no other."""

    columns: tuple[ColumnUse, ...]
    rate: str = ""

    def with_column(self, column: ColumnUse) -> "ColumnPlan":
        """The plan with one column put in place of the one of its number."""
        return replace(self, columns=tuple(column if c.number == column.number else c for c in self.columns))


# From and to a mapping


def blank_plan(headings: tuple[Heading, ...]) -> ColumnPlan:
    """A plan that uses no column yet."""
    return ColumnPlan(tuple(ColumnUse(heading.number) for heading in headings))


def _number_text(value: float | None) -> str:
    return "" if value is None else repr(value)


def _rate_text(rate: Rate | None) -> str:
    return "" if rate is None else rate_text(rate)


def _emg_use(number: int, part: EmgColumn) -> ColumnUse:
    return ColumnUse(
        number, Use.EMG, part.muscle, part.side, part.unit or "", part.treatment,
        gain=_number_text(part.gain), rate=_rate_text(part.rate),
    )  # fmt: skip


def _movement_use(number: int, part: MovementColumn, use: Use) -> ColumnUse:
    return ColumnUse(
        number, use, part.kind, unit=part.unit or "", up=part.up,
        gain=_number_text(part.gain), rate=_rate_text(part.rate),
    )  # fmt: skip


def plan_from(mapping: Mapping, headings: tuple[Heading, ...], name: str) -> ColumnPlan:
    """The plan that a mapping states for a file's columns; name is the file's.

    Raises:
        BadData: the mapping names columns that the file has not; the sentence says which.
    """
    numbers = find_columns(mapping, headings, name)
    plan = replace(blank_plan(headings), rate=_rate_text(mapping.rate))
    emg = len(mapping.emg)
    for number, channel in zip(numbers, mapping.emg, strict=False):
        plan = plan.with_column(with_title_unit(_emg_use(number, channel), headings[number - 1]))
    for place, (number, trace) in enumerate(zip(numbers[emg:], mapping.movement, strict=False)):
        use = Use.MOVEMENT if place else Use.PHASES
        heading = headings[number - 1]
        plan = plan.with_column(with_title_up(with_title_unit(_movement_use(number, trace, use), heading), heading))
    if mapping.time is not None:
        time = ColumnUse(numbers[-1], Use.TIME, unit=mapping.time.unit or "")
        plan = plan.with_column(with_title_unit(time, headings[numbers[-1] - 1]))
    return plan


def with_title_unit(column: ColumnUse, heading: Heading) -> ColumnUse:
    """The column with the unit its title states, where it has none and that unit can be one of its use."""
    fits = {Use.EMG: heading.unit in EMG_UNITS, Use.TIME: heading.unit in TIME_UNITS}.get(column.use, True)
    return replace(column, unit=heading.unit) if not column.unit and fits else column


def with_title_up(column: ColumnUse, heading: Heading) -> ColumnUse:
    """The column with the way that is raising where the title says it: a height is larger when raised."""
    says = column.use.is_movement and column.up is None and "height" in heading.name.casefold().split()
    return replace(column, up=Up.LARGER) if says else column


def mapping_from(plan: ColumnPlan) -> Mapping:
    """The mapping that a plan states.

    Raises:
        BadData: something is still open or wrong in it.
    """
    used = plan.columns
    movement = sorted((c for c in used if c.use.is_movement), key=lambda c: c.use is not Use.PHASES)
    times = [c for c in used if c.use is Use.TIME]
    plain: dict[str, Any] = {
        "version": VERSION,
        **_stated(rate_hz=_rate_of(plan.rate)),
        "emg": [
            _plain(c, muscle=c.name, side=str(c.side), treatment=str(c.treatment)) for c in used if c.use is Use.EMG
        ],
        "movement": [_plain(c, kind=c.name.strip(), up=str(c.up) if c.up else "") for c in movement],
        "time": _stated(column=times[0].number, unit=times[0].unit) if times else None,
    }
    return parse_mapping(plain, "What the columns hold")


def _stated(**items: Any) -> dict[str, Any]:
    return {key: value for key, value in items.items() if value not in (None, "")}


def _plain(column: ColumnUse, **own: str) -> dict[str, Any]:
    return _stated(
        column=column.number, unit=column.unit, gain=parse_gain(column.gain), rate_hz=_rate_of(column.rate), **own
    )


def _rate_of(text: str) -> str | None:
    return with_point(text) or None


def parse_gain(text: str) -> float | None:
    """The gain a text states, None for none; raises BadData where it is no number."""
    if not text.strip():
        return None
    try:
        return float(with_point(text))
    except ValueError:
        raise BadData(f"A gain is a number, not {text!r}.") from None


def with_point(text: str) -> str:
    """A number as typed, with a decimal point."""
    return text.strip().replace(",", ".")
