"""The second page of adding recordings: what each one is, one row a file."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from phasemark.session.arrivals import ArrivalsDraft
from phasemark.window.adding.add_cells import CellTable, size_sections
from phasemark.window.adding.add_row_model import RowModel

_HELP = (
    "Type in a cell or choose; Ctrl+D fills down, rows can be pasted from a spreadsheet. "
    "Slanted words come from the file names."
)
# Letters that a column needs on screen: file, participant, kind, exercise, session, set, order, load.
_LETTERS = (30, 15, 13, 24, 10, 8, 8, 11)
_FACTOR_LETTERS, _OPEN_LETTERS = 14, 40


class RowsPage(QWidget):
    """Draws a draft's rows and writes into them. changed: something was; the draft has it already."""

    changed = Signal()
    refused = Signal(str)

    def __init__(self, draft: ArrivalsDraft) -> None:
        super().__init__()
        self._draft = draft
        self._model = RowModel(draft)
        self.table = CellTable("What the recordings are")
        self.table.setModel(self._model)
        self._model.edited.connect(self.changed)
        self._model.modelReset.connect(self._size)
        layout = QVBoxLayout(self)
        help_text = QLabel(_HELP)
        help_text.setWordWrap(True)
        layout.addWidget(help_text)
        layout.addWidget(self.table, 1)
        layout.addLayout(self._make_foot())
        self._size()

    def _make_foot(self) -> QHBoxLayout:
        self.fill = _quiet_button("Fill &down", "Fill the value down (Ctrl+D)")
        self.fill.clicked.connect(self.table.fill_down)
        self.factor = QLineEdit()
        self.factor.setAccessibleName("Name of a further column, such as stance or cadence")
        self.factor.setPlaceholderText("e.g. stance")
        self.factor.setMaximumWidth(22 * self.fontMetrics().averageCharWidth())
        self.factor.returnPressed.connect(self._on_factor)
        label = QLabel("&Further column")
        label.setBuddy(self.factor)
        self.add_column = _quiet_button("Add &column", "Add the further column")
        self.add_column.clicked.connect(self._on_factor)
        foot = QHBoxLayout()
        foot.addWidget(label)
        foot.addWidget(self.factor)
        foot.addWidget(self.add_column)
        foot.addStretch(1)
        foot.addWidget(self.fill)
        return foot

    def _size(self) -> None:
        metrics, factors = self.fontMetrics(), self._model.columnCount() - len(_LETTERS) - 1
        size_sections(self.table, (*_LETTERS, *[_FACTOR_LETTERS] * factors, _OPEN_LETTERS))
        self.table.verticalHeader().setDefaultSectionSize(metrics.height() + 8)

    def refresh(self) -> None:
        """The draft has changed."""
        self._model.refresh()

    def focus_open(self) -> None:
        """Go to the first cell that is open, else to the table."""
        self.table.setFocus()
        index = self._model.first_open()
        if not index.isValid() and not self.table.currentIndex().isValid():
            index = self._model.index(0, 1)
        if index.isValid():
            self.table.setCurrentIndex(index)

    def _on_factor(self) -> None:
        sentence = self._draft.add_factor(self.factor.text())
        if sentence:
            self.refused.emit(sentence)
            return
        self.factor.clear()
        self.changed.emit()


def _quiet_button(text: str, name: str) -> QPushButton:
    button = QPushButton(text)
    button.setAccessibleName(name)
    button.setToolTip(name)
    button.setAutoDefault(False)
    return button
