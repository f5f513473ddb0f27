"""Real mouse events on the traces of a TrialPlot.

QTest's mouse functions do not reach items of a graphics view; events sent to its viewport do.
"""

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent, QWheelEvent
from PySide6.QtWidgets import QApplication, QGraphicsView, QWidget

from phasemark.window.traces.trial_plot import TrialPlot

LEFT, RIGHT, NONE = Qt.MouseButton.LeftButton, Qt.MouseButton.RightButton, Qt.MouseButton.NoButton
_Y = 200.0


def viewport(plot: TrialPlot) -> QWidget:
    """The widget that takes the mouse over the traces."""
    view = plot.findChild(QGraphicsView)
    assert view is not None
    return view.viewport()


def x_of(plot: TrialPlot, time_s: float) -> float:
    """Where a time lies in the viewport (logical px; a view gives its items whole ones)."""
    return round((time_s - plot.span.begin_s) / plot.span.width_s * viewport(plot).width())


def _send(
    plot: TrialPlot, kind: QEvent.Type, x: float, button: Qt.MouseButton, held: Qt.MouseButton, *,
    y: float = _Y, keys: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier,
) -> None:  # fmt: skip
    target = viewport(plot)
    at = QPointF(x, y)
    everywhere = QPointF(target.mapToGlobal(QPoint(0, 0))) + at
    event = QMouseEvent(kind, at, everywhere, button, held, keys)
    QApplication.sendEvent(target, event)


def press(plot: TrialPlot, x: float, button: Qt.MouseButton = LEFT, held: Qt.MouseButton | None = None) -> None:
    """A button goes down."""
    _send(plot, QEvent.Type.MouseButtonPress, x, button, button if held is None else held | button)


def move(
    plot: TrialPlot, x: float, held: Qt.MouseButton = LEFT, *,
    y: float = _Y, keys: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier,
) -> None:  # fmt: skip
    """The mouse moves, with buttons and keys held or none."""
    _send(plot, QEvent.Type.MouseMove, x, NONE, held, y=y, keys=keys)


def leave(plot: TrialPlot) -> None:
    """The mouse leaves the traces."""
    QApplication.sendEvent(viewport(plot), QEvent(QEvent.Type.Leave))


def release(plot: TrialPlot, x: float, button: Qt.MouseButton = LEFT, held: Qt.MouseButton = NONE) -> None:
    """A button goes up."""
    _send(plot, QEvent.Type.MouseButtonRelease, x, button, held)


def drag(plot: TrialPlot, from_x: float, to_x: float, *, moves: int = 6, let_go: bool = True) -> None:
    """Press, several moves, and release unless let_go is off."""
    move(plot, from_x, NONE)
    press(plot, from_x)
    for step in range(1, moves + 1):
        move(plot, from_x + (to_x - from_x) * step / moves)
    if let_go:
        release(plot, to_x)


def click(plot: TrialPlot, x: float) -> None:
    """Press and release in one place."""
    press(plot, x)
    release(plot, x)


def wheel(plot: TrialPlot, x: float, steps: float, modifiers: Qt.KeyboardModifier | None = None) -> None:
    """Turn the wheel by so many steps, forward where positive."""
    target = viewport(plot)
    at = QPointF(x, _Y)
    event = QWheelEvent(
        at, QPointF(target.mapToGlobal(QPoint(0, 0))) + at, QPoint(), QPoint(0, round(120 * steps)), NONE,
        Qt.KeyboardModifier.NoModifier if modifiers is None else modifiers, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(target, event)
