"""Removing the trial in view: why, and what becomes of its recording."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QFormLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

_WORDS = (
    "The trial goes out of the study with its marks, and out of every export. Its recording stays in the study's "
    "folder, and undo brings the trial back while the study is open. Exclude a trial instead if it was done but is "
    "not to count."
)


class RemoveDialog(QDialog):
    """Asks for the reason; decided(reason)."""

    decided = Signal(str)

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(f"Remove {name}")
        self.reason = QLineEdit()
        self.reason.setAccessibleName(f"Reason for removing {name}")
        self.reason.setPlaceholderText("e.g. added by mistake, another person's recording")
        self.buttons = QDialogButtonBox()
        self.remove = self.buttons.addButton("Remove", QDialogButtonBox.ButtonRole.AcceptRole)
        self.buttons.addButton("Cancel", QDialogButtonBox.ButtonRole.RejectRole)
        words = QLabel(_WORDS)
        words.setWordWrap(True)
        form = QFormLayout()
        form.addRow("&Because", self.reason)
        column = QVBoxLayout(self)
        column.addWidget(words)
        column.addLayout(form)
        column.addWidget(self.buttons)
        self.setMinimumWidth(60 * self.fontMetrics().averageCharWidth())
        self.reason.textChanged.connect(self._refresh)
        self.buttons.accepted.connect(self._on_accepted)
        self.buttons.rejected.connect(self.reject)
        self._refresh("")
        self.reason.setFocus()

    def _refresh(self, text: str) -> None:
        self.remove.setEnabled(bool(text.strip()))

    def _on_accepted(self) -> None:
        reason = self.reason.text().strip()
        self.accept()
        self.decided.emit(reason)
