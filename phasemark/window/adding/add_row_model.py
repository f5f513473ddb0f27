"""What each recording is, one row a file: participant, kind, exercise, session, set, order, load, factors."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QApplication

from phasemark.model.study import Kind
from phasemark.session.arrivals import ArrivalsDraft, FileDraft
from phasemark.session.descriptions import KIND, LOAD, ORDER, SESSION, SET, RowProblem, factor_name, row_problem
from phasemark.window.adding.add_cells import CHOICES, FREE, Cell, CellModel, Index
from phasemark.window.adding.add_column_model import open_ground
from phasemark.window.palette import scheme_of

_TYPED = (SESSION, SET, ORDER, LOAD)
_HINTS = {SET: "next", LOAD: ""}


class RowModel(CellModel):
    """Draws the rows of a draft and writes into them."""

    def __init__(self, draft: ArrivalsDraft) -> None:
        super().__init__()
        self._draft = draft
        self._files: tuple[FileDraft, ...] = ()
        self._fields: tuple[str, ...] = draft.fields()
        self._problems: list[RowProblem | None] = []
        self._notes: dict[Path, str] = {}
        self._proposed = QFont()
        self._proposed.setItalic(True)

    def refresh(self) -> None:
        """Files or factors came or went, or something was written."""
        files, fields = tuple(self._draft.files), self._draft.fields()
        whole = files != self._files or fields != self._fields
        if whole:
            self.beginResetModel()
        self._files, self._fields = files, fields
        self._problems = [row_problem(file.row) for file in files]
        self._notes = self._draft.notes()
        if whole:
            self.endResetModel()
        elif files:
            self.dataChanged.emit(self.index(0, 0), self.index(len(files) - 1, self.columnCount() - 1))

    def first_open(self) -> QModelIndex:
        """The first cell that is wrong or missing; invalid where there is none."""
        for row, problem in enumerate(self._problems):
            if problem is not None:
                return self.index(row, 1 + self._fields.index(problem.field))
        return QModelIndex()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  Qt's own signature
        """Files."""
        return 0 if parent.isValid() else len(self._files)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """The file, its fields, what is open."""
        return 0 if parent.isValid() else len(self._fields) + 2

    def put(self, cells: Sequence[Cell]) -> None:
        """Write into rows."""
        for row, column, text in cells:
            field = self._field(column)
            if field and not (field == KIND and text and text not in list(Kind)):
                self._draft.write(self._files[row], field, text or (str(Kind.TASK) if field == KIND else ""))
        self.refresh()
        self.edited.emit()

    def _field(self, column: int) -> str:
        return self._fields[column - 1] if 1 <= column <= len(self._fields) else ""

    def flags(self, index: Index) -> Qt.ItemFlag:
        """All but the file's name and what is open can be edited."""
        flags = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
        return flags | Qt.ItemFlag.ItemIsEditable if self._field(index.column()) else flags

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Text, choices and ground of a cell."""
        if not index.isValid():
            return None
        field = self._field(index.column())
        if field:
            return self._field_data(index.row(), field, role)
        if role not in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole):
            return None
        file, problem = self._files[index.row()], self._problems[index.row()]
        if index.column() == 0:
            return file.path.name if role == Qt.ItemDataRole.DisplayRole else str(file.path)
        return problem.words if problem else self._notes.get(file.path, "")

    def _field_data(self, row: int, field: str, role: int) -> Any:
        file, problem = self._files[row], self._problems[row]
        text = file.row.get(field, "")
        if role == Qt.ItemDataRole.EditRole:
            return text
        if role == Qt.ItemDataRole.DisplayRole:
            return text or _HINTS.get(field, "")
        if role == CHOICES:
            return () if field in _TYPED else tuple(map(str, Kind)) if field == KIND else self._draft.known(field)
        if role == FREE:
            return field != KIND
        if role == Qt.ItemDataRole.ForegroundRole and not text:
            return scheme_of(QApplication.palette()).soft
        return self._looks(file, problem if problem and problem.field == field else None, field, role)

    def _looks(self, file: FileDraft, problem: RowProblem | None, field: str, role: int) -> Any:
        if role == Qt.ItemDataRole.BackgroundRole and problem:
            return open_ground()
        if role in (Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleDescriptionRole):
            proposed = "proposed from the file's name" if field in file.proposed else None
            return problem.words if problem else proposed
        return self._proposed if role == Qt.ItemDataRole.FontRole and field in file.proposed else None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Titles of the fields; a factor's is its name."""
        if role != Qt.ItemDataRole.DisplayRole or orientation != Qt.Orientation.Horizontal:
            return None
        field = self._field(section)
        titles = {0: "File", len(self._fields) + 1: "Still open"}
        return titles.get(section) or factor_name(field) or field.capitalize()
