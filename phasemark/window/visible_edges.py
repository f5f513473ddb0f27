"""Edges of check boxes and fields that are seen on a dark ground as well: styles make them darker than the window."""

from PySide6.QtCore import QEvent, QModelIndex, QObject, QPersistentModelIndex
from PySide6.QtGui import QColor, QPalette
from PySide6.QtWidgets import QStyledItemDelegate, QStyleOptionViewItem, QWidget

from phasemark.window.palette import scheme_of

_STYLES_DARKEN = 140
"""Percent by which styles darken the colour of the window for an edge."""

_made: dict[int, QColor] = {}


def edge_maker(palette: QPalette) -> QColor:
    """The colour of a window whose edges are as plain to see as a trace."""
    key = palette.cacheKey()
    if key not in _made:  # asked for each cell of a table each time it is measured or painted
        _made.clear()
        _made[key] = scheme_of(palette).raw.lighter(_STYLES_DARKEN)
    return _made[key]


class _Edges(QObject):
    """Follows a widget's colours."""

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() is QEvent.Type.PaletteChange and isinstance(watched, QWidget):
            show_edge(watched)
        return False


def show_edge(widget: QWidget) -> None:
    """Give a widget the edge that goes with its colours now."""
    toned = QPalette()
    toned.setColor(QPalette.ColorRole.Window, edge_maker(widget.palette()))
    widget.setPalette(toned)


def keep_edge_seen(*widgets: QWidget) -> None:
    """Have the edges of check boxes, radio buttons and fields seen, also when the system's colours change."""
    for widget in widgets:
        show_edge(widget)
        widget.installEventFilter(_Edges(widget))


class EdgedCheckDelegate(QStyledItemDelegate):
    """Cells with a check box whose edge is seen."""

    def initStyleOption(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> None:
        """Tone the edge."""
        super().initStyleOption(option, index)
        option.palette.setColor(QPalette.ColorRole.Window, edge_maker(option.palette))
