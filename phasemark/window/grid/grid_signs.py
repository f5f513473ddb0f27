"""The signs of the study's grid: a small frame that fills from below as repetitions are checked.

Each sign differs by its shape, so that it is told without colour: a broken frame has no marks, a frame with two
lines across has automatic marks, one whose lines do not meet has marks older than the settings, a filled one with a
tick is checked, a hatched one is excluded (as in the traces), a lozenge is a problem, a short trace is a recording
with nothing to mark. Beside any of them a pennant says that findings of its signals are still to be decided.
"""

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen, QPolygonF

from phasemark.results.study_grid import State
from phasemark.window.palette import Scheme

_TRACE = (0.0, 0.0, 1.0, -0.8, 0.0, 0.0)


def sign_width(metrics: QFontMetricsF) -> float:
    """Logical pixels that a sign is wide; it goes with the text."""
    return float(max(9, 2 * round(0.40 * metrics.ascent()) + 1))


def sign_height(metrics: QFontMetricsF) -> float:
    """Logical pixels that a sign is high."""
    return float(max(11, round(1.04 * metrics.ascent())))


def paint_sign(painter: QPainter, box: QRectF, state: State, share: float, scheme: Scheme) -> None:
    """Paint the sign of a state into a box; share (0 to 1) of the repetitions are checked."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    _Sign(painter, box, scheme).paint(state, share)
    painter.restore()


def pennant_width(metrics: QFontMetricsF) -> float:
    """Logical pixels that a pennant takes beside its sign."""
    return float(round(0.6 * sign_width(metrics)))


def paint_pennant(painter: QPainter, sign: QRectF, width: float, scheme: Scheme) -> None:
    """Paint the pennant of findings to decide: a triangle that flies from a sign's upper right corner."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    left = sign.right() + max(1.0, round(sign.height() / 13))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(scheme.ink)
    top, deep = sign.top(), 0.5 * sign.height()
    tip = QPointF(sign.right() + width, top + deep / 2)
    painter.drawPolygon(QPolygonF([QPointF(left, top), tip, QPointF(left, top + deep)]))
    painter.restore()


