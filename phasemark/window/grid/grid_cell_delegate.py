"""Paints a cell of the study's grid: a sign for each of its trials, pennants, and the count of checked repetitions."""

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPen
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem

from phasemark.results.study_grid import Cell, TrialProgress
from phasemark.window.grid.grid_model import GridModel
from phasemark.window.grid.grid_signs import paint_pennant, paint_sign, pennant_width, sign_height, sign_width
from phasemark.window.grid.grid_words import count_text
from phasemark.window.palette import scheme_of

_AIR = 4.0
_SPREAD = 0.7  # between signs: room for a pennant
_MOST_SIGNS = 4


def _step(metrics: QFontMetricsF) -> float:
    """From one sign to the next."""
    return round(sign_width(metrics) * (1 + _SPREAD))


def _words(cell: Cell) -> str:
    """The text beside the signs."""
    many = f"×{len(cell.trials)}" if len(cell.trials) > _MOST_SIGNS else ""
    return " ".join(filter(None, (many, count_text(cell))))


def signs_in(cell: Cell, box: QRectF, metrics: QFontMetricsF) -> tuple[tuple[TrialProgress | None, QRectF], ...]:
    """The boxes of a cell's signs: one for each trial, or one for all where they are many or none."""
    width, height = sign_width(metrics), sign_height(metrics)
    y = round(box.center().y() - height / 2)
    trials = cell.trials if 0 < len(cell.trials) <= _MOST_SIGNS else (None,)
    left = round(box.left() + _AIR + 1)
    return tuple((trial, QRectF(left + n * _step(metrics), y, width, height)) for n, trial in enumerate(trials))


def cell_width(cell: Cell, metrics: QFontMetricsF) -> float:
    """Logical pixels that a cell needs, also when all of its repetitions are checked."""
    signs = len(signs_in(cell, QRectF(), metrics)) * _step(metrics)
    widest = f"{cell.reps}/{cell.reps}" if cell.reps else ""
    words = f"×{len(cell.trials)} {widest}" if len(cell.trials) > _MOST_SIGNS else widest
    return 2 * _AIR + 1 + signs + metrics.horizontalAdvance(words)


class GridCellDelegate(QStyledItemDelegate):
    """The look of a cell. The trial in view is underlined, its cell tinted and framed on its left."""

    def __init__(self, model: GridModel) -> None:
        super().__init__()
        self._model = model
        self.in_view = ""

    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> QSize:
        """Room for signs and count."""
        cell, metrics = self._model.cell(index), QFontMetricsF(option.font)
        return QSize(round(cell_width(cell or Cell(), metrics)), round(metrics.height() + 2 * _AIR))

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        """Paint one cell."""
        cell = self._model.cell(index)
        if cell is None:
            return
        box = QRectF(option.rect)
        state: QStyle.StateFlag = option.state
        scheme, metrics = scheme_of(option.palette), QFontMetricsF(option.font)
        painter.save()
        painter.setFont(option.font)
        chosen = bool(state & QStyle.StateFlag.State_Selected)
        if chosen:
            painter.fillRect(box, scheme.hair)
        right = box.left() + _AIR
        for trial, sign in signs_in(cell, box, metrics):
            shown = cell.state if trial is None else trial.state
            checked, reps = (cell.checked, cell.reps) if trial is None else (trial.checked, trial.reps)
            paint_sign(painter, sign, shown, checked / reps if reps else 0.0, scheme)
            if (cell if trial is None else trial).findings:
                paint_pennant(painter, sign, pennant_width(metrics), scheme)
            if chosen and trial is not None and trial.trial == self.in_view:
                painter.fillRect(QRectF(sign.left(), box.bottom() - 3, sign.width(), 2), scheme.ink)
            right = sign.left() + _step(metrics)
        painter.setPen(scheme.ink if cell.to_do else scheme.soft)
        painter.drawText(QPointF(right, self._baseline(box, metrics)), _words(cell))
        if state & QStyle.StateFlag.State_HasFocus:
            painter.setPen(QPen(scheme.ink, 1))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(box.adjusted(0.5, 0.5, -0.5, -0.5))
        painter.restore()

    @staticmethod
    def _baseline(box: QRectF, metrics: QFontMetricsF) -> float:
        return round(box.center().y() + (metrics.ascent() - metrics.descent()) / 2)
