"""Invented trials, one after the other: a recording, its description, and what is true of it."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from phasemark.demo.activation import MUSCLES, body_of, task_activation
from phasemark.demo.bar_path import BarPath
from phasemark.demo.contamination import chosen_contaminations, contaminations_of, disturbance, stream_of
from phasemark.demo.efforts import QUIET_S, draw_efforts, effort_activation
from phasemark.demo.plan import Contamination, Disturbance, Participant, TrialPlan, plan_study
from phasemark.demo.shaped_noise import emg_noise
from phasemark.demo.squatting import GRID_HZ, squat_path
from phasemark.demo.truth import TruthRow, effort_truth, task_truth
from phasemark.model.recording import EmgChannel, MovementTrace, Recording, Samples, Source
from phasemark.model.study import Kind, Load

EMG_RATE = Fraction(GRID_HZ)
PARTICIPANTS = 12
HEIGHT_RATE = Fraction(100)
_PER_MV = {"mV": 1.0, "uV": 1000.0}
_PER_M = {"m": 1.0, "cm": 100.0}
_EMG_STEP_MV = 1e-4  # a converter's step
_OVER = 1  # purpose of the stream that disturbances draw from: with and without them the muscles stay the same
_HEIGHT_NOISE_M, _HEIGHT_STEP_M = 0.0008, 1e-4


@dataclass(frozen=True, slots=True, eq=False)
class InventedTrial:
    """One invented trial: the recording, what it is, its truth (empty where nothing is done), what disturbs it."""

    recording: Recording
    participant: str
    kind: Kind
    exercise: str
    session: str
    set: int
    order: int | None
    load: Load | None
    factors: tuple[tuple[str, str], ...]
    truth: tuple[TruthRow, ...]
    contaminations: tuple[Contamination, ...]


@dataclass(frozen=True, slots=True)
class _Happening:
    """What happens in a trial: its length (s), the bar's path if there is one, amplitudes (mV), and its truth."""

    times: Samples
    path: BarPath | None
    activation: Samples
    truth: tuple[TruthRow, ...]


@dataclass(frozen=True, slots=True)
class _Over:
    """What lies over the signal of the muscles, and whether it was chosen or is the plan's."""

    contaminations: tuple[Contamination, ...]
    chosen: bool


def _over(plan: TrialPlan, happening: _Happening, contaminated: bool | Collection[Disturbance]) -> _Over:
    length_s = len(happening.times) / GRID_HZ
    if not isinstance(contaminated, bool):
        return _Over(chosen_contaminations(plan, contaminated, length_s, happening.path), chosen=True)
    return _Over(contaminations_of(plan, length_s, happening.path) if contaminated else (), chosen=False)


def _times(length_s: float, rate: Fraction) -> Samples:
    return np.arange(round(length_s * rate), dtype=np.float64) / float(rate)


def _happening(plan: TrialPlan, draw: np.random.Generator) -> _Happening:
    if plan.kind is Kind.QUIET:
        times = _times(QUIET_S, EMG_RATE)
        return _Happening(times, None, np.zeros((len(MUSCLES), len(times))), ())
    if plan.kind is Kind.MVIC:
        efforts, length_s = draw_efforts(plan, draw)
        times = _times(length_s, EMG_RATE)
        activation = effort_activation(plan, body_of(plan.seed, plan.participant), efforts, times, draw)
        return _Happening(times, None, activation, effort_truth(plan.exercise, efforts, times, activation))
    path = squat_path(plan, draw)
    times = _times(path.length_s, EMG_RATE)
    activation = task_activation(plan, path, times, draw)
    return _Happening(times, path, activation, task_truth(path, times, activation))


def _emg(plan: TrialPlan, happening: _Happening, over: _Over, draw: np.random.Generator) -> tuple[Samples, ...]:
    """The EMG of all muscles in the unit of the recording, with what lies over it."""
    channels, planned, unit = [], plan.stream(_OVER), plan.participant.emg_unit
    for muscle, level in zip(MUSCLES, happening.activation, strict=True):
        values = level * emg_noise(len(level), float(EMG_RATE), muscle.corners_hz, draw)
        for contamination in over.contaminations:
            if contamination.muscle == muscle.name:
                draw_over = stream_of(plan, contamination) if over.chosen else planned
                values += disturbance(contamination, happening.times, draw_over)
        channels.append(np.rint(values / _EMG_STEP_MV) * (_EMG_STEP_MV * _PER_MV[unit]))
    return tuple(channels)


def _height(path: BarPath, unit: str, draw: np.random.Generator) -> Samples:
    height = path.height(_times(path.length_s, HEIGHT_RATE))
    height += draw.normal(0, _HEIGHT_NOISE_M, len(height))
    return np.asarray(np.rint(height / _HEIGHT_STEP_M) * (_HEIGHT_STEP_M * _PER_M[unit]))


def _recording(plan: TrialPlan, happening: _Happening, over: _Over, draw: np.random.Generator) -> Recording:
    person = plan.participant
    emg = tuple(EmgChannel(m.name, EMG_RATE, m.side, person.emg_unit) for m in MUSCLES)
    emg_values = _emg(plan, happening, over, draw)
    gaps = [c for c in over.contaminations if c.disturbance is Disturbance.DROPOUT]
    notes = tuple(f"{c.muscle}: no signal for {c.size:g} s at {c.times_s[0]:g} s" for c in gaps)
    name = f"{person.code} {plan.exercise} {plan.set}"
    recording = Recording(emg, emg_values, source=Source(name, "invented"), notes=notes)
    if happening.path is None:
        return recording
    trace = MovementTrace("bar height", HEIGHT_RATE, person.height_unit)
    height = _height(happening.path, person.height_unit, draw)
    return replace(recording, movement=(trace,), movement_values=(height,))


def _factors(plan: TrialPlan) -> tuple[tuple[str, str], ...]:
    person: Participant = plan.participant
    return (("experience", person.experience), ("turnaround", person.turnaround))


def invent_trial(plan: TrialPlan, contaminated: bool | Collection[Disturbance] = True) -> InventedTrial:
    """The trial of a plan; without contaminations its EMG is that of the muscles alone.

    contaminated: with the disturbances of the plan, with none, or with those of the given kinds on every muscle. The
    same plan gives the same trial, whatever was made before it; the muscles and the truth are the same either way.
    """
    draw = plan.stream()
    happening = _happening(plan, draw)
    over = _over(plan, happening, contaminated)
    is_task = plan.kind is Kind.TASK
    return InventedTrial(
        recording=_recording(plan, happening, over, draw),
        participant=plan.participant.code,
        kind=plan.kind,
        exercise=plan.exercise,
        session="1",
        set=plan.set,
        order=plan.order,
        load=plan.participant.load if is_task else None,
        factors=_factors(plan) if is_task else (),
        truth=happening.truth,
        contaminations=over.contaminations,
    )


def invent(seed: int = 1, participants: int = PARTICIPANTS, contaminated: bool = True) -> Iterator[InventedTrial]:
    """The trials of the invented study, made one by one as they are asked for.

    Each participant lies still once, makes three MVIC trials, and squats two sets of eight with flat and two with
    raised heels, half of the participants in the other order.
    """
    for plan in plan_study(seed, participants):
        yield invent_trial(plan, contaminated)
