"""Marking a trial automatically, also again: what a hand has placed stays where it is."""

from dataclasses import replace

from phasemark.model.clock import Rate
from phasemark.model.marks import Boundary, Marks, Phase, Rep
from phasemark.model.settings import PhaseSettings
from phasemark.phases.detect import find_phases
from phasemark.phases.doubt import with_doubts
from phasemark.phases.movement import Movement, usable_lowpass
from phasemark.phases.pairing import Pairing, is_closed, pair_into_reps
from phasemark.phases.thirds import place_all_thirds

SAME_SHARE = 0.5
"""Two reps are the same if they share at least this part of the shorter one."""


def rule_text(movement: Movement, settings: PhaseSettings) -> str:
    """The rule that phases of a movement are placed by, in words."""
    return phase_rule_text(movement.rate / movement.alignment.ratio, settings)


def phase_rule_text(rate: Rate, settings: PhaseSettings) -> str:
    """The rule that phases are placed by in a movement trace of a true rate (Hz), in words."""
    cutoff = usable_lowpass(rate, settings)
    low_pass = "not filtered" if cutoff is None else f"low-pass {cutoff:g} Hz, order {settings.movement_order}"
    return (
        f"movement trace {low_pass}; turning points by prominence, {settings.prominence:.0%} of the set's range; "
        f"pauses from {settings.pause_s:g} s of standstill; speed above {settings.speed_share:.0%} of the phase's peak"
    ).replace("%", " %")


def overlap(begin: int, end: int, other_begin: int, other_end: int) -> float:
    """Samples that two stretches share, as a share of the shorter one (0 where they share none)."""
    shared = min(end, other_end) - max(begin, other_begin)
    shorter = min(end - begin, other_end - other_begin)
    return max(0, shared) / shorter if shorter > 0 else float(shared >= 0)


def same_place(begin: int, end: int, other_begin: int, other_end: int) -> bool:
    """Whether two stretches are places of one rep."""
    return overlap(begin, end, other_begin, other_end) >= SAME_SHARE


def _same(pairing: Pairing, begin: int, end: int) -> bool:
    return same_place(pairing.phases[0].begin.sample, pairing.phases[-1].end.sample, begin, end)


def _clipped(phase: Phase, low: int, high: int) -> Phase | None:
    """The phase between two samples; None where less than half of it is left."""
    begin, end = max(phase.begin.sample, low), min(phase.end.sample, high)
    if 2 * (end - begin) < phase.end.sample - phase.begin.sample or begin >= end:
        return None
    return Phase(phase.name, Boundary(begin), Boundary(end))


def _beside(pairing: Pairing, kept: list[Rep], length: int) -> tuple[Phase, ...] | None:
    """The phases of a new rep cut back to where no kept rep is; None where too little is left."""
    begin, end = pairing.phases[0].begin.sample, pairing.phases[-1].end.sample
    middle = (begin + end) / 2
    low = max((rep.end for rep in kept if (rep.begin + rep.end) / 2 <= middle), default=0)
    high = min((rep.begin for rep in kept if (rep.begin + rep.end) / 2 > middle), default=length)
    if low <= begin and end <= high:
        return pairing.phases
    cut = [_clipped(phase, low, high) for phase in pairing.phases]
    phases = tuple(phase for phase in cut if phase is not None)
    return phases if len(phases) == len(cut) else None


def _heirs(fresh: list[Rep], before: list[Rep]) -> dict[int, Rep]:
    """Place of each new rep that was marked before, with the old rep; each old rep has one heir at most."""
    pairs = sorted(
        (
            (overlap(new.begin, new.end, old.begin, old.end), place, index)
            for place, new in enumerate(fresh)
            for index, old in enumerate(before)
        ),
        key=lambda found: (-found[0], found[1], found[2]),
    )
    heirs: dict[int, Rep] = {}
    taken: set[int] = set()
    for share, place, index in pairs:
        if share >= SAME_SHARE and place not in heirs and index not in taken:
            heirs[place] = before[index]
            taken.add(index)
    return heirs


def join(pairings: tuple[Pairing, ...], before: Marks, movement: Movement | None, settings: PhaseSettings) -> Marks:
    """Marks with what a hand has touched in `before`, and new reps wherever it has not.

    A new rep that is the same as a touched or a deleted one is left out; one that reaches into a touched
    rep is cut back. A rep that is found again keeps its id; any other gets a new one.
    """
    kept = [rep for rep in before.reps if rep.touched]
    fresh: list[Rep] = []
    for pairing in pairings:
        stones = [(stone.begin, stone.end) for stone in before.tombstones]
        if any(_same(pairing, a, b) for a, b in [*stones, *((rep.begin, rep.end) for rep in kept)]):
            continue
        phases = _beside(pairing, kept, before.length)
        if phases is None:
            continue
        complete = pairing.complete
        if phases != pairing.phases and movement is not None:
            complete = is_closed(phases, movement, settings)
        fresh.append(Rep(1, phases, complete=complete))
    heirs = _heirs(fresh, [rep for rep in before.reps if not rep.touched])
    next_id = before.next_id
    named = []
    for place, rep in enumerate(fresh):
        old = heirs.get(place)
        named.append(replace(rep, id=next_id if old is None else old.id))
        next_id += old is None
    reps = tuple(sorted((*kept, *named), key=lambda rep: rep.begin))
    return replace(before, reps=reps, next_id=next_id)


def mark_trial(
    movement: Movement,
    settings: PhaseSettings,
    first_phase: str,
    before: Marks,
    phases: tuple[Phase, ...] | None = None,
) -> Marks:
    """Marks of a trial from its movement trace: phases, reps, third lines and doubts.

    Reps that a hand has touched and the places of deleted reps in `before` stay as they are; untouched reps
    that are found again keep their ids. phases are those of find_phases where the caller has them already.
    """
    found = find_phases(movement, settings) if phases is None else phases
    pairings = pair_into_reps(found, first_phase, movement, settings)
    marks = replace(join(pairings, before, movement, settings), phase_rule=rule_text(movement, settings))
    return with_doubts(place_all_thirds(marks, movement, settings), movement, settings)
