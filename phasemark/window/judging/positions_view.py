"""The table of MVIC positions and the muscles each is a reference for."""

from PySide6.QtCore import QEvent, Qt
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QSizePolicy, QTableView, QVBoxLayout, QWidget

from phasemark.window.judging.judging_parts import plain_label
from phasemark.window.judging.positions_model import PositionsModel
from phasemark.window.visible_edges import EdgedCheckDelegate

_WORDS = "Ticked: attempts in the position are a reference for the muscle. Space ticks the box in hand."


class PositionsView(QWidget):
    """Boxes to tick, and below them which muscles have no position."""

    def __init__(self, model: PositionsModel) -> None:
        super().__init__()
        self.table, self.without, self.refusal = QTableView(), plain_label(), plain_label()
        table = self.table
        table.setModel(model)
        self._boxes = EdgedCheckDelegate()
        table.setItemDelegate(self._boxes)
        table.setAccessibleName("MVIC positions and the muscles they serve")
        table.setFrameShape(QTableView.Shape.NoFrame)
        table.setTabKeyNavigation(False)
        table.setSelectionMode(QTableView.SelectionMode.SingleSelection)
        table.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        table.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        table.verticalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        table.setSizeAdjustPolicy(QTableView.SizeAdjustPolicy.AdjustToContents)
        table.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Maximum)
        model.refused.connect(self._refuse)
        model.dataChanged.connect(lambda *_: self._refuse(""))
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 4, 0, 0)
        for part in (table, self.refusal, self.without, plain_label(_WORDS)):
            column.addWidget(part)
        column.addStretch(1)
        self._refuse("")
        self.show_without(())

    def show_without(self, muscles: tuple[str, ...]) -> None:
        """Say which muscles no position serves."""
        said = f"No position serves {', '.join(muscles)}: reported in mV." if muscles else ""
        self.without.setText(said)
        self.without.setVisible(bool(said))

    def _refuse(self, sentence: str) -> None:
        self.refusal.setText(sentence)
        self.refusal.setVisible(bool(sentence))

    def changeEvent(self, event: QEvent) -> None:
        """Follow the system's font."""
        super().changeEvent(event)
        if event.type() is QEvent.Type.FontChange:
            self.table.resizeRowsToContents()
