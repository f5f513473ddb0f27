"""A table that is filled in by keys as by mouse: type, choose, fill down, copy, paste, clear."""

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QEvent, QModelIndex, QPersistentModelIndex, Qt, QTimer, Signal
from PySide6.QtGui import QFocusEvent, QGuiApplication, QKeyEvent, QKeySequence, QMouseEvent, QPainter, QPalette
from PySide6.QtWidgets import (
    QAbstractItemDelegate,
    QAbstractItemView,
    QComboBox,
    QFrame,
    QLineEdit,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from phasemark.window.palette import scheme_of

Index = QModelIndex | QPersistentModelIndex
Cell = tuple[int, int, str]
CHOICES = Qt.ItemDataRole.UserRole + 1
FREE = Qt.ItemDataRole.UserRole + 2
_ARROW = "▾"


class CellModel(QAbstractTableModel):
    """Texts in cells. CHOICES gives what can be chosen in a cell, FREE whether other texts can be typed too."""

    edited = Signal()

    def put(self, cells: Sequence[Cell]) -> None:
        """Put texts into cells (row, column, text) in one go; what a cell does not take is left as it is."""
        raise NotImplementedError

    def setData(self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Put one text into one cell."""
        if role != Qt.ItemDataRole.EditRole:
            return False
        self.put([(index.row(), index.column(), str(value))])
        return True


class ChoiceBox(QComboBox):
    """A list to choose from in a cell. settled: the popup was closed, a choice is made."""

    settled = Signal()

    def hidePopup(self) -> None:
        """The choice itself comes after the popup is gone; letters typed without a popup settle nothing."""
        shown = self.view().isVisible()
        super().hidePopup()
        if shown:
            QTimer.singleShot(0, self, self.settled.emit)


class CellDelegate(QStyledItemDelegate):
    """Editors of cells: a list to choose from where there is one, else a line to type in."""

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:
        """An editor that is named after its column."""
        choices = index.data(CHOICES)
        free = index.data(FREE)
        editor: QWidget = QLineEdit(parent)
        if choices:
            editor.deleteLater()
            editor = self._list(parent, choices, bool(free))
        title = index.model().headerData(index.column(), Qt.Orientation.Horizontal)
        editor.setAccessibleName(f"{title}, row {index.row() + 1}")
        return editor

    def _list(self, parent: QWidget, choices: Sequence[str], free: bool) -> QComboBox:
        box = ChoiceBox(parent)
        box.setEditable(free)
        box.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        box.addItems(list(choices))
        box.settled.connect(self._on_settled)
        line = box.lineEdit()
        if line is not None:
            line.setAccessibleName("Choose or type")
        return box

    def _on_settled(self) -> None:
        box = self.sender()
        if isinstance(box, QComboBox):
            self.commitData.emit(box)
            self.closeEditor.emit(box, QAbstractItemDelegate.EndEditHint.NoHint)

    def setEditorData(self, editor: QWidget, index: Index) -> None:
        """Begin with what the cell says."""
        text = str(index.data(Qt.ItemDataRole.EditRole) or "")
        if isinstance(editor, QComboBox):
            editor.setCurrentIndex(editor.findText(text))
            line = editor.lineEdit()
            if line is not None:
                line.setText(text)
                line.selectAll()
        elif isinstance(editor, QLineEdit):
            editor.setText(text)
            editor.selectAll()

    def setModelData(self, editor: QWidget, model: Any, index: Index) -> None:
        """Put what was chosen or typed into the cell."""
        text = editor.currentText() if isinstance(editor, QComboBox) else ""
        model.setData(index, editor.text() if isinstance(editor, QLineEdit) else text)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """The cell, with a small arrow where there is something to choose."""
        super().paint(painter, option, index)
        if not index.data(CHOICES):
            return
        painter.save()
        selected = option.state & option.state.State_Selected
        chosen = option.palette.color(QPalette.ColorRole.HighlightedText)
        painter.setPen(chosen if selected else scheme_of(option.palette).soft)
        room = option.rect.adjusted(0, 0, -option.fontMetrics.averageCharWidth() // 2, 0)
        painter.drawText(room, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, _ARROW)
        painter.restore()


class CellTable(QTableView):
    """The view of a CellModel. Tab leaves it, arrows walk in it, Return edits and then goes a row down."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._by_mouse = False
        self.setAccessibleName(name)
        self.setItemDelegate(CellDelegate(self))
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setTabKeyNavigation(False)
        self.setSelectionMode(QTableView.SelectionMode.ExtendedSelection)
        self.setHorizontalScrollMode(QTableView.ScrollMode.ScrollPerPixel)
        self.setWordWrap(False)
        self.verticalHeader().hide()
        self.horizontalHeader().setHighlightSections(False)
        self.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        trigger = QTableView.EditTrigger
        # Not on a click in a selected cell: that waits for a second click, and swallows what is typed meanwhile.
        self.setEditTriggers(trigger.DoubleClicked | trigger.EditKeyPressed | trigger.AnyKeyPressed)

    def _model(self) -> CellModel:
        model = self.model()
        assert isinstance(model, CellModel)
        return model

    def _chosen(self) -> list[QModelIndex]:
        editable = Qt.ItemFlag.ItemIsEditable
        return sorted(
            (i for i in self.selectionModel().selectedIndexes() if i.flags() & editable),
            key=lambda i: (i.column(), i.row()),
        )

    def fill_down(self) -> None:
        """Put the top selected cell of each column into those below it; a single cell into all empty ones below."""
        chosen = self._chosen()
        cells: list[Cell] = []
        if len(chosen) == 1:
            cells = self._below(chosen[0])
        for column in dict.fromkeys(i.column() for i in chosen):
            top, *rest = [i for i in chosen if i.column() == column]
            cells += [(i.row(), column, str(top.data(Qt.ItemDataRole.EditRole) or "")) for i in rest]
        if cells:
            self._model().put(cells)

    def _below(self, top: QModelIndex) -> list[Cell]:
        model, text = self._model(), str(top.data(Qt.ItemDataRole.EditRole) or "")
        below = [model.index(row, top.column()) for row in range(top.row() + 1, model.rowCount())]
        return [(i.row(), i.column(), text) for i in below if _is_empty(i)]

    def clear_cells(self) -> None:
        """Empty the selected cells."""
        cells = [(i.row(), i.column(), "") for i in self._chosen()]
        if cells:
            self._model().put(cells)

    def copy_cells(self) -> None:
        """Put the selected cells on the clipboard as rows of tab-separated text."""
        rows: dict[int, list[str]] = {}
        for index in sorted(self.selectionModel().selectedIndexes(), key=lambda i: (i.row(), i.column())):
            rows.setdefault(index.row(), []).append(str(index.data(Qt.ItemDataRole.EditRole) or ""))
        QGuiApplication.clipboard().setText("\n".join("\t".join(row) for row in rows.values()))

    def paste_cells(self) -> None:
        """Put rows of tab-separated text from the clipboard into the cells from the current one on."""
        start, text = self.currentIndex(), QGuiApplication.clipboard().text()
        if not start.isValid() or not text:
            return
        lines = [line.split("\t") for line in text.rstrip("\r\n").splitlines()]
        model = self._model()
        cells = [
            (start.row() + down, start.column() + across, cell)
            for down, line in enumerate(lines)
            for across, cell in enumerate(line)
            if start.row() + down < model.rowCount() and start.column() + across < model.columnCount()
        ]
        model.put(cells)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Keys of filling in; all others walk, or begin to type."""
        self._by_mouse = False
        fill = event.key() == Qt.Key.Key_D and event.modifiers() == Qt.KeyboardModifier.ControlModifier
        if fill:
            self.fill_down()
        elif event.matches(QKeySequence.StandardKey.Copy):
            self.copy_cells()
        elif event.matches(QKeySequence.StandardKey.Paste):
            self.paste_cells()
        elif event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self.clear_cells()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._edit_current()
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Whoever comes by keys begins in the first cell that can be edited."""
        model, editable = self.model(), Qt.ItemFlag.ItemIsEditable
        by_mouse = event.reason() == Qt.FocusReason.MouseFocusReason
        fresh = not by_mouse and not self.currentIndex().isValid()
        super().focusInEvent(event)
        if fresh and model.rowCount():
            first = (model.index(0, column) for column in range(model.columnCount()))
            self.setCurrentIndex(next((i for i in first if i.flags() & editable), model.index(0, 0)))

    def _edit_current(self) -> None:
        index = self.currentIndex()
        if index.isValid() and index.flags() & Qt.ItemFlag.ItemIsEditable:
            self.edit(index)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Remember that what opens now was opened by the mouse."""
        self._by_mouse = True
        super().mousePressEvent(event)

    def edit(  # type: ignore[override]  # the short form is a slot of its own
        self,
        index: Index,
        trigger: QAbstractItemView.EditTrigger = QAbstractItemView.EditTrigger.AllEditTriggers,
        event: QEvent | None = None,
    ) -> bool:
        """Open the editor; a list that the mouse opened shows its choices at once."""
        opened = bool(super().edit(index, trigger, event))  # type: ignore[arg-type]  # Qt takes no event too
        editor = self.indexWidget(index) if opened else None
        if isinstance(editor, QComboBox) and self._by_mouse:
            QTimer.singleShot(0, editor, editor.showPopup)
        return opened

    def closeEditor(self, editor: QWidget, hint: QAbstractItemDelegate.EndEditHint) -> None:
        """After Return go a row down, as one fills in a list."""
        row = self.currentIndex().row()
        super().closeEditor(editor, hint)
        below = self._model().index(row + 1, self.currentIndex().column())
        if hint == QAbstractItemDelegate.EndEditHint.SubmitModelCache and below.isValid():
            self.setCurrentIndex(below)


def _is_empty(index: QModelIndex) -> bool:
    return bool(index.flags() & Qt.ItemFlag.ItemIsEditable) and not index.data(Qt.ItemDataRole.EditRole)


def size_sections(table: QTableView, letters: Sequence[int]) -> None:
    """Give each column room for so many letters, and for its title; the last takes what is left."""
    header, metrics, model = table.horizontalHeader(), table.fontMetrics(), table.model()
    letter = metrics.averageCharWidth()
    for place, count in enumerate(letters):
        title = str(model.headerData(place, Qt.Orientation.Horizontal) or "")
        header.resizeSection(place, max(count * letter, metrics.horizontalAdvance(title) + 3 * letter))
    header.setStretchLastSection(True)
