"""What the figure of the rep in hand shows, as a frozen value: numbers set out as the body moves. No Qt.

The vertical axis is the position of the movement trace that defines the phases, raised on top; each muscle has a
side for lowering and one for raising, with its envelope against position and its value in each third. A trial without
a movement trace has the time since its phase began in place of position. Values are those of results.measure and
are nowhere computed anew.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import nan

import numpy as np

from phasemark.model.clock import seconds
from phasemark.model.marks import LOWERING, RAISING, Marks, Origin, Phase, Rep, third_names
from phasemark.model.recording import Treatment, Up
from phasemark.model.settings import Settings
from phasemark.model.study import Exercise, Trial
from phasemark.phases.movement import Movement
from phasemark.phases.thirds import third_levels
from phasemark.results.measure import Value
from phasemark.results.segments import REP, WHOLE, Segment
from phasemark.results.standing import exclusion_reason, standing
from phasemark.session.boundary_move import values_of_rep
from phasemark.session.figure_curves import Curve, highest_of_reps, phase_curves, positions_at
from phasemark.session.figure_readings import ChannelScale, Measure, Reading, Unit, reading_of
from phasemark.session.trial_signals import TrialSignals, segment_motion
from phasemark.signal.kinematics import Motion

__all__ = ["Measure", "Reading", "RepFigure", "Unit", "figure_of"]


@dataclass(frozen=True, slots=True)
class PhaseEdge:
    """A boundary of a phase on the figure's axis: its position (nan where unknown), its time, who placed it."""

    position: float
    time_s: float
    origin: Origin


@dataclass(frozen=True, slots=True)
class FigurePhase:
    """A phase: its word, the names of its thirds in order of time (none where it is not cut), and its boundaries."""

    name: str
    thirds: tuple[str, ...]
    edges: tuple[PhaseEdge, ...]


@dataclass(frozen=True, slots=True)
class PhaseMotion:
    """How a phase went: its word, how long it took (s), what was prescribed (s; None: nothing), and its motion.

    sticking has the positions (nan where unknown) at the begin and the end of a sticking region, None without one.
    """

    name: str
    duration_s: float
    prescribed_s: float | None
    motion: Motion
    sticking: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class FigureSide:
    """One muscle in one phase: its curve, the reading of each third in order of time, and of the whole phase."""

    phase: FigurePhase
    curve: Curve
    thirds: tuple[Reading, ...]
    whole: Reading


@dataclass(frozen=True, slots=True, eq=False)
class FigureMuscle:
    """One muscle: its sides in order of time, its whole rep, and why it is out or has no RMS, in words.

    peak is the highest envelope (mV) of this rep and of the trial's other complete, not excluded ones, so that a
    scale made from it stays the same from rep to rep and while a boundary is dragged. reference is what 100 percent are
    of its envelope (mV), nan where there is none or where it is not known yet.
    """

    label: str
    sides: tuple[FigureSide, ...]
    rep: Reading | None
    excluded: str | None
    rectified: bool
    peak: float
    reference: float = nan


@dataclass(frozen=True, slots=True)
class FigureAxis:
    """The vertical axis: what it is and its unit, and the values at the rep's lowest and highest place on it.

    raised is up: bottom is above top where raising makes the trace smaller. of_time says that there is no movement
    trace, and the axis is the time since the phase began, running downward.
    """

    name: str
    unit: str
    bottom: float
    top: float
    of_time: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class RepFigure:
    """The figure of one rep. levels are the two third levels on the axis, rising, where there are some.

    scaled says that the references of its muscles were looked up; shift_s is how far (s) boundaries are moved to see
    what hangs on them.
    """

    rep: int
    number: int | None
    complete_reps: int
    complete: bool
    counted: bool
    excluded: str | None
    reason: str
    checked: bool
    doubt: float
    doubts: tuple[str, ...]
    axis: FigureAxis
    levels: tuple[float, float] | None
    phases: tuple[FigurePhase, ...]
    muscles: tuple[FigureMuscle, ...]
    motion: tuple[PhaseMotion, ...] = ()
    scaled: bool = False
    shift_s: float = 0.0


Notes = Mapping[tuple[int, str, str], tuple[str, ...]]


def figure_of(
    trial: Trial,
    marks: Marks,
    rep_id: int,
    signals: TrialSignals,
    settings: Settings,
    *,
    values: Sequence[Value] | None = None,
    before: Sequence[Value] = (),
    scales: Sequence[ChannelScale] = (),
    notes: Notes | None = None,
    exercise: Exercise | None = None,
) -> RepFigure:
    """The figure of a rep as it is marked now.

    trial is the one of the study as it is (its exclusions may be newer than those of signals); values are those of
    the rep where the caller has them already, else they are measured; before are those that a drag started from.
    scales, one for each channel, set them in percent; notes are of segments, by channel, phase and third.
    Raises MarksError if there is no such rep.
    """
    rep = marks.rep(rep_id)
    values = values_of_rep(marks, rep_id, signals, settings) if values is None else values
    movement = _movement_of(rep, signals.movement)
    numbers = marks.numbers()
    stands = standing(trial, rep, None, settings.counted, numbers)
    phases = tuple(_phase(phase, marks.thirds_rule, movement, trial) for phase in rep.phases)
    peaks = _peaks(rep, marks, trial, signals)
    readings = _readings(values, before, scales, notes or {}, subtract=settings.baseline.subtract)
    muscles = _muscles(trial, rep, phases, signals, movement, readings=readings, peaks=peaks, scales=scales)
    return RepFigure(
        rep.id,
        numbers.get(rep.id),
        len(numbers),
        rep.complete,
        stands.counted,
        exclusion_reason(trial, rep),
        stands.reason,
        rep.checked is not None,
        rep.doubt,
        rep.doubts,
        _axis(trial, phases, muscles, movement),
        _levels(rep, marks, movement, settings),
        phases,
        muscles,
        tuple(_motion(trial, phase, movement, exercise) for phase in rep.phases),
        bool(scales),
        settings.uncertainty.shift_s,
    )


