"""The phases of a stretch that a person chose: its turning point, and the pause there if it is one."""

import numpy as np

from phasemark.model.clock import Rate, seconds
from phasemark.model.marks import LOWERING, RAISING, Boundary, MarksError, Phase
from phasemark.model.settings import PhaseSettings
from phasemark.phases.detect import Span, meeting, span_of
from phasemark.phases.edges import Places
from phasemark.phases.movement import Movement, clock_sample, height_at, inside
from phasemark.phases.pairing import Pairing, is_closed
from phasemark.phases.turning import Swing


def stretch_text(begin: int, end: int, clock: Rate) -> str:
    """A stretch of the recording in words ('from 1.20 to 3.40 s')."""
    return f"from {seconds(begin, clock):.2f} to {seconds(end, clock):.2f} s"


def _turn(
    movement: Movement, first: int, last: int, ends: tuple[float, float], settings: PhaseSettings
) -> Swing | None:
    """The swing from the first sample to the turning point; None where all is one phase.

    The turning point is the lowest or highest sample, whichever lies further beyond both ends. A way back that is
    less than the prominence's share of the way there is no phase.
    """
    heights = movement.height[first:last]
    low, high = first + int(np.nanargmin(heights)), first + int(np.nanargmax(heights))
    below = min(ends) - float(movement.height[low])
    above = float(movement.height[high]) - max(ends)
    shorter = max(below, above)
    longer = shorter + abs(ends[1] - ends[0])
    if shorter <= 0 or shorter < settings.prominence * longer:
        return None
    return Swing(first, low if below >= above else high, above > below, shorter, (first, last))


def _met(one: Swing, last: int, movement: Movement, settings: PhaseSettings) -> tuple[float, float]:
    """Places of the trace where the first phase ends and the second begins: the turning point, unless they pause."""
    other = Swing(one.end, last, not one.rising, one.size, one.piece)
    spans = [_whole_span(swing, movement, settings) for swing in (one, other)]
    first, second = meeting(spans, movement, settings)
    return first.places.end, second.places.begin


def _whole_span(swing: Swing, movement: Movement, settings: PhaseSettings) -> Span:
    """The span of a swing by the speed rule; all of it where it is too short for a pause, or has gaps."""
    path = movement.height[swing.begin : swing.end + 1]
    long_enough = (len(path) - 1) * movement.sample_s >= max(settings.pause_s, 4 * movement.sample_s)
    moves = np.isfinite(path).all() and (path[-1] > path[0] if swing.rising else path[-1] < path[0])
    if long_enough and moves:
        return span_of(swing, movement, settings)
    begin, end = float(swing.begin), float(swing.end)
    return Span(swing, Places(begin, end, begin, end))


def phases_between(begin: Boundary, end: Boundary, movement: Movement, settings: PhaseSettings) -> Pairing:
    """The phases of a rep that runs from one boundary to another, and whether it is complete by the rule.

    Two phases that meet at the turning point, or leave a pause there that is one; one phase, incomplete, where the
    trace goes one way only.

    Raises:
        MarksError: the trace is missing here, or does not move at all.
    """
    first, last = inside(movement, begin.sample, end.sample)
    there = movement.height[first:last]
    there = there[np.isfinite(there)]
    if len(there) < 2 or there.min() == there.max():
        what = "is missing" if len(there) < 2 else "does not move"
        raise MarksError(
            f"The movement trace {what} {stretch_text(begin.sample, end.sample, movement.clock)}, so that "
            "it cannot tell the phases; choose a stretch where it moves."
        )
    ends = tuple(
        height if np.isfinite(height := height_at(movement, boundary.sample)) else float(there[place])
        for boundary, place in ((begin, 0), (end, -1))
    )
    one = _turn(movement, first, last, (ends[0], ends[1]), settings)
    if one is None:
        return Pairing((Phase(RAISING if ends[1] > ends[0] else LOWERING, begin, end),), complete=False)
    places = _met(one, last - 1, movement, settings)
    stop = min(max(clock_sample(movement, places[0]), begin.sample + 1), end.sample - 1)
    start = min(max(clock_sample(movement, places[1]), stop), end.sample - 1)
    names = (RAISING, LOWERING) if one.rising else (LOWERING, RAISING)
    phases = (Phase(names[0], begin, Boundary(stop)), Phase(names[1], Boundary(start), end))
    return Pairing(phases, is_closed(phases, movement, settings))
