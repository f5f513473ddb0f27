"""One line for what the program has to say, above the traces, until it is put away."""

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QFrame, QHBoxLayout, QLabel, QPushButton, QSizePolicy


class MessageBar(QFrame):
    """Sentences for the user; an unforeseen fault comes with its details to copy."""

    def __init__(self) -> None:
        super().__init__()
        self.setFrameShape(QFrame.Shape.StyledPanel)
        self.setAccessibleName("Messages")
        self._details = ""
        self.cover: Callable[[str], str] = str
        """What is said passes through this, so that nothing gives a trial away while marks are made blind."""
        self._text = QLabel()
        self._text.setTextFormat(Qt.TextFormat.PlainText)
        self._text.setWordWrap(True)
        self._text.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._text.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self._copy = QPushButton("Copy details")
        self._copy.setAccessibleName("Copy the details of the fault")
        self._away = QPushButton("Dismiss")
        self._away.setAccessibleName("Dismiss the message")
        row = QHBoxLayout(self)
        row.setContentsMargins(8, 4, 8, 4)
        row.addWidget(self._text, 1)
        row.addWidget(self._copy)
        row.addWidget(self._away)
        self._away.clicked.connect(self.hide)
        self._copy.clicked.connect(self._copy_details)
        self.hide()

    @property
    def text(self) -> str:
        """What is said, '' while nothing is."""
        return "" if self.isHidden() else self._text.text()

    def say(self, sentence: str, details: str = "") -> None:
        """Say something; details can be copied."""
        self._details = self.cover(details)
        self._text.setText(self.cover(sentence))
        self._copy.setVisible(bool(details))
        self.show()

    def _copy_details(self) -> None:
        QApplication.clipboard().setText(self._details)
