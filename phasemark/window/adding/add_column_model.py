"""The columns of the file in hand as rows of a table: title, sketch, how each is used, what is still open."""

from collections.abc import Mapping, Sequence
from typing import Any

from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtGui import QBrush, QPalette
from PySide6.QtWidgets import QApplication

from phasemark.formats.titles import Heading
from phasemark.session.column_fields import applies, choices, is_free, text_of, with_text
from phasemark.session.column_plan import ColumnPlan, Field
from phasemark.session.column_points import OpenPoint, open_points
from phasemark.session.glance import Sketch
from phasemark.window.adding.add_cells import CHOICES, FREE, Cell, CellModel, Index
from phasemark.window.palette import ORANGE, blended

SKETCH = Qt.ItemDataRole.UserRole + 3
TITLE, DRAWN, FIRST_FIELD = 0, 1, 2
FIELDS = tuple(Field)
OPEN = FIRST_FIELD + len(FIELDS)
_TITLES = ("Column", "Sketch", *(field.value for field in FIELDS), "Still open")


def open_ground() -> QBrush:
    """Ground of a cell in which something is open; the words say it too."""
    base = QApplication.palette().color(QPalette.ColorRole.Base)
    return QBrush(blended(ORANGE, base, 0.22))


def idle_ground() -> QBrush:
    """Ground of a cell that means nothing for its column."""
    palette = QApplication.palette()
    return QBrush(blended(palette.color(QPalette.ColorRole.Text), palette.color(QPalette.ColorRole.Base), 0.05))


class ColumnModel(CellModel):
    """A row for each column of the file in hand; plan is what was made of them."""

    def __init__(self) -> None:
        super().__init__()
        self._headings: tuple[Heading, ...] = ()
        self._plan: ColumnPlan | None = None
        self._sketches: Mapping[int, Sketch] = {}
        self._points: dict[tuple[int, Field], OpenPoint] = {}

    @property
    def plan(self) -> ColumnPlan | None:
        """How the columns are used."""
        return self._plan

    def show(self, headings: tuple[Heading, ...], plan: ColumnPlan | None) -> None:
        """Show the columns of a file; None: of no file."""
        same = plan is not None and self._plan is not None and headings == self._headings
        if not same:
            self.beginResetModel()
            self._sketches = {}
        self._headings, self._plan = headings, plan
        self._points = {}
        for point in open_points(plan, headings) if plan else ():
            self._points.setdefault((point.column, point.field), point)
        if same:
            self.dataChanged.emit(self.index(0, 0), self.index(self.rowCount() - 1, OPEN))
        else:
            self.endResetModel()

    def show_sketches(self, sketches: Mapping[int, Sketch]) -> None:
        """Draw what the columns hold."""
        self._sketches = sketches
        if self.rowCount():
            self.dataChanged.emit(self.index(0, DRAWN), self.index(self.rowCount() - 1, DRAWN))

    def first_open(self) -> QModelIndex:
        """The first cell in which something is open; invalid where there is none."""
        for column, field in self._points:
            return self.index(max(column - 1, 0), FIRST_FIELD + FIELDS.index(field))
        return QModelIndex()

    def rate_is_open(self) -> bool:
        """Whether the rate of the whole file is what is open first."""
        return next(iter(self._points), None) == (0, Field.RATE)

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  Qt's own signature
        """Columns of the file."""
        return 0 if parent.isValid() or self._plan is None else len(self._plan.columns)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Title, sketch, fields, what is open."""
        return 0 if parent.isValid() else OPEN + 1

    def put(self, cells: Sequence[Cell]) -> None:
        """Put texts into fields."""
        plan = self._plan
        for row, column, text in cells:
            if plan is not None and FIRST_FIELD <= column < OPEN:
                plan = with_text(plan, row + 1, FIELDS[column - FIRST_FIELD], text, self._headings[row])
        if plan is not None and plan != self._plan:
            self.show(self._headings, plan)
            self.edited.emit()

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Fields that mean something for the column's use can be edited."""
        flags = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
        field = self._field(index)
        if field is not None and self._plan is not None and applies(self._plan.columns[index.row()], field):
            flags |= Qt.ItemFlag.ItemIsEditable
        return flags

    def _field(self, index: Index) -> Field | None:
        return FIELDS[index.column() - FIRST_FIELD] if FIRST_FIELD <= index.column() < OPEN else None

    def _words(self, row: int) -> str:
        return "; ".join(point.words for (column, _), point in self._points.items() if column == row + 1)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Text, choices, ground and sketch of a cell."""
        if not index.isValid() or self._plan is None:
            return None
        if role == SKETCH:
            return self._sketches.get(index.row() + 1) if index.column() == DRAWN else None
        field = self._field(index)
        return self._field_data(index.row(), field, role) if field else self._other_data(index, role)

    def _field_data(self, row: int, field: Field, role: int) -> Any:
        assert self._plan is not None
        column = self._plan.columns[row]
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.EditRole):
            return text_of(column, field)
        if role == CHOICES:
            return choices(column, field)
        if role == FREE:
            return is_free(column, field)
        return self._looks(self._points.get((column.number, field)), applies(column, field), role)

    def _looks(self, point: OpenPoint | None, used: bool, role: int) -> Any:
        if role == Qt.ItemDataRole.BackgroundRole:
            return open_ground() if point else None if used else idle_ground()
        words = role in (Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleDescriptionRole)
        return point.words if point and words else None

    def _other_data(self, index: Index, role: int) -> Any:
        heading = self._headings[index.row()]
        if role == Qt.ItemDataRole.AccessibleTextRole and index.column() == DRAWN:
            sketch = self._sketches.get(heading.number)
            return "no values" if sketch is None else f"from {sketch.lowest:g} to {sketch.highest:g}"
        if role not in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole):
            return None
        texts = {TITLE: f"{heading.number}  {heading.title}".rstrip(), OPEN: self._words(index.row())}
        return texts.get(index.column(), "")

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Titles of the fields."""
        if role == Qt.ItemDataRole.DisplayRole and orientation == Qt.Orientation.Horizontal:
            return _TITLES[section]
        if role == Qt.ItemDataRole.ToolTipRole and section == DRAWN:
            return "Lowest to highest value over the file; of very long files the first part."
        return None
