"""Paints how a row stands as one of the signs of the study's grid, in tables of the pages for judging."""

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter
from PySide6.QtWidgets import QStyledItemDelegate, QStyleOptionViewItem

from phasemark.window.grid.grid_signs import paint_sign, sign_height, sign_width
from phasemark.window.palette import scheme_of

_AIR = 4.0


class SignDelegate(QStyledItemDelegate):
    """A cell with the sign that its model gives in a role."""

    def __init__(self, role: int) -> None:
        super().__init__()
        self._role = role

    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> QSize:
        """Room for a sign."""
        metrics = QFontMetricsF(option.font)
        return QSize(round(sign_width(metrics) + 2 * _AIR), round(metrics.height() + _AIR))

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        """The ground of the row, then the sign in its middle."""
        super().paint(painter, option, index)
        state = index.data(self._role)
        if state is None:
            return
        metrics, room = QFontMetricsF(option.font), QRectF(option.rect)
        box = QRectF(0, 0, sign_width(metrics), sign_height(metrics))
        box.moveCenter(room.center())
        box.moveTopLeft(box.topLeft().toPoint().toPointF())
        palette = option.palette
        palette.setCurrentColorGroup(palette.ColorGroup.Active)
        paint_sign(painter, box, state, 0.0, scheme_of(palette))

    def initStyleOption(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> None:
        """No text beside the sign."""
        super().initStyleOption(option, index)
        option.text = ""
        option.displayAlignment = Qt.AlignmentFlag.AlignCenter
