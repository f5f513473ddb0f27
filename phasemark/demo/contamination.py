"""What lies over the signal of the muscles: which disturbance in which trial, and its values in mV."""

from collections.abc import Collection

import numpy as np

from phasemark.demo.activation import MUSCLES
from phasemark.demo.bar_path import BarPath
from phasemark.demo.plan import Contamination, Disturbance, TrialPlan, traits_stream
from phasemark.model.recording import Samples
from phasemark.model.study import Kind

HUM_HZ = 50.0
_HUM_ROWS = {2: "vastus lateralis", 4: "biceps femoris", 11: "erector spinae"}
_OFFSET_ROWS = (1, 3, 6, 8, 11)
_DRIFT_ROWS = (3, 7, 12)
_ARTEFACT_ROWS = {4: "vastus medialis", 10: "vastus lateralis"}
_HEART_ROWS = (2, 5, 8, 9)
_DROPOUT_ROW, _DROPOUT_ORDER = 9, 3
_BEAT_S = 0.12
_ARTEFACT_S = 0.9
_DROPOUT_S = 0.15
_SIZES_MV = {
    Disturbance.NOISE: (0.0015, 0.003),
    Disturbance.OFFSET: (0.02, 0.15),
    Disturbance.DRIFT: (0.03, 0.08),
    Disturbance.HUM: (0.006, 0.012),
    Disturbance.ARTEFACT: (0.3, 0.6),
    Disturbance.HEART: (0.08, 0.15),
}
_WHEN = 2  # purpose of the stream that says when something happens
_CHOSEN = 3  # purpose of the stream of disturbances that were chosen and not planned


def _steady(plan: TrialPlan) -> list[Contamination]:
    """What stays the same in all trials of a participant, since it comes from skin, cable and room."""
    row, draw, found = plan.participant.row, traits_stream(plan.seed + 2_000_003, plan.participant), []
    for muscle in MUSCLES:
        noise = draw.uniform(*_SIZES_MV[Disturbance.NOISE])
        offset = float(draw.choice([-1, 1])) * draw.uniform(*_SIZES_MV[Disturbance.OFFSET])
        found.append(Contamination(Disturbance.NOISE, muscle.name, noise))
        if row in _OFFSET_ROWS:
            found.append(Contamination(Disturbance.OFFSET, muscle.name, offset))
        if row in _DRIFT_ROWS:
            found.append(Contamination(Disturbance.DRIFT, muscle.name, draw.uniform(*_SIZES_MV[Disturbance.DRIFT])))
    if row in _HUM_ROWS:
        found.append(Contamination(Disturbance.HUM, _HUM_ROWS[row], draw.uniform(*_SIZES_MV[Disturbance.HUM])))
    return found


def _beats(length_s: float, draw: np.random.Generator) -> tuple[float, ...]:
    """Times (s) of heart beats, whole within the recording; each interval differs a little from the last."""
    interval, beats, at = draw.uniform(0.45, 0.7), [], draw.uniform(0.1, 0.5)
    while at + _BEAT_S < length_s:
        beats.append(round(at, 4))
        at += interval * float(np.exp(draw.normal(0, 0.04)))
    return tuple(beats)


def _turns(path: BarPath | None) -> tuple[float, ...]:
    return () if path is None else tuple(s.begin_s for s in path.stretches if s.is_phase and s.rep)


def _sudden(plan: TrialPlan, length_s: float, path: BarPath | None, draw: np.random.Generator) -> list[Contamination]:
    """What belongs to a single trial: artefacts at turning points, heart beats, a dropout."""
    row, found = plan.participant.row, []
    turns = _turns(path)
    if row in _ARTEFACT_ROWS and turns:
        times = tuple(sorted(draw.choice(turns, 4, replace=False).tolist()))
        size = draw.uniform(*_SIZES_MV[Disturbance.ARTEFACT])
        found.append(Contamination(Disturbance.ARTEFACT, _ARTEFACT_ROWS[row], size, times))
    if row in _HEART_ROWS:
        size = draw.uniform(*_SIZES_MV[Disturbance.HEART])
        found.append(Contamination(Disturbance.HEART, "erector spinae", size, _beats(length_s, draw)))
    if row == _DROPOUT_ROW and plan.order == _DROPOUT_ORDER and plan.kind is Kind.TASK:
        begin = round(draw.uniform(0.4, 0.6) * length_s, 3)
        found.append(Contamination(Disturbance.DROPOUT, "biceps femoris", _DROPOUT_S, (begin,)))
    return found


def contaminations_of(plan: TrialPlan, length_s: float, path: BarPath | None) -> tuple[Contamination, ...]:
    """All disturbances of a trial of so many seconds, with the bar's path where it has one."""
    return (*_steady(plan), *_sudden(plan, length_s, path, plan.stream(_WHEN)))


