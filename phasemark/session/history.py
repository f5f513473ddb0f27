"""Undo and redo of one sitting: one linear list of edits, each with the study before and after."""

from dataclasses import dataclass

from phasemark.model.study import Study


@dataclass(frozen=True, slots=True)
class Entry:
    """One edit: what was done in words, the trial it changed ('' for the whole study), before and after.

    gesture is the id under which the ledger has it.
    """

    text: str
    gesture: str
    trial: str
    before: Study
    after: Study


class History:
    """The edits that can be undone and redone."""

    def __init__(self) -> None:
        self._past: list[Entry] = []
        self._future: list[Entry] = []

    def push(self, entry: Entry) -> None:
        """Keep a new edit; what had been undone can no longer be redone."""
        self._past.append(entry)
        self._future.clear()

    @property
    def undoable(self) -> Entry | None:
        """The edit that undo would take back."""
        return self._past[-1] if self._past else None

    @property
    def redoable(self) -> Entry | None:
        """The edit that redo would make again."""
        return self._future[-1] if self._future else None

    def undo(self) -> Entry:
        """Move the last edit to what can be redone, and give it."""
        entry = self._past.pop()
        self._future.append(entry)
        return entry

    def redo(self) -> Entry:
        """Move the last undone edit back, and give it."""
        entry = self._future.pop()
        self._past.append(entry)
        return entry


def rep_changed(entry: Entry, study: Study, rater: str) -> int | None:
    """The rep of an entry's trial that it changed, as far as it is there in the study as it is now."""
    studies = (study, entry.before, entry.after)
    if any(entry.trial not in {trial.id for trial in one.trials} for one in studies):
        return None  # the trial was added, or removed
    now, *sides = (one.trial(entry.trial).marks_of(rater).reps for one in studies)
    before, after = ({rep.id: rep for rep in side} for side in sides)
    return next((rep.id for rep in now if before.get(rep.id) != after.get(rep.id)), None)
