"""Results as columns of equal length, the form in which the project file keeps them."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, fields

from phasemark.results.further import Further
from phasemark.results.measure import SegmentMotion, TrialResults, Value
from phasemark.results.record_columns import Column, from_columns, to_columns
from phasemark.results.segments import Segment
from phasemark.results.sensitivity import Undetermined
from phasemark.signal.amplitude import Amplitude
from phasemark.signal.kinematics import Motion
from phasemark.signal.sampling_error import NOT_DETERMINED, SamplingError

Keys = Mapping[tuple[str, str], str]
Tables = Mapping[str, Mapping[str, Column]]
VALUES, MOTION = "values", "motion"
_WHAT = "results"


@dataclass(frozen=True, slots=True)
class _Place:
    # Of which rep and segment a row is; a segment's two pieces are told apart by its pause, -1 where it has none.
    trial: str
    rater: str
    rep: int
    phase: str
    third: str
    begin: int
    pause_begin: int
    pause_end: int
    end: int


@dataclass(frozen=True, slots=True)
class _ValueRow(_Place):
    channel: int
    rms_mV: float
    mean_amplitude_mV: float
    valid: int
    samples: int
    rms_error: float
    mean_amplitude_error: float
    bandwidth_hz: float
    independent_samples: float
    rms_shift_mV: float
    mean_amplitude_shift_mV: float
    shift_why_not: Undetermined
    peak_mV: float
    peak_at_s: float
    median_hz: float


@dataclass(frozen=True, slots=True)
class _MotionRow(_Place):
    range_of_motion: float
    mean_speed: float
    peak_speed: float
    peak_speed_at_s: float
    sticking_begin_s: float
    sticking_end_s: float
    sticking_peak_speed: float
    sticking_least_speed: float


def to_tables(results: Iterable[TrialResults]) -> dict[str, dict[str, Column]]:
    """The tables of many trials' results: their values, and how the movement moved."""
    held = list(results)
    values = [_value_row(found, value) for found in held for value in found.values]
    motion = [
        _MotionRow(*_place(found, moved.rep, moved.segment), **asdict(moved.motion))
        for found in held
        for moved in found.motion
    ]
    return {VALUES: to_columns(_ValueRow, values), MOTION: to_columns(_MotionRow, motion)}


def _place(found: TrialResults, rep: int, segment: Segment) -> tuple[str, str, int, str, str, int, int, int, int]:
    pieces = segment.pieces
    pause = (pieces[0][1], pieces[1][0]) if len(pieces) == 2 else (-1, -1)
    return (found.trial, found.rater, rep, segment.phase, segment.third, segment.begin, *pause, segment.end)


def _value_row(found: TrialResults, value: Value) -> _ValueRow:
    amplitude, further = value.amplitude, value.further
    further = further or Further(NOT_DETERMINED)
    error = further.error
    return _ValueRow(
        *_place(found, value.rep, value.segment),
        *(value.channel, amplitude.rms, amplitude.mean_amplitude, amplitude.valid, amplitude.samples),
        *(error.rms, error.mean_amplitude, error.bandwidth_hz, error.independent_samples),
        *(further.rms_shift, further.mean_amplitude_shift, further.why_not),
        *(further.peak, further.peak_at_s, further.median_hz),
    )


def from_tables(keys: Keys, tables: Tables) -> dict[tuple[str, str], TrialResults]:
    """The results that were kept, by trial and rater; keys hold what each was computed from.

    Raises:
        BadData: a column is missing.
    """
    values: dict[tuple[str, str], list[Value]] = {key: [] for key in keys}
    motion: dict[tuple[str, str], list[SegmentMotion]] = {key: [] for key in keys}
    for row in from_columns(_ValueRow, tables[VALUES], _WHAT) if tables.get(VALUES) else ():
        if (row.trial, row.rater) in values:
            values[row.trial, row.rater].append(_value(row))
    for moved in from_columns(_MotionRow, tables[MOTION], _WHAT) if tables.get(MOTION) else ():
        if (moved.trial, moved.rater) in motion:
            found = Motion(*(getattr(moved, field.name) for field in fields(Motion)))
            motion[moved.trial, moved.rater].append(SegmentMotion(moved.rep, _segment(moved), found))
    return {key: TrialResults(*key, keys[key], tuple(values[key]), tuple(motion[key])) for key in keys}


def _segment(row: _Place) -> Segment:
    if row.pause_begin < 0:
        return Segment(row.phase, row.third, ((row.begin, row.end),))
    return Segment(row.phase, row.third, ((row.begin, row.pause_begin), (row.pause_end, row.end)))


def _value(row: _ValueRow) -> Value:
    error = SamplingError(row.rms_error, row.mean_amplitude_error, row.bandwidth_hz, row.independent_samples)
    return Value(
        row.rep,
        row.channel,
        _segment(row),
        Amplitude(row.rms_mV, row.mean_amplitude_mV, row.valid, row.samples),
        Further(
            error,
            *(row.rms_shift_mV, row.mean_amplitude_shift_mV, row.shift_why_not),
            *(row.peak_mV, row.peak_at_s, row.median_hz),
        ),
    )
