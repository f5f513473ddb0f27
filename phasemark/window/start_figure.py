"""The idea of the program in one drawing: a lowering and a raising, each in thirds of its range, and the EMG below."""

from math import cos, pi, sin

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from phasemark.model.marks import LOWERING, RAISING
from phasemark.window.palette import Scheme, scheme_of

_POINTS = 240
_THIRDS = ("upper", "middle", "lower")
_LEVELS = (0.0, 1 / 3, 2 / 3, 1.0)  # depth below the top, as shares of the range


def depth_at(share: float) -> float:
    """How deep the bar is (0 top, 1 bottom) after so much of the repetition: a raised cosine."""
    return 0.5 - 0.5 * cos(2 * pi * share)


class StartFigure(QWidget):
    """Decoration; all that it shows is said in words beside it."""

    def __init__(self) -> None:
        super().__init__()
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setAccessibleName("A repetition, lowered and raised, cut in thirds of its range")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        """Six lines of text high."""
        return QSize(40 * self.fontMetrics().averageCharWidth(), 6 * self.fontMetrics().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        """Thirds as tints, the path of the bar over them, an envelope with its noise below."""
        scheme = scheme_of(self.palette())
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        whole = QRectF(self.rect()).adjusted(1, 2, -1, -2)
        upper = QRectF(whole.left(), whole.top(), whole.width(), whole.height() * 0.62)
        lower = QRectF(whole.left(), whole.top() + whole.height() * 0.70, whole.width(), whole.height() * 0.30)
        _draw_thirds(painter, scheme, upper)
        _draw_path(painter, scheme, upper)
        _draw_emg(painter, scheme, lower)
        painter.end()


def _draw_thirds(painter: QPainter, scheme: Scheme, room: QRectF) -> None:
    half = room.width() / 2
    for place, phase in enumerate((LOWERING, RAISING)):
        for third, top, bottom in zip(_THIRDS, _LEVELS[:-1], _LEVELS[1:], strict=True):
            left, height = room.left() + place * half, room.height()
            band = QRectF(left, room.top() + top * height, half, (bottom - top) * height)
            painter.fillRect(band, scheme.tint(phase, third))
    painter.setPen(QPen(scheme.hair, 1))
    for level in _LEVELS[1:-1]:
        y = room.top() + level * room.height()
        painter.drawLine(QPointF(room.left(), y), QPointF(room.right(), y))


def _draw_path(painter: QPainter, scheme: Scheme, room: QRectF) -> None:
    for phase, begin in ((LOWERING, 0.0), (RAISING, 0.5)):
        shares = [begin + 0.5 * step / _POINTS for step in range(_POINTS + 1)]
        points = [
            QPointF(room.left() + s * room.width(), room.top() + (0.04 + 0.92 * depth_at(s)) * room.height())
            for s in shares
        ]
        painter.setPen(QPen(scheme.hue(phase), 2.5))
        painter.drawPolyline(QPolygonF(points))


def _draw_emg(painter: QPainter, scheme: Scheme, room: QRectF) -> None:
    """A made-up burst around the bottom: any wiggle that repeats nowhere looks like EMG."""
    middle = room.center().y()
    painter.setPen(QPen(scheme.raw, 1))
    points = []
    for step in range(3 * _POINTS):
        share = step / (3 * _POINTS)
        level = 0.12 + 0.8 * depth_at(share) ** 2
        wiggle = sin(step * 2.399) * sin(step * 0.731 + 1.3 * sin(step * 0.117))
        points.append(QPointF(room.left() + share * room.width(), middle - level * wiggle * room.height() / 2))
    painter.drawPolyline(QPolygonF(points))
