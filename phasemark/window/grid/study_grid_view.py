"""The study as a grid on screen: what is still to do, for whom, in which condition; and the way to each trial."""

from PySide6.QtCore import QModelIndex, QSize, Qt, Signal
from PySide6.QtGui import QPalette, QResizeEvent
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from phasemark.results.study_grid import Grid, next_trial
from phasemark.window.grid.grid_legend import GridLegend
from phasemark.window.grid.grid_model import GridModel
from phasemark.window.grid.grid_table import GridTable
from phasemark.window.grid.grid_words import cell_text, study_total_text
from phasemark.window.visible_edges import keep_edge_seen
from phasemark.window.wrapped_note import WrappedNote

NO_TRIALS = "This study has no recordings yet."
_LEGEND_SHARE = 0.2
ALL_DONE = "Nothing is left to do."


class StudyGridView(QWidget):
    """Shows a grid and says which trial is asked for; holds nothing of the study but the grid it shows."""

    trialChosen = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self._model = GridModel()
        self._table = GridTable(self._model)
        self._total = QLabel()
        self._total.setTextFormat(Qt.TextFormat.PlainText)
        self._total.setWordWrap(True)
        self._only_to_do = QCheckBox("Only what is to do")
        self._only_to_do.setAccessibleName("Show only what is still to do")
        self._only_to_do.setToolTip("Hides participants and conditions in which nothing is left to mark or to check.")
        self._note, self._legend = WrappedNote(), GridLegend()
        self._place()
        keep_edge_seen(self._only_to_do)
        self._only_to_do.toggled.connect(self._refilter)
        self._table.opened.connect(self.trialChosen)
        self._table.stepped.connect(self.step)
        self._table.selectionModel().currentChanged.connect(self._on_cursor)
        self._model.dataChanged.connect(self._say_cursor)
        self.setFocusProxy(self._table)
        self.show_grid(Grid())

    def _place(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(6, 6, 6, 6)
        self.setAutoFillBackground(True)
        self.setBackgroundRole(QPalette.ColorRole.Base)
        column.addWidget(self._total)
        row = QHBoxLayout()
        row.addWidget(self._only_to_do)
        row.addStretch(1)
        column.addLayout(row)
        column.addWidget(self._table, 1)
        column.addWidget(self._note)
        column.addWidget(self._legend)

    def sizeHint(self) -> QSize:
        """Wide enough for a few conditions."""
        return QSize(30 * self.fontMetrics().averageCharWidth() + 60, 400)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Leave most of the room to the cells."""
        super().resizeEvent(event)
        self._legend.keep_within(_LEGEND_SHARE * self.height())

    # What is shown

    @property
    def grid(self) -> Grid:
        """The grid that is shown."""
        return self._model.grid

    @property
    def table(self) -> GridTable:
        """The table of cells."""
        return self._table

    @property
    def note(self) -> str:
        """The cell under the cursor in words."""
        return self._note.text

    @property
    def only_to_do(self) -> QCheckBox:
        """The filter."""
        return self._only_to_do

    def show_grid(self, grid: Grid) -> None:
        """Show a grid; only what differs from the one before is painted anew."""
        other = self._model.show(grid)
        self._total.setText(study_total_text(grid))
        self._legend.show_signs_of(grid)
        self._refilter()
        if other:
            self._table.fit()
            self._table.set_in_view(self._table.in_view)
        self._say_cursor()

    def set_current(self, trial_id: str) -> None:
        """The trial in view: its cell is selected and brought into sight."""
        if trial_id != self._table.in_view:
            self._table.set_in_view(trial_id)
            self._refilter()

    def step(self, way: int) -> None:
        """Ask for the next (1) or previous (-1) trial; with the filter on, one with something to do."""
        only = self._only_to_do.isChecked()
        chosen = next_trial(self.grid, self._table.in_view, 1 if way > 0 else -1, only_to_do=only)
        if chosen is not None:
            self.trialChosen.emit(chosen)

    def _refilter(self) -> None:
        only = self._only_to_do.isChecked()
        columns = self._shown_columns()
        self._table.hide_done(self.grid, only)
        if columns != self._shown_columns():
            self._table.fit()
        to_do = any(cell.to_do for row in self.grid.cells for cell in row)
        nothing_shown = only and not to_do and self.grid.place_of(self._table.in_view) is None
        self._table.say(NO_TRIALS if not self.grid.participants else ALL_DONE if nothing_shown else "")

    def _shown_columns(self) -> list[int]:
        return [n for n in range(self._model.columnCount()) if not self._table.isColumnHidden(n)]

    def _on_cursor(self, _current: QModelIndex, _before: QModelIndex) -> None:
        self._say_cursor()

    def _say_cursor(self) -> None:
        at = self._table.currentIndex()
        cell = self._model.cell(at)
        if cell is None:
            self._note.say("")
        else:
            self._note.say(cell_text(self.grid.participants[at.row()], self.grid.conditions[at.column()], cell))
