"""The page of signal quality: every check of every muscle and trial, and what a person decides about it.

A table goes in (phasemark.session.judgement_tables.QualityTable), decisions and wishes come out:

    placeWanted(row, n)        bring a row's trial, and the n-th of its places, into view
    acceptWanted(rows)         the reason is to be asked and the findings accepted
    takeBackWanted(rows)       what was decided about them is to be taken back
    excludeWanted(rows)        the reason is to be asked and the channels excluded
    measureWanted()            trials are to be checked that were not yet
    done()                     the page is to be put away
"""

from PySide6.QtCore import QModelIndex, Qt, Signal, SignalInstance
from PySide6.QtWidgets import (
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QScrollArea,
    QSizePolicy,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from phasemark.session.judgement_tables import QualityRow, QualityTable
from phasemark.window.judging.judging_page import JudgingPage
from phasemark.window.judging.judging_parts import EmptyNote, FlowRow, page_head, plain_label, push_button
from phasemark.window.judging.judging_table import JudgingTable
from phasemark.window.judging.quality_model import (
    CHECK,
    DECIDED,
    SIGN,
    SIGN_ROLE,
    TRIAL,
    Key,
    QualityModel,
    Which,
    decided_words,
)
from phasemark.window.judging.quality_words import capital, empty_words, unmeasured_words, verdict
from phasemark.window.judging.sign_delegate import SignDelegate
from phasemark.window.visible_edges import keep_edge_seen

_SCOPES = ("this trial", "the whole study")


class QualityPage(JudgingPage):
    """Table above, the row in hand in full below it; the module's first lines say what comes out."""

    placeWanted = Signal(object, int)
    acceptWanted = Signal(object)
    takeBackWanted = Signal(object)
    excludeWanted = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Signal quality")
        self.model = QualityModel()
        self._table, self._trial = QualityTable(), ""
        self._editable, self._quiet, self._place = False, False, 0
        self._go_on_from: int | None = None
        self.table = JudgingTable(self.model, "Checks of signal quality")
        self.table.setSelectionMode(JudgingTable.SelectionMode.ExtendedSelection)
        self.table.setSortingEnabled(False)
        self._signs = SignDelegate(SIGN_ROLE)
        self.table.setItemDelegateForColumn(SIGN, self._signs)
        self._make_filters()
        self._make_detail()
        self._place_parts()
        self._connect()
        self._refresh()

    # Parts

    def _make_filters(self) -> None:
        self.which, self.scope, self.sought = QComboBox(), QComboBox(), QLineEdit()
        self.which.addItems([str(which.value) for which in Which])
        self.which.setAccessibleName("Which checks are listed")
        self.scope.addItems(_SCOPES)
        self.scope.setCurrentIndex(1)
        self.scope.setAccessibleName("Checks of which trials are listed")
        self.sought.setPlaceholderText("Find a muscle, a check")
        self.sought.setAccessibleName("Find a muscle, a check, a trial")
        self.sought.setClearButtonEnabled(True)
        keep_edge_seen(self.which, self.scope, self.sought)
        for box in (self.which, self.scope):
            box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
            box.setMinimumContentsLength(12)
            box.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def _make_detail(self) -> None:
        self.title, self.sentence, self.verdict, self.decided = (plain_label() for _ in range(4))
        font = self.title.font()
        font.setBold(True)
        self.title.setFont(font)
        self.accept = push_button("&Accept …", "Accept what was found, with a reason")
        self.exclude = push_button("E&xclude channel …", "Exclude the channel from this trial's means, with a reason")
        self.take_back = push_button("&Take back", "Take the decision back")
        self.earlier = push_button("‹", "Place before this one")
        self.later = push_button("›", "Next place")
        self.place_words = plain_label()
        self.place_words.setWordWrap(False)

    def _place_parts(self) -> None:
        self.close_button = push_button("Back to the &grid", "Put signal quality away")
        self.count = plain_label()
        self.stale, self.measure = plain_label(), push_button("&Measure", "Check the trials that were not checked yet")
        self.empty = EmptyNote("Measure", "Measure the study: check every trial")
        self._stale_row = QWidget()
        row = QHBoxLayout(self._stale_row)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.stale, 1)
        row.addWidget(self.measure)
        filters = QGridLayout()
        filters.addWidget(self.which, 0, 0)
        filters.addWidget(self.scope, 0, 1)
        filters.addWidget(self.sought, 1, 0, 1, 2)
        self._listed = QStackedWidget()
        self._listed.addWidget(self.table)
        self._listed.addWidget(self.empty)
        self._split = QSplitter(Qt.Orientation.Vertical)
        self._split.setChildrenCollapsible(False)
        self._split.addWidget(self._listed)
        self._split.addWidget(self._detail())
        self._split.setStretchFactor(0, 1)
        self._split.setSizes([320, 200])
        self._buttons = FlowRow((self.accept, self.exclude, self.take_back))
        column = QVBoxLayout(self)
        column.addLayout(page_head("Signal quality", self.close_button))
        column.addWidget(self._stale_row)
        column.addLayout(filters)
        column.addWidget(self.count)
        column.addWidget(self._split, 1)
        column.addWidget(self._buttons)

    def _detail(self) -> QWidget:
        """The row in hand in full; it scrolls where large text needs more height than there is."""
        whole = QWidget()
        column = QVBoxLayout(whole)
        column.setContentsMargins(0, 4, 8, 0)
        places = QHBoxLayout()
        places.addWidget(self.earlier)
        places.addWidget(self.later)
        places.addWidget(self.place_words, 1)
        self._places_row = QWidget()
        places.setContentsMargins(0, 0, 0, 0)
        self._places_row.setLayout(places)
        for part in (self.title, self.verdict, self.sentence, self._places_row, self.decided):
            column.addWidget(part)
        column.addStretch(1)
        self.area = QScrollArea()
        self.area.setWidget(whole)
        self.area.setWidgetResizable(True)
        self.area.setFrameShape(QScrollArea.Shape.NoFrame)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        return self.area

    def _connect(self) -> None:
        self.which.currentIndexChanged.connect(self._on_filter)
        self.scope.currentIndexChanged.connect(self._on_filter)
        self.sought.textChanged.connect(self._on_filter)
        self.table.selectionModel().currentRowChanged.connect(self._on_row)
        self.table.selectionModel().selectionChanged.connect(lambda *_: self._show_detail())
        self.table.activated.connect(lambda _: self._want_place(0))
        self.table.clicked.connect(self._on_clicked)
        self.table.horizontalHeader().sectionClicked.connect(self._on_header)
        self.table.horizontalHeader().setSectionsClickable(True)
        self.accept.clicked.connect(lambda: self._decide(self.acceptWanted))
        self.exclude.clicked.connect(lambda: self._decide(self.excludeWanted))
        self.take_back.clicked.connect(lambda: self._decide(self.takeBackWanted))
        self.earlier.clicked.connect(lambda: self._want_place(self._place - 1))
        self.later.clicked.connect(lambda: self._want_place(self._place + 1))
        self.measure.clicked.connect(self.measureWanted)
        self.empty.asked.connect(self.measureWanted)
        self.close_button.clicked.connect(self.done)

    # What is shown

    def show_table(self, table: QualityTable, *, editable: bool) -> None:
        """Show another table."""
        self._table, self._editable = table, editable
        key, at = self._current_key(), self.table.currentIndex().row()
        self._quiet = True
        self.model.show(table)
        self._quiet = False
        self._keep_place(key, at)
        self._refresh()

    def set_trial(self, trial_id: str) -> None:
        """Say which trial is in view, whose checks alone are listed where that is asked for."""
        if trial_id != self._trial:
            self._trial = trial_id
            if self.scope.currentIndex() == 0:
                self._on_filter()

    def take_focus(self) -> None:
        """Put the keyboard into the table."""
        if self.model.rowCount() and not self.table.currentIndex().isValid():
            self._choose(0)
        (self.table if self.model.rowCount() else self.which).setFocus(Qt.FocusReason.OtherFocusReason)

    def _keep_place(self, key: Key | None, at: int) -> None:
        """Keep the row in hand; where it is no longer listed, since it was decided just now, go on with the next."""
        if key is None:
            return
        index, go_on = self.model.index_of(key), self._go_on_from
        self._go_on_from = None
        if index.isValid():
            if index.row() != self.table.currentIndex().row():
                self._choose(index.row(), quiet=True)
        elif self.model.rowCount():
            row = min(max(at if go_on is None else go_on, 0), self.model.rowCount() - 1)
            self._choose(row, quiet=go_on is None)

    def _choose(self, row: int, *, quiet: bool = False) -> None:
        self._quiet = quiet
        self.table.setCurrentIndex(self.model.index(row, CHECK))
        self._quiet = False

    def _on_filter(self) -> None:
        key = self._current_key()
        self._quiet = True
        self.model.set_filter(tuple(Which)[self.which.currentIndex()], self._here, self.sought.text())
        self._quiet = False
        self._hide_columns()
        index = self.model.index_of(key) if key is not None else QModelIndex()
        if index.isValid():
            self._choose(index.row(), quiet=True)
        self._refresh()

    def _hide_columns(self) -> None:
        """Columns that would say the same, or nothing, in every row are not shown."""
        self.table.setColumnHidden(TRIAL, bool(self._here))
        self.table.setColumnHidden(DECIDED, not any(row.decision is not None for row in self.model.rows))

    def _on_header(self, column: int) -> None:
        """Sort by a column, the other way round, and the third time as it was."""
        header = self.table.horizontalHeader()
        shown = header.isSortIndicatorShown() and header.sortIndicatorSection() == column
        down = header.sortIndicatorOrder() == Qt.SortOrder.DescendingOrder
        key = self._current_key()
        self._quiet = True
        if shown and down:
            header.setSortIndicatorShown(False)
            self.model.sort(-1)
        else:
            order = Qt.SortOrder.DescendingOrder if shown else Qt.SortOrder.AscendingOrder
            header.setSortIndicatorShown(True)
            header.setSortIndicator(column, order)
            self.model.sort(column, order)
        self._quiet = False
        index = self.model.index_of(key) if key is not None else QModelIndex()
        if index.isValid():
            self._choose(index.row(), quiet=True)

    def _refresh(self) -> None:
        """Counts, what is not measured, the empty state."""
        self._hide_columns()
        rows, table = self.model.rows, self._table
        unmeasured = len(table.unmeasured)
        self._stale_row.setVisible(unmeasured > 0 and bool(table.rows))
        self.stale.setText(unmeasured_words(unmeasured))
        self._listed.setCurrentWidget(self.table if rows else self.empty)
        if not rows:
            which = tuple(Which)[self.which.currentIndex()]
            self.empty.say(
                empty_words(table, which, self._here, self.sought.text()), ask=unmeasured > 0 and not table.rows
            )
        to_decide = sum(row.to_decide for row in table.rows)
        left = f"{to_decide} still to decide in the study" if to_decide else "nothing is left to decide in the study"
        self.count.setText(f"{len(rows)} listed; {left}." if table.rows else "")
        self.count.setVisible(bool(table.rows))
        self._show_detail()

    @property
    def _here(self) -> str:
        """The trial whose checks alone are listed, '' for all."""
        return self._trial if self.scope.currentIndex() == 0 else ""

    # The row in hand

    def _current_key(self) -> Key | None:
        row = self.model.row_at(self.table.currentIndex())
        return None if row is None else row.key

    @property
    def row(self) -> QualityRow | None:
        """The row in hand."""
        return self.model.row_at(self.table.currentIndex())

    @property
    def chosen(self) -> tuple[QualityRow, ...]:
        """All rows that are selected, in their order."""
        places = sorted(index.row() for index in self.table.selectionModel().selectedRows())
        return tuple(self.model.rows[place] for place in places if place < len(self.model.rows))

    def _on_row(self, now: QModelIndex, before: QModelIndex) -> None:
        if self._quiet or now.row() == before.row():
            return
        self._want_place(0)

    def _on_clicked(self, index: QModelIndex) -> None:
        """A click on the row that is in hand already brings its place back."""
        if index.isValid() and not self._quiet:
            self._want_place(self._place)

    def _want_place(self, place: int) -> None:
        row = self.row
        if row is None:
            return
        self._place = max(0, min(place, len(row.places) - 1))
        self._show_detail()
        self.placeWanted.emit(row, self._place)

    def _show_detail(self) -> None:
        row, rows = self.row, self.chosen
        self.area.setVisible(row is not None)
        self._buttons.setVisible(row is not None)
        if row is None:
            return
        many = len(rows) > 1
        self.title.setText(
            f"{len(rows)} findings chosen" if many else f"{capital(row.check)}: {row.muscle}, {row.name}"
        )
        self.verdict.setText("" if many else verdict(row))
        self.sentence.setText("" if many else row.sentence)
        self.decided.setText("" if many else capital(decided_words(row)))
        for part in (self.verdict, self.sentence, self.decided):
            part.setVisible(bool(part.text()))
        self._show_place(None if many else row)
        editable = self._editable
        self.accept.setEnabled(editable and any(r.flagged and r.accepted is None for r in rows))
        self.exclude.setEnabled(editable and any(r.channel is not None and r.excluded is None for r in rows))
        self.take_back.setEnabled(editable and any(r.decision is not None for r in rows))

    def _show_place(self, row: QualityRow | None) -> None:
        count = 0 if row is None else len(row.places)
        self._places_row.setVisible(count > 0)
        if row is None or not count:
            return
        self._place = min(self._place, count - 1)
        begin, end = row.places[self._place]
        which = f"Place {self._place + 1} of {count}: " if count > 1 else "At "
        self.place_words.setText(f"{which}{begin:.2f}–{end:.2f} s")
        self.earlier.setVisible(count > 1)
        self.later.setVisible(count > 1)
        self.earlier.setEnabled(self._place > 0)
        self.later.setEnabled(self._place < count - 1)

    def _decide(self, wanted: SignalInstance) -> None:
        rows = self.chosen
        if rows:
            self._go_on_from = self.model.index_of(rows[0].key).row()
            wanted.emit(rows)

    def forget_going_on(self) -> None:
        """Nothing was decided after all: the row in hand stays."""
        self._go_on_from = None
