"""The analysis plan as a form: what is compared, in what, and what decides; before results are shown.

keepWanted(draft, reason)     the plan is to be written down
showWanted(draft)             results are to be shown without a plan
cancelled()                   the form is to be put away, with nothing changed
"""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QCheckBox,
    QComboBox,
    QDoubleSpinBox,
    QFormLayout,
    QFrame,
    QGroupBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from phasemark.model.plan import AgainstLoad, Outcome, PrimaryTest
from phasemark.results.segments import WHOLE
from phasemark.session.plan_choices import PlanChoices, PlanDraft
from phasemark.window.comparing.flowing_label import FlowingLabel
from phasemark.window.judging.judging_parts import FlowRow, push_button
from phasemark.window.visible_edges import keep_edge_seen

_CHOOSE = "choose …"
_LETTERS_SIDE_BY_SIDE = 130
_RULES_LINES = 5
_PHASE_WORDS = {
    AgainstLoad.AGAINST: "against the load",
    AgainstLoad.WITH: "with the load",
    AgainstLoad.REP: "whole repetition",
}
_WHY_FIRST = (
    "Written down before results are seen, so that the one comparison that decides is not picked by its outcome. The "
    "plan is kept with its time in the study's ledger; what is changed in it later stays visible, here and in exports."
)


