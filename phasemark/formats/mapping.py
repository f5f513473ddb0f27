"""The mapping: which column of a recording is which muscle or movement, in which unit, at which rate.

It holds for every format; a column is a number (from 1) or the title the file gives it.
"""

from dataclasses import dataclass
from typing import Any

from phasemark.model.clock import Rate, rate_text
from phasemark.model.recording import Side, Treatment, Up

VERSION = 1
TIME_UNITS = ("s", "ms")
ColumnName = int | str


@dataclass(frozen=True, slots=True)
class EmgColumn:
    """One EMG channel: its column, muscle and side; unit None where the file's titles state it.

    gain multiplies a stored value: into the unit, or raw counts into mV. rate (Hz) None: the recording's.
    """

    column: ColumnName
    muscle: str
    side: Side = Side.NONE
    unit: str | None = None
    gain: float | None = None
    rate: Rate | None = None
    treatment: Treatment = Treatment.RAW


@dataclass(frozen=True, slots=True)
class MovementColumn:
    """One movement trace: its column, what it measures, its unit and which way is up (None: not stated).

    gain multiplies a stored value into the unit. rate (Hz) None: the recording's.
    """

    column: ColumnName
    kind: str = "movement"
    unit: str | None = None
    up: Up | None = None
    gain: float | None = None
    rate: Rate | None = None


@dataclass(frozen=True, slots=True)
class TimeColumn:
    """The column that holds the time of each row; unit 's' or 'ms', None where the title states it (else s)."""

    column: ColumnName
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class Mapping:
    """All channels and traces to be read; the first movement trace defines the phases.

    rate (Hz) is that of the rows and of each column that states no other; None: from the times or the file.
    """

    emg: tuple[EmgColumn, ...] = ()
    movement: tuple[MovementColumn, ...] = ()
    rate: Rate | None = None
    time: TimeColumn | None = None


def _plain_rate(rate: Rate | None) -> int | str | None:
    if rate is None:
        return None
    return rate.numerator if rate.denominator == 1 else rate_text(rate)


def _stated(**items: Any) -> dict[str, Any]:
    return {key: value for key, value in items.items() if value is not None}


def _plain_emg(part: EmgColumn) -> dict[str, Any]:
    return _stated(
        column=part.column,
        muscle=part.muscle,
        side=str(part.side),
        unit=part.unit,
        gain=part.gain,
        rate_hz=_plain_rate(part.rate),
        treatment=str(part.treatment),
    )


def _plain_movement(part: MovementColumn) -> dict[str, Any]:
    return _stated(
        column=part.column,
        kind=part.kind,
        unit=part.unit,
        up=None if part.up is None else str(part.up),
        gain=part.gain,
        rate_hz=_plain_rate(part.rate),
    )


def to_plain(mapping: Mapping) -> dict[str, Any]:
    """The mapping as JSON values; parse_mapping reads them back equal. Rates that are not whole are decimal text."""
    time = mapping.time
    plain: dict[str, Any] = {"version": VERSION}
    if mapping.rate is not None:
        plain["rate_hz"] = _plain_rate(mapping.rate)
    plain["emg"] = [_plain_emg(part) for part in mapping.emg]
    plain["movement"] = [_plain_movement(part) for part in mapping.movement]
    plain["time"] = None if time is None else _stated(column=time.column, unit=time.unit)
    return plain
