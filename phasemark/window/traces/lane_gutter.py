"""Left of the traces: each lane's name and unit, and a scale of its own with values a person can read."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, QSizeF, Qt, Signal
from PySide6.QtGui import (
    QFont,
    QFontInfo,
    QFontMetricsF,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPalette,
    QPen,
    QPixmap,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from phasemark.window.palette import Scheme
from phasemark.window.traces.lane_layout import Band
from phasemark.window.traces.readout_words import widest_texts
from phasemark.window.traces.tick_values import Tick, ticks
from phasemark.window.traces.trial_picture import Lane

_AIR = 6.0
_TICK = 5.0
_NAME_ROWS, _WIDEST_ROWS = 7.0, 16.0  # narrowest and widest column of names, in heights of a row of text
_ROWS_A_TICK = 2.6
_TEXT_SHARES, _LEAST_TEXT_PX = (1.0, 0.9, 0.8, 0.7), 12
_FEWEST_LETTERS = 7
_IN_HAND_PX = 3.0
_WHEEL_STEP = 120
_HINT = "Wheel: a lane larger or smaller. Double click: as it fits."


def lane_ticks(band: Band, metrics: QFontMetricsF) -> tuple[Tick, ...]:
    """Ticks of a lane whose texts lie within it and clear of each other.

    Where a lane is too low for a row of them it has zero and its largest, or its smallest, zero and its largest; what
    there is no room for goes without a text.
    """
    rows = metrics.height()
    inset = min(rows * 0.35, band.height * 0.15) / abs(band.px_per_unit)
    low, high = band.low + inset, band.high - inset
    found = ticks(low, high, int(band.height / (_ROWS_A_TICK * rows)) + 1)
    if len(found) > 1 and band.height > 2 * rows:
        return found
    found = next((fine for fine in (ticks(low, high, most) for most in range(2, 8)) if len(fine) > 1), found)
    if len(found) < 2:
        return found
    foot = next((tick for tick in found[:-1] if tick.value == 0), found[0])
    first, last = found[0], found[-1]
    reach = abs(band.px_per_unit) / rows
    if (last.value - foot.value) * reach >= 1:
        return (foot, last)
    return (*((first,) if (last.value - first.value) * reach >= 1 else ()), Tick(foot.value, ""), last)


def _in_rows(text: str, metrics: QFontMetricsF, room: float) -> list[str]:
    """A text in rows of at most so many pixels, broken between words; a longer word has a row of its own."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if metrics.horizontalAdvance(longer) <= room or not lines[-1]:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def width_for_rows(text: str, metrics: QFontMetricsF, rows: int) -> float:
    """The least width (px) at which a text fits in so many rows."""
    words = text.split()
    runs = (" ".join(words[i:j]) for i in range(len(words)) for j in range(i + 1, len(words) + 1))
    longest = max((metrics.horizontalAdvance(word) for word in words), default=0.0)
    widths = sorted(metrics.horizontalAdvance(run) for run in runs)
    return next((w for w in widths if w >= longest and len(_in_rows(text, metrics, w)) <= rows), longest)


def wrapped(text: str, metrics: QFontMetricsF, room: float, rows: int) -> tuple[str, ...]:
    """A text in at most so many rows of so many pixels, broken between words.

    What does not fit is elided in its middle, so that a side at its end stays.
    """
    lines = _in_rows(text, metrics, room)
    if len(lines) > rows:
        lines = [*lines[: rows - 1], " ".join(lines[rows - 1 :])]
    return tuple(metrics.elidedText(line, Qt.TextElideMode.ElideMiddle, room) for line in lines)


def _beside(lane: Lane, scale: str) -> str:
    """What is said of a lane besides its name; scale is what is to be known of its scale."""
    return ", ".join(word for word in (lane.unit, scale, "excluded" if lane.excluded else "") if word)


@dataclass(frozen=True, slots=True)
class _Beside:
    """Where a lane's unit, or its values, stand: from where, and how many rows of them there is room for."""

    text: str
    x: float
    baseline: float
    step: float
    rows: int
    font: QFont


def _smaller(font: QFont, share: float) -> QFont:
    made = QFont(font)
    if share < 1:
        made.setPixelSize(round(QFontInfo(font).pixelSize() * share))
    return made


def _is_whole(label: str, metrics: QFontMetricsF, room: float, rows: int) -> bool:
    """Whether a name is whole in so many rows, the last of which is its unit's."""
    return rows > 1 and " ".join(wrapped(label, metrics, room, rows - 1)) == " ".join(label.split())


