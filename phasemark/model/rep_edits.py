"""Edits of whole reps: what a rep consists of, one in two, two in one, complete or not, places free for one.

The phases are worked out elsewhere (phases.by_hand); here they are put in their place. A rep keeps its id as long
as any of it is left: the first of two parts, and the first of two merged, is the rep that was. Checks are dropped,
since nobody has looked at the new rep; exclusions stay, since their reason may hold still, and are seen.
"""

from dataclasses import replace

from phasemark.model.mark_edits import with_rep
from phasemark.model.marks import BURST, Boundary, Decision, Marks, MarksError, Origin, Phase, Rep


def free_stretch(marks: Marks, sample: int) -> tuple[int, int] | None:
    """The stretch [begin, end) around a sample in which no rep lies; None inside a rep or outside the recording."""
    if not 0 <= sample < marks.length or any(rep.begin <= sample < rep.end for rep in marks.reps):
        return None
    low = max((rep.end for rep in marks.reps if rep.end <= sample), default=0)
    high = min((rep.begin for rep in marks.reps if rep.begin > sample), default=marks.length)
    return low, high


def next_rep(marks: Marks, rep_id: int) -> Rep | None:
    """The rep after another in time; None after the last. Raises MarksError if there is no such rep."""
    place = marks.reps.index(marks.rep(rep_id)) + 1
    return marks.reps[place] if place < len(marks.reps) else None


def ends_by_hand(phases: tuple[Phase, ...], *, begin: bool = True, end: bool = True) -> tuple[Phase, ...]:
    """The phases with their first begin and last end owned by a hand, where they are."""
    new = list(phases)
    if begin:
        new[0] = replace(new[0], begin=Boundary(new[0].begin.sample, Origin.HAND))
    if end:
        new[-1] = replace(new[-1], end=Boundary(new[-1].end.sample, Origin.HAND))
    return tuple(new)


def split_rep(marks: Marks, rep_id: int, first: Rep, second: Rep) -> Marks:
    """The marks with a rep in two parts, of which the first keeps the id; ids of the parts given do not count.

    Raises:
        MarksError: the parts overlap each other or another rep.
    """
    old = marks.rep(rep_id)
    own = replace(old, checked=None, doubt=0.0, doubts=())
    parts = (
        replace(own, phases=first.phases, complete=first.complete),
        replace(own, phases=second.phases, complete=second.complete, id=marks.next_id),
    )
    reps = tuple(part for rep in marks.reps for part in (parts if rep is old else (rep,)))
    return replace(marks, reps=reps, next_id=marks.next_id + 1)


def merge_reps(marks: Marks, first_id: int, second_id: int, whole: Rep) -> Marks:
    """The marks with two neighbours as one rep under the id of the first; the second leaves no tombstone.

    An exclusion of either is one of the whole (the first one's where both have one).
    """
    first, second = marks.rep(first_id), marks.rep(second_id)
    held = {(e.muscle, e.side): e for e in (*second.excluded_channels, *first.excluded_channels)}
    whole = replace(
        whole,
        id=first_id,
        checked=None,
        excluded=first.excluded or second.excluded,
        excluded_channels=tuple(held.values()),
    )
    reps = tuple(whole if rep is first else rep for rep in marks.reps if rep is not second)
    return replace(marks, reps=reps)


def set_complete(marks: Marks, rep_id: int, complete: bool, decision: Decision) -> Marks:
    """The marks with a rep complete or not because a person says so, which checks it.

    The decision says who, when and why; as long as it stands, marking again leaves the rep as it is.

    Raises:
        MarksError: a rep of one phase is to be complete, and is no burst.
    """
    rep = marks.rep(rep_id)
    if complete and len(rep.phases) == 1 and rep.phases[0].name != BURST:
        raise MarksError(
            f"This rep has only its {rep.phases[0].name} phase and cannot be complete; merge it with the other one."
        )
    return with_rep(marks, replace(rep, complete=complete, checked=decision))
