"""References and attempts as table models."""

from collections.abc import Callable
from math import isfinite
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt

from phasemark.results.referencing import Whose
from phasemark.results.study_grid import State
from phasemark.session.reference_pictures import AttemptPicture, ReferencePicture

Index = QModelIndex | QPersistentModelIndex
SIGN_ROLE = Qt.ItemDataRole.UserRole + 1
IN_MV = "reported in mV"
DASH = "–"
_RIGHT = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
REFERENCE_TITLES = ("", "participant", "session", "muscle", "exercise", "RMS (mV)", "±", "from", "what is said of it")
R_SIGN, R_PARTICIPANT, R_SESSION, R_MUSCLE, R_EXERCISE, R_RMS, R_ERROR, R_FROM, R_SAID = range(len(REFERENCE_TITLES))
ATTEMPT_TITLES = ("", "no.", "position", "trial", "RMS (mV)", "mean (mV)", "±", "window (s)", "what is said of it")
A_SIGN, A_NUMBER, A_POSITION, A_TRIAL, A_RMS, A_MEAN, A_ERROR, A_WINDOW, A_SAID = range(len(ATTEMPT_TITLES))


def millivolts(value: float) -> str:
    """An amplitude (mV) to three digits, a dash where there is none."""
    return f"{value:#.3g}".rstrip(".") if isfinite(value) else DASH


def percent(share: float) -> str:
    """A share in percent, a dash where there is none."""
    return f"{100 * share:.1f} %" if isfinite(share) else DASH


def reference_state(row: ReferencePicture) -> tuple[State, str]:
    """The sign of a reference, and what it means in words."""
    if row.decision is not None:
        return State.CHECKED, "chosen by a person"
    if not row.there:
        return State.NO_MARKS, "no reference"
    return (State.PROBLEM, "look at what is said of it") if row.notes else (State.EMPTY, "nothing to say")


def attempt_state(row: AttemptPicture) -> tuple[State, str]:
    """The sign of an attempt, and what it means in words."""
    if row.used or row.mean_used:
        return State.CHECKED, "used"
    open_faults = any(not fault.endswith("(accepted)") for fault in row.faults)
    return (State.PROBLEM, "a fault in its window") if open_faults else (State.EMPTY, "not used")


def attempt_notes(row: AttemptPicture) -> tuple[str, ...]:
    """All that is to be known of an attempt beside its numbers."""
    notes = []
    if row.used or row.mean_used:
        notes.append("used" if row.used else "used for the mean amplitude")
    notes += [f"{fault} in its window" for fault in row.faults]
    if row.at_edge:
        notes.append("maximum at the edge of the signal")
    if row.by_hand is not None:
        decision = row.by_hand.decision
        notes.append(f"plateau by hand ({': '.join(filter(None, (decision.rater, decision.reason)))})")
    return tuple(notes)


