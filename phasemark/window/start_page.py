"""What is shown while there is nothing to show: no study open, one on its way in, or one without recordings.

StartPage()        set_recent(paths); signals newStudy, openStudy, demoStudy, recentChosen(Path)
WaitingPage()      say(sentence)
EmptyStudyPage()   set_study(name, read_only); signals addRecordings, filesDropped(tuple of Path)
"""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QFont, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QGridLayout, QLabel, QPushButton, QScrollArea, QSizePolicy, QVBoxLayout, QWidget

from phasemark.window.adding.dropped_files import local_paths
from phasemark.window.palette import scheme_of
from phasemark.window.start_figure import StartFigure

_PURPOSE = (
    "Phasemark compares exercises by surface EMG: it finds every repetition, cuts it into lowering and raising and "
    "each of those into thirds of the range of motion, lets you correct every boundary by eye, and measures the "
    "amplitude in each."
)
_STEPS = (
    "Add the recordings of this study: text files with EMG and, if there is one, a movement trace. "
    "You say once what their columns hold, then whose they are and which exercise they show."
)
_COLUMN_LETTERS = 104
_MOST_RECENT = 8


def _heading(text: str) -> QLabel:
    label = QLabel(text)
    font = QFont(label.font())
    font.setPointSizeF(1.7 * font.pointSizeF())
    label.setFont(font)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    return label


def _words(text: str) -> QLabel:
    label = QLabel(text)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    return label


def _button(text: str, name: str) -> QPushButton:
    button = QPushButton(text)
    button.setAccessibleName(name)
    button.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
    button.setMinimumWidth(22 * button.fontMetrics().averageCharWidth())
    return button


class _Page(QScrollArea):
    """One column of text and buttons in the middle, of a width that can be read; it scrolls where room is short."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setAccessibleName(name)
        self.setWidgetResizable(True)
        self.setFrameShape(QScrollArea.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        whole, column = QWidget(), QWidget()
        column.setMaximumWidth(_COLUMN_LETTERS * self.fontMetrics().averageCharWidth())
        column.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        grid = QGridLayout(whole)
        margin = 2 * self.fontMetrics().height()
        grid.setContentsMargins(margin, margin, margin, margin)
        for side in (0, 2):
            grid.setColumnStretch(side, 1)
            grid.setRowStretch(side, 1 + side)
        grid.setColumnStretch(1, 100)
        grid.addWidget(column, 1, 1)
        self.column = QVBoxLayout(column)
        self.column.setSpacing(self.fontMetrics().height())
        self.setWidget(whole)
        whole.setAutoFillBackground(False)


class StartPage(_Page):
    """Shown while no study is open."""

    newStudy = Signal()
    openStudy = Signal()
    demoStudy = Signal()
    recentChosen = Signal(object)

    def __init__(self) -> None:
        super().__init__("Start")
        self._paths: tuple[Path, ...] = ()
        self._recent: list[QPushButton] = []
        self.new_study = _button("&New study …", "New study")
        self.open_study = _button("&Open study …", "Open a study")
        self.demo_study = _button("&Demo study …", "Write the demo study into a folder and open it")
        self.new_study.clicked.connect(self.newStudy)
        self.open_study.clicked.connect(self.openStudy)
        self.demo_study.clicked.connect(self.demoStudy)
        self.column.addWidget(_heading("Repetitions, phases and thirds in surface EMG"))
        self.column.addWidget(_words(_PURPOSE))
        self.column.addWidget(StartFigure())
        self.column.addLayout(self._choices())
        self._recent_title = _words("Opened before")
        self.column.addWidget(self._recent_title)
        self._recent_list = QVBoxLayout()
        self._recent_list.setSpacing(2)
        self.column.addLayout(self._recent_list)
        self._recent_title.hide()

    def _choices(self) -> QGridLayout:
        choices = QGridLayout()
        choices.setColumnStretch(1, 1)
        choices.setHorizontalSpacing(2 * self.fontMetrics().averageCharWidth())
        rows = (
            (self.new_study, "Make an empty study and add recordings to it."),
            (self.open_study, "Go on with a study that is in a folder already."),
            (self.demo_study, "See how it works on twelve invented participants."),
        )
        for row, (button, words) in enumerate(rows):
            choices.addWidget(button, row, 0)
            choices.addWidget(_words(words), row, 1)
        return choices

    def set_recent(self, paths: Sequence[Path]) -> None:
        """Show studies that were open before, the latest first."""
        if tuple(paths) == self._paths:
            return  # a button that has the focus keeps it
        self._paths = tuple(paths)
        for button in self._recent:
            self._recent_list.removeWidget(button)
            button.hide()
            button.deleteLater()
        self._recent = [self._recent_button(path) for path in paths[:_MOST_RECENT]]
        for button in self._recent:
            self._recent_list.addWidget(button)
        self._recent_title.setVisible(bool(self._recent))

    def _recent_button(self, path: Path) -> QPushButton:
        room = (_COLUMN_LETTERS - 8) * self.fontMetrics().averageCharWidth()
        text = f"{path.name}   in {path.parent}"
        button = QPushButton(self.fontMetrics().elidedText(text, Qt.TextElideMode.ElideMiddle, room).replace("&", "&&"))
        button.setFlat(True)
        button.setStyleSheet("text-align: left; padding: 3px;")
        button.setMinimumWidth(0)
        button.setAccessibleName(f"Open {path.name}")
        button.setToolTip(str(path))
        button.clicked.connect(lambda: self.recentChosen.emit(path))
        return button


class WaitingPage(_Page):
    """Shown while a study is opened, or its last edits are written."""

    def __init__(self) -> None:
        super().__init__("Please wait")
        self._words = _heading("")
        self.column.addWidget(self._words)

    def say(self, sentence: str) -> None:
        """Say what is waited for."""
        self._words.setText(sentence)


class EmptyStudyPage(_Page):
    """Shown while a study has no recordings; files can be dropped on it."""

    addRecordings = Signal()
    filesDropped = Signal(object)

    def __init__(self) -> None:
        super().__init__("Study without recordings")
        self.setAcceptDrops(True)
        self._title = _heading("")
        self._say = _words("")
        self.add = _button("&Add recordings …", "Add recordings")
        self.add.clicked.connect(self.addRecordings)
        self._drop = _words("or drop files, or a folder of them, anywhere here.")
        for part in (self._title, self._say, self.add, self._drop):
            self.column.addWidget(part)
        self.set_study("", "")

    def set_study(self, name: str, read_only: str) -> None:
        """Name the study; read_only says why nothing can be added, '' where it can."""
        self._title.setText(f"{name} has no recordings yet" if name else "No recordings yet")
        self._say.setText(read_only or _STEPS)
        self.add.setEnabled(not read_only)
        self._drop.setVisible(not read_only)
        self.setAcceptDrops(not read_only)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Files are welcome."""
        if local_paths(event.mimeData()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Tell what was dropped."""
        event.acceptProposedAction()
        self.filesDropped.emit(local_paths(event.mimeData()))

    def paintEvent(self, event: QPaintEvent) -> None:
        """A dashed frame around where files can be dropped."""
        super().paintEvent(event)
        painter = QPainter(self.viewport())
        painter.setPen(QPen(scheme_of(self.palette()).hatch, 1.5, Qt.PenStyle.DashLine))
        inset = self.fontMetrics().height()
        painter.drawRoundedRect(self.viewport().rect().adjusted(inset, inset, -inset, -inset), 8, 8)
        painter.end()
