"""Where a boundary that is dragged may snap to: what the movement, the rules and the neighbours offer.

Candidates are worked out once when a drag begins; finding the nearest at each move is a bisection.
"""

from bisect import bisect_left
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from phasemark.model.mark_edits import Address, beside, boundary_at, limits
from phasemark.model.marks import LOWERING, RAISING, Marks, Phase, Place
from phasemark.model.recording import Up
from phasemark.model.settings import PhaseSettings
from phasemark.phases.detect import Span, meeting, span_of, turning_place
from phasemark.phases.movement import Movement, clock_sample, inside
from phasemark.phases.thirds import third_levels
from phasemark.phases.turning import Swing, alternate, local_extremes

REACH_S = 10.0
"""Candidates are sought so far (s) on either side of a rep: a drag goes no further."""
SMALL_SHARE = 0.05
"""Turning points that stand out by this share of the range nearby are offered; smaller ones are sway."""

TURNING_POINT = "turning point"
SPEED_RULE = "speed rule"
THIRD_LEVEL = "third level"


@dataclass(frozen=True, slots=True, order=True)
class Candidate:
    """A sample that a boundary may snap to, and what is there in words."""

    sample: int
    word: str


def snap_candidates(
    movement: Movement | None, marks: Marks, address: Address, settings: PhaseSettings, *, alone: bool = False
) -> tuple[Candidate, ...]:
    """What a boundary may snap to within its limits, in order of time, one candidate a sample.

    1. Boundaries of its neighbours, and for a third line those of its own phase ('end of raising').
    2. For begin and end: where the speed rule of the settings would put them ('speed rule'), and every turning
       point nearby ('turning point').
    3. For a third line: wherever the phase crosses the third level that it stands for ('third level').

    Without a movement trace, or in a burst, only the first. Raises MarksError if there is no such boundary.
    """
    allowed = limits(marks, address, alone=alone)
    own = boundary_at(marks, address).sample
    found = _neighbours(marks, address)
    phase = marks.rep(address.rep).phases[address.phase]
    if movement is not None and phase.name in (LOWERING, RAISING):
        at_end = address.place in (Place.BEGIN, Place.END)
        found += _of_movement(phase, address, movement, settings) if at_end else ()
        found += () if at_end else _of_levels(marks, address, movement, settings)
    kept: dict[int, str] = {}
    for candidate in found:
        if allowed.low <= candidate.sample <= allowed.high and candidate.sample != own:
            kept.setdefault(candidate.sample, candidate.word)
    return tuple(Candidate(sample, word) for sample, word in sorted(kept.items()))


def snap(sample: int, candidates: tuple[Candidate, ...], within_samples: float) -> tuple[int, Candidate | None]:
    """The nearest candidate's sample and the candidate, where one is near enough; else the sample as it is."""
    place = bisect_left(candidates, sample, key=lambda candidate: candidate.sample)
    near = candidates[max(place - 1, 0) : place + 1]
    best = min(near, key=lambda candidate: abs(candidate.sample - sample), default=None)
    if best is None or abs(best.sample - sample) > within_samples:
        return sample, None
    return best.sample, best


def _neighbours(marks: Marks, address: Address) -> tuple[Candidate, ...]:
    """The boundaries beside a boundary in time: of its own phase for a third line, of the next phase for an end."""
    other = beside(marks, address)
    if address.place in (Place.BEGIN, Place.END):
        return () if other is None else (_named(marks, other),)
    ends = (Address(address.rep, address.phase, place) for place in (Place.BEGIN, Place.END))
    return tuple(_named(marks, end) for end in ends)


def _named(marks: Marks, address: Address) -> Candidate:
    name = marks.rep(address.rep).phases[address.phase].name
    return Candidate(boundary_at(marks, address).sample, f"{address.place} of {name}")


def _of_movement(phase: Phase, address: Address, movement: Movement, settings: PhaseSettings) -> tuple[Candidate, ...]:
    """Turning points near a phase, and where the speed rule puts the begin or end of the swing that it lies in."""
    found: list[Candidate] = []
    reach = round(REACH_S * movement.clock)
    first, last = inside(movement, phase.begin.sample - reach, phase.end.sample + reach)
    for begin, end in movement.pieces:
        low, high = max(begin, first), min(end, last)
        if high - low < 3:
            continue
        swings = _swings(movement, low, high)
        middle = _fastest(phase, movement)
        found += _by_rule(swings, middle, address.place, movement, settings)
        inner = [swing.begin for swing in swings[1:]]
        found += [
            Candidate(clock_sample(movement, turning_place(movement.speed, index)), TURNING_POINT) for index in inner
        ]
    return tuple(found)


def _fastest(phase: Phase, movement: Movement) -> int:
    """The sample of the trace at which a phase is fastest: the swing that it lies in is the one there."""
    first, last = inside(movement, phase.begin.sample, phase.end.sample)
    sign = 1.0 if phase.name == RAISING else -1.0
    speed = sign * movement.speed[first:last]
    return first + int(np.nanargmax(speed)) if np.isfinite(speed).any() else first


def _swings(movement: Movement, low: int, high: int) -> list[Swing]:
    height = movement.height[low:high]
    indices = local_extremes(height) + low
    values = movement.height[indices].tolist()
    kept = alternate(values, SMALL_SHARE * (max(values) - min(values)) or float("inf"))
    places = [int(indices[place]) for place in kept]
    return [
        Swing(
            a,
            b,
            bool(movement.height[b] > movement.height[a]),
            abs(float(movement.height[b] - movement.height[a])),
            (low, high),
        )
        for a, b in pairwise(places)
    ]


def _by_rule(
    swings: list[Swing], middle: int, place: Place, movement: Movement, settings: PhaseSettings
) -> list[Candidate]:
    """Where the speed rule puts a boundary of the swing around a sample, unless its pause is none."""
    at = next((i for i, swing in enumerate(swings) if swing.begin <= middle < swing.end), None)
    if at is None:
        return []
    near = range(max(at - 1, 0), min(at + 2, len(swings)))
    spans: list[Span] = meeting([span_of(swings[i], movement, settings) for i in near], movement, settings)
    own = spans[near.index(at)].places
    edge = own.begin if place is Place.BEGIN else own.end
    return [Candidate(clock_sample(movement, edge), SPEED_RULE)]


def _of_levels(marks: Marks, address: Address, movement: Movement, settings: PhaseSettings) -> tuple[Candidate, ...]:
    """Every crossing of the line's own third level in its phase, in either direction; the rule takes the first."""
    rep = marks.rep(address.rep)
    levels = third_levels(rep, movement, settings, marks)
    if levels is None:
        return ()
    phase = rep.phases[address.phase]
    first, last = inside(movement, phase.begin.sample, phase.end.sample)
    path = movement.position[first:last]
    increasing = (phase.name == RAISING) == (movement.up is Up.LARGER)
    level = levels[0 if increasing == (address.place is Place.FIRST_LINE) else 1]
    over = path >= level
    seen = np.isfinite(path)
    crossings = np.flatnonzero((over[1:] != over[:-1]) & seen[1:] & seen[:-1]).tolist()
    shares = [(level - float(path[at])) / float(path[at + 1] - path[at]) for at in crossings]
    return tuple(
        Candidate(clock_sample(movement, first + at + share), THIRD_LEVEL)
        for at, share in zip(crossings, shares, strict=True)
    )
