"""Excluding: what is taken out of the means, and why."""

from dataclasses import dataclass

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QDialog, QDialogButtonBox, QFormLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from phasemark.model.marks import Rep
from phasemark.model.recording import EmgChannel
from phasemark.model.study import Trial
from phasemark.window.visible_edges import keep_edge_seen


@dataclass(frozen=True, slots=True)
class ExcludeChoice:
    """What can be excluded: a rep or the whole trial (None), all of it or some channels."""

    text: str
    rep: Rep | None
    channels: tuple[EmgChannel, ...] = ()


def choices_for(trial: Trial, rep: Rep | None, rep_words: str) -> tuple[ExcludeChoice, ...]:
    """The rep, each muscle in it, each muscle of the trial, the trial; the narrowest first."""
    of_rep = () if rep is None else (ExcludeChoice(rep_words, rep),)
    in_rep = () if rep is None else tuple(ExcludeChoice(f"{c.label} in {rep_words}", rep, (c,)) for c in trial.emg)
    in_trial = tuple(ExcludeChoice(f"{c.label} in the whole trial", None, (c,)) for c in trial.emg)
    return (*of_rep, *in_rep, *in_trial, ExcludeChoice("the whole trial", None))


class ExcludeDialog(QDialog):
    """Asks what and why; decided(ExcludeChoice, reason). What is excluded stays, is shown, and is in every export."""

    decided = Signal(object, str)

    def __init__(self, choices: tuple[ExcludeChoice, ...], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Exclude")
        self._choices = choices
        self.what, self.reason = QComboBox(), QLineEdit()
        self.what.addItems([choice.text for choice in choices])
        self.what.setAccessibleName("What is excluded")
        self.reason.setAccessibleName("Reason of the exclusion")
        self.reason.setPlaceholderText("e.g. movement artefact, foot slipped")
        self.buttons = QDialogButtonBox()
        self.exclude = self.buttons.addButton("Exclude", QDialogButtonBox.ButtonRole.AcceptRole)
        self.buttons.addButton("Cancel", QDialogButtonBox.ButtonRole.RejectRole)
        words = QLabel("It stays in view and in every export with its reason; it is not in the means.")
        words.setWordWrap(True)
        form = QFormLayout()
        form.addRow("&What", self.what)
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
        keep_edge_seen(self.what, self.reason)
        self.reason.setFocus()

    def _refresh(self, text: str) -> None:
        self.exclude.setEnabled(bool(text.strip()))

    def _on_accepted(self) -> None:
        choice, reason = self._choices[self.what.currentIndex()], self.reason.text().strip()
        self.accept()
        self.decided.emit(choice, reason)
