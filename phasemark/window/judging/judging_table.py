"""The look that the tables of the pages for judging share."""

from PySide6.QtCore import QAbstractTableModel, QEvent, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView

_AIR = 6
_ROWS_MEASURED = 40


class JudgingTable(QTableView):
    """Rows of one line of text; columns as wide as their first rows need, within what a share of the table allows."""

    def __init__(self, model: QAbstractTableModel, name: str, *, most_letters: int = 26) -> None:
        super().__init__()
        self._most_letters = most_letters
        self.setModel(model)
        self.setAccessibleName(name)
        self.setSelectionBehavior(QTableView.SelectionBehavior.SelectRows)
        self.setFrameShape(QTableView.Shape.NoFrame)
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setTabKeyNavigation(False)
        self.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.verticalHeader().hide()
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.horizontalHeader().setHighlightSections(False)
        self.horizontalHeader().setResizeContentsPrecision(_ROWS_MEASURED)
        self.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.horizontalHeader().setStretchLastSection(True)
        self.horizontalHeader().setMinimumSectionSize(1)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self._size_rows()
        model.modelReset.connect(self.fit_columns)

    def _size_rows(self) -> None:
        self.verticalHeader().setDefaultSectionSize(self.fontMetrics().height() + _AIR)

    def fit_columns(self) -> None:
        """Give every column the width that what is seen first in it needs, none more than so many letters."""
        most = self._most_letters * self.fontMetrics().averageCharWidth()
        self.resizeColumnsToContents()
        for column in range(self.model().columnCount() - 1):
            if self.columnWidth(column) > most:
                self.setColumnWidth(column, most)

    def changeEvent(self, event: QEvent) -> None:
        """Follow the system's font."""
        super().changeEvent(event)
        if event.type() is QEvent.Type.FontChange and self.model() is not None:
            self._size_rows()
            self.fit_columns()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Return activates a row on every system; Alt and down is a click on the title of the column in hand."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.currentIndex().isValid():
            self.activated.emit(self.currentIndex())
            return
        if event.key() == Qt.Key.Key_Down and event.modifiers() & Qt.KeyboardModifier.AltModifier:
            self.horizontalHeader().sectionClicked.emit(self.currentIndex().column())
            return
        super().keyPressEvent(event)
