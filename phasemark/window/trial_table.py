"""The trials of the study as a table: whose, what, and how far each is."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt

from phasemark.model.study import Kind, Study, Trial

Index = QModelIndex | QPersistentModelIndex


def reps_text(trial: Trial, rater: str) -> str:
    """How far a trial is, in words."""
    if trial.excluded is not None:
        return "excluded"
    marks = trial.marks_of(rater)
    if trial.kind in (Kind.MVIC, Kind.QUIET) and not marks.reps:
        return ""
    if not marks.phase_rule and not marks.reps:
        return "no marks"
    complete = [rep for rep in marks.reps if rep.complete]
    checked = sum(rep.checked is not None for rep in complete)
    return f"{len(complete)} reps, {checked} checked" if checked else f"{len(complete)} reps"


@dataclass(frozen=True, slots=True)
class _Column:
    title: str
    text: Callable[[Trial, str], str]


_COLUMNS = (
    _Column("Participant", lambda trial, _: trial.participant),
    _Column("Exercise", lambda trial, _: trial.exercise or str(trial.kind)),
    _Column("Set", lambda trial, _: str(trial.set)),
    _Column("Marks", reps_text),
)


class TrialTable(QAbstractTableModel):
    """A row for each trial, by participant and then as they were added."""

    def __init__(self) -> None:
        super().__init__()
        self._trials: tuple[Trial, ...] = ()
        self._rater = ""

    def show(self, study: Study, rater: str) -> None:
        """Show the trials of a study as one rater marked them; rows that stay keep their selection."""
        trials = tuple(sorted(study.trials, key=lambda trial: trial.participant))
        if [t.id for t in trials] != [t.id for t in self._trials]:
            self.beginResetModel()
            self._trials, self._rater = trials, rater
            self.endResetModel()
            return
        changed = [row for row, pair in enumerate(zip(trials, self._trials, strict=True)) if pair[0] is not pair[1]]
        self._trials, self._rater = trials, rater
        for row in changed:
            self.dataChanged.emit(self.index(row, 0), self.index(row, len(_COLUMNS) - 1))

    def trial_at(self, index: Index) -> Trial | None:
        """The trial of a row."""
        return self._trials[index.row()] if index.isValid() and index.row() < len(self._trials) else None

    def index_of(self, trial_id: str) -> QModelIndex:
        """The row of a trial; an invalid index if there is none."""
        for row, trial in enumerate(self._trials):
            if trial.id == trial_id:
                return self.index(row, 0)
        return QModelIndex()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  Qt's own signature
        """Trials."""
        return 0 if parent.isValid() else len(self._trials)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Columns."""
        return 0 if parent.isValid() else len(_COLUMNS)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Text of a cell."""
        trial = self.trial_at(index)
        if trial is None:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return _COLUMNS[index.column()].text(trial, self._rater)
        if role == Qt.ItemDataRole.ToolTipRole:
            factors = "".join(f"\n{name}: {value}" for name, value in trial.factors)
            load = f"\nload: {trial.load.text}" if trial.load else ""
            return f"{trial.id}, session {trial.session}{load}{factors}\nfrom {trial.recording.source.file}"
        return None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Titles of the columns."""
        if role == Qt.ItemDataRole.DisplayRole and orientation == Qt.Orientation.Horizontal:
            return _COLUMNS[section].title
        return None
