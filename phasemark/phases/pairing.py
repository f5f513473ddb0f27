"""Which phase comes first, and phases paired into reps."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from math import isfinite
from statistics import median

import numpy as np

from phasemark.model.marks import LOWERING, RAISING, Phase
from phasemark.model.settings import PhaseSettings
from phasemark.phases.movement import Movement, height_at, inside

LEVEL_GAP_S = 1.0
"""Two whole phases may be paired over a gap up to this long (s) if the trace rests at one level on both sides."""

SEEN_REST_S = 0.05
"""So long (s) a rest must be seen on both sides of a gap."""
OUTER_RATIO = 2.2
"""A first or last rep so much larger than the median of the others is movement before or after the set."""
FULL_SHARE = 0.5
"""A rep of at least this share of the usual range has a say in which phase comes first; a failed one has none."""
LEAST_OTHERS = 3
"""Other reps that it takes to tell that one is too large."""


@dataclass(frozen=True, slots=True)
class Pairing:
    """The phases of one rep to be, and whether it is complete."""

    phases: tuple[Phase, ...]
    complete: bool


def phase_range(phase: Phase, movement: Movement) -> float:
    """Range of motion of a phase: height between its begin and its end (nan where the trace is missing)."""
    return abs(height_at(movement, phase.end.sample) - height_at(movement, phase.begin.sample))


def is_closed(phases: tuple[Phase, ...], movement: Movement, settings: PhaseSettings) -> bool:
    """Whether two phases begin and end within complete_within of their range of each other."""
    heights = [height_at(movement, b.sample) for p in phases for b in (p.begin, p.end)]
    return len(phases) == 2 and abs(heights[-1] - heights[0]) <= settings.complete_within * (
        max(heights) - min(heights)
    )


def gap_s(movement: Movement, begin: int, end: int) -> float:
    """Seconds from the first to the last missing sample of the trace between two clock samples (0: none)."""
    first, last = inside(movement, begin, end)
    missing = np.flatnonzero(np.isnan(movement.speed[first:last]))
    return float(missing[-1] - missing[0] + 1) * movement.sample_s if len(missing) else 0.0


def _turn_hidden(a: Phase, b: Phase, movement: Movement) -> bool:
    """Whether a gap between two phases may hide a turning point.

    It cannot where both phases are whole, the trace rests at one level on both sides, and the gap is short.
    """
    gap = gap_s(movement, a.end.sample, b.begin.sample)
    if gap == 0:
        return False
    first, last = inside(movement, a.end.sample, b.begin.sample)
    rest = max(1, round(SEEN_REST_S / movement.sample_s))
    seen = np.isfinite(movement.speed[first:last])
    rests = bool(seen[:rest].all() and seen[-rest:].all())
    level = abs(height_at(movement, b.begin.sample) - height_at(movement, a.end.sample))
    smaller = min(phase_range(a, movement), phase_range(b, movement))
    return gap > LEVEL_GAP_S or not rests or not level <= 0.1 * smaller


def pair_into_reps(
    phases: tuple[Phase, ...], first_phase: str, movement: Movement, settings: PhaseSettings
) -> tuple[Pairing, ...]:
    """The phases in reps that begin with first_phase; a phase without its partner is an incomplete rep."""
    reps = []
    at = 0
    while at < len(phases):
        pair = phases[at : at + 2]
        if len(pair) == 2 and pair[0].name == first_phase != pair[1].name and not _turn_hidden(*pair, movement):
            reps.append(Pairing(pair, is_closed(pair, movement, settings)))
        else:
            reps.append(Pairing(pair[:1], False))
        at += len(reps[-1].phases)
    return _without_outer(reps, movement)


def _without_outer(reps: list[Pairing], movement: Movement) -> tuple[Pairing, ...]:
    """The reps, those incomplete that are far larger than the set between them: the way to it and from it."""
    complete = [place for place, rep in enumerate(reps) if rep.complete]
    sizes = [max(phase_range(phase, movement) for phase in reps[place].phases) for place in complete]
    for end in (0, -1):
        others = sizes[1:] if end == 0 else sizes[:-1]
        if len(others) >= LEAST_OTHERS and sizes[end] > OUTER_RATIO * median(others):
            reps[complete[end]] = Pairing(reps[complete[end]].phases, complete=False)
    return tuple(reps)


def _rests(phases: tuple[Phase, ...], name: str) -> list[int]:
    return [b.begin.sample - a.end.sample for a, b in pairwise(phases) if b.name == name]


def _full_reps(phases: tuple[Phase, ...], first_phase: str, movement: Movement, settings: PhaseSettings) -> int:
    """How many complete reps, none far below the usual range, the phases make if reps begin with first_phase."""
    ranges = [size for phase in phases if isfinite(size := phase_range(phase, movement))]
    least = FULL_SHARE * median(ranges) if ranges else 0.0
    reps = pair_into_reps(phases, first_phase, movement, settings)
    return sum(rep.complete and max(phase_range(p, movement) for p in rep.phases) >= least for rep in reps)


@dataclass(frozen=True, slots=True)
class Opening:
    """Which phase the reps of a trial begin with; clear where one order makes more complete reps than the other."""

    name: str
    clear: bool


def opening(
    phases: tuple[Phase, ...], movement: Movement | None = None, settings: PhaseSettings | None = None
) -> Opening | None:
    """Which phase the reps of a trial begin with, as far as this trial shows; None where it shows nothing.

    With the movement, the order that makes more complete reps of full range decides (so a set that is entered by
    standing up, or left by a failed rep, is not taken for one that begins with raising); else the clearly longer
    rest lies between reps; else the phase that was seen first.
    """
    if not phases:
        return None
    if movement is not None:
        counts = {name: _full_reps(phases, name, movement, settings or PhaseSettings()) for name in (LOWERING, RAISING)}
        if counts[LOWERING] != counts[RAISING]:
            return Opening(max(counts, key=lambda name: counts[name]), clear=True)
    rests = {name: _rests(phases, name) for name in (LOWERING, RAISING)}
    if all(rests.values()):
        typical = {name: median(found) for name, found in rests.items()}
        longer = max(typical, key=lambda name: typical[name])
        if typical[longer] > 2 * min(typical.values()):
            return Opening(longer, clear=False)
    return Opening(phases[0].name, clear=False)


def vote_first_phase(openings: Iterable[Opening | None]) -> str:
    """The phase that most trials of an exercise open with.

    Trials that show it clearly have the say; the others, such as one that begins in the middle of a rep, are asked
    only where those are even or there is none. Lowering where they are even as well.
    """
    votes = [vote for vote in openings if vote is not None]
    for heard in ([vote for vote in votes if vote.clear], votes):
        names = [vote.name for vote in heard]
        if names.count(RAISING) != names.count(LOWERING):
            return RAISING if names.count(RAISING) > names.count(LOWERING) else LOWERING
    return LOWERING
