"""A table of the comparison that is sorted by a click on a title, the other way round by the next, then as it was."""

from PySide6.QtCore import QSize, Qt

from phasemark.session.comparison_tables import Column
from phasemark.window.comparing.comparison_model import ComparisonModel
from phasemark.window.comparing.interval_delegate import IntervalDelegate
from phasemark.window.judging.judging_table import JudgingTable

_LETTERS = 40
_LEAST_ROWS = 5


class ComparisonTable(JudgingTable):
    """Rows of comparisons; the drawn column is painted by its delegate."""

    def __init__(self, model: ComparisonModel) -> None:
        super().__init__(model, "Comparisons", most_letters=_LETTERS)
        self._comparisons = model
        self._drawing = IntervalDelegate(model)
        self.setItemDelegateForColumn(Column.DRAWN, self._drawing)
        self.setSelectionMode(JudgingTable.SelectionMode.SingleSelection)
        self.setAlternatingRowColors(False)
        header = self.horizontalHeader()
        header.setSectionsClickable(True)
        header.sectionClicked.connect(self.sort_by)

    def sort_by(self, column: int) -> None:
        """Sort by a column; the second time the other way round, the third time as the plan lists them."""
        header, row = self.horizontalHeader(), self._comparisons.row_at(self.currentIndex())
        shown = header.isSortIndicatorShown() and header.sortIndicatorSection() == column
        down = header.sortIndicatorOrder() == Qt.SortOrder.DescendingOrder
        if shown and down:
            header.setSortIndicatorShown(False)
            self._comparisons.sort(-1)
        else:
            order = Qt.SortOrder.DescendingOrder if shown else Qt.SortOrder.AscendingOrder
            header.setSortIndicatorShown(True)
            header.setSortIndicator(column, order)
            self._comparisons.sort(column, order)
        if row is not None:
            self.setCurrentIndex(self._comparisons.index_of(row.place).siblingAtColumn(column))

    def sizeHint(self) -> QSize:
        """A few rows; where there is more room they have it."""
        head = self.horizontalHeader().sizeHint().height()
        bar = self.horizontalScrollBar().sizeHint().height()
        rows = _LEAST_ROWS * self.verticalHeader().defaultSectionSize()
        return QSize(super().sizeHint().width(), head + rows + bar)

    def minimumSizeHint(self) -> QSize:
        """No less than a few rows: the page scrolls before."""
        return QSize(super().minimumSizeHint().width(), self.sizeHint().height())
