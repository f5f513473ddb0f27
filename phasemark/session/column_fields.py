"""The fields of a column as texts: what can be chosen, what each says, and the plan after something was put in."""

from dataclasses import replace

from phasemark.formats.mapping import TIME_UNITS
from phasemark.formats.preview import propose_mapping
from phasemark.formats.titles import Heading
from phasemark.model.errors import BadData
from phasemark.model.recording import Side, Treatment, Up
from phasemark.model.units import EMG_UNITS, parse_emg_unit
from phasemark.session.column_plan import ColumnPlan, ColumnUse, Field, Use, with_title_unit, with_title_up

MOVEMENT_UNITS = ("deg", "rad", "m", "cm", "mm", "V")
UP_WORDS = {Up.LARGER: "larger is raised ▲", Up.SMALLER: "smaller is raised ▼"}
NO_SIDE = "no side"


def applies(column: ColumnUse, field: Field) -> bool:
    """Whether a field means anything for a column of its use."""
    if field is Field.USE:
        return True
    if field is Field.SIDE:
        return column.use is Use.EMG
    return column.use.is_trace or (field is Field.UNIT and column.use is Use.TIME)


def choices(column: ColumnUse, field: Field) -> tuple[str, ...]:
    """What can be chosen in a field; empty where it is typed."""
    if not applies(column, field):
        return ()
    units = {Use.EMG: EMG_UNITS, Use.TIME: TIME_UNITS}.get(column.use, MOVEMENT_UNITS)
    values = tuple(map(str, Treatment)) if column.use is Use.EMG else tuple(UP_WORDS.values())
    sides = (str(Side.LEFT), str(Side.RIGHT), NO_SIDE)
    known = {Field.USE: tuple(map(str, Use)), Field.SIDE: sides, Field.UNIT: units, Field.VALUES: values}
    return known.get(field, ())


def is_free(column: ColumnUse, field: Field) -> bool:
    """Whether other texts than the choices may be typed: names, numbers, the unit of a movement."""
    return field in (Field.NAME, Field.GAIN, Field.RATE) or (field is Field.UNIT and column.use.is_movement)


def text_of(column: ColumnUse, field: Field) -> str:
    """What a field says, '' where it does not apply or says nothing."""
    if not applies(column, field):
        return ""
    up = "" if column.up is None else UP_WORDS[column.up]
    texts = {
        Field.USE: str(column.use),
        Field.NAME: column.name,
        Field.SIDE: "" if column.side is Side.NONE else str(column.side),
        Field.UNIT: column.unit,
        Field.VALUES: str(column.treatment) if column.use is Use.EMG else up,
        Field.GAIN: column.gain,
        Field.RATE: column.rate,
    }
    return texts[field]


def _chosen(text: str, offered: tuple[str, ...]) -> str | None:
    """The choice a text means: in full, or by its beginning where only one begins so; None where it is none."""
    wanted = text.strip().casefold()
    exact = [choice for choice in offered if choice.casefold() == wanted]
    begun = [choice for choice in offered if wanted and choice.casefold().startswith(wanted)]
    return exact[0] if exact else begun[0] if len(begun) == 1 else None


def with_text(plan: ColumnPlan, number: int, field: Field, text: str, heading: Heading) -> ColumnPlan:
    """The plan after a text was put into a field of a column; the same plan where it is none of the choices."""
    column = plan.columns[number - 1]
    if not applies(column, field):
        return plan
    if field is Field.USE:
        chosen = _chosen(text, tuple(map(str, Use)))
        return plan if chosen is None else _with_use(plan, column, Use(chosen), heading)
    changed = _changed(column, field, text.strip())
    return plan if changed is None else plan.with_column(changed)


def _changed(column: ColumnUse, field: Field, text: str) -> ColumnUse | None:
    plain = {Field.NAME: "name", Field.GAIN: "gain", Field.RATE: "rate"}
    if field in plain:
        return replace(column, **{plain[field]: text})  # type: ignore[arg-type]  # all three are texts
    if field is Field.UNIT:
        return _with_unit(column, text)
    chosen = _chosen(text, choices(column, field))
    if field is Field.SIDE:
        return replace(column, side=Side.NONE if chosen in (None, NO_SIDE) else Side(str(chosen)))
    if column.use is Use.EMG:
        return None if chosen is None else replace(column, treatment=Treatment(chosen))
    return replace(column, up=next((up for up, words in UP_WORDS.items() if words == chosen), None))


def _with_unit(column: ColumnUse, text: str) -> ColumnUse | None:
    if column.use is Use.EMG and text:
        try:
            return replace(column, unit=parse_emg_unit(text))
        except BadData:
            return None
    if column.use is Use.TIME and text not in ("", *TIME_UNITS):
        return None
    return replace(column, unit=text)


def _with_use(plan: ColumnPlan, column: ColumnUse, use: Use, heading: Heading) -> ColumnPlan:
    """Another use of a column: what its title says is filled in, and only one movement defines the phases."""
    if use is column.use:
        return plan
    if use.is_movement and column.use.is_movement:
        after = replace(column, use=use)
    else:
        named = _as_titled(ColumnUse(column.number, use, rate=column.rate), heading)
        after = with_title_up(with_title_unit(named, heading), heading)
    if use is Use.PHASES:
        others = tuple(replace(c, use=Use.MOVEMENT) if c.use is Use.PHASES else c for c in plan.columns)
        plan = replace(plan, columns=others)
    return plan.with_column(after)


def _as_titled(column: ColumnUse, heading: Heading) -> ColumnUse:
    """The column named as its title names it, the muscle parted from the side."""
    if column.use is not Use.EMG:
        return replace(column, name=heading.name if column.use.is_movement else "")
    as_emg, _ = propose_mapping((replace(heading, unit="mV"),), "") if heading.name else (None, "")
    if as_emg is None or not as_emg.emg:
        return replace(column, name=heading.name)
    return replace(column, name=as_emg.emg[0].muscle, side=as_emg.emg[0].side)
