"""The first page of adding recordings: the files, the first rows of the one in hand, and how its columns are used."""

from pathlib import Path

from PySide6.QtCore import QItemSelectionModel, QModelIndex, Qt, Signal
from PySide6.QtGui import QFontDatabase
from PySide6.QtWidgets import (
    QCheckBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListView,
    QPlainTextEdit,
    QPushButton,
    QSplitter,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from phasemark.formats.mapping import Mapping
from phasemark.model.errors import BadData
from phasemark.session.arrivals import KEPT, NOTHING, TITLES, ArrivalsDraft, FileDraft
from phasemark.session.column_plan import ColumnPlan
from phasemark.session.glance import Sketches
from phasemark.window.adding.add_cells import CellTable, size_sections
from phasemark.window.adding.add_column_model import DRAWN, FIRST_FIELD, ColumnModel
from phasemark.window.adding.add_file_model import FileDelegate, FileModel, FirstRows
from phasemark.window.adding.add_sketch import SketchDelegate
from phasemark.window.visible_edges import keep_edge_seen

_ORIGINS = {
    TITLES: "Proposed from the titles of the file; please check.",
    KEPT: "As for the last files with these columns; please check.",
    NOTHING: "The file does not say what its columns hold; please say it here.",
}
# Letters that a field needs on screen, in the order of the table.
_LETTERS = (13, 26, 16, 22, 8, 8, 19, 7, 8, 24)


class ColumnsPage(QWidget):
    """Draws a draft's files and columns and writes into it. changed: something was; the draft has it already."""

    changed = Signal()
    filesWanted = Signal()
    removed = Signal(object)
    sketchWanted = Signal(object)
    loadWanted = Signal()
    saveWanted = Signal()

    def __init__(self, draft: ArrivalsDraft) -> None:
        super().__init__()
        self._draft = draft
        self._sketches: dict[Path, Sketches] = {}
        self._drawn: tuple[FileDraft | None, bool] = (None, False)
        self._files, self._rows, self._columns = FileModel(draft), FirstRows(), ColumnModel()
        split = QSplitter()
        split.setChildrenCollapsible(False)
        split.addWidget(self._make_left())
        split.addWidget(self._make_right())
        split.setStretchFactor(1, 1)
        letter = self.fontMetrics().averageCharWidth()
        split.setSizes([26 * letter, 130 * letter])
        layout = QVBoxLayout(self)
        layout.addWidget(split)
        self._columns.edited.connect(self._on_columns_edited)
        self.refresh()

    # Parts

    def _make_left(self) -> QWidget:
        left = QWidget()
        self.list = QListView()
        self.list.setModel(self._files)
        self.list.setAccessibleName("Files to add")
        self.list.setFrameShape(QFrame.Shape.NoFrame)
        self.list.setSpacing(2)
        self.list.setItemDelegate(FileDelegate(self.list))
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.selectionModel().currentChanged.connect(self._on_file_chosen)
        self.add_files = _button("Add &files …", "Choose files to add", self.filesWanted.emit)
        self.remove_file = _button("&Remove", "Leave the file in hand out", self._on_remove)
        buttons = QHBoxLayout()
        buttons.addWidget(self.add_files)
        buttons.addWidget(self.remove_file)
        column = QVBoxLayout(left)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.list, 1)
        column.addLayout(buttons)
        return left

    def _make_right(self) -> QWidget:
        right = QWidget()
        self._say = QLabel()
        self._say.setWordWrap(True)
        self._say.setTextFormat(Qt.TextFormat.PlainText)
        self.alone = QCheckBox("For this file &only")
        self.alone.setAccessibleName("Describe the columns for this file only")
        self.alone.setToolTip("Otherwise the columns are described once for all files that have the same ones.")
        keep_edge_seen(self.alone)
        self.alone.clicked.connect(self._on_alone)
        head = QHBoxLayout()
        head.addWidget(self._say, 1)
        head.addWidget(self.alone)
        column = QVBoxLayout(right)
        column.setContentsMargins(self.fontMetrics().averageCharWidth(), 0, 0, 0)
        column.addLayout(head)
        column.addWidget(self._make_middle(), 1)
        column.addLayout(self._make_foot())
        return right

    def _make_middle(self) -> QWidget:
        fixed = QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont)
        fixed.setPointSizeF(self.font().pointSizeF())
        self._above = QPlainTextEdit()
        self._above.setReadOnly(True)
        self._above.setTabChangesFocus(True)
        self._above.setFont(fixed)
        self._above.setLineWrapMode(QPlainTextEdit.LineWrapMode.NoWrap)
        self._above.setFrameShape(QFrame.Shape.NoFrame)
        self._above.setAccessibleName("What stands above the numbers in the file")
        self.first_rows = QTableView()
        self.first_rows.setModel(self._rows)
        self.first_rows.setAccessibleName("First rows of the file")
        self.first_rows.setFrameShape(QFrame.Shape.NoFrame)
        self.first_rows.setTabKeyNavigation(False)
        self.first_rows.setEditTriggers(QTableView.EditTrigger.NoEditTriggers)
        self.first_rows.horizontalHeader().setDefaultAlignment(
            Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        )
        self.first_rows.selectionModel().currentColumnChanged.connect(self._on_row_column)
        self.columns = CellTable("How the columns are used")
        self.columns.setModel(self._columns)
        self.columns.setItemDelegateForColumn(DRAWN, SketchDelegate(self.columns))
        self.columns.selectionModel().currentRowChanged.connect(self._on_column_row)
        middle = QSplitter(Qt.Orientation.Vertical)
        middle.setChildrenCollapsible(False)
        line = self.fontMetrics().lineSpacing()
        for part, least, share in ((self._above, 2, 2), (self.first_rows, 3, 3), (self.columns, 6, 9)):
            part.setMinimumHeight(least * line)
            middle.addWidget(part)
            middle.setStretchFactor(middle.count() - 1, share)
        middle.setSizes([3 * line, 5 * line, 18 * line])
        self._size_columns()
        return middle

    def _size_columns(self) -> None:
        metrics = self.fontMetrics()
        size_sections(self.columns, _LETTERS)
        self.columns.setWordWrap(True)
        self.columns.verticalHeader().setDefaultSectionSize(2 * metrics.height() + 4)
        self.first_rows.verticalHeader().setDefaultSectionSize(metrics.height() + 4)
        self.first_rows.horizontalHeader().setMaximumSectionSize(30 * metrics.averageCharWidth())

    def _make_foot(self) -> QHBoxLayout:
        self.rate = QLineEdit()
        self.rate.setAccessibleName("Sampling rate in Hz")
        self.rate.setPlaceholderText("e.g. 1000")
        self.rate.setMaximumWidth(14 * self.fontMetrics().averageCharWidth())
        self.rate.textEdited.connect(self._on_rate)
        label = QLabel("&Sampling rate")
        label.setBuddy(self.rate)
        self.fill = _button("Fill &down", "Fill the value down (Ctrl+D)", self.columns.fill_down)
        self.load = _button("&Load mapping …", "Load the use of the columns from a file", self.loadWanted.emit)
        self.save = _button("Sa&ve mapping …", "Save the use of the columns to a file", self.saveWanted.emit)
        foot = QHBoxLayout()
        for part in (label, self.rate, QLabel("Hz")):
            foot.addWidget(part)
        foot.addStretch(1)
        for button in (self.fill, self.load, self.save):
            foot.addWidget(button)
        return foot

    # What is shown

    @property
    def file(self) -> FileDraft | None:
        """The file in hand."""
        return self._files.file_at(self.list.currentIndex())

    def refresh(self) -> None:
        """The draft has changed."""
        self._files.refresh()
        if self._draft.files and not self.list.currentIndex().isValid():
            self.list.setCurrentIndex(self._files.index(0))
        self._show_file()

    def choose(self, file: FileDraft) -> None:
        """Take a file in hand."""
        self.list.setCurrentIndex(self._files.index(self._draft.files.index(file)))

    def show_sketches(self, file: FileDraft, drawn: Sketches) -> None:
        """Sketches of a file have arrived."""
        self._sketches[file.path] = drawn
        if self.file is file:
            self._columns.show_sketches(drawn)

    def focus_open(self) -> None:
        """Go to the first cell that is open."""
        index = self._columns.first_open()
        if self._columns.rate_is_open():
            self.rate.setFocus()
        elif index.isValid():
            self.columns.setFocus()
            self.columns.setCurrentIndex(index)
        else:
            self.list.setFocus()

    def _show_file(self) -> None:
        file = self.file
        plan = self._draft.plan(file) if file else None
        preview = file.preview if file else None
        if self._drawn != (file, preview is not None):
            self._drawn = (file, preview is not None)
            self._rows.show(preview)
            self.first_rows.resizeColumnsToContents()
            above = "\n".join(preview.preamble).rstrip() if preview else ""
            self._above.setPlainText(above)
            self._above.setVisible(bool(above))
            self._columns.show((), None)
        self._columns.show(preview.columns if preview else (), plan)
        self._show_foot(file, plan)
        if file is not None and preview is not None:
            self._show_sketches_of(file)

    def _show_sketches_of(self, file: FileDraft) -> None:
        if file.path in self._sketches:
            self._columns.show_sketches(self._sketches[file.path])
        else:
            self._sketches[file.path] = {}
            self.sketchWanted.emit(file)

    def _show_foot(self, file: FileDraft | None, plan: ColumnPlan | None) -> None:
        for part in (self.rate, self.fill, self.load, self.save, self.alone, self.columns, self.first_rows):
            part.setEnabled(plan is not None)
        self.remove_file.setEnabled(file is not None)
        self.save.setEnabled(plan is not None and file is not None and not self._draft.column_problem(file))
        rate = plan.rate if plan else ""
        if self.rate.text() != rate:
            self.rate.setText(rate)
        alike = self._draft.alike(file) if file else []
        self.alone.setChecked(file is not None and file.alone)
        self.alone.setEnabled(file is not None and (file.alone or len(alike) > 1))
        self._say.setText(self._words(file, len(alike)))

    def _words(self, file: FileDraft | None, alike: int) -> str:
        if file is None:
            return "Choose recordings exported as text from any system, or drop files here."
        if file.problem:
            return file.problem
        if file.waiting:
            return f"{file.path.name} is being looked at."
        origin = _ORIGINS.get(self._draft.origin(file), "")
        together = f"What is said here holds for the {alike} files with these columns." if alike > 1 else ""
        return f"{origin} {together}".strip()

    # What is done

    def _on_file_chosen(self, now: QModelIndex, before: QModelIndex) -> None:
        self._show_file()

    def _on_remove(self) -> None:
        file = self.file
        if file is not None:
            self.removed.emit(file)

    def _on_columns_edited(self) -> None:
        file, plan = self.file, self._columns.plan
        if file is not None and plan is not None:
            self._draft.set_plan(file, plan)
            self.changed.emit()

    def _on_rate(self, text: str) -> None:
        file = self.file
        plan = self._draft.plan(file) if file else None
        if file is not None and plan is not None:
            self._draft.set_plan(file, ColumnPlan(plan.columns, text.strip()))
            self.changed.emit()

    def _on_alone(self, checked: bool) -> None:
        file = self.file
        if file is not None:
            self._draft.set_alone(file, checked)
            self.changed.emit()

    def use_mapping(self, mapping: Mapping) -> str:
        """Use the columns of the file in hand as a mapping says; the sentence that refuses it, '' where it fits."""
        file = self.file
        if file is None:
            return ""
        try:
            self._draft.use_mapping(file, mapping)
        except BadData as problem:
            return str(problem)
        self.changed.emit()
        return ""

    def _on_row_column(self, now: QModelIndex, before: QModelIndex) -> None:
        """The same column is in hand in both tables."""
        if now.isValid() and self.columns.currentIndex().row() != now.column():
            index = self._columns.index(now.column(), max(self.columns.currentIndex().column(), FIRST_FIELD))
            self.columns.selectionModel().setCurrentIndex(index, QItemSelectionModel.SelectionFlag.ClearAndSelect)

    def _on_column_row(self, now: QModelIndex, before: QModelIndex) -> None:
        if now.isValid() and self.first_rows.currentIndex().column() != now.row():
            index = self._rows.index(max(self.first_rows.currentIndex().row(), 0), now.row())
            self.first_rows.selectionModel().setCurrentIndex(index, QItemSelectionModel.SelectionFlag.ClearAndSelect)
            self.first_rows.scrollTo(index)


def _button(text: str, name: str, does: object) -> QPushButton:
    button = QPushButton(text)
    button.setAccessibleName(name)
    button.setToolTip(name)
    button.setAutoDefault(False)
    button.clicked.connect(does)
    return button
