"""What belongs to the comparison in hand: participants, mean curves, robustness, further statistics.

trialWanted(trial, rep id or None)   a trial is to be brought into view
curvesWanted(), robustnessWanted()   these are to be worked out
overChanged()                        curves are to be over time, or over the range of motion
"""

from PySide6.QtCore import QSize, Signal
from PySide6.QtWidgets import QComboBox, QTabWidget, QVBoxLayout, QWidget

from phasemark.results.phase_curves import Over
from phasemark.session.comparison_statistics import StatisticLine
from phasemark.session.comparison_tables import RowDetail
from phasemark.window.comparing.on_demand_view import OnDemandView
from phasemark.window.comparing.people_view import PeopleView
from phasemark.window.comparing.plain_model import PlainModel, TextColumn
from phasemark.window.comparing.robustness_view import RobustnessView
from phasemark.window.elided_label import ElidedLabel
from phasemark.window.judging.judging_parts import FlowRow
from phasemark.window.judging.judging_table import JudgingTable
from phasemark.window.visible_edges import keep_edge_seen

_CURVES_WORDS = (
    "Mean curves of EMG amplitude over 0–100 % of each phase, with the SD between participants. All recordings are "
    "read for them, which takes a while."
)
_LEAST_LINES = 18


class RowTabs(QWidget):
    """The row in hand in words, and its tabs; the module's first lines say what comes out."""

    trialWanted = Signal(str, object)
    curvesWanted = Signal()
    robustnessWanted = Signal()
    overChanged = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title = ElidedLabel()
        font = self.title.font()
        font.setBold(True)
        self.title.setFont(font)
        self.people = PeopleView()
        self.over = QComboBox()
        for over, words in ((Over.TIME, "over time"), (Over.RANGE, "over the range of motion")):
            self.over.addItem(words, over)
        self.over.setAccessibleName("What 0 to 100 % are of")
        keep_edge_seen(self.over)
        self.curves = OnDemandView("Mean curves", "&Work out the curves", _CURVES_WORDS, above=FlowRow((self.over,)))
        self.robustness = RobustnessView()
        self.statistics = PlainModel[StatisticLine](
            (
                TextColumn("", lambda line: line.group),
                TextColumn("statistic", lambda line: line.name),
                TextColumn("value", lambda line: line.value),
                TextColumn("what it rests on", lambda line: line.note),
            )
        )
        self.statistics_table = JudgingTable(self.statistics, "Further statistics", most_letters=34)
        self.tabs = QTabWidget()
        self.tabs.setDocumentMode(True)
        named: tuple[QWidget, ...] = (self.tabs, self.tabs.tabBar())
        for part in named:
            part.setAccessibleName("What is shown of the comparison in hand")
        self.tabs.addTab(self.people, "Partici&pants")
        self.tabs.addTab(self.curves, "Mean cur&ves")
        self.tabs.addTab(self.robustness, "&Robustness")
        self.tabs.addTab(self.statistics_table, "Further &statistics")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.title)
        column.addWidget(self.tabs, 1)
        self.people.trialWanted.connect(self.trialWanted)
        self.curves.wanted.connect(self.curvesWanted)
        self.robustness.wanted.connect(self.robustnessWanted)
        self.over.currentIndexChanged.connect(lambda _: self.overChanged.emit())

    def sizeHint(self) -> QSize:
        """A few lines; where there is more room they have it."""
        return QSize(super().sizeHint().width(), _LEAST_LINES * self.fontMetrics().lineSpacing())

    def minimumSizeHint(self) -> QSize:
        """No less than these lines: the page scrolls before."""
        return QSize(super().minimumSizeHint().width(), self.sizeHint().height())

    def show_detail(self, detail: RowDetail, levels: tuple[str, str], unit: str) -> None:
        """Show what belongs to another row."""
        self.title.setText(detail.row.place.text[:1].upper() + detail.row.place.text[1:])
        self.people.show_detail(detail, levels, unit)
        self.statistics.show(_grouped(detail.lines))

    @property
    def chosen_over(self) -> Over:
        """What curves are to be over."""
        return Over(self.over.currentData())


def _grouped(lines: tuple[StatisticLine, ...]) -> list[StatisticLine]:
    """The lines with their heading on the first line of each group only."""
    shown, before = [], ""
    for line in lines:
        shown.append(line if line.group != before else StatisticLine("", line.name, line.value, line.note))
        before = line.group
    return shown
