"""From a movement to its lowering and raising phases."""

from dataclasses import dataclass

import numpy as np

from phasemark.model.marks import LOWERING, RAISING, Boundary, Phase
from phasemark.model.recording import Samples
from phasemark.model.settings import PhaseSettings
from phasemark.phases.edges import phase_places
from phasemark.phases.movement import Movement, clock_sample
from phasemark.phases.turning import Swing, find_swings, set_range


@dataclass(frozen=True, slots=True)
class Span:
    """A swing with the places (samples of the trace) where its phase begins and ends."""

    swing: Swing
    begin: float
    end: float


def span_of(swing: Swing, movement: Movement, settings: PhaseSettings) -> Span:
    """Where the phase of a swing begins and ends by the speed rule; none of the swing's samples may be missing."""
    sign = 1.0 if swing.rising else -1.0
    part = slice(swing.begin, swing.end + 1)
    path, speed = sign * movement.height[part], sign * movement.speed[part]
    begin, end = phase_places(path, speed, movement.sample_s, settings)
    return Span(swing, swing.begin + begin, swing.begin + end)


def _stops(path: Samples, speed: Samples, threshold: float, least: int) -> list[tuple[int, int]]:
    """Runs of at least so many samples of a swing in which it is slower than the threshold."""
    flips = np.flatnonzero(np.diff(np.concatenate(([0], (np.abs(speed) < threshold).astype(np.int8), [0]))))
    return [(a, b) for a, b in zip(flips[::2].tolist(), flips[1::2].tolist(), strict=True) if b - a >= least]


def _parted(outer: Swing, inner: Swing, movement: Movement, settings: PhaseSettings) -> tuple[Swing, Swing] | None:
    """A swing in two, where it stops on its way at the level that the swing beside it begins from or comes back to.

    Standing up and then raising the bar is one swing; its stop at the level to which the next swing comes
    back parts the way to the set from the first phase. None where it does not stop there.
    """
    before = outer.end <= inner.begin
    level = float(movement.height[inner.end if before else inner.begin])
    part = slice(outer.begin, outer.end + 1)
    sign = 1.0 if outer.rising else -1.0
    path, speed = movement.height[part], sign * movement.speed[part]
    threshold = settings.speed_share * float(speed.max())
    near = settings.complete_within * inner.size
    stops = [
        (a + b) // 2 + outer.begin
        for a, b in _stops(path, speed, threshold, round(settings.pause_s / movement.sample_s))
        if abs(float(path[(a + b) // 2]) - level) <= near and a > 0 and b < len(path)
    ]
    if not stops:
        return None
    at = min(stops, key=lambda place: abs(float(movement.height[place]) - level))
    sizes = [abs(float(movement.height[i] - movement.height[j])) for i, j in ((outer.begin, at), (at, outer.end))]
    return (
        Swing(outer.begin, at, outer.rising, sizes[0], outer.piece),
        Swing(at, outer.end, outer.rising, sizes[1], outer.piece),
    )


def _with_ways_parted(swings: list[Swing], movement: Movement, settings: PhaseSettings) -> list[Swing]:
    """The swings, those that are larger than the set's parted where they hold the way to it or from it."""
    if len(swings) < 2:
        return swings
    most = (1 + settings.complete_within) * set_range(swings)
    parted: list[Swing] = []
    for place, swing in enumerate(swings):
        beside = [swings[near] for near in (place + 1, place - 1) if 0 <= near < len(swings)]
        pairs = (_parted(swing, inner, movement, settings) for inner in beside if inner.size <= most < swing.size)
        parted += next((pair for pair in pairs if pair is not None), (swing,))
    return parted


def turning_place(speed: Samples, index: int) -> float:
    """Where the speed passes through zero beside a turning point, linear between samples."""
    best = float(index)
    for low in (index - 1, index):
        if 0 <= low < len(speed) - 1:
            here, there = float(speed[low]), float(speed[low + 1])
            if np.sign(here) * np.sign(there) < 0:
                best = low + here / (here - there)
    return best


def meeting(spans: list[Span], movement: Movement, settings: PhaseSettings) -> list[Span]:
    """Phases parted by less than a pause meet at the turning point between them."""
    met = list(spans)
    for i in range(len(met) - 1):
        a, b = met[i], met[i + 1]
        if a.swing.end != b.swing.begin or (b.begin - a.end) * movement.sample_s >= settings.pause_s:
            continue
        place = turning_place(movement.speed, a.swing.end)
        met[i] = Span(a.swing, a.begin, place)
        met[i + 1] = Span(b.swing, place, b.end)
    return met


def find_phases(movement: Movement, settings: PhaseSettings) -> tuple[Phase, ...]:
    """All lowering and raising phases in order of time, not yet paired, without third lines."""
    swings = _with_ways_parted(list(find_swings(movement, settings)), movement, settings)
    spans = meeting([span_of(swing, movement, settings) for swing in swings], movement, settings)
    phases: list[Phase] = []
    for span in spans:
        begin, end = clock_sample(movement, span.begin), clock_sample(movement, span.end)
        if phases:
            begin = max(begin, phases[-1].end.sample)
        if begin < end:
            phases.append(Phase(RAISING if span.swing.rising else LOWERING, Boundary(begin), Boundary(end)))
    return tuple(phases)
