"""Edits of marks: each takes a value and returns a new one; clamps or refuses, and never breaks the marks.

A boundary is addressed by rep id, phase (0 or 1) and place. Where two phases or two reps meet in one
sample the boundary is one: moving it moves both sides, unless one side is asked for alone. A check vouches for
the boundaries as they stood: moving one by hand takes the check off every rep that it belongs to.
"""

from dataclasses import dataclass, replace

from phasemark.model.marks import (
    Boundary,
    ChannelExclusion,
    Decision,
    Marks,
    MarksError,
    Origin,
    Phase,
    Place,
    Rep,
    Tombstone,
)
from phasemark.model.recording import Side


@dataclass(frozen=True, slots=True)
class Address:
    """Where a boundary is: which rep, which of its phases, which place in the phase."""

    rep: int
    phase: int
    place: Place


@dataclass(frozen=True, slots=True)
class Limits:
    """The samples a boundary may be moved to, both included."""

    low: int
    high: int


def boundary_at(marks: Marks, address: Address) -> Boundary:
    """The boundary at an address; raises MarksError if there is none."""
    phases = marks.rep(address.rep).phases
    if not 0 <= address.phase < len(phases):
        raise MarksError(f"Rep {address.rep} has no phase {address.phase + 1}.")
    return phases[address.phase].at(address.place)


def addresses(marks: Marks) -> tuple[Address, ...]:
    """All boundaries in order of time."""
    return tuple(
        Address(rep.id, index, place)
        for rep in marks.reps
        for index, phase in enumerate(rep.phases)
        for place, _ in phase.boundaries()
    )


def beside(marks: Marks, address: Address) -> Address | None:
    """The begin that follows an end, or the end before a begin, in this rep or the next; None where there is none.

    Third lines have none. Raises MarksError if there is no such boundary.
    """
    boundary_at(marks, address)
    if address.place not in (Place.BEGIN, Place.END):
        return None
    step, place = (1, Place.BEGIN) if address.place is Place.END else (-1, Place.END)
    rep = marks.rep(address.rep)
    if 0 <= address.phase + step < len(rep.phases):
        return Address(address.rep, address.phase + step, place)
    at = marks.reps.index(rep) + step
    if not 0 <= at < len(marks.reps):
        return None
    other = marks.reps[at]
    return Address(other.id, 0 if step > 0 else len(other.phases) - 1, place)


def joined(marks: Marks, address: Address) -> Address | None:
    """The neighbouring boundary that shares this one's sample (end meets begin), if any."""
    other = beside(marks, address)
    if other is None or boundary_at(marks, other).sample != boundary_at(marks, address).sample:
        return None
    return other


def side_toward(marks: Marks, address: Address, sample: int) -> Address:
    """The side of a joined boundary that gives way when it is parted toward a sample.

    An earlier sample moves the end alone, a later one the begin alone, so that a pause opens between them. A
    boundary that is not joined is its own side.
    """
    partner = joined(marks, address)
    here = boundary_at(marks, address).sample
    if partner is None or sample == here:
        return address
    wanted = Place.END if sample < here else Place.BEGIN
    return address if address.place is wanted else partner


def _phase(marks: Marks, address: Address) -> Phase:
    return marks.rep(address.rep).phases[address.phase]


def _own_limits(phase: Phase, place: Place) -> Limits:
    """How far a boundary may go within its phase; automatic third lines give way, hand-placed ones stand."""
    hand = [b.sample for b in phase.lines or () if b.origin is Origin.HAND]
    if place is Place.BEGIN:
        return Limits(-(2**62), min([phase.end.sample - 1, *hand]))
    if place is Place.END:
        return Limits(max([phase.begin.sample + 1, *hand]), 2**62)
    lines = phase.lines
    if lines is None:
        raise MarksError(f"This {phase.name} phase has no {place}.")
    if place is Place.FIRST_LINE:
        return Limits(phase.begin.sample, lines[1].sample)
    return Limits(lines[0].sample, phase.end.sample)


def limits(marks: Marks, address: Address, *, alone: bool = False) -> Limits:
    """The samples a boundary may be moved to without breaking the marks; alone: without what it is joined to."""
    own = _own_limits(_phase(marks, address), address.place)
    low, high = own.low, own.high
    partner = None if alone else joined(marks, address)
    if partner is not None:
        other = _own_limits(_phase(marks, partner), partner.place)
        low, high = max(low, other.low), min(high, other.high)
    elif (other_side := beside(marks, address)) is not None:
        sample = boundary_at(marks, other_side).sample
        low, high = (max(low, sample), high) if address.place is Place.BEGIN else (low, min(high, sample))
    return Limits(max(low, 0), min(high, marks.length))


