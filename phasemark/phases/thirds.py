"""Third lines: where a phase crosses the levels that part its range of motion in thirds."""

from dataclasses import replace

import numpy as np

from phasemark.model.mark_edits import with_rep
from phasemark.model.marks import LOWERING, RAISING, Boundary, Marks, Origin, Phase, Rep
from phasemark.model.recording import Samples, Up
from phasemark.model.settings import PhaseSettings, ThirdsRule
from phasemark.phases.movement import Movement, clock_sample, height_at, inside


def _extremes(rep: Rep, movement: Movement) -> tuple[float, float] | None:
    """Lowest and highest point of the trace in the phases of a rep; None where the trace is missing."""
    found = []
    for phase in rep.phases:
        first, last = inside(movement, phase.begin.sample, phase.end.sample)
        ends = [height_at(movement, phase.begin.sample), height_at(movement, phase.end.sample)]
        heights = np.concatenate((movement.height[first:last], ends))
        heights = heights[np.isfinite(heights)]
        if len(heights):
            found.append((float(heights.min()), float(heights.max())))
    if not found:
        return None
    return min(low for low, _ in found), max(high for _, high in found)


def _trial_extremes(marks: Marks, movement: Movement) -> tuple[float, float] | None:
    """Mean lowest and mean highest point over the complete, not excluded reps of a trial."""
    found = [_extremes(rep, movement) for rep in marks.reps if rep.complete and not rep.excluded]
    known = [pair for pair in found if pair is not None]
    if not known:
        return None
    return float(np.mean([low for low, _ in known])), float(np.mean([high for _, high in known]))


def _height_levels(rep: Rep, movement: Movement, settings: PhaseSettings, marks: Marks) -> tuple[float, float] | None:
    """The lower and the upper third level, as heights."""
    if settings.thirds is ThirdsRule.FIXED and settings.fixed_levels is not None:
        one, other = settings.fixed_levels
        return (one, other) if movement.up is Up.LARGER else (-other, -one)
    extremes = None
    if settings.thirds is ThirdsRule.REP:
        extremes = _extremes(rep, movement)
    elif settings.thirds is ThirdsRule.TRIAL:
        extremes = _trial_extremes(marks, movement) or _extremes(rep, movement)
    if extremes is None:
        return None
    low, high = extremes
    return low + (high - low) / 3, high - (high - low) / 3


def third_levels(rep: Rep, movement: Movement, settings: PhaseSettings, marks: Marks) -> tuple[float, float] | None:
    """The two levels that part a rep in thirds, rising, in the trace's unit (position, not height).

    None where thirds are of time or not asked for, or where the trace is missing.
    """
    levels = _height_levels(rep, movement, settings, marks)
    if levels is None or movement.up is Up.LARGER:
        return levels
    return -levels[1], -levels[0]


def first_crossing(path: Samples, level: float) -> float | None:
    """Place (between samples) where a rising path first reaches a level; None where it never does.

    Linear between neighbouring samples; across missing samples the first sample that is there counts.
    """
    reached = path >= level
    at = int(np.argmax(reached))
    if not reached[at]:
        return None
    if at == 0 or not np.isfinite(path[at - 1]):
        return float(at)
    below, above = float(path[at - 1]), float(path[at])
    return at - 1 + (level - below) / (above - below)


def _crossing(phase: Phase, movement: Movement, level: float) -> int:
    """Clock sample where a phase first reaches a level: its begin if it starts beyond, its end if never."""
    sign = 1.0 if phase.name == RAISING else -1.0
    begin, end = phase.begin.sample, phase.end.sample
    if sign * height_at(movement, begin) >= sign * level:
        return begin
    first, last = inside(movement, begin, end)
    first = max(first - 1, 0)
    if last <= first:
        return end
    place = first_crossing(sign * movement.height[first:last], sign * level)
    return end if place is None else min(max(clock_sample(movement, first + place), begin), end)


def _automatic_lines(
    phase: Phase, levels: tuple[float, float] | None, movement: Movement | None, by_time: bool
) -> tuple[int, int] | None:
    begin, end = phase.begin.sample, phase.end.sample
    if by_time:
        return begin + round((end - begin) / 3), begin + round(2 * (end - begin) / 3)
    if levels is None or movement is None or phase.name not in (LOWERING, RAISING):
        return None
    low, high = levels if phase.name == RAISING else (levels[1], levels[0])
    one, two = _crossing(phase, movement, low), _crossing(phase, movement, high)
    return one, max(one, two)


def _with_lines(phase: Phase, samples: tuple[int, int] | None) -> Phase:
    """The phase with automatic lines at these samples; hand-placed ones stay, and automatic ones give way."""
    old = phase.lines
    hand = [line.origin is Origin.HAND for line in old] if old is not None else [False, False]
    if old is not None and all(hand):
        return phase
    if samples is None:
        return phase if any(hand) else replace(phase, lines=None)
    one, two = (Boundary(s) for s in samples)
    if old is not None and hand[0]:
        one, two = old[0], Boundary(max(two.sample, old[0].sample))
    elif old is not None and hand[1]:
        one, two = Boundary(min(one.sample, old[1].sample)), old[1]
    return replace(phase, lines=(one, two))


def lined(rep: Rep, marks: Marks, movement: Movement | None, settings: PhaseSettings) -> Rep:
    """A rep with its automatic third lines placed by the rule of the settings."""
    levels = None if movement is None else _height_levels(rep, movement, settings, marks)
    by_time = settings.thirds is ThirdsRule.TIME
    phases = tuple(_with_lines(p, _automatic_lines(p, levels, movement, by_time)) for p in rep.phases)
    return rep if phases == rep.phases else replace(rep, phases=phases)


def place_thirds(marks: Marks, rep_id: int, movement: Movement | None, settings: PhaseSettings) -> Marks:
    """The marks with the automatic third lines of one rep placed anew; hand-placed ones stay.

    Levels of the rule 'trial' are those of the marks as they are; other reps are not touched. Without a
    movement (None) only thirds of time can be placed. Raises MarksError if there is no such rep.
    """
    rep = marks.rep(rep_id)
    new = lined(rep, marks, movement, settings)
    return marks if new is rep else with_rep(marks, new)


def place_all_thirds(marks: Marks, movement: Movement | None, settings: PhaseSettings) -> Marks:
    """The marks with the automatic third lines of every rep placed anew, and the rule named."""
    reps = tuple(lined(rep, marks, movement, settings) for rep in marks.reps)
    return replace(marks, reps=reps, thirds_rule=str(settings.thirds))
