"""The study's grid as a table model that tells its view only what changed."""

from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt

from phasemark.results.study_grid import Cell, Grid
from phasemark.window.grid.grid_words import cell_lines, cell_text, count_text, total_texts

Index = QModelIndex | QPersistentModelIndex
_NAMED = (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole)
_ACROSS = Qt.Orientation.Horizontal


class GridModel(QAbstractTableModel):
    """Rows are participants, columns conditions."""

    def __init__(self) -> None:
        super().__init__()
        self._grid = Grid()

    @property
    def grid(self) -> Grid:
        """The grid that is shown."""
        return self._grid

    def show(self, grid: Grid) -> bool:
        """Show a grid; returns whether rows or columns are others than before (the view starts afresh)."""
        before = self._grid
        if (grid.participants, grid.conditions) != (before.participants, before.conditions):
            self.beginResetModel()
            self._grid = grid
            self.endResetModel()
            return True
        self._grid = grid
        for row, (old_cells, new_cells) in enumerate(zip(before.cells, grid.cells, strict=True)):
            for column, (old, new) in enumerate(zip(old_cells, new_cells, strict=True)):
                if old != new:
                    at = self.index(row, column)
                    self.dataChanged.emit(at, at)
        for column, (old_total, new_total) in enumerate(zip(before.totals, grid.totals, strict=True)):
            if old_total != new_total:
                self.headerDataChanged.emit(_ACROSS, column, column)
        return False

    def cell(self, index: Index) -> Cell | None:
        """The cell at an index."""
        return self._grid.cells[index.row()][index.column()] if index.isValid() else None

    def index_of(self, trial_id: str) -> QModelIndex:
        """The cell of a trial; an invalid index if there is none."""
        place = self._grid.place_of(trial_id)
        return QModelIndex() if place is None else self.index(*place)

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  Qt's own signature
        """Participants."""
        return 0 if parent.isValid() else len(self._grid.participants)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Conditions."""
        return 0 if parent.isValid() else len(self._grid.conditions)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Short count of a cell, and the cell in words."""
        cell = self.cell(index)
        if cell is None:
            return None
        where = self._grid.participants[index.row()], self._grid.conditions[index.column()]
        if role == Qt.ItemDataRole.DisplayRole:
            return count_text(cell)
        if role in (Qt.ItemDataRole.AccessibleTextRole, Qt.ItemDataRole.StatusTipRole):
            return cell_text(*where, cell)
        if role == Qt.ItemDataRole.ToolTipRole:
            return cell_lines(*where, cell)
        return None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Participants; conditions with their totals in words."""
        if orientation != _ACROSS:
            return self._grid.participants[section] if role in _NAMED else None
        if not 0 <= section < len(self._grid.conditions):
            return None
        condition, total = self._grid.conditions[section], total_texts(self._grid.totals[section])[0]
        if role == Qt.ItemDataRole.DisplayRole:
            return condition.text
        if role in (Qt.ItemDataRole.AccessibleTextRole, Qt.ItemDataRole.ToolTipRole):
            return f"{condition.text}: {total}" if total else condition.text
        return None
