"""Small signs beside a rep's number: a tick where a person has checked it, a ring with a question where in doubt."""

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPen, QPolygonF

from phasemark.model.marks import DOUBTFUL, Rep

_TICK = ((0.05, 0.55), (0.38, 0.88), (0.95, 0.15))


def signs_of(rep: Rep) -> tuple[str, ...]:
    """Which signs a rep has, in their order; a rep that a person has checked or excluded is no longer doubtful."""
    if rep.checked is not None:
        return ("checked",)
    return ("doubtful",) if rep.doubt >= DOUBTFUL and rep.excluded is None else ()


def paint_rep_sign(painter: QPainter, box: QRectF, sign: str, colour: QColor) -> None:
    """Paint a sign into a square of its own."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    stroke = max(1.2, box.height() / 10)
    pen = QPen(colour, stroke)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.setPen(pen)
    if sign == "checked":
        box = box.adjusted(*(box.width() * share for share in (0.12, 0.12, -0.12, -0.12)))
        corners = [QPointF(box.left() + x * box.width(), box.top() + y * box.height()) for x, y in _TICK]
        painter.drawPolyline(QPolygonF(corners))
    else:
        _paint_question(painter, box, stroke)
    painter.restore()


def _paint_question(painter: QPainter, box: QRectF, stroke: float) -> None:
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawEllipse(box.adjusted(stroke / 2, stroke / 2, -stroke / 2, -stroke / 2))
    font = QFont(painter.font())
    font.setBold(True)
    font.setPixelSize(max(6, round(0.72 * box.height())))
    painter.setFont(font)
    painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), "?")