class _Rows(QAbstractTableModel):
    """A table of frozen rows that tells only what changed."""

    titles: tuple[str, ...] = ()
    numbers: tuple[int, ...] = ()

    def __init__(self) -> None:
        super().__init__()
        self._held: tuple[Any, ...] = ()

    def key(self, row: Any) -> object:
        """What a row keeps as long as it stands for the same."""
        raise NotImplementedError

    def text(self, row: Any, column: int) -> str:
        """The text of a cell."""
        raise NotImplementedError

    def state(self, row: Any) -> tuple[State, str]:
        """The sign of a row and its words."""
        raise NotImplementedError

    def show_rows(self, rows: tuple[Any, ...]) -> None:
        """Show other rows."""
        if [self.key(row) for row in rows] != [self.key(row) for row in self._held]:
            self.beginResetModel()
            self._held = rows
            self.endResetModel()
            return
        changed = [n for n, (a, b) in enumerate(zip(rows, self._held, strict=True)) if a is not b and a != b]
        self._held = rows
        if changed:
            self.dataChanged.emit(self.index(changed[0], 0), self.index(changed[-1], len(self.titles) - 1))

    def place_of(self, key: object) -> int | None:
        """The place of a row, None where it is not there."""
        return next((place for place, row in enumerate(self._held) if self.key(row) == key), None)

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  Qt's own signature
        """Rows."""
        return 0 if parent.isValid() else len(self._held)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Columns."""
        return 0 if parent.isValid() else len(self.titles)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Texts, and the sign of the first column."""
        if not index.isValid() or index.row() >= len(self._held):
            return None
        row, column = self._held[index.row()], index.column()
        if role == Qt.ItemDataRole.DisplayRole:
            return self.text(row, column)
        if role in (Qt.ItemDataRole.AccessibleTextRole, Qt.ItemDataRole.ToolTipRole):
            return self.text(row, column) if column else self.state(row)[1]
        if role == SIGN_ROLE:
            return None if column else self.state(row)[0]
        return _RIGHT if role == Qt.ItemDataRole.TextAlignmentRole and column in self.numbers else None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Titles of the columns."""
        if orientation != Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return self.titles[section]
        if role == Qt.ItemDataRole.ToolTipRole and self.titles[section] == "±":
            return "Relative sampling error of the RMS"
        if role == Qt.ItemDataRole.TextAlignmentRole and section in self.numbers:
            return _RIGHT
        return (self.titles[section] or "how it stands") if role == Qt.ItemDataRole.AccessibleTextRole else None


class ReferencesModel(_Rows):
    """One row for each participant, session and muscle."""

    titles, numbers = REFERENCE_TITLES, (R_RMS, R_ERROR)

    def key(self, row: ReferencePicture) -> Whose:
        """Whose reference it is."""
        return row.whose

    def row_at(self, index: Index) -> ReferencePicture | None:
        """The reference of an index."""
        return self._held[index.row()] if index.isValid() and index.row() < len(self._held) else None

    def state(self, row: ReferencePicture) -> tuple[State, str]:
        """As reference_state."""
        return reference_state(row)

    def text(self, row: ReferencePicture, column: int) -> str:
        """The text of a cell."""
        return _REFERENCE_TEXTS[column](row)


def _from_words(row: ReferencePicture) -> str:
    """Which attempts it was made from; that the muscle is reported in mV where there is no reference."""
    if not row.there:
        return IN_MV
    used = row.used
    if len(used) > 3:
        return f"{len(used)} of {len(row.attempts)}"
    return ", ".join(f"{at.trial} ({at.number})" for at in used)


_REFERENCE_TEXTS: dict[int, Callable[[ReferencePicture], str]] = {
    R_SIGN: lambda _: "",
    R_PARTICIPANT: lambda row: row.whose.participant,
    R_SESSION: lambda row: row.whose.session,
    R_MUSCLE: lambda row: row.muscle,
    R_EXERCISE: lambda row: row.whose.exercise,
    R_RMS: lambda row: millivolts(row.rms) if row.there else DASH,
    R_ERROR: lambda row: percent(row.rms_error),
    R_FROM: _from_words,
    R_SAID: lambda row: " ".join(row.notes),
}


class AttemptsModel(_Rows):
    """The attempts at one reference, side by side."""

    titles, numbers = ATTEMPT_TITLES, (A_NUMBER, A_RMS, A_MEAN, A_ERROR, A_WINDOW)

    @property
    def rows(self) -> tuple[AttemptPicture, ...]:
        """The attempts."""
        return self._held

    def key(self, row: AttemptPicture) -> object:
        """Trial, channel and place among the attempts."""
        return row.trial, row.channel, row.number, row.begin_s

    def row_at(self, index: Index) -> AttemptPicture | None:
        """The attempt of an index."""
        return self._held[index.row()] if index.isValid() and index.row() < len(self._held) else None

    def state(self, row: AttemptPicture) -> tuple[State, str]:
        """As attempt_state."""
        return attempt_state(row)

    def text(self, row: AttemptPicture, column: int) -> str:
        """The text of a cell."""
        return _ATTEMPT_TEXTS[column](row)


_ATTEMPT_TEXTS: dict[int, Callable[[AttemptPicture], str]] = {
    A_SIGN: lambda _: "",
    A_NUMBER: lambda row: str(row.number),
    A_POSITION: lambda row: row.position,
    A_TRIAL: lambda row: row.trial,
    A_RMS: lambda row: millivolts(row.rms),
    A_MEAN: lambda row: millivolts(row.mean_amplitude),
    A_ERROR: lambda row: percent(row.error),
    A_WINDOW: lambda row: f"{row.begin_s:.2f}–{row.end_s:.2f}" if row.end_s > 0 else DASH,
    A_SAID: lambda row: ", ".join(attempt_notes(row)),
}
