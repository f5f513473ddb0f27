"""Repetitions added, split and merged by hand: a person says where, the movement trace says which phases.

Begin and end of what a person drew are the person's, so that marking again leaves the rep where it is; the turning
point and the third lines between are automatic. Without a movement trace a stretch is one burst, since nothing
tells a raising from a lowering.
"""

from dataclasses import dataclass, replace
from itertools import pairwise

from phasemark.model.clock import Rate
from phasemark.model.mark_edits import add_rep, delete_rep
from phasemark.model.marks import (
    BURST,
    LOWERING,
    RAISING,
    Boundary,
    Decision,
    Marks,
    MarksError,
    Origin,
    Phase,
    Rep,
)
from phasemark.model.rep_edits import ends_by_hand, merge_reps, next_rep, set_complete, split_rep
from phasemark.model.settings import PhaseSettings, ThirdsRule
from phasemark.phases.doubt import with_doubts
from phasemark.phases.marking import same_place
from phasemark.phases.movement import Movement
from phasemark.phases.pairing import Pairing, is_closed
from phasemark.phases.stretch import phases_between, stretch_text
from phasemark.phases.thirds import place_all_thirds, place_thirds


@dataclass(frozen=True, slots=True)
class Ground:
    """What a person's marks stand on: the recording's clock, the movement (None without a trace), the rules."""

    clock: Rate
    movement: Movement | None
    settings: PhaseSettings


LEAST_S = 0.1
"""A rep shorter than this (s) is a slip of the hand (common practice, no source)."""


def _refuse_short(begin: int, end: int, clock: Rate, what: str) -> None:
    if end - begin < max(2, LEAST_S * clock):
        raise MarksError(
            f"{what} {stretch_text(begin, end, clock)} would be shorter than {LEAST_S:g} s; make it longer."
        )


# What a rep that is drawn anew keeps of the reps it comes from


def _kept_turn(new: tuple[Phase, ...], old: tuple[Phase, ...]) -> tuple[Phase, ...]:
    """The two phases parted where a hand had parted two of the same names, if that lies between their ends."""
    if len(new) != 2:
        return new
    for a, b in pairwise(old):
        hand = Origin.HAND in (a.end.origin, b.begin.origin)
        inner = new[0].begin.sample < a.end.sample and b.begin.sample < new[1].end.sample
        if hand and inner and (a.name, b.name) == (new[0].name, new[1].name):
            return replace(new[0], end=a.end), replace(new[1], begin=b.begin)
    return new


def _kept_lines(phase: Phase, old: tuple[Phase, ...]) -> Phase:
    """The phase with the third lines that a hand had placed in it."""
    begin, end = phase.begin.sample, phase.end.sample
    lines = list(phase.lines or (Boundary(begin), Boundary(end)))
    for other in (other for other in old if other.name == phase.name and other.lines is not None):
        for slot, line in enumerate(other.lines or ()):
            if line.origin is Origin.HAND and begin <= line.sample <= end:
                lines[slot] = line
    hand = any(line.origin is Origin.HAND for line in lines)
    return replace(phase, lines=(lines[0], lines[1])) if hand and lines[0].sample <= lines[1].sample else phase


def _keeping(found: Pairing, old: tuple[Phase, ...], ground: Ground) -> Rep:
    """A rep of the phases found, with the hand-placed boundaries of the old phases that still make sense."""
    phases = tuple(_kept_lines(phase, old) for phase in _kept_turn(found.phases, old))
    closed = ground.movement is not None and is_closed(phases, ground.movement, ground.settings)
    complete = found.complete if ground.movement is None else closed
    return Rep(1, phases, complete=complete)


# The marks as a whole


def _rule_of(marks: Marks, settings: PhaseSettings) -> PhaseSettings:
    """The settings with the rule of thirds that these marks have, since one trial is never cut by two rules.

    Levels that the settings no longer have cannot be placed again: such a new rep has no thirds until the trial is
    marked again.
    """
    if marks.thirds_rule in ("", settings.thirds):
        return settings
    held = ThirdsRule(marks.thirds_rule)
    return replace(settings, thirds=ThirdsRule.NONE if held is ThirdsRule.FIXED else held, fixed_levels=None)


def settled(marks: Marks, fresh: tuple[int, ...], ground: Ground) -> Marks:
    """The marks after reps have come or gone: automatic third lines of the fresh ones, doubts of all.

    Where thirds are the trial's, every rep has a part in their levels, so that all lines are placed anew.
    """
    movement, rule = ground.movement, _rule_of(marks, ground.settings)
    if not marks.thirds_rule:
        marks = replace(marks, thirds_rule=str(rule.thirds))
    if rule.thirds is ThirdsRule.TRIAL:
        marks = place_all_thirds(marks, movement, rule)
    for rep_id in fresh:
        marks = place_thirds(marks, rep_id, movement, rule)
    return marks if movement is None else with_doubts(marks, movement, rule)


# Edits


def _refuse_overlap(marks: Marks, begin: int, end: int, clock: Rate) -> None:
    numbers = marks.numbers()
    for rep in marks.reps:
        if rep.begin < end and begin < rep.end:
            name = f"rep {numbers[rep.id]}" if rep.id in numbers else "an incomplete rep"
            there = stretch_text(rep.begin, rep.end, clock)
            raise MarksError(
                f"A rep {stretch_text(begin, end, clock)} would overlap {name} ({there}); "
                "choose a stretch beside it, or delete that one first."
            )


