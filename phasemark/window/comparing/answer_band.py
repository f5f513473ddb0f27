"""The answer in sentences, how it stands to the plan, and beside it what is to be read with care."""

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QFrame, QLabel, QScrollArea, QSizePolicy, QVBoxLayout, QWidget

from phasemark.session.comparison_tables import ComparisonPicture
from phasemark.window.comparing.comparison_words import PlanSaid
from phasemark.window.comparing.flowing_label import FlowingLabel

_LARGER = 1.15
_LETTERS_SIDE_BY_SIDE = 130
_CAUTION_LINES = 6.5
_AIR = 4


class AnswerBand(QWidget):
    """Answer, plan and cautions; the history of the plan is shown where it is asked for."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.plan, self.standing, self.history = FlowingLabel(), FlowingLabel(), FlowingLabel()
        self.sentence, self.further = FlowingLabel(), FlowingLabel()
        self.stands, self.cautions = FlowingLabel(), FlowingLabel()
        self.history.hide()
        self._place_parts()
        self._enlarge()
        self.say_stands("")

    def _place_parts(self) -> None:
        left = QVBoxLayout()
        left.setContentsMargins(0, 0, 0, 0)
        left.setSpacing(_AIR)
        for part in (self.sentence, self.further, self.stands, self.plan, self.standing, self.history):
            left.addWidget(part)
        left.addStretch(1)
        self._inner = QWidget()
        inside = QVBoxLayout(self._inner)
        inside.setContentsMargins(0, 0, 0, 0)
        inside.addWidget(self.cautions)
        inside.addStretch(1)
        self.area = QScrollArea()
        self.area.setWidget(self._inner)
        self.area.setWidgetResizable(True)
        self.area.setFrameShape(QFrame.Shape.NoFrame)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.area.setAccessibleName("What is to be read with care")
        self.area.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        right = QVBoxLayout()
        right.setSpacing(_AIR)
        head = QLabel("Read with care")
        font = head.font()
        font.setBold(True)
        head.setFont(font)
        right.addWidget(head)
        right.addWidget(self.area)
        right.addStretch(1)
        self._row = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.setSpacing(2 * self.fontMetrics().averageCharWidth())
        self._row.addLayout(left, 5)
        self._row.addLayout(right, 4)
        self._size_cautions()

    def _enlarge(self) -> None:
        font = self.font()
        font.setPointSizeF(font.pointSizeF() * _LARGER)
        font.setBold(True)
        self.sentence.setFont(font)

    def _size_cautions(self) -> None:
        self.area.setFixedHeight(round(_CAUTION_LINES * self.fontMetrics().lineSpacing()))

    def show_picture(self, picture: ComparisonPicture) -> None:
        """Show another answer, and the cautions beside it."""
        self.sentence.setText(picture.answer.sentence)
        self.further.setText(" ".join(picture.answer.further))
        problems = tuple(str(problem) for problem in picture.compared.problems)
        self.cautions.setText("\n".join(f"•  {said}" for said in (*problems, *picture.compared.report.cautions)))
        self.area.verticalScrollBar().setValue(0)

    def show_plan(self, said: PlanSaid) -> None:
        """Say which plan was carried out; what makes results exploratory stands out."""
        self.plan.setText(said.plan)
        self.standing.setText(said.standing)
        self.standing.setVisible(bool(said.standing))
        self.history.setText(said.history)
        font = self.font()
        font.setBold(said.exploratory)
        (self.standing if said.standing else self.plan).setFont(font)

    def say_stands(self, sentence: str) -> None:
        """Say whether the primary finding stands; '' where that is not worked out."""
        self.stands.setText(sentence)
        self.stands.setVisible(bool(sentence))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Side by side where there is room, else one below the other."""
        wide = event.size().width() >= _LETTERS_SIDE_BY_SIDE * self.fontMetrics().averageCharWidth()
        way = QBoxLayout.Direction.LeftToRight if wide else QBoxLayout.Direction.TopToBottom
        if self._row.direction() != way:
            self._row.setDirection(way)
        super().resizeEvent(event)

    def changeEvent(self, event: QEvent) -> None:
        """Follow the system's font."""
        super().changeEvent(event)
        if event.type() is QEvent.Type.FontChange and hasattr(self, "area"):
            self._enlarge()
            self._size_cautions()