def _moved(phase: Phase, place: Place, sample: int) -> Phase:
    placed = Boundary(sample, Origin.HAND)
    begin = placed if place is Place.BEGIN else phase.begin
    end = placed if place is Place.END else phase.end
    lines = phase.lines
    if lines is not None and place is Place.FIRST_LINE:
        lines = (placed, lines[1])
    elif lines is not None and place is Place.SECOND_LINE:
        lines = (lines[0], placed)
    elif lines is not None:
        first, second = (
            line
            if line.origin is Origin.HAND
            else replace(line, sample=min(max(line.sample, begin.sample), end.sample))
            for line in lines
        )
        lines = (first, second)
    return Phase(phase.name, begin, end, lines)


def with_rep(marks: Marks, rep: Rep) -> Marks:
    """The marks with the rep of the same id replaced; raises MarksError where it does not fit."""
    marks.rep(rep.id)
    return replace(marks, reps=tuple(rep if old.id == rep.id else old for old in marks.reps))


def _with_phases(marks: Marks, phases: dict[tuple[int, int], Phase]) -> Marks:
    """The marks with phases replaced all at once, so that what is in between need not fit; checks are dropped."""

    def renewed(rep: Rep) -> Rep:
        new = tuple(phases.get((rep.id, i), phase) for i, phase in enumerate(rep.phases))
        return rep if new == rep.phases else replace(rep, phases=new, checked=None)

    return replace(marks, reps=tuple(renewed(rep) for rep in marks.reps))


def move_boundary(marks: Marks, address: Address, sample: int, *, alone: bool = False) -> Marks:
    """The marks with one boundary moved by hand, clamped to its limits; a joined boundary moves as one.

    With alone the other side of a joined boundary stays (side_toward says which side can move where); moved back
    onto its neighbour it is joined again. Automatic third lines are only kept inside the phase here;
    phases.thirds places them anew. Moving to where the boundary already is changes nothing, not even its origin.
    """
    allowed = limits(marks, address, alone=alone)
    sample = min(max(sample, allowed.low), allowed.high)
    if sample == boundary_at(marks, address).sample:
        return marks
    moved = {
        (part.rep, part.phase): _moved(_phase(marks, part), part.place, sample)
        for part in (address, None if alone else joined(marks, address))
        if part is not None
    }
    return _with_phases(marks, moved)


def add_rep(marks: Marks, phases: tuple[Phase, ...], *, complete: bool = True) -> Marks:
    """The marks with a new rep at its place in time; raises MarksError where it would overlap another."""
    rep = Rep(marks.next_id, phases, complete=complete)
    reps = tuple(sorted((*marks.reps, rep), key=lambda r: r.begin))
    return replace(marks, reps=reps, next_id=marks.next_id + 1)


def delete_rep(marks: Marks, rep_id: int) -> Marks:
    """The marks without a rep, and a tombstone in its place so that marking again does not bring it back."""
    rep = marks.rep(rep_id)
    stone = Tombstone(rep.id, rep.begin, rep.end)
    return replace(marks, reps=tuple(r for r in marks.reps if r.id != rep_id), tombstones=(*marks.tombstones, stone))


def check_rep(marks: Marks, rep_id: int, decision: Decision | None) -> Marks:
    """The marks with a rep checked by a person, or no longer checked (None)."""
    return with_rep(marks, replace(marks.rep(rep_id), checked=decision))


def exclude_rep(marks: Marks, rep_id: int, decision: Decision | None) -> Marks:
    """The marks with a rep excluded for a reason, or taken back (None)."""
    return with_rep(marks, replace(marks.rep(rep_id), excluded=decision))


def exclude_channel(
    exclusions: tuple[ChannelExclusion, ...], muscle: str, side: Side, decision: Decision | None
) -> tuple[ChannelExclusion, ...]:
    """The exclusions with one EMG channel excluded for a reason, or taken back (None)."""
    kept = tuple(e for e in exclusions if (e.muscle, e.side) != (muscle, side))
    return kept if decision is None else (*kept, ChannelExclusion(muscle, side, decision))
