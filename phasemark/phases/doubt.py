"""How far a rep is to be doubted, and why in words."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from math import isfinite, prod
from statistics import median

import numpy as np

from phasemark.model.marks import RAISING, Marks, Phase, Rep
from phasemark.model.recording import Up
from phasemark.model.settings import PhaseSettings
from phasemark.phases.movement import Movement, height_at, inside
from phasemark.phases.pairing import gap_s, is_closed, phase_range
from phasemark.phases.thirds import third_levels

Reason = tuple[float, str]


@dataclass(frozen=True, slots=True)
class Usual:
    """What is usual in a trial: median range of motion, and median duration (samples) by phase."""

    range: float
    durations: dict[str, float]


def _usual(marks: Marks, movement: Movement) -> Usual:
    reps = [rep for rep in marks.reps if rep.complete] or list(marks.reps)
    ranges = [r for rep in reps if isfinite(r := rep_range(rep, movement))]
    durations: dict[str, list[int]] = {}
    for phase in (phase for rep in reps for phase in rep.phases):
        durations.setdefault(phase.name, []).append(phase.end.sample - phase.begin.sample)
    return Usual(median(ranges) if ranges else 0.0, {name: median(d) for name, d in durations.items()})


def rep_range(rep: Rep, movement: Movement) -> float:
    """Range of motion of a rep: the larger of its phases' (nan where the trace is missing)."""
    return max((phase_range(phase, movement) for phase in rep.phases), default=float("nan"))


def _of_range(rep: Rep, movement: Movement, usual: Usual) -> Iterator[Reason]:
    if usual.range > 0 and isfinite(size := rep_range(rep, movement)):
        off = size / usual.range - 1
        if abs(off) > 0.2:
            way = "above" if off > 0 else "below"
            yield (
                min(0.9, 0.2 + abs(off)),
                f"range of motion {abs(off):.0%} {way} this trial's median".replace("%", " %"),
            )


def _of_duration(phase: Phase, usual: Usual) -> Iterator[Reason]:
    ratio = (phase.end.sample - phase.begin.sample) / usual.durations.get(phase.name, float("inf"))
    if ratio > 1.7:
        yield min(0.6, 0.15 * ratio), f"{phase.name} {ratio:.1f} times as long as this trial's median"
    elif 0 < ratio < 1 / 1.7:
        yield min(0.6, 0.15 / ratio), f"{phase.name} lasts {ratio:.0%} of this trial's median".replace("%", " %")


def _of_edges(phase: Phase, movement: Movement) -> Iterator[Reason]:
    first, last = inside(movement, phase.begin.sample, phase.end.sample)
    last = min(last, len(movement.speed)) - 1
    if last <= first:
        yield 0.8, f"no sample of the movement trace in the {phase.name}"
        return
    whole = {piece for piece in movement.pieces if piece[0] <= first and last < piece[1]}
    begins = {begin for begin, _ in movement.pieces}
    ends = {end - 1 for _, end in movement.pieces}
    if begins & {first - 1, first}:
        yield 0.6, f"{phase.name} begins in mid-movement, cut off by {_edge(first, 'the start', movement)}"
    if ends & {last, last + 1}:
        yield 0.6, f"{phase.name} ends in mid-movement, cut off by {_edge(last, 'the end', movement)}"
    if not whole:
        yield 0.6, f"the movement trace has a gap in the {phase.name}"
    bridged = sum(max(0, min(end, last) - max(begin, first)) for begin, end in movement.bridged)
    if bridged:
        missing = bridged * movement.sample_s
        yield (
            min(0.6, 0.2 + missing),
            f"{missing:.2f} s of the movement trace are missing in the {phase.name} and bridged",
        )


def _edge(index: int, side: str, movement: Movement) -> str:
    outer = index <= 1 or index >= len(movement.speed) - 2
    return f"{side} of the recording" if outer else "a gap of the movement trace"


def _of_return(phase: Phase, rep: Rep, marks: Marks, movement: Movement, settings: PhaseSettings) -> Iterator[Reason]:
    levels = third_levels(rep, movement, settings, marks)
    size = rep_range(rep, movement)
    if levels is None or not size > 0:
        return
    first, last = inside(movement, phase.begin.sample, phase.end.sample)
    sign = 1.0 if (phase.name == RAISING) == (movement.up is Up.LARGER) else -1.0
    path = sign * movement.position[first:last]
    worst = 0.0
    for level in levels:
        over = np.flatnonzero(path >= sign * level)
        if len(over):
            worst = max(worst, sign * level - float(np.nanmin(path[over[0] :])))
    if worst > settings.return_share * size:
        share = worst / size
        # Boundaries far off their turning points leave a range of nearly nothing, of which any share is huge.
        by = f"{share:.0%} of".replace("%", " %") if share <= 1 else "more than"
        yield min(0.7, 0.2 + 2 * share), f"{phase.name} goes back over a third level by {by} the range"


def _of_pause(rep: Rep, movement: Movement) -> Iterator[Reason]:
    size = rep_range(rep, movement)
    for a, b in pairwise(rep.phases):
        if gap_s(movement, a.end.sample, b.begin.sample):
            yield 0.5, "the movement trace has a gap in the pause"
        drift = abs(height_at(movement, b.begin.sample) - height_at(movement, a.end.sample))
        if size > 0 and drift > 0.1 * size:
            yield (
                min(0.6, 2 * drift / size),
                f"moves by {drift / size:.0%} of the range during the pause".replace("%", " %"),
            )


def _of_whole(rep: Rep, movement: Movement, settings: PhaseSettings) -> Iterator[Reason]:
    """One phase only; or ends apart, also where a person takes the rep as complete for all that."""
    if len(rep.phases) == 1:
        yield 0.5, "only one phase"
    elif not rep.complete or not is_closed(rep.phases, movement, settings):
        size = rep_range(rep, movement)
        off = abs(height_at(movement, rep.end) - height_at(movement, rep.begin)) / size if size > 0 else float("nan")
        if isfinite(off):
            yield 0.5, f"ends {off:.0%} of its range away from where it began".replace("%", " %")


def reasons(rep: Rep, marks: Marks, movement: Movement, settings: PhaseSettings, usual: Usual) -> tuple[Reason, ...]:
    """Every reason to doubt a rep, each with its weight from 0 to 1, the weightiest first."""
    found = [*_of_whole(rep, movement, settings), *_of_range(rep, movement, usual), *_of_pause(rep, movement)]
    for phase in rep.phases:
        found += _of_edges(phase, movement)
        found += _of_duration(phase, usual)
        found += _of_return(phase, rep, marks, movement, settings)
    return tuple(sorted(found, key=lambda reason: -reason[0]))


def with_doubts(
    marks: Marks, movement: Movement, settings: PhaseSettings, only: Collection[int] | None = None
) -> Marks:
    """The marks with the doubt of every rep worked out anew; weights add up as 1 - (1 - w1)(1 - w2)...

    only: ids of the reps to look at (None: all); the others keep the doubt they have.
    """
    usual = _usual(marks, movement)
    reps = []
    for rep in marks.reps:
        if only is not None and rep.id not in only:
            reps.append(rep)
            continue
        found = reasons(rep, marks, movement, settings, usual)
        doubt = round(1 - prod(1 - weight for weight, _ in found), 3)
        reps.append(replace(rep, doubt=doubt, doubts=tuple(text for _, text in found)))
    return replace(marks, reps=tuple(reps))
