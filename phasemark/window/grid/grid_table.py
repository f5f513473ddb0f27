"""The table of the study's grid: what mouse and keys do in it, and how its columns fit."""

from PySide6.QtCore import (
    QEvent,
    QItemSelection,
    QItemSelectionModel,
    QModelIndex,
    QPersistentModelIndex,
    QRectF,
    Qt,
    Signal,
)
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPalette, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QFrame, QHeaderView, QTableView, QWidget

from phasemark.results.study_grid import Grid
from phasemark.window.grid.grid_cell_delegate import GridCellDelegate, cell_width, signs_in
from phasemark.window.grid.grid_header import GridHeader, ParticipantHeader
from phasemark.window.grid.grid_model import GridModel
from phasemark.window.palette import scheme_of

_Key, _Flag = Qt.Key, QItemSelectionModel.SelectionFlag
_OPEN_KEYS = (_Key.Key_Return, _Key.Key_Enter, _Key.Key_Space)
_STEP_KEYS = {_Key.Key_PageDown: 1, _Key.Key_PageUp: -1}
_STRETCH = 1.6
_USUAL_GAP = 6.0  # px between columns; less where all of them are in sight then


class GridTable(QTableView):
    """The cell of the trial in view is selected; the keys move a cursor of their own, and open what it is on."""

    opened = Signal(str)
    stepped = Signal(int)

    def __init__(self, model: GridModel) -> None:
        super().__init__()
        self._model = model
        self._delegate = GridCellDelegate(model)
        self._pressed = QPersistentModelIndex()
        self._note = ""
        # Made first: the setters below already ask for the geometry.
        self._heads, self._people = GridHeader(model, self), ParticipantHeader(model, self)
        self._corner = QWidget(self)
        self._corner.setAutoFillBackground(True)
        self._corner.setBackgroundRole(QPalette.ColorRole.Base)
        self.setModel(model)
        self.setItemDelegate(self._delegate)
        self.setHorizontalHeader(self._heads)
        self.setVerticalHeader(self._people)
        self.setAccessibleName("Study: participants by conditions")
        self.setAccessibleDescription("Enter opens the trial of a cell, and again its next set.")
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setShowGrid(False)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setCornerButtonEnabled(False)
        self.setTabKeyNavigation(False)

    # What is shown

    @property
    def in_view(self) -> str:
        """The trial in view."""
        return self._delegate.in_view

    @property
    def note(self) -> str:
        """What stands in the place of cells."""
        return self._note

    def say(self, note: str) -> None:
        """What stands in the place of cells where there are none."""
        if note != self._note:
            self._note = note
            self.viewport().update()

    def set_in_view(self, trial_id: str) -> None:
        """Select the cell of a trial, and bring it and the cursor there."""
        before, at = self._model.index_of(self.in_view), self._model.index_of(trial_id)
        self._delegate.in_view = trial_id
        self._people.set_in_view(at.row())
        if before.isValid():
            self.update(before)
        if not at.isValid():
            self.selectionModel().clearSelection()
            return
        self.selectionModel().select(QItemSelection(at, at), _Flag.ClearAndSelect)
        self.selectionModel().setCurrentIndex(at, _Flag.NoUpdate)
        self.update(at)
        self.scrollTo(at)

    def hide_done(self, grid: Grid, only_to_do: bool) -> None:
        """Hide rows and columns without anything to do, but not those of the trial in view; or show all."""
        row, column = grid.place_of(self.in_view) or (-1, -1)
        for n, cells in enumerate(grid.cells):
            self._set_hidden(self.verticalHeader(), n, only_to_do and n != row and not any(c.to_do for c in cells))
        for n in range(len(grid.conditions)):
            done = not any(cells[n].to_do for cells in grid.cells)
            self._set_hidden(self.horizontalHeader(), n, only_to_do and n != column and done)

    @staticmethod
    def _set_hidden(header: QHeaderView, section: int, hidden: bool) -> None:
        if header.isSectionHidden(section) != hidden:
            header.setSectionHidden(section, hidden)

    # Fitting

    def fit(self) -> None:
        """Columns as wide as they need, wider where there is room for longer heads; rows as high as their text."""
        metrics = QFontMetricsF(self.font())
        self.verticalHeader().setDefaultSectionSize(round(metrics.height() + 8))
        shown = [n for n in range(self._model.columnCount()) if not self.isColumnHidden(n)]
        needed = {n: self._needed(n, metrics) for n in shown}
        room = self.viewport().width() - sum(needed.values())
        extra = max(room / max(1, len(shown)), 0 if room >= 0 else _USUAL_GAP)
        for n in shown:
            self.setColumnWidth(n, int(min(needed[n] + extra, _STRETCH * (needed[n] + _USUAL_GAP))))
        self.updateGeometries()

    def _needed(self, column: int, metrics: QFontMetricsF) -> float:
        grid = self._model.grid
        shapes = {(len(row[column].trials), row[column].reps): row[column] for row in grid.cells}
        cells = [cell_width(cell, metrics) for cell in shapes.values()]
        return max([*cells, self._heads.least_width(column)])

    def updateGeometries(self) -> None:
        """Keep the ground of the cells in the corner between the headers."""
        super().updateGeometries()
        self._corner.setGeometry(0, 0, self._people.width(), self._heads.height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the columns to the room."""
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self.fit()

    def changeEvent(self, event: QEvent) -> None:
        """Fit to another size of text."""
        super().changeEvent(event)
        if event.type() is QEvent.Type.FontChange:
            self.fit()

    # Mouse and keys

    def selectionCommand(
        self, _index: QModelIndex | QPersistentModelIndex, _event: QEvent | None = None
    ) -> QItemSelectionModel.SelectionFlag:
        """Mouse and keys move the cursor alone: what is selected is the trial in view."""
        return _Flag.NoUpdate

    def keyboardSearch(self, _text: str) -> None:
        """Letters are left to the window's shortcuts."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Open the cell under the cursor, step to the next or previous trial, or move the cursor."""
        ctrl = event.modifiers() & Qt.KeyboardModifier.ControlModifier
        if event.key() in _OPEN_KEYS:
            self._open(self.currentIndex())
        elif ctrl and event.key() in _STEP_KEYS:
            self.stepped.emit(_STEP_KEYS[_Key(event.key())])
        else:
            super().keyPressEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """A click begins."""
        super().mousePressEvent(event)
        left = event.button() is Qt.MouseButton.LeftButton
        self._pressed = QPersistentModelIndex(self.indexAt(event.position().toPoint()) if left else QModelIndex())

    def mouseDoubleClickEvent(self, _event: QMouseEvent) -> None:
        """The second click of a double click opens nothing further."""
        self._pressed = QPersistentModelIndex()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """A click on a sign opens its trial, one beside the signs does as Enter."""
        super().mouseReleaseEvent(event)
        at = self.indexAt(event.position().toPoint())
        if event.button() is not Qt.MouseButton.LeftButton or not at.isValid() or self._pressed != at:
            return
        self._pressed = QPersistentModelIndex()
        self._open(at, event.position().x())

    def _open(self, at: QModelIndex, x: float | None = None) -> None:
        cell = self._model.cell(at)
        if cell is None:
            return
        metrics, reach = QFontMetricsF(self.font()), 2.0
        for trial, sign in signs_in(cell, QRectF(self.visualRect(at)), metrics):
            if x is not None and trial is not None and sign.left() - reach <= x <= sign.right() + reach:
                self.opened.emit(trial.trial)
                return
        chosen = cell.opening(self.in_view)
        if chosen:
            self.opened.emit(chosen)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the cells, or the note where there are none."""
        super().paintEvent(event)
        if self._note:
            painter = QPainter(self.viewport())
            painter.setPen(scheme_of(self.palette()).soft)
            box = QRectF(self.viewport().rect()).adjusted(8, 8, -8, -8)
            painter.drawText(box, Qt.AlignmentFlag.AlignTop | Qt.TextFlag.TextWordWrap, self._note)
            painter.end()
