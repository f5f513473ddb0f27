"""From columns of numbers to a recording: rates, units, labels, and what is said about them."""

from dataclasses import dataclass, replace
from fractions import Fraction

from phasemark.formats.mapping import EmgColumn, Mapping, MovementColumn
from phasemark.formats.plausibility import constant_note, scale_note
from phasemark.formats.times import RowTimes
from phasemark.formats.titles import Heading
from phasemark.formats.traces import (
    RowGrid,
    Trace,
    gap_notes,
    measurable,
    place_trace,
    without_end_gap,
)
from phasemark.model.clock import Alignment, Rate, rate_text
from phasemark.model.errors import BadData
from phasemark.model.recording import EmgChannel, MovementTrace, Recording, Samples, Up
from phasemark.model.units import COUNTS, EMG_UNITS

Part = EmgColumn | MovementColumn
# Nothing that is called EMG comes so slowly; times in another unit than stated do.
_SLOWEST_EMG = 10


def _label(part: Part) -> str:
    if isinstance(part, EmgColumn):
        return EmgChannel(part.muscle, Fraction(1), part.side).label
    return part.kind


@dataclass(frozen=True, slots=True)
class Reading:
    """What a reader found for a mapping: for each EMG channel, then each trace, its column of rows and heading.

    columns are float64, one value a row, NaN where empty; times is None where no column holds them.
    """

    name: str
    mapping: Mapping
    columns: tuple[Samples, ...]
    headings: tuple[Heading, ...]
    times: RowTimes | None = None

    @property
    def parts(self) -> tuple[Part, ...]:
        """EMG channels, then movement traces, as the mapping lists them."""
        return (*self.mapping.emg, *self.mapping.movement)


def _stated_rates(reading: Reading) -> tuple[Rate, ...]:
    """The rate (Hz) of each part; raises BadData where one has none."""
    usual = reading.mapping.rate or (reading.times.rate if reading.times else None)
    rates = [part.rate or usual for part in reading.parts]
    lacking = [_label(part) for part, rate in zip(reading.parts, rates, strict=True) if rate is None]
    if lacking:
        raise BadData(f"{reading.name}: no sampling rate for {', '.join(lacking)}; give rate_hz, or a time column.")
    return tuple(rate for rate in rates if rate is not None)


def _row_rate(reading: Reading, rates: tuple[Rate, ...]) -> Rate:
    """The rate (Hz) of the rows: by the times, without them the highest that is stated.

    Raises:
        BadData: a part is said to be faster than the times, or the times are no EMG rate.
    """
    mapping, times = reading.mapping, reading.times
    if times is None:
        return max((*rates, *([mapping.rate] if mapping.rate else [])))
    for part, rate in zip(reading.parts, rates, strict=True):
        if rate > times.rate:
            raise BadData(
                f"{reading.name}: the times give {rate_text(times.rate)} rows a second, but the mapping says "
                f"rate_hz {rate_text(rate)} for {_label(part)}; correct one of them."
            )
    if mapping.rate is None and mapping.emg and times.rate < _SLOWEST_EMG:
        raise BadData(
            f"{reading.name}: the time column gives only {float(times.rate):g} rows a second; state its unit "
            '("time": {"column": ..., "unit": "ms"}), or rate_hz and no time column.'
        )
    return times.rate


def _traces(reading: Reading) -> tuple[Trace, ...]:
    rates = _stated_rates(reading)
    rows = _row_rate(reading, rates)
    found = [measurable(column, _label(part)) for column, part in zip(reading.columns, reading.parts, strict=True)]
    columns = [column for column, _ in found]
    ends = [len(without_end_gap(column)) for column, rate in zip(columns, rates, strict=True) if rate == rows]
    places = reading.times.places if reading.times else None
    grid = RowGrid(rows, max(ends, default=len(columns[0])), places)
    traces = [
        place_trace(column, rate, grid, _label(part), reading.name)
        for column, rate, part in zip(columns, rates, reading.parts, strict=True)
    ]
    return tuple(replace(trace, notes=(*notes, *trace.notes)) for trace, (_, notes) in zip(traces, found, strict=True))


