"""The heads of the grid: conditions in a few lines with their totals above, participants at the side."""

from PySide6.QtCore import QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHeaderView, QWidget

from phasemark.results.study_grid import Grid
from phasemark.window.grid.grid_model import GridModel
from phasemark.window.grid.grid_words import total_texts
from phasemark.window.palette import Scheme, scheme_of
from phasemark.window.wrapped_text import wrapped_lines

_MOST_LINES = 3
_MOST_DETAIL_LINES = 2
_AIR = 4.0
_WIDEST_CODE = 14
_WIDEST_WORD = 14


def _bold(font: QFont) -> QFont:
    bold = QFont(font)
    bold.setBold(True)
    return bold


class _PlainHeader(QHeaderView):
    """A header on the ground of the cells, also where it has no sections."""

    def __init__(self, orientation: Qt.Orientation, model: GridModel, parent: QWidget) -> None:
        super().__init__(orientation, parent)
        self._grid_model = model
        self.setSectionsClickable(False)
        self.setHighlightSections(False)
        self.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.setMinimumSectionSize(1)

    @property
    def _grid(self) -> Grid:
        return self._grid_model.grid

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the sections, and the ground behind the last."""
        super().paintEvent(event)
        rest, used = self.viewport().rect(), self.length() - self.offset()
        if self.orientation() == Qt.Orientation.Horizontal:
            rest.setLeft(used)
        else:
            rest.setTop(used)
        painter = QPainter(self.viewport())
        painter.fillRect(rest, scheme_of(self.palette()).base)
        painter.end()


class GridHeader(_PlainHeader):
    """Heads at the foot of which all totals stand in one line."""

    def __init__(self, model: GridModel, parent: QWidget) -> None:
        super().__init__(Qt.Orientation.Horizontal, model, parent)

    def _title_font(self) -> QFont:
        return _bold(self.font())

    def least_width(self, section: int) -> float:
        """Logical pixels in which the words of a head are not shortened, within reason, nor its total."""
        metrics, grid = QFontMetricsF(self._title_font()), self._grid
        longest = max(map(metrics.horizontalAdvance, grid.conditions[section].title.split()), default=0.0)
        total = QFontMetricsF(self.font()).horizontalAdvance(total_texts(grid.totals[section])[-1])
        return 2 * _AIR + 2 + max(total, min(longest, _WIDEST_WORD * metrics.averageCharWidth()))

    def head_lines(self, section: int) -> tuple[list[str], list[str]]:
        """Lines of the title and of what parts it, as wide as the column is."""
        condition = self._grid.conditions[section]
        width = self.sectionSize(section) - 2 * _AIR
        # The ends of names tell them apart as often as their beginnings.
        middle = Qt.TextElideMode.ElideMiddle
        return (
            wrapped_lines(condition.title, QFontMetricsF(self._title_font()), width, _MOST_LINES, middle),
            wrapped_lines(condition.detail, QFontMetricsF(self.font()), width, _MOST_DETAIL_LINES, middle),
        )

    def sizeHint(self) -> QSize:
        """High enough for the longest head."""
        shown = [s for s in range(self.count()) if not self.isSectionHidden(s)]
        most = max((sum(map(len, self.head_lines(section))) for section in shown), default=1)
        height = (most + 1) * QFontMetricsF(self._title_font()).height() + 4 * _AIR
        return QSize(super().sizeHint().width(), round(height))

    def paintSection(self, painter: QPainter, rect: QRect, logicalIndex: int) -> None:
        """Paint one head."""
        if not 0 <= logicalIndex < len(self._grid.conditions):
            return
        scheme = scheme_of(self.palette())
        painter.save()
        painter.fillRect(rect, scheme.base)
        box = QRectF(rect).adjusted(_AIR, _AIR, -_AIR, -_AIR)
        titles, details = self.head_lines(logicalIndex)
        metrics = QFontMetricsF(self._title_font())
        y = box.top()
        for lines, font, colour in ((titles, self._title_font(), scheme.ink), (details, self.font(), scheme.soft)):
            painter.setFont(font)
            painter.setPen(colour)
            for line in lines:
                painter.drawText(QPointF(box.left(), y + metrics.ascent()), line)
                y += metrics.height()
        self._paint_total(painter, box, logicalIndex, scheme)
        painter.setPen(QPen(scheme.soft, 1))
        painter.drawLine(rect.bottomLeft(), rect.bottomRight())
        painter.restore()

    def _paint_total(self, painter: QPainter, box: QRectF, section: int, scheme: Scheme) -> None:
        metrics = QFontMetricsF(self.font())
        texts = total_texts(self._grid.totals[section])
        text = next((text for text in texts if metrics.horizontalAdvance(text) <= box.width()), texts[-1])
        painter.setFont(self.font())
        painter.setPen(scheme.soft)
        painter.drawText(QPointF(box.left(), box.bottom() - metrics.descent()), text)


class ParticipantHeader(_PlainHeader):
    """Codes of the participants, that of the trial in view in bold."""

    def __init__(self, model: GridModel, parent: QWidget) -> None:
        super().__init__(Qt.Orientation.Vertical, model, parent)
        self._in_view = -1

    def set_in_view(self, row: int) -> None:
        """The row of the trial in view (-1 for none)."""
        if row != self._in_view:
            for section in (self._in_view, row):
                if 0 <= section < self.count():
                    self.updateSection(section)
            self._in_view = row

    def sizeHint(self) -> QSize:
        """As wide as the longest code, within reason."""
        metrics = QFontMetricsF(_bold(self.font()))
        widest = max(map(metrics.horizontalAdvance, self._grid.participants), default=0.0)
        return QSize(round(min(widest, _WIDEST_CODE * metrics.averageCharWidth()) + 2 * _AIR + 2), 0)

    def paintSection(self, painter: QPainter, rect: QRect, logicalIndex: int) -> None:
        """Paint one code."""
        participants = self._grid.participants
        if not 0 <= logicalIndex < len(participants):
            return
        scheme = scheme_of(self.palette())
        font = _bold(self.font()) if logicalIndex == self._in_view else self.font()
        painter.save()
        painter.fillRect(rect, scheme.base)
        painter.setFont(font)
        painter.setPen(scheme.ink)
        box = QRectF(rect).adjusted(_AIR, 0, -_AIR, 0)
        text = QFontMetricsF(font).elidedText(participants[logicalIndex], Qt.TextElideMode.ElideMiddle, box.width())
        painter.drawText(box, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, text)
        painter.restore()