class LaneGutter(QWidget):
    """Names, units and scales of the lanes, level with them; the wheel over a lane draws it larger or smaller."""

    scaled = Signal(int, int)  # place of the lane, steps: larger above 0
    fitted = Signal(int)  # a lane is to be as it fits its values
    picked = Signal(int)

    def __init__(self, scheme: Scheme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Expanding)
        self._scheme = scheme
        self._lanes: Sequence[Lane] = ()
        self._bands: Sequence[Band] = ()
        self._scales: Sequence[str] = ()
        self._in_hand: int | None = None
        self._turned = 0
        self._held_widths: tuple[float, float] | None = None
        self._values: Sequence[tuple[str, ...]] | None = None
        self._besides: list[_Beside] = []
        self._drawn: QPixmap | None = None
        self._most = float("inf")
        self._share = 1.0

    def set_lanes(
        self, lanes: Sequence[Lane], bands: Sequence[Band], scheme: Scheme, most: float, *,
        scales: Sequence[str], in_hand: int | None,
    ) -> None:  # fmt: skip
        """What to name and where, in a column of at most so many pixels: the traces need room more than long names.

        scales are what is to be known of each lane's scale, in_hand the lane that the keys of scales act on.
        """
        self._most = most
        self.setToolTip("\n".join((*(lane.label for lane in lanes), _HINT)))  # whole where a name is elided
        self._lanes, self._bands, self._scheme = lanes, bands, scheme
        self._scales, self._in_hand = scales, in_hand
        self._held_widths = self._drawn = self._values = None
        self.updateGeometry()
        self.update()

    def set_values(self, values: Sequence[tuple[str, ...]] | None) -> None:
        """What stands in each lane in place of its unit: the values under the cursor; None: the units."""
        if values != self._values:
            self._values = values
            self.update()

    def changeEvent(self, event: QEvent) -> None:
        """Another font has other widths."""
        self._held_widths = self._drawn = None
        super().changeEvent(event)

    def sizeHint(self) -> QSize:
        """As wide as names, tick values and ticks need."""
        name, tick = self._widths()
        return QSize(round(3 * _AIR + name + tick + _TICK), 100)

    def _name_font(self) -> QFont:
        font = QFont(self.font())
        font.setWeight(QFont.Weight.DemiBold)
        return font

    def _widths(self) -> tuple[float, float]:
        """Widths (px) of the column of names and of the column of tick values; worked out once for these lanes."""
        if self._held_widths is None:
            self._held_widths = self._measured()
        return self._held_widths

    def _measured(self) -> tuple[float, float]:
        bold, plain = QFontMetricsF(self._name_font()), QFontMetricsF(self.font())
        wanted = [
            width_for_rows(lane.label, bold, max(1, self._rows(band) - 1)) + self._aside(lane, band, scale)
            for lane, band, scale in zip(self._lanes, self._bands, self._scales, strict=True)
        ]
        shown = [band for lane, band in zip(self._lanes, self._bands, strict=True) if not lane.covered]
        values = [plain.horizontalAdvance(t.text) for band in shown for t in lane_ticks(band, plain)]
        tick = max(values, default=0.0)
        name = min(max([_NAME_ROWS * bold.height(), *wanted]), _WIDEST_ROWS * bold.height())
        left = self._most - 3 * _AIR - tick - _TICK
        return max(min(name, left), bold.averageCharWidth() * _FEWEST_LETTERS), tick

    def _rows(self, band: Band, share: float = 1.0) -> int:
        """Rows of text that fit beside a lane, also of smaller text."""
        return max(1, int((band.height + 4) / QFontMetricsF(_smaller(self._name_font(), share)).height()))

    def _text_share(self, room: float) -> float:
        """How large the text beside the lanes is: smaller where all names are whole then, and some cut off else."""
        size = QFontInfo(self.font()).pixelSize()
        for share in (share for share in _TEXT_SHARES if share == 1 or share * size >= _LEAST_TEXT_PX):
            metrics = QFontMetricsF(_smaller(self._name_font(), share))
            bands = [self._rows(band, share) for band in self._bands]
            if all(_is_whole(lane.label, metrics, room, rows) for lane, rows in zip(self._lanes, bands, strict=True)):
                return share
        return 1.0

    def _aside(self, lane: Lane, band: Band, scale: str) -> float:
        """Width (px) of what stands beside the name where there is one row only."""
        plain = QFontMetricsF(self.font())
        room = max(plain.horizontalAdvance(f"  {text}") for text in (_beside(lane, scale), *widest_texts(lane, band)))
        return room if self._rows(band) == 1 else 0.0

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint every lane's name and scale, kept from before where nothing changed, and beside it unit or value."""
        if self._drawn is None or self._drawn.deviceIndependentSize() != QSizeF(self.size()):
            self._drawn = self._draw()
        painter = QPainter(self)
        painter.drawPixmap(0, 0, self._drawn)
        texts = self._values or [() for _ in self._besides]
        for beside, values in zip(self._besides, texts, strict=True):
            painter.setPen(self._scheme.ink if values else self._scheme.soft)
            painter.setFont(beside.font)
            for row, text in enumerate((values or (beside.text,))[: beside.rows]):
                painter.drawText(QPointF(beside.x, beside.baseline + row * beside.step), text)
        painter.end()

    def _draw(self) -> QPixmap:
        """Names and scales; where there is room beside each name is kept."""
        drawn = QPixmap(self.size() * self.devicePixelRatioF())
        drawn.setDevicePixelRatio(self.devicePixelRatioF())
        drawn.fill(Qt.GlobalColor.transparent)
        painter = QPainter(drawn)
        name, _ = self._widths()
        self._share = self._text_share(name)
        self._besides = []
        for lane, band, scale in zip(self._lanes, self._bands, self._scales, strict=True):
            self._besides.append(self._paint_name(painter, lane, band, name, scale))
            self._paint_scale(painter, lane, band)
        if self._in_hand is not None:
            band = self._bands[self._in_hand]
            mark = QRectF(0, band.top, _IN_HAND_PX, band.height)
            painter.fillRect(mark, self.palette().color(QPalette.ColorRole.Highlight))
        painter.end()
        return drawn

    def _paint_name(self, painter: QPainter, lane: Lane, band: Band, room: float, scale: str) -> "_Beside":
        share = self._share
        name_font, font = _smaller(self._name_font(), share), _smaller(self.font(), share)
        bold, plain = QFontMetricsF(name_font), QFontMetricsF(font)
        rows = self._rows(band, share)
        texts = wrapped(lane.label, bold, max(room - self._aside(lane, band, scale), room / 2), max(1, rows - 1))
        y = band.top if rows > 2 else (band.top + band.bottom - min(rows, len(texts) + 1) * bold.height()) / 2
        painter.setFont(name_font)
        painter.setPen(self._scheme.soft if lane.excluded else self._scheme.ink)
        for text in texts:
            painter.drawText(QPointF(_AIR, y + bold.ascent()), text)
            y += bold.height()
        at = bold.horizontalAdvance(f"{texts[-1]} ") if rows == 1 else 0.0
        baseline = y + plain.ascent() - (bold.height() if rows == 1 else 0.0)
        return _Beside(_beside(lane, scale), _AIR + at, baseline, plain.height(), max(1, rows - len(texts)), font)

    def _paint_scale(self, painter: QPainter, lane: Lane, band: Band) -> None:
        metrics = QFontMetricsF(self.font())
        right = self.width() - 0.5
        painter.setFont(self.font())
        pen = QPen(self._scheme.soft, 1)
        painter.setPen(pen)
        painter.drawLine(QPointF(right, round(band.top) + 0.5), QPointF(right, round(band.bottom) - 0.5))
        for tick in () if lane.covered else lane_ticks(band, metrics):
            y = round(band.y(tick.value)) + 0.5
            painter.drawLine(QPointF(right - _TICK, y), QPointF(right, y))
            box = QRectF(0, y - metrics.height() / 2, right - _TICK - _AIR / 2, metrics.height())
            painter.drawText(box, int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter), tick.text)

    # Mouse

    def _lane_at(self, y: float) -> int | None:
        return next((place for place, band in enumerate(self._bands) if band.top <= y <= band.bottom), None)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Draw the lane under the mouse larger or smaller, by whole steps of the wheel."""
        place = self._lane_at(event.position().y())
        self._turned += event.angleDelta().y()
        steps = int(self._turned / _WHEEL_STEP)
        self._turned -= steps * _WHEEL_STEP
        if place is not None and steps:
            self.scaled.emit(place, steps)
        event.accept()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take a lane in hand."""
        place = self._lane_at(event.position().y())
        if place is not None and event.button() is Qt.MouseButton.LeftButton:
            self.picked.emit(place)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Let a lane fit its values again."""
        place = self._lane_at(event.position().y())
        if place is not None and event.button() is Qt.MouseButton.LeftButton:
            self.fitted.emit(place)
