"""Which amplitude is read: RMS or mean amplitude."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QRadioButton, QWidget

from phasemark.session.rep_figure import Measure
from phasemark.window.visible_edges import keep_edge_seen


class MeasureChoice(QWidget):
    """One button for each measure; chosen(Measure)."""

    chosen = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self._buttons = QButtonGroup(self)
        self._by_measure: dict[Measure, QRadioButton] = {}
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        for place, measure in enumerate(Measure):
            button = QRadioButton(str(measure))
            button.setAccessibleName(f"Show {measure} in mV")
            button.setChecked(place == 0)
            keep_edge_seen(button)
            self._buttons.addButton(button, place)
            self._by_measure[measure] = button
            row.addWidget(button)
        row.addStretch(1)
        self._buttons.idClicked.connect(lambda place: self.chosen.emit(tuple(Measure)[place]))

    def button(self, measure: Measure) -> QRadioButton:
        """The button of a measure."""
        return self._by_measure[measure]
