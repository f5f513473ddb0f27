"""From a movement to its lowering and raising phases."""

from dataclasses import dataclass

import numpy as np

from phasemark.model.marks import LOWERING, RAISING, Boundary, Phase
from phasemark.model.recording import Samples
from phasemark.model.settings import PhaseSettings
from phasemark.phases.edges import onset
from phasemark.phases.movement import Movement, clock_sample
from phasemark.phases.turning import Swing, find_swings


@dataclass(frozen=True, slots=True)
class _Span:
    """A swing with the places (samples of the trace) where its phase begins and ends."""

    swing: Swing
    begin: float
    end: float


def _span(swing: Swing, movement: Movement, settings: PhaseSettings) -> _Span:
    sign = 1.0 if swing.rising else -1.0
    part = slice(swing.begin, swing.end + 1)
    path, speed = sign * movement.height[part], sign * movement.speed[part]
    step_s = movement.sample_s
    left = onset(path, speed, step_s, settings)
    right = onset(-path[::-1], speed[::-1], step_s, settings)
    return _Span(swing, swing.begin + left.place, swing.end - right.place)


def turning_place(speed: Samples, index: int) -> float:
    """Where the speed passes through zero beside a turning point, linear between samples."""
    best = float(index)
    for low in (index - 1, index):
        if 0 <= low < len(speed) - 1:
            here, there = float(speed[low]), float(speed[low + 1])
            if np.sign(here) * np.sign(there) < 0:
                best = low + here / (here - there)
    return best


def _meet(spans: list[_Span], movement: Movement, settings: PhaseSettings) -> list[_Span]:
    """Phases parted by less than a pause meet at the turning point between them."""
    met = list(spans)
    for i in range(len(met) - 1):
        a, b = met[i], met[i + 1]
        if a.swing.end != b.swing.begin or (b.begin - a.end) * movement.sample_s >= settings.pause_s:
            continue
        place = turning_place(movement.speed, a.swing.end)
        met[i] = _Span(a.swing, a.begin, place)
        met[i + 1] = _Span(b.swing, place, b.end)
    return met


def find_phases(movement: Movement, settings: PhaseSettings) -> tuple[Phase, ...]:
    """All lowering and raising phases in order of time, not yet paired, without third lines."""
    spans = _meet([_span(s, movement, settings) for s in find_swings(movement, settings)], movement, settings)
    phases = []
    for span in spans:
        begin, end = clock_sample(movement, span.begin), clock_sample(movement, span.end)
        if phases:
            begin = max(begin, phases[-1].end.sample)
        if begin < end:
            phases.append(Phase(RAISING if span.swing.rising else LOWERING, Boundary(begin), Boundary(end)))
    return tuple(phases)