def _motion(trial: Trial, phase: Phase, movement: Movement | None, exercise: Exercise | None) -> PhaseMotion:
    """How a phase went, and where on the axis it stuck."""
    begin, end = phase.begin.sample, phase.end.sample
    planned = {} if exercise is None else {LOWERING: exercise.lowering_s, RAISING: exercise.raising_s}
    motion, sticking = Motion(), None
    if movement is not None and begin < end:
        motion = segment_motion(movement, Segment(phase.name, WHOLE, ((begin, end),)))
        stuck = np.array([motion.sticking_begin_s, motion.sticking_end_s])
        if np.isfinite(stuck).all():
            first, last = positions_at(movement, stuck * float(trial.clock)).tolist()
            sticking = (first, last)
    return PhaseMotion(phase.name, seconds(end - begin, trial.clock), planned.get(phase.name), motion, sticking)


def _movement_of(rep: Rep, movement: Movement | None) -> Movement | None:
    """The movement, or None where the trace is missing all through the rep."""
    if movement is None:
        return None
    asked = np.linspace(rep.begin, rep.end, 64)
    return movement if np.isfinite(positions_at(movement, asked)).any() else None


def _phase(phase: Phase, thirds_rule: str, movement: Movement | None, trial: Trial) -> FigurePhase:
    boundaries = [boundary for _, boundary in phase.boundaries()]
    times = [seconds(boundary.sample, trial.clock) for boundary in boundaries]
    if movement is None:
        places = [time - times[0] for time in times]
    else:
        places = positions_at(movement, np.array([float(b.sample) for b in boundaries])).tolist()
    names = () if phase.lines is None else third_names(phase, thirds_rule)
    edges = zip(places, times, (boundary.origin for boundary in boundaries), strict=True)
    return FigurePhase(phase.name, names, tuple(PhaseEdge(*edge) for edge in edges))


_Key = tuple[int, str, str]


def _readings(
    values: Iterable[Value], before: Iterable[Value], scales: Sequence[ChannelScale], notes: Notes, *, subtract: bool
) -> dict[_Key, Reading]:
    """Readings by channel, phase and third."""
    then = {_key(value): value.amplitude for value in before}
    return {
        key: reading_of(
            value,
            then.get(key),
            scale=scales[value.channel] if scales else None,
            subtract=subtract,
            notes=notes.get(key, ()),
        )
        for value in values
        for key in (_key(value),)
    }


def _key(value: Value) -> _Key:
    return value.channel, value.segment.phase, value.segment.third


def _muscles(
    trial: Trial,
    rep: Rep,
    phases: tuple[FigurePhase, ...],
    signals: TrialSignals,
    movement: Movement | None,
    *,
    readings: dict[_Key, Reading],
    peaks: Sequence[float],
    scales: Sequence[ChannelScale],
) -> tuple[FigureMuscle, ...]:
    rates = [channel.rate for channel in trial.emg]
    curves = [phase_curves(phase, signals.envelopes, rates, trial.clock, movement) for phase in rep.phases]
    muscles = []
    for place, channel in enumerate(trial.emg):
        rectified = signals.conditioned[place].treatment is Treatment.RECTIFIED
        sides = tuple(
            FigureSide(
                phase,
                own[place],
                tuple(readings[place, phase.name, third] for third in phase.thirds),
                readings[place, phase.name, WHOLE],
            )
            for phase, own in zip(phases, curves, strict=True)
        )
        muscles.append(
            FigureMuscle(
                channel.label,
                sides,
                readings.get((place, REP, WHOLE)),
                exclusion_reason(trial, rep, channel),
                rectified,
                max(peaks[place], *(side.curve.peak for side in sides)),
                scales[place].reference(rectified=rectified) if scales else nan,
            )
        )
    return tuple(muscles)


def _peaks(rep: Rep, marks: Marks, trial: Trial, signals: TrialSignals) -> list[float]:
    reps = [other for other in marks.reps if other.complete and other.excluded is None and other.id != rep.id]
    highest = highest_of_reps(reps, signals.envelopes, [c.rate for c in trial.emg], trial.clock)
    return [float(peak) for peak in highest]


def _axis(
    trial: Trial, phases: Iterable[FigurePhase], muscles: Iterable[FigureMuscle], movement: Movement | None
) -> FigureAxis:
    """The axis over all that is drawn: the boundaries, and the way between them."""
    drawn = [np.array([edge.position for phase in phases for edge in phase.edges])]
    first = next(iter(muscles), None)
    drawn += [] if first is None else [side.curve.positions for side in first.sides]
    places = np.concatenate(drawn)
    places = places[np.isfinite(places)]
    low, high = (float(places.min()), float(places.max())) if len(places) else (0.0, 1.0)
    if movement is None:
        return FigureAxis("time", "s", high, low, of_time=True)
    trace = trial.movement[0]
    ends = (low, high) if trace.up is Up.LARGER else (high, low)
    return FigureAxis(trace.kind, trace.unit, *ends)


def _levels(rep: Rep, marks: Marks, movement: Movement | None, settings: Settings) -> tuple[float, float] | None:
    """The third levels, where the marks were cut by the rule that the settings have now."""
    if movement is None or marks.thirds_rule not in ("", settings.phases.thirds):
        return None
    return third_levels(rep, movement, settings.phases, marks)
