"""The results of a comparison: the answer, the table, and what belongs to the row in hand.

rowChosen(row) says which comparison is in hand.
"""

from PySide6.QtCore import QModelIndex, Qt, Signal
from PySide6.QtWidgets import QFrame, QScrollArea, QSplitter, QVBoxLayout, QWidget

from phasemark.session.comparison_tables import CellRow, Column, ComparisonPicture
from phasemark.window.comparing.answer_band import AnswerBand
from phasemark.window.comparing.comparison_model import ComparisonModel
from phasemark.window.comparing.flowing_label import FlowingLabel
from phasemark.window.comparing.row_tabs import RowTabs
from phasemark.window.comparing.sortable_table import ComparisonTable

_SIGNS = "Drawn: ■ more in one of the two, ○ not settled, ◆ similar; dashed lines: the smallest effect that matters."
_SIGNS_ONLY = "Drawn: ■ more in one of the two, ○ not settled."


class ResultsView(QScrollArea):
    """Everything below each other; it scrolls where large text needs more height than there is."""

    rowChosen = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._picture: ComparisonPicture | None = None
        self._told: CellRow | None = None
        self.model = ComparisonModel()
        self.band, self.tabs, self.key = AnswerBand(), RowTabs(), FlowingLabel()
        self.table = ComparisonTable(self.model)
        upper = QWidget()
        column = QVBoxLayout(upper)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.key)
        column.addWidget(self.table, 1)
        self._split = QSplitter(Qt.Orientation.Vertical)
        self._split.setChildrenCollapsible(False)
        self._split.addWidget(upper)
        self._split.addWidget(self.tabs)
        self._split.setStretchFactor(0, 4)
        self._split.setStretchFactor(1, 5)
        whole = QWidget()
        rows = QVBoxLayout(whole)
        rows.setContentsMargins(0, 0, 4, 0)
        rows.addWidget(self.band)
        rows.addWidget(self._split, 1)
        self.setWidget(whole)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.table.selectionModel().currentRowChanged.connect(self._on_row)
        self.table.activated.connect(lambda _: self._go_into_row())

    def show_picture(self, picture: ComparisonPicture) -> None:
        """Show another comparison; the row in hand stays where it is there."""
        row, self._picture = self.row, picture
        self._told = None
        self.band.show_picture(picture)
        signs = _SIGNS if picture.scale.smallest == picture.scale.smallest else _SIGNS_ONLY
        self.key.setText(f"{picture.key}  {signs}")
        self.model.show(picture)
        self.table.setColumnHidden(Column.SIGN, not any(row.cell.primary for row in picture.rows))
        self._choose(None if row is None else row, picture)

    def _choose(self, row: CellRow | None, picture: ComparisonPicture) -> None:
        """The row that was in hand, else the primary comparison, else the first."""
        index = self.model.index_of(row.place) if row is not None else QModelIndex()
        if not index.isValid():
            primary = next((one for one in picture.rows if one.cell.primary), None)
            first = primary or next(iter(self.model.rows), None)
            index = self.model.index_of(first.place) if first is not None else QModelIndex()
        self.table.setCurrentIndex(index)
        self._tell()

    @property
    def row(self) -> CellRow | None:
        """The comparison in hand."""
        return self.model.row_at(self.table.currentIndex())

    def _on_row(self, now: QModelIndex, before: QModelIndex) -> None:
        if now.isValid():
            self._tell()

    def _tell(self) -> None:
        row = self.row
        if row is not None and row is not self._told:
            self._told = row
            self.rowChosen.emit(row)

    def _go_into_row(self) -> None:
        """Put the keyboard into the participants of the row."""
        self.tabs.tabs.setCurrentWidget(self.tabs.people)
        self.tabs.people.table.setFocus(Qt.FocusReason.OtherFocusReason)
