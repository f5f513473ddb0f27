"""Left of the traces: each lane's name and unit, and a scale of its own with values a person can read."""

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from phasemark.window.lane_layout import Band
from phasemark.window.palette import Scheme
from phasemark.window.tick_values import Tick, ticks
from phasemark.window.trial_picture import Lane

_AIR = 6.0
_TICK = 5.0
_NAME_ROWS, _WIDEST_ROWS = 7.0, 16.0  # narrowest and widest column of names, in heights of a row of text
_ROWS_A_TICK = 2.6


def lane_ticks(band: Band, metrics: QFontMetricsF) -> tuple[Tick, ...]:
    """Ticks of a lane whose texts lie within it and clear of each other.

    A lane too low for two texts has two ticks as well: its largest with a text, and zero or its smallest without.
    """
    rows = metrics.height()
    inset = min(rows * 0.35, band.height * 0.15) / abs(band.px_per_unit)
    low, high = band.low + inset, band.high - inset
    if band.height > 2 * rows:
        found = ticks(low, high, max(2, int(band.height / (_ROWS_A_TICK * rows)) + 1))
        if len(found) > 1:
            return found
    found = ticks(low, high, 3)
    if len(found) < 2:
        return found
    foot = next((tick for tick in found if tick.value == 0 and tick is not found[-1]), found[0])
    return (Tick(foot.value, ""), found[-1])


def wrapped(text: str, metrics: QFontMetricsF, room: float, rows: int) -> tuple[str, ...]:
    """A text in at most so many rows of so many pixels, broken between words.

    What does not fit is elided in its middle, so that a side at its end stays.
    """
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if metrics.horizontalAdvance(longer) <= room or not lines[-1]:
            lines[-1] = longer
        else:
            lines.append(word)
    if len(lines) > rows:
        lines = [*lines[: rows - 1], " ".join(lines[rows - 1 :])]
    return tuple(metrics.elidedText(line, Qt.TextElideMode.ElideMiddle, room) for line in lines)


class LaneGutter(QWidget):
    """Names, units and scales of the lanes, level with them."""

    def __init__(self, scheme: Scheme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Expanding)
        self._scheme = scheme
        self._lanes: Sequence[Lane] = ()
        self._bands: Sequence[Band] = ()

    def set_lanes(self, lanes: Sequence[Lane], bands: Sequence[Band], scheme: Scheme) -> None:
        """What to name and where."""
        self._lanes, self._bands, self._scheme = lanes, bands, scheme
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        """As wide as names, tick values and ticks need."""
        name, tick = self._widths()
        return QSize(round(3 * _AIR + name + tick + _TICK), 100)

    def _name_font(self) -> QFont:
        font = QFont(self.font())
        font.setWeight(QFont.Weight.DemiBold)
        return font

    def _widths(self) -> tuple[float, float]:
        """Widths (px) of the column of names and of the column of tick values."""
        bold, plain = QFontMetricsF(self._name_font()), QFontMetricsF(self.font())
        words = [bold.horizontalAdvance(word) for lane in self._lanes for word in lane.label.split()]
        whole = [bold.horizontalAdvance(lane.label) for lane in self._lanes]
        one_row = any(band.height < 2 * bold.height() for band in self._bands)
        wanted = max(whole, default=0.0) + plain.horizontalAdvance(" mV,") if one_row else max(words, default=0.0)
        values = [plain.horizontalAdvance(t.text) for band in self._bands for t in lane_ticks(band, plain)]
        return min(max(wanted, _NAME_ROWS * bold.height()), _WIDEST_ROWS * bold.height()), max(values, default=0.0)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint every lane's name and scale."""
        painter = QPainter(self)
        name, _ = self._widths()
        for lane, band in zip(self._lanes, self._bands, strict=True):
            self._paint_name(painter, lane, band, name)
            self._paint_scale(painter, band)
        painter.end()

    def _paint_name(self, painter: QPainter, lane: Lane, band: Band, room: float) -> None:
        bold, plain = QFontMetricsF(self._name_font()), QFontMetricsF(self.font())
        rest = ", ".join(word for word in (lane.unit, "excluded" if lane.excluded else "") if word)
        rows = max(1, int((band.height + 4) / bold.height()))
        aside = plain.horizontalAdvance(f" {rest}") if rows == 1 else 0.0
        texts = wrapped(lane.label, bold, room - aside, max(1, rows - bool(rest)))
        y = band.top if rows > 2 else (band.top + band.bottom - min(rows, len(texts) + 1) * bold.height()) / 2
        painter.setFont(self._name_font())
        painter.setPen(self._scheme.soft if lane.excluded else self._scheme.ink)
        for text in texts:
            painter.drawText(QPointF(_AIR, y + bold.ascent()), text)
            y += bold.height()
        painter.setFont(self.font())
        painter.setPen(self._scheme.soft)
        beside = bold.horizontalAdvance(f"{texts[-1]} ") if rows == 1 else 0.0
        painter.drawText(QPointF(_AIR + beside, y + plain.ascent() - (bold.height() if rows == 1 else 0.0)), rest)

    def _paint_scale(self, painter: QPainter, band: Band) -> None:
        metrics = QFontMetricsF(self.font())
        right = self.width() - 0.5
        painter.setFont(self.font())
        pen = QPen(self._scheme.soft, 1)
        painter.setPen(pen)
        painter.drawLine(QPointF(right, round(band.top) + 0.5), QPointF(right, round(band.bottom) - 0.5))
        for tick in lane_ticks(band, metrics):
            y = round(band.y(tick.value)) + 0.5
            painter.drawLine(QPointF(right - _TICK, y), QPointF(right, y))
            box = QRectF(0, y - metrics.height() / 2, right - _TICK - _AIR / 2, metrics.height())
            painter.drawText(box, int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter), tick.text)
