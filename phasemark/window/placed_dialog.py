"""What is placed by hand in a trial, as a list to take things away from."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QLabel, QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from phasemark.model.clock import seconds
from phasemark.model.intervals import Interval
from phasemark.model.recording import Side
from phasemark.model.study import Trial
from phasemark.window.visible_edges import keep_edge_seen


class PlacedDialog(QDialog):
    """A list of intervals; removed(Interval) for the one that is taken away. Undo brings it back."""

    removed = Signal(object)

    def __init__(self, trial: Trial, read_only: bool, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Placed stretches")
        self.placed = QListWidget()
        self.placed.setAccessibleName("Stretches placed by hand in this trial")
        for interval in trial.intervals:
            item = QListWidgetItem(_line(trial, interval))
            item.setData(Qt.ItemDataRole.UserRole, interval)
            self.placed.addItem(item)
        self.placed.setCurrentRow(0)
        self.buttons = QDialogButtonBox()
        self.remove = self.buttons.addButton("&Remove", QDialogButtonBox.ButtonRole.ActionRole)
        self.remove.setEnabled(not read_only)
        self.buttons.addButton("Close", QDialogButtonBox.ButtonRole.RejectRole)
        words = QLabel("They are drawn over the lanes they concern. Undo brings one back that was removed.")
        words.setWordWrap(True)
        column = QVBoxLayout(self)
        for part in (words, self.placed, self.buttons):
            column.addWidget(part)
        self.setMinimumWidth(64 * self.fontMetrics().averageCharWidth())
        self.remove.clicked.connect(self._on_removed)
        self.remove.setShortcut(QKeySequence(QKeySequence.StandardKey.Delete))
        self.remove.setToolTip("Del")
        self.buttons.rejected.connect(self.reject)
        keep_edge_seen(self.placed)
        self.placed.setFocus()

    def _on_removed(self) -> None:
        item = self.placed.takeItem(self.placed.currentRow())
        if item is not None:
            self.removed.emit(item.data(Qt.ItemDataRole.UserRole))
        if self.placed.count() == 0:
            self.accept()


def _line(trial: Trial, interval: Interval) -> str:
    side = "" if interval.side is Side.NONE else f" ({interval.side})"
    whose = f"{interval.muscle}{side}" if interval.muscle else "all muscles"
    begin, end = (seconds(place, trial.clock) for place in (interval.begin, interval.end))
    return f"{interval.purpose}  ·  {whose}  ·  {begin:.3f} to {end:.3f} s  ·  by {interval.decision.rater}"
