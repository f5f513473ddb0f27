"""The view of the table of marks: one row for each boundary, one row selected at a time."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView

from phasemark.window.marks_table import CHECKED, EXCLUDED, MarksTable
from phasemark.window.visible_edges import EdgedCheckDelegate


def marks_view(table: MarksTable) -> QTableView:
    """A view of a table of marks."""
    view = QTableView()
    view.setModel(table)
    view.setItemDelegateForColumn(CHECKED, EdgedCheckDelegate(view))
    view.setAccessibleName("Marks of the trial")
    view.setSelectionBehavior(QTableView.SelectionBehavior.SelectRows)
    view.setSelectionMode(QTableView.SelectionMode.SingleSelection)
    view.setFrameShape(QTableView.Shape.NoFrame)
    view.setShowGrid(False)
    view.setTabKeyNavigation(False)
    view.verticalHeader().hide()
    view.verticalHeader().setDefaultSectionSize(view.fontMetrics().height() + 6)
    view.horizontalHeader().setHighlightSections(False)
    view.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
    view.horizontalHeader().setSectionResizeMode(EXCLUDED, QHeaderView.ResizeMode.Stretch)
    view.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
    view.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
    return view
