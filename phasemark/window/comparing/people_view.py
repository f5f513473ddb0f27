"""Participants of the row in hand: their paired values as a picture and a table, and the reps behind each value.

trialWanted(trial, rep id or None) asks for a trial to be brought into view.
"""

from math import isfinite

from PySide6.QtCore import QModelIndex, Qt, Signal
from PySide6.QtWidgets import QFrame, QScrollArea, QSplitter, QVBoxLayout, QWidget

from phasemark.session.comparison_people import PersonRow, RepRow
from phasemark.session.comparison_tables import RowDetail
from phasemark.session.comparison_words import NOTHING, number_words
from phasemark.window.comparing.flowing_label import FlowingLabel
from phasemark.window.comparing.plain_model import PlainModel, TextColumn
from phasemark.window.judging.judging_table import JudgingTable
from phasemark.window.pictures.picture_view import PictureView

A, B = 1, 2
_HINT = "Return or a double click on a value goes to its trial; the repetitions below make up the value in hand."


class PeopleView(QWidget):
    """Picture beside two tables: participants, and the reps of the value in hand."""

    trialWanted = Signal(str, object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._levels, self._unit = ("", ""), ""
        self.people = PlainModel[PersonRow](self._person_columns())
        self.reps = PlainModel[RepRow](self._rep_columns())
        self.table = JudgingTable(self.people, "Participants")
        self.table.setSelectionBehavior(JudgingTable.SelectionBehavior.SelectItems)
        self.rep_table = JudgingTable(self.reps, "Repetitions behind the value in hand")
        for table in (self.table, self.rep_table):
            table.setSelectionMode(JudgingTable.SelectionMode.SingleSelection)
        self.picture = PictureView()
        self._place_parts()
        self.table.selectionModel().currentChanged.connect(lambda *_: self._show_reps())
        self.table.activated.connect(self._want_value)
        self.rep_table.activated.connect(self._want_rep)

    def _place_parts(self) -> None:
        self.area = picture_area(self.picture, "Paired values")
        tables = QSplitter(Qt.Orientation.Vertical)
        tables.setChildrenCollapsible(False)
        tables.addWidget(self.table)
        tables.addWidget(self.rep_table)
        tables.setStretchFactor(0, 3)
        tables.setStretchFactor(1, 2)
        right = QWidget()
        below = QVBoxLayout(right)
        below.setContentsMargins(0, 0, 0, 0)
        below.addWidget(FlowingLabel(_HINT))
        below.addWidget(tables, 1)
        beside = QSplitter()
        beside.setChildrenCollapsible(False)
        beside.addWidget(self.area)
        beside.addWidget(right)
        beside.setStretchFactor(0, 3)
        beside.setStretchFactor(1, 2)
        beside.setSizes([620, 520])
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(beside)

    def _person_columns(self) -> tuple[TextColumn[PersonRow], ...]:
        a, b = self._levels
        return (
            TextColumn("participant", lambda row: row.participant),
            TextColumn("A", lambda row: self._value(row.a), number=True, hint=a),
            TextColumn("B", lambda row: self._value(row.b), number=True, hint=b),
            TextColumn("A − B", lambda row: self._value(row.difference, signed=True), number=True),
            TextColumn("reps", self._counts, number=True, hint="repetitions in A and in B"),
            TextColumn("missing, and why", lambda row: row.why),
        )

    def _rep_columns(self) -> tuple[TextColumn[RepRow], ...]:
        return (
            TextColumn("trial", lambda row: row.trial),
            TextColumn("level", lambda row: row.level),
            TextColumn("set", lambda row: str(row.set), number=True),
            TextColumn("rep", lambda row: str(row.rep or NOTHING), number=True),
            TextColumn("value", lambda row: self._value(row.value), number=True),
            TextColumn("", lambda _: ""),
        )

    def _value(self, value: float, *, signed: bool = False) -> str:
        return number_words(value, self._unit, signed=signed)

    def _counts(self, row: PersonRow) -> str:
        counts = (sum(isfinite(rep.value) for rep in row.of_level(level)) for level in self._levels)
        return " + ".join(map(str, counts))

    def show_detail(self, detail: RowDetail, levels: tuple[str, str], unit: str) -> None:
        """Show the participants of another row; A and B are the two levels."""
        held = self.table.currentIndex()
        who = self.people.row_at(held)
        self._levels, self._unit = levels, unit
        self.people.show(detail.people, self._person_columns())
        names = [row.participant for row in detail.people]
        if names:
            place = names.index(who.participant) if who is not None and who.participant in names else 0
            self.table.setCurrentIndex(self.people.index(place, max(held.column(), A)))
        self.picture.show_figure(detail.figure)
        self._show_reps()

    def _level_at(self, index: QModelIndex) -> str:
        """The level of the value that an index is on; both ('') elsewhere."""
        return {A: self._levels[0], B: self._levels[1]}.get(index.column(), "")

    def _show_reps(self) -> None:
        index = self.table.currentIndex()
        row, level = self.people.row_at(index), self._level_at(index)
        reps = () if row is None else row.of_level(level) if level else row.reps
        self.reps.show(reps)

    def _want_value(self, index: QModelIndex) -> None:
        row, level = self.people.row_at(index), self._level_at(index)
        if row is None:
            return
        reps = row.of_level(level) if level else row.reps
        if reps:
            self.trialWanted.emit(reps[0].trial, reps[0].rep_id)

    def _want_rep(self, index: QModelIndex) -> None:
        rep = self.reps.row_at(index)
        if rep is not None:
            self.trialWanted.emit(rep.trial, rep.rep_id)


def picture_area(picture: QWidget, name: str) -> QScrollArea:
    """A picture that scrolls where it is larger than its room."""
    area = QScrollArea()
    area.setWidget(picture)
    area.setWidgetResizable(True)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setAccessibleName(name)
    return area