class Ticks(QWidget):
    """Names to tick, in a further row where a row is full."""

    changed = Signal()

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setAccessibleName(name)
        self.boxes: tuple[QCheckBox, ...] = ()
        self._row = QVBoxLayout(self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._flow: FlowRow | None = None

    def show_names(self, names: Sequence[tuple[str, str]], ticked: Sequence[str]) -> None:
        """Show other names: what each stands for, and its words."""
        if self._flow is not None:
            self._row.removeWidget(self._flow)
            self._flow.deleteLater()
        boxes = []
        for value, words in names:
            box = QCheckBox(words.replace("&", "&&"))
            box.setAccessibleName(f"{self.accessibleName()}: {words}")
            box.setProperty("value", value)
            box.setChecked(value in ticked)
            box.toggled.connect(self.changed)
            boxes.append(box)
        self.boxes = tuple(boxes)
        keep_edge_seen(*boxes)
        self._flow = FlowRow(boxes)
        self._row.addWidget(self._flow)

    @property
    def ticked(self) -> tuple[str, ...]:
        """What is ticked, in the order shown."""
        return tuple(str(box.property("value")) for box in self.boxes if box.isChecked())


class PlanForm(QWidget):
    """The form; the module's first lines say what comes out."""

    keepWanted = Signal(object, str)
    showWanted = Signal(object)
    cancelled = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Analysis plan")
        self._choices: PlanChoices | None = None
        self._make_fields()
        self._place_parts()
        self.factor.currentIndexChanged.connect(lambda _: self._show_levels())
        self.keep.clicked.connect(lambda: self.keepWanted.emit(self.draft(), self.reason.text().strip()))
        self.show_without.clicked.connect(lambda: self.showWanted.emit(self.draft()))
        self.cancel.clicked.connect(self.cancelled)

    # Parts

    def _make_fields(self) -> None:
        self.factor, self.a, self.b, self.outcome, self.test = (QComboBox() for _ in range(5))
        self.primary_muscle, self.primary_phase, self.primary_third = (QComboBox() for _ in range(3))
        self.muscles, self.phases, self.thirds = Ticks("Muscles"), Ticks("Phases"), Ticks("Thirds")
        self.smallest, self.reason = QLineEdit(), QLineEdit()
        self.confidence, self.rules = QDoubleSpinBox(), QPlainTextEdit()
        self.unit, self.said, self.before = QLabel(), FlowingLabel(), FlowingLabel()
        names = (
            (self.factor, "What is compared: exercise or another factor"),
            (self.a, "First of the two, A"),
            (self.b, "Second of the two, B"),
            (self.outcome, "Outcome"),
            (self.primary_muscle, "Muscle of the primary comparison"),
            (self.primary_phase, "Phase of the primary comparison"),
            (self.primary_third, "Third of the primary comparison"),
            (self.test, "Test that decides"),
            (self.smallest, "Smallest difference that matters"),
            (self.confidence, "Confidence of intervals, percent"),
            (self.rules, "Rules of exclusion, in words"),
            (self.reason, "Why the plan is changed"),
        )
        for field, name in names:
            field.setAccessibleName(name)
        for box in (self.factor, self.a, self.b, self.outcome, self.test, *self._primary()):
            box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
            box.setMinimumContentsLength(12)
            box.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._dress()

    def _primary(self) -> tuple[QComboBox, QComboBox, QComboBox]:
        return self.primary_muscle, self.primary_phase, self.primary_third

    def _dress(self) -> None:
        self.confidence.setRange(50.1, 99.9)
        self.confidence.setDecimals(1)
        self.confidence.setSuffix(" %")
        self.smallest.setPlaceholderText("e.g. 5")
        self.reason.setPlaceholderText("e.g. the primary muscle was named wrongly")
        self.rules.setPlaceholderText("e.g. repetitions with the heel off the floor; trials under six repetitions")
        self.rules.setTabChangesFocus(True)
        for box, members in ((self.outcome, Outcome), (self.test, PrimaryTest)):
            for member in members:
                box.addItem(_words(str(member)), member)
        for phase, words in _PHASE_WORDS.items():
            self.primary_phase.addItem(words, phase)
        keep_edge_seen(
            *(self.factor, self.a, self.b, self.outcome, self.test, *self._primary()),
            *(self.smallest, self.reason, self.confidence, self.rules),
        )

    def _place_parts(self) -> None:
        self.keep = push_button("&Keep this plan", "Write the plan down with its time, then show the results")
        self.keep.setDefault(True)
        self.show_without = push_button(
            "Show &without a plan (exploratory)", "Show results without a plan; the ledger and every export say so"
        )
        self.cancel = push_button("Cancel", "Leave the plan as it is")
        self.title = QLabel("The plan comes first")
        font = self.title.font()
        font.setBold(True)
        self.title.setFont(font)
        whole = QWidget()
        self._groups = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        right = QVBoxLayout()
        for part in (self._decides(), self._words()):
            right.addWidget(part)
        right.addStretch(1)
        left = QVBoxLayout()
        left.addWidget(self._what())
        left.addStretch(1)
        self._groups.addLayout(left, 1)
        self._groups.addLayout(right, 1)
        column = QVBoxLayout(whole)
        column.setContentsMargins(0, 0, 4, 0)
        for part in (self.title, FlowingLabel(_WHY_FIRST), self.before):
            column.addWidget(part)
        column.addLayout(self._groups)
        column.addStretch(1)
        self.area = QScrollArea()
        self.area.setWidget(whole)
        self.area.setWidgetResizable(True)
        self.area.setFrameShape(QFrame.Shape.NoFrame)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(self.area, 1)
        outer.addWidget(self.said)
        outer.addWidget(FlowRow((self.keep, self.show_without, self.cancel)))
        self.said.hide()

    def _what(self) -> QWidget:
        box, form = _group("What is compared")
        form.addRow("&Factor", self.factor)
        form.addRow("Levels", _beside(_short("&A", self.a), self.a, _short("&B", self.b), self.b))
        form.addRow("&Outcome", self.outcome)
        form.addRow("Muscles", self.muscles)
        form.addRow("Phases", self.phases)
        form.addRow("Thirds", self.thirds)
        return box

    def _decides(self) -> QWidget:
        box, form = _group("What decides")
        form.addRow(_short("&Primary comparison", self.primary_muscle), _beside(*self._primary()))
        form.addRow(_short("S&mallest difference that matters", self.smallest), _beside(self.smallest, self.unit))
        form.addRow("&Test", self.test)
        form.addRow("&Confidence", self.confidence)
        self.smallest.setMaximumWidth(14 * self.fontMetrics().averageCharWidth())
        self.confidence.setMaximumWidth(14 * self.fontMetrics().averageCharWidth())
        return box

    def _words(self) -> QWidget:
        box, form = _group("In words")
        form.addRow("&Rules of exclusion", self.rules)
        self._because = _short("Beca&use", self.reason)
        form.addRow(self._because, self.reason)
        self.rules.setFixedHeight(round((_RULES_LINES + 1) * self.fontMetrics().height()))
        return box

    # What is shown

    def show_choices(self, choices: PlanChoices, *, before: str, editable: bool, cancel: bool) -> None:
        """Fill the form anew; before says whether results were shown already, cancel whether it can be put away."""
        self._choices, draft = choices, choices.draft
        self.title.setText("Change the plan" if choices.planned else "The plan comes first")
        self.before.setText(before)
        self.before.setVisible(bool(before))
        self.refuse("")
        _fill(self.factor, tuple(choices.levels), draft.factor)
        self._show_levels()
        for box, value in ((self.outcome, draft.outcome), (self.test, draft.test)):
            box.setCurrentIndex(box.findData(value))
        self.muscles.show_names([(name, name) for name in choices.muscles], draft.muscles)
        self.phases.show_names([(str(phase), words) for phase, words in _PHASE_WORDS.items()], draft.phases)
        self.thirds.show_names([(name, _third_words(name)) for name in choices.thirds], draft.thirds)
        _fill(self.primary_muscle, ("", *choices.muscles), draft.primary_muscle)
        self.primary_muscle.setItemText(0, _CHOOSE)
        self.primary_phase.setCurrentIndex(self.primary_phase.findData(draft.primary_phase))
        _fill(self.primary_third, choices.thirds, draft.primary_third)
        for number, name in enumerate(choices.thirds):
            self.primary_third.setItemText(number, _third_words(name))
        self.smallest.setText(draft.smallest_effect)
        self.unit.setText(choices.unit)
        self.confidence.setValue(100 * draft.confidence)
        self.rules.setPlainText(draft.exclusion_rules)
        self.reason.clear()
        for part in (self.reason, self._because):
            part.setVisible(choices.planned)
        self.keep.setEnabled(editable)
        self.show_without.setVisible(not choices.planned)
        self.cancel.setVisible(cancel)

    def _show_levels(self) -> None:
        choices = self._choices
        if choices is None:
            return
        factor = self._factor()
        there, draft = choices.levels.get(factor, ()), choices.draft
        own = (draft.a, draft.b) if draft.factor == factor else (*there, "", "")[:2]
        for box, level in zip((self.a, self.b), own, strict=True):
            _fill(box, there, level)

    def _factor(self) -> str:
        return str(self.factor.currentData() or "")

    def draft(self) -> PlanDraft:
        """What stands in the form."""
        return PlanDraft(
            factor=self._factor(),
            a=str(self.a.currentData() or ""),
            b=str(self.b.currentData() or ""),
            outcome=Outcome(self.outcome.currentData()),
            muscles=self.muscles.ticked,
            phases=tuple(AgainstLoad(value) for value in self.phases.ticked),
            thirds=self.thirds.ticked,
            primary_muscle=str(self.primary_muscle.currentData() or ""),
            primary_phase=AgainstLoad(self.primary_phase.currentData()),
            primary_third=str(self.primary_third.currentData() or WHOLE),
            smallest_effect=self.smallest.text(),
            test=PrimaryTest(self.test.currentData()),
            confidence=round(self.confidence.value() / 100, 4),
            exclusion_rules=self.rules.toPlainText(),
        )

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Groups side by side where there is room, else one below the other."""
        wide = event.size().width() >= _LETTERS_SIDE_BY_SIDE * self.fontMetrics().averageCharWidth()
        way = QBoxLayout.Direction.LeftToRight if wide else QBoxLayout.Direction.TopToBottom
        if self._groups.direction() != way:
            self._groups.setDirection(way)
        super().resizeEvent(event)

    def refuse(self, sentence: str) -> None:
        """Say what is lacking, above the buttons."""
        self.said.setText(sentence)
        self.said.setVisible(bool(sentence))

    def take_focus(self) -> None:
        """Put the keyboard into the first field that asks for a choice."""
        first = self.factor if self.factor.count() > 1 else self.primary_muscle
        first.setFocus(Qt.FocusReason.OtherFocusReason)


def _fill(box: QComboBox, names: Sequence[str], chosen: str) -> None:
    box.blockSignals(True)
    box.clear()
    for name in names:
        box.addItem(name, name)
    box.setCurrentIndex(max(box.findData(chosen), 0))
    box.blockSignals(False)


def _words(text: str) -> str:
    return text[:1].upper() + text[1:]


def _third_words(third: str) -> str:
    return "whole phase" if third == WHOLE else f"{third} third"


def _group(title: str) -> tuple[QGroupBox, QFormLayout]:
    box = QGroupBox(title)
    form = QFormLayout(box)
    form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
    form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
    return box, form


def _short(text: str, buddy: QWidget) -> QLabel:
    label = QLabel(text)
    label.setBuddy(buddy)
    return label


def _beside(*parts: QWidget) -> QWidget:
    whole = QWidget()
    row = QHBoxLayout(whole)
    row.setContentsMargins(0, 0, 0, 0)
    for part in parts:
        row.addWidget(part, 0 if isinstance(part, QLabel) else 1)
    if isinstance(parts[-1], QLabel):
        row.addStretch(1)
    return whole
