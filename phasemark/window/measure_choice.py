"""Which amplitude is read, RMS or mean amplitude, and in what: mV or percent of the reference."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QButtonGroup, QComboBox, QHBoxLayout, QRadioButton, QSizePolicy, QWidget

from phasemark.session.rep_figure import Measure, Unit
from phasemark.window.visible_edges import keep_edge_seen

_UNIT_HINT = (
    "Percent of each muscle's reference, which is known once the study has been measured (Ctrl+R). "
    "A muscle without one stays in mV. Over 100 % is shown as it is."
)


class MeasureChoice(QWidget):
    """One button for each measure, chosen(Measure), and a box of units, unitChosen(Unit)."""

    chosen = Signal(object)
    unitChosen = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self._buttons = QButtonGroup(self)
        self._by_measure: dict[Measure, QRadioButton] = {}
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        for place, measure in enumerate(Measure):
            button = QRadioButton(str(measure))
            button.setAccessibleName(f"Show {measure}")
            button.setChecked(place == 0)
            keep_edge_seen(button)
            self._buttons.addButton(button, place)
            self._by_measure[measure] = button
            row.addWidget(button)
        self.units = QComboBox()
        for unit in Unit:
            self.units.addItem(str(unit))
        self.units.setAccessibleName("What amplitudes are stated in")
        self.units.setToolTip(_UNIT_HINT)
        self.units.setMinimumContentsLength(2)
        self.units.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        keep_edge_seen(self.units)
        row.addWidget(self.units)
        row.addStretch(1)
        self._buttons.idClicked.connect(lambda place: self.chosen.emit(tuple(Measure)[place]))
        self.units.activated.connect(lambda place: self.unitChosen.emit(tuple(Unit)[place]))

    def button(self, measure: Measure) -> QRadioButton:
        """The button of a measure."""
        return self._by_measure[measure]

    @property
    def measure(self) -> Measure:
        """The measure that is chosen."""
        return tuple(Measure)[max(self._buttons.checkedId(), 0)]

    @property
    def unit(self) -> Unit:
        """The unit that is chosen."""
        return tuple(Unit)[max(self.units.currentIndex(), 0)]

    def put_words(self, measure: str, unit: str) -> None:
        """Choose what was remembered; words that mean nothing leave the choice as it is."""
        self.put(
            Measure(measure) if measure in set(Measure) else self.measure,
            Unit(unit) if unit in set(Unit) else self.unit,
        )

    def put(self, measure: Measure, unit: Unit) -> None:
        """Choose what was chosen before, and tell."""
        self._by_measure[measure].setChecked(True)
        self.units.setCurrentIndex(tuple(Unit).index(unit))
        self.chosen.emit(measure)
        self.unitChosen.emit(unit)
