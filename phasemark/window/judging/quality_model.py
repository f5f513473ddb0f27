"""The quality checks as a table model that filters and sorts by itself: a row costs nothing until it is seen."""

from collections.abc import Callable, Iterable
from enum import Enum
from math import isfinite
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt

from phasemark.results.study_grid import State
from phasemark.session.judgement_tables import QualityRow, QualityTable, figure_text
from phasemark.signal.quality.finding import Check

Index = QModelIndex | QPersistentModelIndex
Key = tuple[str, int, str, int]
SIGN, CHECK, MUSCLE, TRIAL, FIGURE, LIMIT, DECIDED, FOUND = range(8)
TITLES = ("", "check", "muscle", "trial", "figure", "limit", "decided", "what was found")
_HINTS = {
    SIGN: "Lozenge: still to decide. Tick: accepted. Hatched: excluded. Dash: nothing found.",
    LIMIT: "What the figure is held against; the limits are in the settings, under quality.",
}
_SORT = "Sorted by a click here, or by Alt+Down in the column; the third time as before."
SIGN_ROLE = Qt.ItemDataRole.UserRole + 1
_NUMBERS = (FIGURE, LIMIT)
_RIGHT = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
# Checks that ask for a least figure; all others ask for a highest one.
_LEAST = {Check.NOISE, Check.RATE, Check.DISTINCT, Check.RECTIFIED, Check.SMOOTHED, Check.MOVEMENT_RATE}


class Which(Enum):
    """Which of the checks are listed."""

    TO_DECIDE = "still to decide"
    DECIDED = "accepted or excluded"
    FLAGGED = "all that were flagged"
    ALL = "all checks"


_KEPT: dict[Which, Callable[[QualityRow], bool]] = {
    Which.TO_DECIDE: lambda row: row.to_decide,
    Which.DECIDED: lambda row: row.decision is not None and (row.flagged or row.accepted is not None),
    Which.FLAGGED: lambda row: row.flagged,
    Which.ALL: lambda _: True,
}


def state_words(row: QualityRow) -> str:
    """How a row stands, in a word or two."""
    if row.accepted is not None:
        return "accepted"
    if row.excluded is not None:
        return "excluded"
    return "still to decide" if row.flagged else "nothing found"


def sign_of(row: QualityRow) -> State:
    """The sign of how a row stands, as in the study's grid."""
    if row.accepted is not None:
        return State.CHECKED
    if row.excluded is not None:
        return State.EXCLUDED
    return State.PROBLEM if row.flagged else State.EMPTY


def decided_words(row: QualityRow) -> str:
    """What was decided, by whom and why; '' where nothing was."""
    decision = row.decision
    return "" if decision is None else f"{state_words(row)} by {decision.rater}: {decision.reason}"


def limit_text(row: QualityRow) -> str:
    """The limit of a check, and which side of it is sound."""
    return f"{'≥' if row.check in _LEAST else '≤'} {figure_text(row.threshold, row.unit)}"


_TEXTS: dict[int, Callable[[QualityRow], str]] = {
    SIGN: lambda _: "",
    CHECK: lambda row: str(row.check),
    MUSCLE: lambda row: row.muscle,
    TRIAL: lambda row: row.name,
    FIGURE: lambda row: figure_text(row.figure, row.unit),
    LIMIT: limit_text,
    DECIDED: decided_words,
    FOUND: lambda row: row.sentence,
}


def cell_text(row: QualityRow, column: int) -> str:
    """The text of a cell."""
    return _TEXTS[column](row)


