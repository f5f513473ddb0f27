"""A picture that is worked out on demand, with what is to be known of it, and a button that asks for it.

wanted() asks for the picture to be worked out.
"""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QSplitter, QStackedWidget, QVBoxLayout, QWidget

from phasemark.results.figures.description import Figure
from phasemark.window.comparing.flowing_label import FlowingLabel
from phasemark.window.comparing.people_view import picture_area
from phasemark.window.judging.judging_parts import EmptyNote
from phasemark.window.pictures.picture_view import PictureView


class OnDemandView(QWidget):
    """A note with a button until there is a picture; then the picture below what is said of it."""

    wanted = Signal()

    def __init__(
        self, name: str, verb: str, words: str, *, above: QWidget | None = None, right: QWidget | None = None
    ) -> None:
        """Words say what the picture is; above it and on its right there is room for other parts."""
        super().__init__()
        self._words = words
        self.note = EmptyNote(verb, verb.replace("&", ""))
        self.picture, self.said, self.explained = PictureView(), FlowingLabel(), FlowingLabel()
        drawn = QWidget()
        inside = QVBoxLayout(drawn)
        inside.setContentsMargins(0, 0, 0, 0)
        inside.addWidget(self.picture)
        inside.addWidget(self.explained)
        inside.addStretch(1)
        self.area = picture_area(drawn, name)
        shown = QWidget()
        below = QVBoxLayout(shown)
        below.setContentsMargins(0, 0, 0, 0)
        below.addWidget(self.said)
        if above is not None:
            below.addWidget(above)
        beside = QSplitter()
        beside.setChildrenCollapsible(False)
        for part in filter(None, (self.area, right)):
            beside.addWidget(part)
        beside.setSizes([500, 500])
        below.addWidget(beside, 1)
        self._stack = QStackedWidget()
        self._stack.addWidget(self.note)
        self._stack.addWidget(shown)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._stack)
        self.note.asked.connect(self.wanted)
        self.ask()

    @property
    def asks(self) -> bool:
        """Whether there is no picture yet."""
        return self._stack.currentIndex() == 0

    def ask(self, words: str = "") -> None:
        """Have the picture asked for; words in place of its own say why there is none."""
        self.picture.show_figure(None)
        self.note.say(words or self._words, ask=True)
        self._stack.setCurrentIndex(0)

    def wait(self, words: str) -> None:
        """Say that it is being worked out."""
        self.note.say(words, ask=False)
        self._stack.setCurrentIndex(0)

    def show_figure(self, figure: Figure, said: str, explained: str = "") -> None:
        """Show the picture, what it says above it, and how it came about below it."""
        self.explained.setText(explained)
        self.explained.setVisible(bool(explained))
        self.said.setText(said)
        self.said.setVisible(bool(said))
        self.picture.show_figure(figure)
        self._stack.setCurrentIndex(1)
