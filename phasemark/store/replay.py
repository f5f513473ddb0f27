"""The study that a ledger leads to."""

from collections.abc import Sequence
from dataclasses import dataclass

from phasemark.model.changes import Change, apply, assemble, parts
from phasemark.model.errors import BadCall, BadData
from phasemark.model.study import Study
from phasemark.store.ledger import Entry
from phasemark.store.ledger_lines import Action, Gesture, LedgerPosition


@dataclass(frozen=True, slots=True)
class Replayed:
    """A study and the position in the ledger it has reached; damage says why it went no further ('' if it did)."""

    study: Study
    position: LedgerPosition
    damage: str = ""


def founding(study: Study) -> Gesture:
    """The first gesture of a ledger: all parts of the study as it was made."""
    changes = tuple(Change(key, None, part) for key, part in parts(study).items())
    return Gesture("made the study", changes, study.raters[0], Action.EVENT)


def replayed(study: Study, position: LedgerPosition, entries: Sequence[Entry]) -> Replayed:
    """The study after the gestures that follow a position."""
    try:
        changed = apply(study, (change for entry in entries for change in entry.gesture.changes))
    except (BadData, BadCall):
        return _as_far_as_possible(study, position, entries)
    return Replayed(changed, entries[-1].position if entries else position)


def _as_far_as_possible(study: Study, position: LedgerPosition, entries: Sequence[Entry]) -> Replayed:
    for entry in entries:
        try:
            study = apply(study, entry.gesture.changes)
        except (BadData, BadCall) as problem:
            line = entry.position.sequence
            return Replayed(study, position, f"the gesture that ends in line {line} does not fit the study: {problem}")
        position = entry.position
    return Replayed(study, position)


def from_nothing(entries: Sequence[Entry]) -> Replayed:
    """The study that a whole ledger leads to.

    Raises:
        BadData: its first gesture did not make a study.
    """
    if not entries:
        raise BadData("the ledger holds no whole gesture")
    first = entries[0]
    made = assemble({change.key: change.after for change in first.gesture.changes if change.after is not None})
    return replayed(made, first.position, entries[1:])


def normal(study: Study) -> Study:
    """The study as a ledger would lead to it: exercises by name, marks of a trial by rater."""
    return assemble(parts(study))
