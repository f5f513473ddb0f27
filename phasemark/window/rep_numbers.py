"""The numbers of the rep in hand, set out as the body moves: upper third on top, lowering beside raising."""

from collections.abc import Sequence
from math import isfinite
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtGui import QFont

from phasemark.model.marks import Rep
from phasemark.model.study import Trial
from phasemark.results.measure import Value
from phasemark.results.segments import REP, WHOLE

Index = QModelIndex | QPersistentModelIndex
MEASURES = ("RMS", "mean amplitude")
_THIRD_ORDER = ("upper", "middle", "lower", "first", "second", "last", WHOLE)
_DASH = "–"


def amplitude_text(millivolts: float) -> str:
    """An amplitude (mV) with three significant digits, a dash where missing."""
    if not isfinite(millivolts):
        return _DASH
    if millivolts == 0:
        return "0"
    return f"{millivolts:#.3g}" if abs(millivolts) >= 1e-4 else f"{millivolts:.2e}"


class RepNumbers(QAbstractTableModel):
    """A block of rows for each muscle: its thirds, the whole phases and the whole rep; a column for each phase.

    Values that differ from those before a drag are bold while it lasts.
    """

    def __init__(self) -> None:
        super().__init__()
        self._phases: tuple[str, ...] = ()
        self._rows: tuple[tuple[int, str], ...] = ()
        self._labels: tuple[str, ...] = ()
        self._values: dict[tuple[int, str, str], Value] = {}
        self._before: dict[tuple[int, str, str], Value] = {}
        self._measure = MEASURES[0]

    def show(self, trial: Trial, rep: Rep | None, values: Sequence[Value], before: Sequence[Value] = ()) -> None:
        """Show a rep's values; before are those that a drag started from."""
        phases = tuple(phase.name for phase in rep.phases) if rep is not None else ()
        thirds = [t for t in _THIRD_ORDER if any(v.segment.third == t for v in values)]
        rows = tuple((channel, third) for channel in range(len(trial.emg)) for third in thirds)
        columns = (*phases, REP) if len(phases) > 1 else phases
        labels = tuple(channel.label for channel in trial.emg)
        held, old = ({(v.channel, v.segment.phase, v.segment.third): v for v in vs} for vs in (values, before))
        if (rows, columns, labels) != (self._rows, self._phases, self._labels):
            self.beginResetModel()
            self._rows, self._phases, self._labels, self._values, self._before = rows, columns, labels, held, old
            self.endResetModel()
            return
        self._values, self._before = held, old
        if rows:
            self.dataChanged.emit(self.index(0, 0), self.index(len(rows) - 1, len(columns) - 1))

    def use_measure(self, measure: str) -> None:
        """Show RMS or mean amplitude."""
        self._measure = measure
        if self._rows:
            self.dataChanged.emit(self.index(0, 0), self.index(len(self._rows) - 1, len(self._phases) - 1))

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  Qt's own signature
        """Thirds and wholes of all muscles."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Phases."""
        return 0 if parent.isValid() else len(self._phases)

    def _number(self, values: dict[tuple[int, str, str], Value], index: Index) -> float | None:
        channel, third = self._rows[index.row()]
        value = values.get((channel, self._phases[index.column()], third))
        if value is None:
            return None
        return value.amplitude.rms if self._measure == MEASURES[0] else value.amplitude.mean_amplitude

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Value, weight and alignment of a cell."""
        if not index.isValid():
            return None
        number = self._number(self._values, index)
        if role == Qt.ItemDataRole.DisplayRole:
            return "" if number is None else amplitude_text(number)
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        if role == Qt.ItemDataRole.FontRole:
            before = self._number(self._before, index)
            if before is not None and number is not None and before != number:
                bold = QFont()
                bold.setBold(True)
                return bold
        return None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Phases above; muscle and third beside."""
        if role != Qt.ItemDataRole.DisplayRole:
            return None
        if orientation == Qt.Orientation.Horizontal:
            name = self._phases[section]
            return f"whole {REP}" if name == REP else name
        channel, third = self._rows[section]
        first = section == 0 or self._rows[section - 1][0] != channel
        return f"{self._labels[channel]}  ·  {third}" if first else third
