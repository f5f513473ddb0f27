"""A table model of rows that are texts: participants, their reps, further statistics."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt

Index = QModelIndex | QPersistentModelIndex
Row = TypeVar("Row")


@dataclass(frozen=True, slots=True)
class TextColumn(Generic[Row]):
    """A column: its title, how a row's text in it is made, and whether it stands to the right, as numbers do."""

    title: str
    text: Callable[[Row], str]
    number: bool = False
    hint: str = ""


class PlainModel(QAbstractTableModel, Generic[Row]):
    """Rows in their own order."""

    def __init__(self, columns: Sequence[TextColumn[Row]]) -> None:
        super().__init__()
        self._columns, self._rows = tuple(columns), tuple[Row, ...]()

    @property
    def rows(self) -> tuple[Row, ...]:
        """All rows."""
        return self._rows

    def show(self, rows: Sequence[Row], columns: Sequence[TextColumn[Row]] | None = None) -> None:
        """Show other rows, in other columns where some are given."""
        self.beginResetModel()
        self._rows = tuple(rows)
        if columns is not None:
            self._columns = tuple(columns)
        self.endResetModel()

    def row_at(self, index: Index) -> Row | None:
        """The row of an index."""
        return self._rows[index.row()] if index.isValid() and index.row() < len(self._rows) else None

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  Qt's own signature
        """Rows."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Columns."""
        return 0 if parent.isValid() else len(self._columns)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Texts."""
        row = self.row_at(index)
        if row is None:
            return None
        column = self._columns[index.column()]
        if role in (
            Qt.ItemDataRole.DisplayRole,
            Qt.ItemDataRole.AccessibleTextRole,
            Qt.ItemDataRole.ToolTipRole,
        ):
            return column.text(row)
        return _RIGHT if role == Qt.ItemDataRole.TextAlignmentRole and column.number else None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Titles of the columns."""
        if orientation != Qt.Orientation.Horizontal or section >= len(self._columns):
            return None
        column = self._columns[section]
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return column.title
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _RIGHT if column.number else None
        return column.hint or None if role == Qt.ItemDataRole.ToolTipRole else None


_RIGHT = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
