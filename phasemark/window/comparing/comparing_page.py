"""The page of the comparison: the plan first, then the answer; or what is to be done before there is one.

keepWanted(draft, reason)   the plan is to be written down
showWanted(draft)           results are to be shown without one
planWanted()                the form is to be filled, to write or change a plan
cancelled()                 the form is to be put away
noteAsked()                 what the note's button says is to be done
exportWanted()              tables and pictures are to be written
trialWanted(trial, rep)     a trial is to be brought into view
rowChosen(row)              another comparison is in hand
curvesWanted(), robustnessWanted(), overChanged(), done()
"""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QStackedWidget, QVBoxLayout, QWidget

from phasemark.session.comparison_tables import ComparisonPicture
from phasemark.window.comparing.comparison_words import PlanSaid
from phasemark.window.comparing.plan_form import PlanForm
from phasemark.window.comparing.results_view import ResultsView
from phasemark.window.elided_label import ElidedLabel
from phasemark.window.judging.judging_parts import EmptyNote, push_button
from phasemark.window.long_work import LongWork


class ComparingPage(QFrame):
    """Form, note or results; the module's first lines say what comes out."""

    keepWanted = Signal(object, str)
    showWanted = Signal(object)
    planWanted = Signal()
    cancelled = Signal()
    noteAsked = Signal()
    exportWanted = Signal()
    trialWanted = Signal(str, object)
    rowChosen = Signal(object)
    curvesWanted = Signal()
    robustnessWanted = Signal()
    overChanged = Signal()
    done = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Comparison")
        self.form, self.results, self.work = PlanForm(), ResultsView(), LongWork()
        self.note = EmptyNote("Measure", "Do what is to be done first")
        self.export = push_button("&Export …", "Write the comparison's tables and pictures into a folder")
        self.close_button = push_button("Back to the &grid", "Put the comparison away")
        self.change = push_button("Change the p&lan …", "Change the analysis plan; the change stays visible")
        self.history = push_button("&History", "Show every change of the plan, and when results were shown")
        self.history.setCheckable(True)
        self._of_results = (self.change, self.history, self.export)
        title = ElidedLabel("Comparison")
        font = title.font()
        font.setBold(True)
        title.setFont(font)
        head = QHBoxLayout()
        head.addWidget(title, 1)
        for part in (self.work, *self._of_results, self.close_button):
            head.addWidget(part)
        self._stack = QStackedWidget()
        for page in (self.note, self.form, self.results):
            self._stack.addWidget(page)
        column = QVBoxLayout(self)
        column.addLayout(head)
        column.addWidget(self._stack, 1)
        self._connect()
        self.say("")

    def _connect(self) -> None:
        form, tabs = self.form, self.results.tabs
        form.keepWanted.connect(self.keepWanted)
        form.showWanted.connect(self.showWanted)
        form.cancelled.connect(self.cancelled)
        self.change.clicked.connect(self.planWanted)
        self.history.toggled.connect(self.results.band.history.setVisible)
        self.results.rowChosen.connect(self.rowChosen)
        tabs.trialWanted.connect(self.trialWanted)
        tabs.curvesWanted.connect(self.curvesWanted)
        tabs.robustnessWanted.connect(self.robustnessWanted)
        tabs.overChanged.connect(self.overChanged)
        self.note.asked.connect(self.noteAsked)
        self.export.clicked.connect(self.exportWanted)
        self.close_button.clicked.connect(self.done)

    @property
    def shows_results(self) -> bool:
        """Whether results are seen."""
        return self._stack.currentWidget() is self.results

    @property
    def shows_form(self) -> bool:
        """Whether the plan's form is seen."""
        return self._stack.currentWidget() is self.form

    def say(self, words: str, verb: str = "", name: str = "") -> None:
        """Show words in place of results, with a button where something can be done about it."""
        self.note.say(words, ask=bool(verb))
        self.note.button.setText(verb)
        self.note.button.setAccessibleName(name or verb.replace("&", ""))
        self.note.button.setToolTip(name)
        self._show(self.note)

    def show_form(self) -> None:
        """Show the plan's form."""
        self._show(self.form)

    def show_results(self) -> None:
        """Show the results."""
        self._show(self.results)

    def show_comparison(self, picture: ComparisonPicture, said: PlanSaid, *, editable: bool) -> None:
        """Fill the results with another comparison."""
        self.results.show_picture(picture)
        self.change.setText("Change the p&lan …" if picture.comparison.planned else "Write a p&lan …")
        self.change.setEnabled(editable)
        self.say_plan(said)

    def say_plan(self, said: PlanSaid) -> None:
        """Say which plan was carried out, and what the ledger has of it."""
        self.results.band.show_plan(said)
        self.history.setEnabled(bool(said.history))

    def _show(self, part: QWidget) -> None:
        self._stack.setCurrentWidget(part)
        for button in self._of_results:
            button.setVisible(part is self.results)

    def take_focus(self) -> None:
        """Put the keyboard where it is needed first."""
        if self.shows_form:
            self.form.take_focus()
        elif self.shows_results:
            self.results.table.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            asks = self.note.button.isVisible()
            (self.note.button if asks else self.close_button).setFocus(Qt.FocusReason.OtherFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape puts the page away."""
        if event.key() == Qt.Key.Key_Escape:
            self.done.emit()
            return
        super().keyPressEvent(event)
