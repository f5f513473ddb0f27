"""Which MVIC position serves which muscles, as a table of boxes to tick."""

from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, Signal

from phasemark.session.reference_pictures import PositionsPicture

Index = QModelIndex | QPersistentModelIndex
LEAST_ONE = "A position serves at least one muscle; exclude its trials if they are to be a reference for none."


class PositionsModel(QAbstractTableModel):
    """Rows are positions, columns muscles; changed(position, muscles) is what a tick would make of a row."""

    changed = Signal(str, object)
    refused = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self._picture, self._editable = PositionsPicture(), False

    def show(self, picture: PositionsPicture, *, editable: bool) -> None:
        """Show another table."""
        before, self._editable = self._picture, editable
        if (picture.positions, picture.muscles) != (before.positions, before.muscles):
            self.beginResetModel()
            self._picture = picture
            self.endResetModel()
            return
        self._picture = picture
        if picture.serves != before.serves:
            self.dataChanged.emit(self.index(0, 0), self.index(self.rowCount() - 1, self.columnCount() - 1))

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  Qt's own signature
        """Positions."""
        return 0 if parent.isValid() else len(self._picture.positions)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Muscles."""
        return 0 if parent.isValid() else len(self._picture.muscles)

    def _serves(self, index: Index) -> bool:
        return self._picture.serves[index.row()][index.column()]

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """A tick, and the same in words."""
        if not index.isValid():
            return None
        if role == Qt.ItemDataRole.CheckStateRole:
            return Qt.CheckState.Checked if self._serves(index) else Qt.CheckState.Unchecked
        if role in (Qt.ItemDataRole.AccessibleTextRole, Qt.ItemDataRole.ToolTipRole):
            position, muscle = self._picture.positions[index.row()], self._picture.muscles[index.column()]
            return f"{position} {'serves' if self._serves(index) else 'does not serve'} {muscle}"
        return None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Muscles across, positions down."""
        if role not in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole):
            return None
        names = self._picture.muscles if orientation == Qt.Orientation.Horizontal else self._picture.positions
        return names[section] if 0 <= section < len(names) else None

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Boxes can be ticked where the study can be changed."""
        flags = super().flags(index)
        return flags | Qt.ItemFlag.ItemIsUserCheckable if index.isValid() and self._editable else flags

    def setData(self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Hand on what was ticked; what is shown changes when the study does."""
        if not index.isValid() or not self._editable or role != Qt.ItemDataRole.CheckStateRole:
            return False
        picture, on = self._picture, Qt.CheckState(value) == Qt.CheckState.Checked
        ticked = [
            muscle
            for place, muscle in enumerate(picture.muscles)
            if (on if place == index.column() else picture.serves[index.row()][place])
        ]
        if not ticked:
            self.refused.emit(LEAST_ONE)
            return False
        self.changed.emit(picture.positions[index.row()], tuple(ticked))
        return True