class _Sign:
    def __init__(self, painter: QPainter, box: QRectF, scheme: Scheme) -> None:
        self.painter, self.scheme = painter, scheme
        self.stroke = max(1.0, round(box.height() / 13))
        inset = self.stroke / 2
        self.frame = box.adjusted(inset, inset, -inset, -inset)

    def paint(self, state: State, share: float) -> None:
        {
            State.PROBLEM: self.problem,
            State.NO_MARKS: self.no_marks,
            State.OLDER: lambda: self.older(share),
            State.TO_CHECK: lambda: self.to_check(share),
            State.CHECKED: self.checked,
            State.EXCLUDED: self.excluded,
            State.RECORDED: self.recorded,
            State.EMPTY: self.empty,
        }[state]()

    def pen(self, colour: QColor, wide: float = 1.0) -> QPen:
        pen = QPen(colour, self.stroke * wide)
        pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        return pen

    def outline(self, colour: QColor) -> None:
        self.painter.setPen(self.pen(colour))
        self.painter.setBrush(Qt.BrushStyle.NoBrush)
        self.painter.drawRect(self.frame)

    def no_marks(self) -> None:
        """Only the corners of a frame."""
        self.painter.setPen(self.pen(self.scheme.ink))
        across, down = self.frame.width() * 0.30, self.frame.height() * 0.26
        for x, dx in ((self.frame.left(), across), (self.frame.right(), -across)):
            for y, dy in ((self.frame.top(), down), (self.frame.bottom(), -down)):
                corner = QPointF(x, y)
                self.painter.drawPolyline(QPolygonF([corner + QPointF(dx, 0), corner, corner + QPointF(0, dy)]))

    def to_check(self, share: float) -> None:
        """A frame cut in thirds, filled from below."""
        filled = QRectF(self.frame)
        filled.setTop(self.frame.bottom() - share * self.frame.height())
        self.painter.fillRect(filled, self.scheme.soft)
        self.painter.setPen(self.pen(self.scheme.ink))
        for third in (1, 2):
            y = round(self.frame.top() + third * self.frame.height() / 3) + self.stroke / 2 % 1
            self.painter.drawLine(QPointF(self.frame.left(), y), QPointF(self.frame.right(), y))
        self.outline(self.scheme.ink)

    def older(self, share: float) -> None:
        """A frame whose halves have slipped: the lines across do not meet."""
        frame, half = self.frame, self.frame.width() / 2
        self.painter.fillRect(
            QRectF(frame.left(), frame.bottom() - share * frame.height(), half, share * frame.height()),
            self.scheme.soft,
        )
        self.painter.setPen(self.pen(self.scheme.ink))
        for side, heights in ((0, (0.25, 0.55)), (1, (0.45, 0.75))):
            for height in heights:
                y = round(frame.top() + height * frame.height()) + self.stroke / 2 % 1
                left = frame.left() + side * half
                self.painter.drawLine(QPointF(left, y), QPointF(left + half, y))
        x = round(frame.center().x()) + self.stroke / 2 % 1
        self.painter.drawLine(QPointF(x, frame.top()), QPointF(x, frame.bottom()))
        self.outline(self.scheme.ink)

    def checked(self) -> None:
        """A full frame with a tick cut out; quieter than what is still to do."""
        self.painter.fillRect(self.frame, self.scheme.raw)
        self.outline(self.scheme.raw)
        pen = self.pen(self.scheme.base, 1.5)
        self.painter.setPen(pen)
        at = self.frame
        self.painter.drawPolyline(
            QPolygonF(
                [
                    QPointF(at.left() + at.width() * x, at.top() + at.height() * y)
                    for x, y in ((0.18, 0.52), (0.42, 0.74), (0.84, 0.26))
                ]
            )
        )

    def excluded(self) -> None:
        """A frame hatched as excluded repetitions are."""
        self.painter.save()
        self.painter.setClipRect(self.frame)
        self.painter.setPen(self.pen(self.scheme.soft))
        step = self.frame.width() / 2
        lines = int(self.frame.height() / step) + 3
        for line in range(lines):
            y = self.frame.top() + line * step
            self.painter.drawLine(QPointF(self.frame.left(), y), QPointF(self.frame.right(), y - self.frame.width()))
        self.painter.restore()
        self.outline(self.scheme.soft)

    def problem(self) -> None:
        """A lozenge with a stroke and a dot in it."""
        middle, reach = self.frame.center(), self.frame.height() / 2 + self.stroke
        aside = min(reach, 0.72 * self.frame.width())
        corners = [QPointF(0, -reach), QPointF(aside, 0), QPointF(0, reach), QPointF(-aside, 0)]
        self.painter.setPen(Qt.PenStyle.NoPen)
        self.painter.setBrush(self.scheme.ink)
        self.painter.drawPolygon(QPolygonF([middle + corner for corner in corners]))
        self.painter.setPen(self.pen(self.scheme.base, 1.5))
        self.painter.drawLine(middle - QPointF(0, reach * 0.52), middle + QPointF(0, reach * 0.10))
        self.painter.drawLine(middle + QPointF(0, reach * 0.26), middle + QPointF(0, reach * 0.50))

    def recorded(self) -> None:
        """A short trace."""
        self.painter.setPen(self.pen(self.scheme.soft))
        step = self.frame.width() / (len(_TRACE) - 1)
        reach = self.frame.height() * 0.42
        middle = self.frame.center().y()
        points = [QPointF(self.frame.left() + i * step, middle - reach * y) for i, y in enumerate(_TRACE)]
        self.painter.drawPolyline(QPolygonF(points))

    def empty(self) -> None:
        """A short dash."""
        self.painter.setPen(self.pen(self.scheme.raw))
        middle, reach = self.frame.center(), self.frame.width() * 0.28
        self.painter.drawLine(middle - QPointF(reach, 0), middle + QPointF(reach, 0))
