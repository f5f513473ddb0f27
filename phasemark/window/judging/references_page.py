"""The page of references: what each muscle's amplitudes are stated in shares of, and what a person decides about it.

A picture goes in (phasemark.session.reference_pictures.ReferencesPicture), decisions and wishes come out:

    attemptWanted(attempt)              bring an attempt's window into view
    chooseWanted(reference, attempt)    the reason is to be asked and the attempt's trial taken as the reference
    borrowWanted(reference)             a session and the reason are to be asked
    ruleWanted(reference)               back to the reference that the rule gives
    plateauWanted(reference, attempt)   a stretch of the traces is to be asked for and placed as the attempt's plateau
    plateauTakenBack(attempt)           the plateau placed by hand is to be taken away
    positionChanged(position, muscles)  an MVIC position is to serve these muscles
    settingsWanted(), measureWanted(), done()
"""

from PySide6.QtCore import QEvent, QModelIndex, Qt, Signal
from PySide6.QtWidgets import (
    QHBoxLayout,
    QHeaderView,
    QScrollArea,
    QSplitter,
    QStackedWidget,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from phasemark.results.referencing import Whose
from phasemark.session.attempt_sketches import AttemptSketches, Sketch
from phasemark.session.reference_pictures import AttemptPicture, ReferencePicture, ReferencesPicture
from phasemark.window.judging.attempts_view import AttemptsView
from phasemark.window.judging.judging_page import JudgingPage
from phasemark.window.judging.judging_parts import EmptyNote, FlowRow, page_head, plain_label, push_button
from phasemark.window.judging.judging_table import JudgingTable
from phasemark.window.judging.positions_model import PositionsModel
from phasemark.window.judging.positions_view import PositionsView
from phasemark.window.judging.quality_words import capital, unmeasured_words
from phasemark.window.judging.references_model import (
    R_EXERCISE,
    SIGN_ROLE,
    AttemptsModel,
    ReferencesModel,
)
from phasemark.window.judging.references_words import CAUTION, empty_words, fact_lines, value_words
from phasemark.window.judging.sign_delegate import SignDelegate

_MOST_ATTEMPT_ROWS = 8


class ReferencesPage(JudgingPage):
    """References above, the one in hand with its attempts below; the module's first lines say what comes out."""

    attemptWanted = Signal(object)
    chooseWanted = Signal(object, object)
    borrowWanted = Signal(object)
    ruleWanted = Signal(object)
    plateauWanted = Signal(object, object)
    plateauTakenBack = Signal(object)
    positionChanged = Signal(str, object)
    settingsWanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("References for normalisation")
        self._picture: ReferencesPicture | None = None
        self._sketches: AttemptSketches | None = None
        self._editable = self._quiet = False
        self._shown_for: Whose | None = None
        self.model, self.attempts, self.positions = ReferencesModel(), AttemptsModel(), PositionsModel()
        self.table = JudgingTable(self.model, "References", most_letters=30)
        self.attempt_table = JudgingTable(self.attempts, "Attempts", most_letters=30)
        self._signs = SignDelegate(SIGN_ROLE)
        for table in (self.table, self.attempt_table):
            table.setSelectionMode(JudgingTable.SelectionMode.SingleSelection)
            table.setItemDelegateForColumn(0, self._signs)
        self.drawing = AttemptsView(self.attempts, self._sketch_of)
        self.position_view = PositionsView(self.positions)
        self._make_words()
        self._place_parts()
        self._connect()

    # Parts

    def _make_words(self) -> None:
        self.rule, self.caution, self.warnings, self.stale = (plain_label() for _ in range(4))
        self.title, self.value, self.facts, self.notes = (plain_label() for _ in range(4))
        self.caution.setText(CAUTION)
        font = self.title.font()
        font.setBold(True)
        self.title.setFont(font)
        self.close_button = push_button("Back to the &grid", "Put the references away")
        self.settings = push_button("Cha&nge …", "Change how references are got, in the settings")
        self.measure = push_button("&Measure", "Measure the trials that were not measured yet")
        self.use = push_button("&Use this attempt …", "Take this attempt's trial as the reference, with a reason")
        self.borrow = push_button("&Borrow …", "Take the reference of another session, with a reason")
        self.by_rule = push_button("Back to the &rule", "Take the reference that the rule gives")
        self.plateau = push_button("&Place plateau …", "Show in the traces where this attempt's plateau lies")
        self.no_plateau = push_button("Plateau by r&ule", "Take the plateau placed by hand away")
        self.empty = EmptyNote("Measure", "Measure the study: find the references")

    def _place_parts(self) -> None:
        self._stale_row = _beside(self.stale, self.measure)
        self._listed, self._tabs = QStackedWidget(), QTabWidget()
        self._split = QSplitter(Qt.Orientation.Vertical)
        self._split.setChildrenCollapsible(False)
        self._split.addWidget(self.table)
        self._split.addWidget(self._detail())
        self._split.setStretchFactor(1, 1)
        self._split.setSizes([200, 400])
        self._listed.addWidget(self._with_buttons())
        self._listed.addWidget(self.empty)
        self._tabs.addTab(self._listed, "&References")
        self._tabs.addTab(self.position_view, "MVIC &positions")
        self._tabs.setAccessibleName("References or MVIC positions")
        self._tabs.tabBar().setAccessibleName("References or MVIC positions")
        self._tabs.setDocumentMode(True)
        column = QVBoxLayout(self)
        column.addLayout(page_head("References", self.close_button))
        for part in (_beside(self.rule, self.settings), self.caution, self._stale_row, self.warnings):
            column.addWidget(part)
        column.addWidget(self._tabs, 1)

    def _with_buttons(self) -> QWidget:
        """Tables and drawing with the buttons, which stay in view while those scroll."""
        whole = QWidget()
        self._buttons = FlowRow((self.use, self.borrow, self.by_rule, self.plateau, self.no_plateau))
        column = QVBoxLayout(whole)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._split, 1)
        column.addWidget(self._buttons)
        return whole

    def _detail(self) -> QWidget:
        """The reference in hand in full; it scrolls where there is not enough height."""
        whole = QWidget()
        column = QVBoxLayout(whole)
        column.setContentsMargins(0, 4, 8, 0)
        for part in (self.title, self.value, self.facts, self.notes, self.drawing, self.attempt_table):
            column.addWidget(part)
        column.addStretch(1)
        self.attempt_table.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)
        self.attempt_table.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.area = QScrollArea()
        self.area.setWidget(whole)
        self.area.setWidgetResizable(True)
        self.area.setFrameShape(QScrollArea.Shape.NoFrame)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        return self.area

    def _connect(self) -> None:
        self.table.selectionModel().currentRowChanged.connect(lambda *_: self._on_reference())
        self.attempt_table.selectionModel().currentRowChanged.connect(self._on_attempt)
        self.attempt_table.activated.connect(lambda _: self._want_attempt())
        self.attempt_table.clicked.connect(lambda _: self._want_attempt())
        self.table.activated.connect(lambda _: self.attempt_table.setFocus())
        self.drawing.picked.connect(self._on_picked)
        self.use.clicked.connect(lambda: self.chooseWanted.emit(self.reference, self.attempt))
        self.borrow.clicked.connect(lambda: self.borrowWanted.emit(self.reference))
        self.by_rule.clicked.connect(lambda: self.ruleWanted.emit(self.reference))
        self.plateau.clicked.connect(lambda: self.plateauWanted.emit(self.reference, self.attempt))
        self.no_plateau.clicked.connect(lambda: self.plateauTakenBack.emit(self.attempt))
        self.settings.clicked.connect(self.settingsWanted)
        self.measure.clicked.connect(self.measureWanted)
        self.empty.asked.connect(self.measureWanted)
        self.positions.changed.connect(self.positionChanged)
        self.close_button.clicked.connect(self.done)

    # What is shown

    def use_sketches(self, sketches: AttemptSketches | None) -> None:
        """Draw attempts with the envelopes of these sketches."""
        self._sketches, self._shown_for = sketches, None

    def show_picture(self, picture: ReferencesPicture | None, *, unmeasured: int, editable: bool) -> None:
        """Show other references."""
        self._picture, self._editable = picture, editable
        rows = () if picture is None else picture.rows
        held = self.reference
        self.model.show_rows(rows)
        self.table.setColumnHidden(R_EXERCISE, not any(row.whose.exercise for row in rows))
        if picture is not None:
            self.positions.show(picture.positions, editable=editable)
            self.position_view.show_without(picture.positions.without)
            self.rule.setText(f"{capital(picture.approach)}: {picture.rule}.")
        self._tabs.setTabVisible(1, picture is not None and bool(picture.positions.positions))
        self.caution.setVisible(picture is not None and picture.maximal)
        self.warnings.setText("" if picture is None else "\n".join(picture.warnings[:3]))
        self.warnings.setVisible(bool(self.warnings.text()))
        self._stale_row.setVisible(unmeasured > 0 and bool(rows))
        self.stale.setText(unmeasured_words(unmeasured))
        self._listed.setCurrentIndex(0 if rows else 1)
        if picture is not None and not rows:
            self.empty.say(empty_words(picture, unmeasured), ask=unmeasured > 0 and not picture.blind)
        self._keep_place(held)
        self._show_reference()

    def _keep_place(self, held: ReferencePicture | None) -> None:
        place = None if held is None else self.model.place_of(held.whose)
        if self.model.rowCount() and (place is None or place != self.table.currentIndex().row()):
            self.table.setCurrentIndex(self.model.index(place or 0, 1))

    def take_focus(self) -> None:
        """Put the keyboard into the table."""
        (self.table if self.model.rowCount() else self.settings).setFocus(Qt.FocusReason.OtherFocusReason)

    # What is in hand

    @property
    def reference(self) -> ReferencePicture | None:
        """The reference in hand."""
        return self.model.row_at(self.table.currentIndex())

    @property
    def attempt(self) -> AttemptPicture | None:
        """The attempt in hand."""
        return self.attempts.row_at(self.attempt_table.currentIndex())

    def _on_reference(self) -> None:
        self._show_reference()

    def _show_reference(self) -> None:
        row = self.reference
        self.area.setVisible(row is not None)
        self._buttons.setVisible(row is not None)
        if row is None:
            return
        new, self._shown_for = self._shown_for != row.whose, row.whose
        self._quiet = True
        self.attempts.show_rows(row.attempts)
        if row.attempts and (new or not self.attempt_table.currentIndex().isValid()):
            first = next((n for n, at in enumerate(row.attempts) if at in row.used), 0)
            self.attempt_table.setCurrentIndex(self.attempts.index(first, 1))
        self._quiet = False
        self.title.setText(whose_words(row.whose, row.muscle))
        self.value.setText(value_words(row))
        self.facts.setText("\n".join(fact_lines(row)))
        self.notes.setText("\n".join(row.notes))
        for label in (self.facts, self.notes):
            label.setVisible(bool(label.text()))
        for part in (self.drawing, self.attempt_table):
            part.setVisible(bool(row.attempts))
        self._size_attempts(len(row.attempts))
        self._show_buttons()
        self._fetch(row)

    def _size_attempts(self, count: int) -> None:
        """As high as its rows, up to a few: the page scrolls as a whole."""
        table = self.attempt_table
        rows = min(max(count, 1), _MOST_ATTEMPT_ROWS)
        bar = table.horizontalScrollBar().sizeHint().height()
        head = table.horizontalHeader().sizeHint().height()
        table.setFixedHeight(head + rows * table.verticalHeader().defaultSectionSize() + bar + 2)

    def _fetch(self, row: ReferencePicture) -> None:
        if self._sketches is not None:
            self._sketches.fetch([(at.trial, at.channel) for at in row.attempts], self.drawing.update)

    def _sketch_of(self, row: AttemptPicture) -> Sketch | None:
        return None if self._sketches is None else self._sketches.held((row.trial, row.channel))

    def _show_buttons(self) -> None:
        row, at, editable = self.reference, self.attempt, self._editable
        if row is None:
            return
        choosable = at is not None and at.choosable
        self.use.setEnabled(editable and choosable)
        self.borrow.setEnabled(editable and bool(row.sessions))
        self.by_rule.setEnabled(editable and row.decision is not None)
        self.plateau.setEnabled(editable and choosable)
        placed = choosable and at is not None and at.by_hand is not None
        self.no_plateau.setEnabled(editable and placed)
        # Most references never need these: their room goes to the attempts until one can be used.
        self.borrow.setVisible(bool(row.sessions))
        self.by_rule.setVisible(row.decision is not None)
        self.no_plateau.setVisible(placed)

    def _on_attempt(self, now: QModelIndex, before: QModelIndex) -> None:
        self.drawing.choose(now)
        self._show_buttons()
        if not self._quiet and now.row() != before.row():
            self._want_attempt()

    def _on_picked(self, place: int) -> None:
        if self.attempt_table.currentIndex().row() == place:
            self._want_attempt()
        else:
            self.attempt_table.setCurrentIndex(self.attempts.index(place, 1))
        self.attempt_table.setFocus()

    def _want_attempt(self) -> None:
        if self.attempt is not None and not self._quiet:
            self.attemptWanted.emit(self.attempt)

    def changeEvent(self, event: QEvent) -> None:
        """Follow the system's font."""
        super().changeEvent(event)
        if event.type() is QEvent.Type.FontChange:
            self._size_attempts(self.attempts.rowCount())


def whose_words(whose: Whose, muscle: str) -> str:
    """Whose reference it is, in one line."""
    exercise = f", {whose.exercise}" if whose.exercise else ""
    return f"{capital(muscle)}, {whose.participant}, session {whose.session}{exercise}"


def _beside(words: QWidget, button: QWidget) -> QWidget:
    whole = QWidget()
    row = QHBoxLayout(whole)
    row.setContentsMargins(0, 0, 0, 0)
    row.addWidget(words, 1)
    row.addWidget(button, 0, Qt.AlignmentFlag.AlignTop)
    return whole