def draw_rep(marks: Marks, begin: int, end: int, ground: Ground) -> Marks:
    """The marks with a rep drawn over [begin, end) by hand; it is the one with the highest id.

    A tombstone of the same place goes, since the person wants a rep there after all.

    Raises:
        MarksError: it would overlap another rep or is too short, or the movement trace cannot tell its phases.
    """
    begin, end = (min(max(sample, 0), marks.length) for sample in sorted((begin, end)))
    _refuse_short(begin, end, ground.clock, "A rep")
    _refuse_overlap(marks, begin, end, ground.clock)
    ends = (Boundary(begin, Origin.HAND), Boundary(end, Origin.HAND))
    found = (
        Pairing((Phase(BURST, *ends),), complete=True)
        if ground.movement is None
        else phases_between(*ends, ground.movement, ground.settings)
    )
    drawn = add_rep(_without_stones(marks, begin, end), found.phases, complete=found.complete)
    return settled(drawn, (marks.next_id,), ground)


def _without_stones(marks: Marks, begin: int, end: int) -> Marks:
    stones = tuple(stone for stone in marks.tombstones if not same_place(stone.begin, stone.end, begin, end))
    return replace(marks, tombstones=stones)


def erase_rep(marks: Marks, rep_id: int, ground: Ground) -> Marks:
    """The marks without a rep, a tombstone in its place; what is usual in the trial is worked out without it."""
    return settled(delete_rep(marks, rep_id), (), ground)


def part_rep(marks: Marks, rep_id: int, sample: int, ground: Ground) -> Marks:
    """The marks with a rep split at a sample; the first part keeps the id, the second has the highest one.

    Each part has its own turning point where the movement gives one. Where it gives none on either side, the rep's
    two phases become two incomplete reps, as they are. Hand-placed boundaries that still make sense stay.

    Raises:
        MarksError: there is no such rep, or a part of it would be too short.
    """
    rep = marks.rep(rep_id)
    _refuse_short(rep.begin, max(sample, rep.begin), ground.clock, "The part of the rep")
    _refuse_short(min(sample, rep.end), rep.end, ground.clock, "The part of the rep")
    first, second = _parts(rep, Boundary(sample, Origin.HAND), ground)
    parted = split_rep(marks, rep_id, first, second)
    return settled(parted, (rep_id, marks.next_id), ground)


def _parts(rep: Rep, at: Boundary, ground: Ground) -> tuple[Rep, Rep]:
    try:
        found = _halves(rep, at, ground)
    except MarksError:  # the trace is missing on one side: what is known of the rep is all there is
        found = None
    if len(rep.phases) == 2 and (found is None or all(len(half.phases) == 1 for half in found)):
        one, other = rep.phases
        found = (
            Pairing(ends_by_hand((one,), begin=False), complete=False),
            Pairing(ends_by_hand((other,), end=False), complete=False),
        )
    elif found is None:
        found = _alike(rep, at)
    first, second = (_keeping(half, rep.phases, ground) for half in found)
    return first, second


def _halves(rep: Rep, at: Boundary, ground: Ground) -> tuple[Pairing, Pairing]:
    if ground.movement is None:
        return _alike(rep, at)
    begin, end = rep.phases[0].begin, rep.phases[-1].end
    movement, settings = ground.movement, ground.settings
    return phases_between(begin, at, movement, settings), phases_between(at, end, movement, settings)


def _alike(rep: Rep, at: Boundary) -> tuple[Pairing, Pairing]:
    """A rep in two of its own kind: a burst in two bursts."""
    begin, end = rep.phases[0].begin, rep.phases[-1].end
    names = (rep.phases[0].name, rep.phases[-1].name)
    complete = rep.complete and len(rep.phases) == 1
    return Pairing((Phase(names[0], begin, at),), complete), Pairing((Phase(names[1], at, end),), complete)


def join_with_next(marks: Marks, rep_id: int, ground: Ground) -> Marks:
    """The marks with a rep and the one after it as one, under the id of the first.

    Two reps of one phase each, one lowering and one raising, become a rep of those phases as they are; any others
    a rep drawn anew from the begin of the first to the end of the second. Its begin and end are now a hand's, so
    that marking again leaves it one; the second rep leaves no tombstone.

    Raises:
        MarksError: there is no such rep or none after it, or nothing tells the phases of the whole.
    """
    first, second = marks.rep(rep_id), next_rep(marks, rep_id)
    if second is None:
        raise MarksError("This is the last rep of the trial; there is none after it to merge with.")
    old = (*first.phases, *second.phases)
    found = _merged(first, second, ground)
    whole = _keeping(replace(found, phases=ends_by_hand(found.phases)), old, ground)
    merged = _without_stones(merge_reps(marks, first.id, second.id, whole), first.begin, second.end)
    return settled(merged, (rep_id,), ground)


def _merged(first: Rep, second: Rep, ground: Ground) -> Pairing:
    phases = (*first.phases, *second.phases)
    names = [phase.name for phase in phases]
    if sorted(names) == [LOWERING, RAISING]:
        return Pairing(phases, complete=False)
    begin, end = phases[0].begin, phases[-1].end
    if ground.movement is not None:
        return phases_between(begin, end, ground.movement, ground.settings)
    if len(set(names)) == 1:
        return Pairing((Phase(names[0], begin, end),), first.complete or second.complete)
    raise MarksError(
        "Without a movement trace nothing tells the phases of these two reps together; delete one instead."
    )


def judge_rep(marks: Marks, rep_id: int, complete: bool, decision: Decision, ground: Ground) -> Marks:
    """The marks with a rep complete or not by a person's decision, which checks it; see set_complete."""
    return settled(set_complete(marks, rep_id, complete, decision), (), ground)