def chosen_contaminations(
    plan: TrialPlan, kinds: Collection[Disturbance], length_s: float, path: BarPath | None
) -> tuple[Contamination, ...]:
    """The disturbances of some kinds, each on every muscle of a trial, as large as those of the plan.

    Each has the same size and times whichever others there are, and the same size in all trials of a participant.
    The heart beats and the cables swing for all muscles at the same times; artefacts lie at turning points or,
    without movement, anywhere.
    """
    draw, sizes = plan.stream(_CHOSEN), traits_stream(plan.seed + 3_000_017, plan.participant)
    beats = _beats(length_s, draw)
    turns = _turns(path) or tuple(draw.uniform(0, length_s - _ARTEFACT_S, 8).tolist())
    swings = tuple(sorted(draw.choice(turns, 4, replace=False).tolist()))
    found = []
    for muscle in MUSCLES:
        for kind in Disturbance:
            size = sizes.uniform(*_SIZES_MV[kind]) if kind in _SIZES_MV else _DROPOUT_S
            gap = round(draw.uniform(0.4, 0.6) * length_s, 3)
            times = {Disturbance.ARTEFACT: swings, Disturbance.HEART: beats, Disturbance.DROPOUT: (gap,)}
            if kind in kinds:
                found.append(Contamination(kind, muscle.name, size, times.get(kind, ())))
    return tuple(found)


def stream_of(plan: TrialPlan, contamination: Contamination) -> np.random.Generator:
    """The stream of random numbers of a chosen disturbance alone: its values do not depend on the others."""
    muscle = [muscle.name for muscle in MUSCLES].index(contamination.muscle)
    own = muscle * len(Disturbance) + list(Disturbance).index(contamination.disturbance)
    return plan.stream(_CHOSEN + 1 + own)


def _beat(since: Samples) -> Samples:
    """Shape of a heart beat in trunk EMG: the QRS complex as three humps, highest deviation 1, by time (s)."""
    humps = ((0.035, 0.006, -0.2), (0.050, 0.008, 1.0), (0.067, 0.008, -0.3))
    return np.asarray(sum(height * np.exp(-(((since - at) / width) ** 2) / 2) for at, width, height in humps))


def _artefact(since: Samples) -> Samples:
    """Shape of a movement artefact: a slow swing that dies away, highest deviation about 1, by time (s)."""
    swing = np.sin(2 * np.pi * 4.0 * since) * np.exp(-since / 0.12)
    return np.asarray(swing / 0.62)


def _repeated(times: Samples, starts: tuple[float, ...], lasts: float, artefact: bool) -> Samples:
    values = np.zeros_like(times)
    for start in starts:
        here = slice(*np.searchsorted(times, [start, start + lasts]))
        since = times[here] - start
        values[here] += _artefact(since) if artefact else _beat(since)
    return values


def _drift(times: Samples, size: float, draw: np.random.Generator) -> Samples:
    wander = sum(draw.normal() * np.sin(2 * np.pi * (hz * times + draw.uniform())) for hz in (0.03, 0.08, 0.2))
    return np.asarray(size * wander / np.abs(wander).max())


def _hum(times: Samples, size: float, draw: np.random.Generator) -> Samples:
    phases = draw.uniform(0, 2 * np.pi, 2)
    third = 0.25  # amplitude of the third harmonic beside the first
    waves = np.sin(2 * np.pi * HUM_HZ * times + phases[0]) + third * np.sin(6 * np.pi * HUM_HZ * times + phases[1])
    return np.asarray(size * np.sqrt(2 / (1 + third**2)) * waves)


def disturbance(contamination: Contamination, times: Samples, draw: np.random.Generator) -> Samples:
    """What a disturbance adds (mV) at rising times (s); a dropout adds NaN."""
    kind, size = contamination.disturbance, contamination.size
    if kind is Disturbance.NOISE:
        return np.asarray(size * draw.standard_normal(len(times)))
    if kind is Disturbance.OFFSET:
        return np.full_like(times, size)
    if kind is Disturbance.DRIFT:
        return _drift(times, size, draw)
    if kind is Disturbance.HUM:
        return _hum(times, size, draw)
    if kind is Disturbance.DROPOUT:
        values = np.zeros_like(times)
        for start in contamination.times_s:
            values[slice(*np.searchsorted(times, [start, start + size]))] = np.nan
        return values
    artefact = kind is Disturbance.ARTEFACT
    return size * _repeated(times, contamination.times_s, _ARTEFACT_S if artefact else _BEAT_S, artefact)