class QualityModel(QAbstractTableModel):
    """The rows that pass the filters, in the table's order or sorted by a column."""

    def __init__(self) -> None:
        super().__init__()
        self._table = QualityTable()
        self._rows: tuple[QualityRow, ...] = ()
        self._places: dict[Key, int] = {}
        self._which, self._trial, self._words = Which.TO_DECIDE, "", ""
        self._sorted: tuple[int, bool] | None = None

    @property
    def rows(self) -> tuple[QualityRow, ...]:
        """The rows that are listed."""
        return self._rows

    def show(self, table: QualityTable) -> None:
        """Show another table; where the same rows are listed only what changed in them is told."""
        if table is not self._table:
            self._table = table
            self._refresh()

    def set_filter(self, which: Which, trial: str, words: str) -> None:
        """List only rows that stand so, of a trial ('' : of all), that hold all these words."""
        if (which, trial, words) != (self._which, self._trial, self._words):
            self._which, self._trial, self._words = which, trial, words
            self._refresh()

    def sort(self, column: int, order: Qt.SortOrder = Qt.SortOrder.AscendingOrder) -> None:
        """Sort by a column; -1 gives the table's own order back."""
        wanted = None if column < 0 else (column, order == Qt.SortOrder.DescendingOrder)
        if wanted != self._sorted:
            self._sorted = wanted
            self._refresh()

    def _listed(self) -> tuple[QualityRow, ...]:
        keep, words = _KEPT[self._which], self._words.casefold().split()
        rows: Iterable[QualityRow] = self._table.rows
        if self._trial:
            rows = (row for row in rows if row.trial == self._trial)
        found = [row for row in rows if keep(row) and _holds(row, words)]
        if self._sorted is not None:
            column, down = self._sorted
            found.sort(key=lambda row: _order(row, column), reverse=down)
        return tuple(found)

    def _refresh(self) -> None:
        rows = self._listed()
        keys = {row.key: place for place, row in enumerate(rows)}
        if len(rows) == len(self._rows) and list(keys) == list(self._places):
            changed = [n for n, (a, b) in enumerate(zip(rows, self._rows, strict=True)) if a is not b]
            self._rows = rows
            if changed:
                self.dataChanged.emit(self.index(changed[0], 0), self.index(changed[-1], len(TITLES) - 1))
            return
        self.beginResetModel()
        self._rows, self._places = rows, keys
        self.endResetModel()

    def row_at(self, index: Index) -> QualityRow | None:
        """The row of an index."""
        return self._rows[index.row()] if index.isValid() and index.row() < len(self._rows) else None

    def index_of(self, key: Key, column: int = CHECK) -> QModelIndex:
        """Where a row is listed; an invalid index where it is not."""
        place = self._places.get(key)
        return QModelIndex() if place is None else self.index(place, column)

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  Qt's own signature
        """Rows that are listed."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Columns."""
        return 0 if parent.isValid() else len(TITLES)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Texts, and the sign of the first column."""
        row, column = self.row_at(index), index.column()
        if row is None:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return cell_text(row, column)
        if role in (Qt.ItemDataRole.AccessibleTextRole, Qt.ItemDataRole.ToolTipRole):
            return state_words(row) if column == SIGN else cell_text(row, column)
        if role == SIGN_ROLE:
            return sign_of(row) if column == SIGN else None
        return _RIGHT if role == Qt.ItemDataRole.TextAlignmentRole and column in _NUMBERS else None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Titles of the columns."""
        if orientation != Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return TITLES[section]
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return TITLES[section] or "how it stands"
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _RIGHT if section in _NUMBERS else None
        return f"{_HINTS.get(section, '')} {_SORT}".strip() if role == Qt.ItemDataRole.ToolTipRole else None


def _holds(row: QualityRow, words: list[str]) -> bool:
    if not words:
        return True
    text = f"{row.check} {row.muscle} {row.name} {row.trial} {row.sentence}".casefold()
    return all(word in text for word in words)


def _order(row: QualityRow, column: int) -> Any:
    """What a column is sorted by: numbers within their unit, signs by what is still to do, all else by its text."""
    if column == SIGN:
        return 0 if row.to_decide else 1 if row.decision is not None else 2
    if column in _NUMBERS:
        value = row.figure if column == FIGURE else row.threshold
        return row.unit, isfinite(value), value if isfinite(value) else 0.0
    return cell_text(row, column).casefold()