def _emg_channel(part: EmgColumn, heading: Heading, rate: Rate, name: str) -> EmgChannel:
    unit = part.unit or (heading.unit if heading.unit in EMG_UNITS else None)
    if unit is None:
        raise BadData(
            f"{name}: the unit of {_label(part)} (column {heading.text}) is not known; "
            f"state one of {', '.join(EMG_UNITS)} in the mapping."
        )
    if unit == COUNTS and part.gain is None:
        raise BadData(f"{name}: {_label(part)} is in raw counts; state its gain in mV per count in the mapping.")
    return EmgChannel(part.muscle, rate, part.side, unit, part.gain, part.treatment)


def _movement_trace(part: MovementColumn, heading: Heading, trace: Trace) -> MovementTrace:
    unit = part.unit if part.unit is not None else heading.unit
    return MovementTrace(part.kind, trace.rate, unit, part.up or Up.LARGER, Alignment(trace.begins))


def _assumed(part: Part, heading: Heading, trace: Trace) -> tuple[str, ...]:
    """What the mapping left open for a part and was taken from the titles, or as usual."""
    label = _label(part)
    if isinstance(part, MovementColumn):
        up = f"{label}: larger values are taken as raised, as the mapping does not say"
        gain = f"{label}: values multiplied by the gain {part.gain}"
        return (*((up,) if part.up is None else ()), *((gain,) if part.gain is not None else ()))
    unit = f"{label}: unit {heading.unit} taken from the title"
    differs = part.unit is not None and heading.unit in EMG_UNITS and heading.unit != part.unit
    other = f"{label}: taken in {part.unit} as the mapping says, although the title says {heading.unit}"
    late = f"{label}: begins {float(trace.begins):.6g} s late, which is not kept"
    notes = (unit,) if part.unit is None else (other,) if differs else ()
    return (*notes, *((late,) if trace.begins else ()))


def _end_notes(labels: list[str], traces: tuple[Trace, ...]) -> list[str]:
    """Which traces end before the longest one does, by at least a sample of their own."""
    ends = [trace.begins + Fraction(len(trace.values)) / trace.rate for trace in traces]
    last, by_end = max(ends), dict[Fraction, list[str]]()
    for label, end, trace in zip(labels, ends, traces, strict=True):
        if last - end >= 1 / trace.rate:
            by_end.setdefault(end, []).append(label)
    return [
        f"{', '.join(names)}: end{'s' if len(names) == 1 else ''} at {float(end):.3f} s, "
        f"{float(last - end):.3f} s before the longest trace"
        for end, names in by_end.items()
    ]


def _notes(reading: Reading, traces: tuple[Trace, ...]) -> tuple[str, ...]:
    labels = [_label(part) for part in reading.parts]
    notes = list(reading.times.notes if reading.times else ())
    for part, heading, trace in zip(reading.parts, reading.headings, traces, strict=True):
        notes += [*trace.notes, *_assumed(part, heading, trace)]
        notes += gap_notes(_label(part), trace.values, trace.rate)
        notes += constant_note(_label(part), trace.values)
    return (*notes, *_end_notes(labels, traces))


def assemble(reading: Reading) -> Recording:
    """The recording of a reading's columns; raises BadData where rates, units or columns do not fit."""
    traces = _traces(reading)
    split = len(reading.mapping.emg)
    emg_traces, movement_traces = traces[:split], traces[split:]
    emg = tuple(
        _emg_channel(part, heading, trace.rate, reading.name)
        for part, heading, trace in zip(reading.mapping.emg, reading.headings[:split], emg_traces, strict=True)
    )
    movement = tuple(
        _movement_trace(part, heading, trace)
        for part, heading, trace in zip(
            reading.mapping.movement, reading.headings[split:], movement_traces, strict=True
        )
    )
    positions = tuple(
        trace.values if part.gain is None else trace.values * part.gain
        for part, trace in zip(reading.mapping.movement, movement_traces, strict=True)
    )
    values = tuple(trace.values for trace in emg_traces)
    scales = [note for channel, own in zip(emg, values, strict=True) for note in scale_note(channel, own)]
    return Recording(emg, values, movement, positions, notes=(*_notes(reading, traces), *scales))
