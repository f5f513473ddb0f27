"""Asks for the reason of a decision, in words; a decision without one is not taken."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QDialog, QDialogButtonBox, QFormLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from phasemark.window.visible_edges import keep_edge_seen

_LETTERS = 60


class ReasonDialog(QDialog):
    """decided(reason, choice) when it is accepted; choice is '' where there is nothing to choose from."""

    decided = Signal(str, str)

    def __init__(
        self,
        title: str,
        words: str,
        verb: str,
        *,
        example: str = "",
        choices: tuple[str, tuple[str, ...]] = ("", ()),
        parent: QWidget | None = None,
    ) -> None:
        """Choices are a label with a letter to reach it by, and what can be chosen."""
        super().__init__(parent)
        self.setWindowTitle(title)
        said = QLabel(words)
        said.setWordWrap(True)
        self.choice, self.reason = QComboBox(self), QLineEdit()
        self.choice.addItems(choices[1])
        self.choice.setAccessibleName(choices[0].replace("&", ""))
        self.reason.setAccessibleName("Reason")
        self.reason.setPlaceholderText(example)
        self.choice.setVisible(bool(choices[1]))
        form = QFormLayout()
        if choices[1]:
            form.addRow(choices[0], self.choice)
        form.addRow("&Because", self.reason)
        self.buttons = QDialogButtonBox()
        self.go = self.buttons.addButton(verb, QDialogButtonBox.ButtonRole.AcceptRole)
        self.buttons.addButton("Cancel", QDialogButtonBox.ButtonRole.RejectRole)
        column = QVBoxLayout(self)
        column.addWidget(said)
        column.addLayout(form)
        column.addWidget(self.buttons)
        self.setMinimumWidth(_LETTERS * self.fontMetrics().averageCharWidth())
        self.reason.textChanged.connect(self._refresh)
        self.buttons.accepted.connect(self._on_accepted)
        self.buttons.rejected.connect(self.reject)
        self._refresh("")
        keep_edge_seen(self.choice, self.reason)
        self.reason.setFocus()

    def _refresh(self, text: str) -> None:
        self.go.setEnabled(bool(text.strip()))

    def _on_accepted(self) -> None:
        reason, choice = self.reason.text().strip(), self.choice.currentText()
        self.accept()
        self.decided.emit(reason, choice)
