"""The numbers of the rep in hand, set out as the body moves: upper third on top, one phase beside the other."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtGui import QFont

from phasemark.model.marks import LOWERING, RAISING, Rep
from phasemark.model.study import Trial
from phasemark.results.measure import Value
from phasemark.results.segments import REP, WHOLE

Index = QModelIndex | QPersistentModelIndex
Key = tuple[int, str, str]
MEASURES = ("RMS", "mean amplitude")
_THIRD_ORDER = ("upper", "middle", "lower", "first", "second", "last", WHOLE)
_DASH = "–"
_ARROWS = {RAISING: "▲ ", LOWERING: "▼ "}


def amplitude_text(millivolts: float) -> str:
    """An amplitude (mV) with three significant digits, a dash where missing."""
    if not isfinite(millivolts):
        return _DASH
    if millivolts == 0:
        return "0"
    return f"{millivolts:#.3g}" if abs(millivolts) >= 1e-4 else f"{millivolts:.2e}"


@dataclass(frozen=True, slots=True)
class NumberRow:
    """One line: a muscle's title (no keys), or what it is of and the key of its value in each column."""

    text: str
    keys: tuple[Key | None, ...] = ()


def number_rows(
    trial: Trial, rep: Rep | None, values: Sequence[Value]
) -> tuple[tuple[str, ...], tuple[NumberRow, ...]]:
    """Titles of the columns after the first, and the lines: thirds and whole of each phase, then the whole rep."""
    if rep is None:
        return (), ()
    phases = tuple(phase.name for phase in rep.phases)
    thirds = [t for t in _THIRD_ORDER if any(v.segment.third == t and v.segment.phase != REP for v in values)]
    rows: list[NumberRow] = []
    for channel, described in enumerate(trial.emg):
        rows.append(NumberRow(described.label))
        rows += [NumberRow(third, tuple((channel, phase, third) for phase in phases)) for third in thirds]
        if len(phases) > 1:
            rows.append(NumberRow("whole rep", ((channel, REP, WHOLE), *(None for _ in phases[1:]))))
    return phases, tuple(rows)


class RepNumbers(QAbstractTableModel):
    """A block of lines for each muscle. Values that differ from those before a drag are bold while it lasts."""

    def __init__(self) -> None:
        super().__init__()
        self._phases: tuple[str, ...] = ()
        self._rows: tuple[NumberRow, ...] = ()
        self._values: Mapping[Key, Value] = {}
        self._before: Mapping[Key, Value] = {}
        self._measure = MEASURES[0]
        self._bold = QFont()
        self._bold.setBold(True)

    def show(self, trial: Trial, rep: Rep | None, values: Sequence[Value], before: Sequence[Value] = ()) -> None:
        """Show a rep's values; before are those that a drag started from."""
        phases, rows = number_rows(trial, rep, values)
        held, old = ({(v.channel, v.segment.phase, v.segment.third): v for v in vs} for vs in (values, before))
        if (rows, phases) != (self._rows, self._phases):
            self.beginResetModel()
            self._rows, self._phases, self._values, self._before = rows, phases, held, old
            self.endResetModel()
            return
        self._values, self._before = held, old
        self._all_changed()

    def use_measure(self, measure: str) -> None:
        """Show RMS or mean amplitude."""
        self._measure = measure
        self._all_changed()

    def _all_changed(self) -> None:
        if self._rows:
            self.dataChanged.emit(self.index(0, 0), self.index(len(self._rows) - 1, len(self._phases)))

    def title_rows(self) -> tuple[int, ...]:
        """The lines that are a muscle's title."""
        return tuple(place for place, row in enumerate(self._rows) if not row.keys)

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  Qt's own signature
        """Lines of all muscles."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """What a line is of, then a column for each phase."""
        return 0 if parent.isValid() else 1 + len(self._phases)

    def _number(self, values: Mapping[Key, Value], index: Index) -> float | None:
        keys = self._rows[index.row()].keys
        key = keys[index.column() - 1] if keys and index.column() > 0 else None
        value = None if key is None else values.get(key)
        if value is None:
            return None
        return value.amplitude.rms if self._measure == MEASURES[0] else value.amplitude.mean_amplitude

    def _moved(self, index: Index) -> bool:
        before, now = self._number(self._before, index), self._number(self._values, index)
        return before is not None and now is not None and before != now

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Value, weight and alignment of a cell."""
        if not index.isValid():
            return None
        row = self._rows[index.row()]
        if role == Qt.ItemDataRole.DisplayRole:
            number = self._number(self._values, index)
            return row.text if index.column() == 0 else "" if number is None else amplitude_text(number)
        if role == Qt.ItemDataRole.TextAlignmentRole:
            across = Qt.AlignmentFlag.AlignLeft if index.column() == 0 else Qt.AlignmentFlag.AlignRight
            return int(across | Qt.AlignmentFlag.AlignVCenter)
        if role == Qt.ItemDataRole.FontRole and (not row.keys or self._moved(index)):
            return self._bold
        return None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """The phases, each with the arrow of its way."""
        if orientation != Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.TextAlignmentRole:
            across = Qt.AlignmentFlag.AlignLeft if section == 0 else Qt.AlignmentFlag.AlignRight
            return int(across | Qt.AlignmentFlag.AlignVCenter)
        if role != Qt.ItemDataRole.DisplayRole:
            return None
        if section == 0:
            return "third"
        name = self._phases[section - 1]
        return _ARROWS.get(name, "") + name
