"""The files about to be added as a list, each with how far its columns are described; and the first rows of one."""

from typing import Any

from PySide6.QtCore import QAbstractListModel, QAbstractTableModel, QModelIndex, QRect, QSize, Qt
from PySide6.QtGui import QPainter, QPalette
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem

from phasemark.formats.preview import Preview
from phasemark.session.arrivals import ArrivalsDraft, FileDraft
from phasemark.window.adding.add_cells import Index
from phasemark.window.palette import scheme_of

STATE = Qt.ItemDataRole.UserRole + 1
_PAD = 4


class FileModel(QAbstractListModel):
    """Two lines for each file: its name, and what is open about it."""

    def __init__(self, draft: ArrivalsDraft) -> None:
        super().__init__()
        self._draft = draft
        self._files: tuple[FileDraft, ...] = ()

    def refresh(self) -> None:
        """Files came, went, or were described further."""
        files = tuple(self._draft.files)
        if files[: len(self._files)] == self._files and len(files) > len(self._files):
            self.beginInsertRows(QModelIndex(), len(self._files), len(files) - 1)
            self._files = files
            self.endInsertRows()
        elif files != self._files:
            self.beginResetModel()
            self._files = files
            self.endResetModel()
        if files:
            self.dataChanged.emit(self.index(0), self.index(len(files) - 1))

    def file_at(self, index: Index) -> FileDraft | None:
        """The file of a row."""
        return self._files[index.row()] if index.isValid() and index.row() < len(self._files) else None

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  Qt's own signature
        """Files."""
        return 0 if parent.isValid() else len(self._files)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Name and state of a file."""
        file = self.file_at(index)
        if file is None:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return file.path.name
        if role == STATE:
            return self._state(file)
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{file.path.name}, {self._state(file)[2:]}"
        if role == Qt.ItemDataRole.ToolTipRole:
            return f"{file.path}\n{file.problem}".rstrip()
        return None

    def _state(self, file: FileDraft) -> str:
        if file.problem:
            return "✕ cannot be used"
        if file.preview is None:
            return "… being looked at"
        count = len(file.preview.columns)
        columns = f"{count} column{'s' if count != 1 else ''}"
        return f"○ {columns}, open" if self._draft.column_problem(file) else f"✓ {columns}, ready"


class FileDelegate(QStyledItemDelegate):
    """A file's name, shortened in its middle where room is short, over its state."""

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """Two lines of text."""
        return QSize(12 * option.fontMetrics.averageCharWidth(), 2 * option.fontMetrics.height() + 2 * _PAD)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Ground and focus as the style draws them, then both lines."""
        style = option.widget.style()
        style.drawPrimitive(QStyle.PrimitiveElement.PE_PanelItemViewItem, option, painter, option.widget)
        selected = option.state & QStyle.StateFlag.State_Selected
        chosen = option.palette.color(QPalette.ColorRole.HighlightedText)
        scheme, metrics = scheme_of(option.palette), option.fontMetrics
        room: QRect = option.rect.adjusted(_PAD, _PAD, -_PAD, -_PAD)
        painter.save()
        for role, colour, edge in (
            (Qt.ItemDataRole.DisplayRole, scheme.ink, Qt.AlignmentFlag.AlignTop),
            (STATE, scheme.soft, Qt.AlignmentFlag.AlignBottom),
        ):
            painter.setPen(chosen if selected else colour)
            text = metrics.elidedText(str(index.data(role)), Qt.TextElideMode.ElideMiddle, room.width())
            painter.drawText(room, int(Qt.AlignmentFlag.AlignLeft | edge), text)
        painter.restore()


class FirstRows(QAbstractTableModel):
    """The first rows of a file as they are written, under its titles."""

    def __init__(self) -> None:
        super().__init__()
        self._preview: Preview | None = None

    def show(self, preview: Preview | None) -> None:
        """Show the first rows of a file."""
        self.beginResetModel()
        self._preview = preview
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """The rows that were looked at."""
        return 0 if parent.isValid() or self._preview is None else len(self._preview.rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Columns of the file."""
        return 0 if parent.isValid() or self._preview is None else len(self._preview.columns)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """A cell as written; numbers stand to the right."""
        if not index.isValid() or self._preview is None:
            return None
        row = self._preview.rows[index.row()]
        if role == Qt.ItemDataRole.DisplayRole:
            return row[index.column()] if index.column() < len(row) else ""
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        return None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Number and title of a column; the line of a row."""
        if role != Qt.ItemDataRole.DisplayRole or self._preview is None:
            return None
        if orientation == Qt.Orientation.Horizontal:
            heading = self._preview.columns[section]
            return f"{heading.number}  {heading.title}".rstrip()
        return f"line {self._preview.first_line + section}" if section == 0 else str(self._preview.first_line + section)
