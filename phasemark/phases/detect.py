"""From a movement to its lowering and raising phases."""

from dataclasses import dataclass, replace

import numpy as np

from phasemark.model.marks import LOWERING, RAISING, Boundary, Phase
from phasemark.model.recording import Samples
from phasemark.model.settings import PhaseSettings
from phasemark.phases.edges import Places, averaged, phase_places
from phasemark.phases.movement import Movement, clock_sample
from phasemark.phases.turning import Swing, find_swings, set_range

TURN_SHARE = 0.8
"""Half of the window, over which speed is averaged to find where it turns, as a share of its shorter slow side."""


@dataclass(frozen=True, slots=True)
class Span:
    """A swing with the places (samples of the trace) where its phase begins and ends, and where it stands still."""

    swing: Swing
    places: Places


def span_of(swing: Swing, movement: Movement, settings: PhaseSettings) -> Span:
    """Where the phase of a swing begins and ends by the speed rule; none of the swing's samples may be missing."""
    sign = 1.0 if swing.rising else -1.0
    part = slice(swing.begin, swing.end + 1)
    path, speed = sign * movement.height[part], sign * movement.speed[part]
    return Span(swing, phase_places(path, speed, movement.sample_s, settings).later(swing.begin))


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


def _pause_between(before: Span, after: Span, movement: Movement, settings: PhaseSettings) -> bool:
    """Whether the movement stands still for pause_s between two swings, and is as long under the speed rule's share."""
    slow = after.places.begin - before.places.end
    still = after.places.still_until - before.places.still_from
    return min(slow, still) * movement.sample_s >= settings.pause_s


def _turn_between(before: Span, after: Span, movement: Movement) -> float:
    """Where two swings turn into each other: where the speed, averaged while it is slow, passes zero.

    A slow movement is so flat where it turns that noise alone would place the turn. The window goes by the
    shorter of both slow times, as a longer one would pull the turn into the slower phase.
    """
    at = before.swing.end
    width = max(0, round(TURN_SHARE * min(at - before.places.end, after.places.begin - at)))
    first, last = max(before.swing.begin, at - 3 * width - 1), min(after.swing.end, at + 3 * width + 1)
    speed = averaged(movement.speed[first : last + 1], width)
    turns = np.flatnonzero(np.diff(np.signbit(speed))) + first
    if width < 1 or len(turns) == 0:
        return turning_place(movement.speed, at)
    return turning_place(speed, int(turns[np.argmin(np.abs(turns - at))]) - first) + first


def meeting(spans: list[Span], movement: Movement, settings: PhaseSettings) -> list[Span]:
    """Phases with no pause between them meet at the turning point; around a pause they keep their edges."""
    met = list(spans)
    for i in range(len(met) - 1):
        a, b = met[i], met[i + 1]
        if a.swing.end != b.swing.begin or _pause_between(a, b, movement, settings):
            continue
        place = _turn_between(a, b, movement)
        met[i] = replace(a, places=replace(a.places, end=place))
        met[i + 1] = replace(b, places=replace(b.places, begin=place))
    return met


def find_phases(movement: Movement, settings: PhaseSettings) -> tuple[Phase, ...]:
    """All lowering and raising phases in order of time, not yet paired, without third lines."""
    swings = _with_ways_parted(list(find_swings(movement, settings)), movement, settings)
    spans = meeting([span_of(swing, movement, settings) for swing in swings], movement, settings)
    phases: list[Phase] = []
    for span in spans:
        begin, end = clock_sample(movement, span.places.begin), clock_sample(movement, span.places.end)
        if phases:
            begin = max(begin, phases[-1].end.sample)
        if begin < end:
            phases.append(Phase(RAISING if span.swing.rising else LOWERING, Boundary(begin), Boundary(end)))
    return tuple(phases)
