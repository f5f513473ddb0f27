"""All marks of the trial in view as a table: what the mouse can do in the traces, the keyboard can do here."""

from dataclasses import dataclass
from math import isfinite
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, Signal

from phasemark.model.clock import Rate, nearest_sample, seconds
from phasemark.model.mark_edits import Address
from phasemark.model.marks import Boundary, Marks, Origin, Place, Rep
from phasemark.model.study import Trial
from phasemark.results.standing import exclusion_reason
from phasemark.window.traces.mark_words import boundary_word, time_text

Index = QModelIndex | QPersistentModelIndex
REP, BOUNDARY, TIME, PLACED, CHECKED, EXCLUDED = range(6)
_TITLES = ("rep", "boundary", "time (s)", "placed", "checked", "excluded")
_EXCLUDED_HINT = "Why a repetition is excluded: type a reason to exclude it, empty the cell to take that back."


_ENDS = (Place.BEGIN, Place.END)


@dataclass(frozen=True, slots=True)
class MarkRow:
    """One boundary of a rep; first says whether it is the rep's first, whose line speaks for the whole rep."""

    rep: Rep
    number: int | None
    address: Address
    phase: str
    word: str
    boundary: Boundary
    first: bool


def mark_rows(marks: Marks) -> tuple[MarkRow, ...]:
    """All boundaries of a trial in order of time."""
    numbers = marks.numbers()
    return tuple(
        MarkRow(
            rep,
            numbers.get(rep.id),
            Address(rep.id, index, place),
            phase.name,
            boundary_word(phase, place, marks.thirds_rule),
            boundary,
            index == at == 0,
        )
        for rep in marks.reps
        for index, phase in enumerate(rep.phases)
        for at, (place, boundary) in enumerate(phase.boundaries())
    )


class MarksTable(QAbstractTableModel):
    """Marks go in, what was typed comes out; the table itself changes nothing."""

    timeTyped = Signal(object, object)  # Address, sample of the clock
    checkToggled = Signal(object, bool)  # rep id, whether it is checked now
    exclusionTyped = Signal(object, str)  # rep id, reason ('' takes it back)
    refused = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self._trial: Trial | None = None
        self._rows: tuple[MarkRow, ...] = ()
        self._editable = False

    def show(self, trial: Trial | None, marks: Marks | None, *, editable: bool) -> None:
        """Show the marks of a trial; lines that stay keep their selection."""
        rows = () if marks is None or trial is None else mark_rows(marks)
        same = [row.address for row in rows] == [row.address for row in self._rows] and trial is not None
        changed = [i for i, (a, b) in enumerate(zip(rows, self._rows, strict=True)) if a != b] if same else []
        self._editable = editable
        if not same or self._trial is None or (trial is not None and trial.id != self._trial.id):
            self.beginResetModel()
            self._trial, self._rows = trial, rows
            self.endResetModel()
            return
        self._trial, self._rows = trial, rows
        if changed:
            self.dataChanged.emit(self.index(changed[0], 0), self.index(changed[-1], len(_TITLES) - 1))

    def address_at(self, index: Index) -> Address | None:
        """The boundary of a line."""
        return self._rows[index.row()].address if index.isValid() and index.row() < len(self._rows) else None

    def index_of(self, address: Address | None, column: int = TIME) -> QModelIndex:
        """The line of a boundary; an invalid index if there is none."""
        for place, row in enumerate(self._rows):
            if row.address == address:
                return self.index(place, column)
        return QModelIndex()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  Qt's own signature
        """Boundaries."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Columns."""
        return 0 if parent.isValid() else len(_TITLES)

    @property
    def _clock(self) -> Rate:
        assert self._trial is not None
        return self._trial.clock

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Text, tick and alignment of a cell."""
        if not index.isValid() or self._trial is None:
            return None
        row, column = self._rows[index.row()], index.column()
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.EditRole):
            return self._text(row, column)
        return self._aspect(row, column, role)

    def _aspect(self, row: MarkRow, column: int, role: int) -> Any:
        if role == Qt.ItemDataRole.CheckStateRole and column == CHECKED and row.first:
            return Qt.CheckState.Checked if row.rep.checked is not None else Qt.CheckState.Unchecked
        if role == Qt.ItemDataRole.AccessibleTextRole and column == BOUNDARY:
            return f"{row.phase} {row.word}"
        if role == Qt.ItemDataRole.TextAlignmentRole and column in (REP, TIME):
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        if role == Qt.ItemDataRole.ToolTipRole and row.first:
            return self._text(row, EXCLUDED) or "; ".join(row.rep.doubts) or None
        return None

    def _text(self, row: MarkRow, column: int) -> str:
        if column == REP:
            return ("–" if row.number is None else str(row.number)) if row.first else ""
        if column == EXCLUDED:
            return (exclusion_reason(self._require_trial(), row.rep) or "") if row.first else ""
        if column == CHECKED:
            return row.rep.checked.rater if row.first and row.rep.checked is not None else ""
        if column == TIME:
            return time_text(row.boundary.sample, self._clock).removesuffix(" s")
        if column == PLACED:
            return "by hand" if row.boundary.origin is Origin.HAND else "automatic"
        return f"{row.phase} {row.word}" if row.address.place in _ENDS else f"    {row.word}"

    def _require_trial(self) -> Trial:
        assert self._trial is not None
        return self._trial

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Titles of the columns."""
        if role == Qt.ItemDataRole.DisplayRole and orientation == Qt.Orientation.Horizontal:
            return _TITLES[section]
        if role == Qt.ItemDataRole.ToolTipRole and orientation == Qt.Orientation.Horizontal and section == EXCLUDED:
            return _EXCLUDED_HINT
        return None

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Times can be typed; what is said of a whole rep can be changed in its first line."""
        flags = super().flags(index)
        if not index.isValid() or not self._editable:
            return flags
        first, column = self._rows[index.row()].first, index.column()
        if column == TIME or (column == EXCLUDED and first):
            flags |= Qt.ItemFlag.ItemIsEditable
        if column == CHECKED and first:
            flags |= Qt.ItemFlag.ItemIsUserCheckable
        return flags

    def setData(self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Hand on what was typed or ticked; what is shown changes when the marks do."""
        if not index.isValid() or not self._editable:
            return False
        row = self._rows[index.row()]
        if role == Qt.ItemDataRole.CheckStateRole and index.column() == CHECKED:
            self.checkToggled.emit(row.rep.id, Qt.CheckState(value) == Qt.CheckState.Checked)
            return True
        if role != Qt.ItemDataRole.EditRole:
            return False
        if index.column() == EXCLUDED:
            if value.strip() != self._text(row, EXCLUDED):
                self.exclusionTyped.emit(row.rep.id, value.strip())
            return True
        return index.column() == TIME and self._take_time(row, value)

    def _take_time(self, row: MarkRow, text: str) -> bool:
        """A typed time (s), with decimal point or comma; unchanged text moves nothing."""
        if text.strip() == self._text(row, TIME):
            return True
        try:
            time = float(text.strip().replace(",", "."))
        except ValueError:
            time = float("nan")
        if not isfinite(time) or abs(time) > seconds(2**40, self._clock):
            self.refused.emit(f"A boundary's time is a number of seconds, not {text!r}.")
            return False
        self.timeTyped.emit(row.address, nearest_sample(time, self._clock))
        return True
