"""The rows of a comparison as a table model that sorts by itself."""

from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt

from phasemark.results.comparison.cells import Place
from phasemark.session.comparison_tables import CellRow, Column, ComparisonPicture, Scale

Index = QModelIndex | QPersistentModelIndex
CELL_ROLE = Qt.ItemDataRole.UserRole + 1
_NUMBERS = (Column.N, Column.A, Column.B, Column.DIFFERENCE, Column.P, Column.HOLM, Column.EFFECT)


class ComparisonModel(QAbstractTableModel):
    """One comparison a row, in the plan's order or sorted by a column."""

    def __init__(self) -> None:
        super().__init__()
        self._picture: ComparisonPicture | None = None
        self._rows: tuple[CellRow, ...] = ()
        self._sorted: tuple[int, bool] | None = None

    @property
    def rows(self) -> tuple[CellRow, ...]:
        """The rows as they are listed."""
        return self._rows

    @property
    def scale(self) -> Scale | None:
        """What differences are drawn on."""
        return None if self._picture is None else self._picture.scale

    def show(self, picture: ComparisonPicture | None) -> None:
        """Show another comparison, or none."""
        if picture is not self._picture:
            self._picture = picture
            self._list()

    def sort(self, column: int, order: Qt.SortOrder = Qt.SortOrder.AscendingOrder) -> None:
        """Sort by a column; -1 gives the plan's own order back."""
        wanted = None if column < 0 else (column, order == Qt.SortOrder.DescendingOrder)
        if wanted != self._sorted:
            self._sorted = wanted
            self._list()

    def _list(self) -> None:
        rows = () if self._picture is None else self._picture.rows
        if self._sorted is not None:
            column, down = self._sorted
            rows = tuple(sorted(rows, key=lambda row: row.keys[column], reverse=down))
        self.beginResetModel()
        self._rows = rows
        self.endResetModel()

    def row_at(self, index: Index) -> CellRow | None:
        """The row of an index."""
        return self._rows[index.row()] if index.isValid() and index.row() < len(self._rows) else None

    def index_of(self, place: Place) -> QModelIndex:
        """Where a place is listed; an invalid index where it is not."""
        for number, row in enumerate(self._rows):
            if row.place == place:
                return self.index(number, Column.MUSCLE)
        return QModelIndex()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  Qt's own signature
        """Comparisons."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Columns."""
        return 0 if parent.isValid() else len(Column)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Texts; the cell itself for the drawing of its difference."""
        row, column = self.row_at(index), index.column()
        if row is None:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return row.texts[column]
        if role in (Qt.ItemDataRole.AccessibleTextRole, Qt.ItemDataRole.ToolTipRole):
            return _spoken(row, column)
        if role == CELL_ROLE:
            return row.cell if column == Column.DRAWN else None
        right = role == Qt.ItemDataRole.TextAlignmentRole and column in _NUMBERS
        return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter) if right else None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Titles of the columns."""
        if orientation != Qt.Orientation.Horizontal or self._picture is None:
            return None
        title = self._picture.titles[section]
        if role == Qt.ItemDataRole.DisplayRole:
            return title.short
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return title.spoken
        if role == Qt.ItemDataRole.TextAlignmentRole and section in _NUMBERS:
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        return (title.hint or title.spoken) if role == Qt.ItemDataRole.ToolTipRole else None


def _spoken(row: CellRow, column: int) -> str:
    if column == Column.SIGN:
        return "primary comparison" if row.cell.primary else ""
    if column == Column.DRAWN:
        return row.texts[Column.DIFFERENCE]
    if column == Column.VERDICT and row.cell.detail is not None and row.cell.detail.said:
        return row.cell.detail.said
    return row.texts[column]
