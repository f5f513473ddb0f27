"""Cost of a frame of the traces: 16 lanes of 60 minutes at 2 kHz with envelopes and 64 reps, at 1600x1000.

Run on demand:  python tests/benchmarks/bench_painting.py [spans in s]
Each frame moves or zooms the view and waits until it is painted; frames are counted by paint events, since a view
that has not changed paints nothing. Beside it the same traces (recorded and envelope of each muscle, and the
movement) as plot-library curves with automatic peak down-sampling and clipping to the view, one plot, without any
marks: once as the library draws by itself (hair lines with hard edges), once as ours are drawn (envelopes and movement
with smooth edges and as wide). Ours and theirs take turns, and medians over the turns are compared, so that other
work on the machine falls on both. The floor is what an empty view of the same size costs.
"""

import os
import sys
import time
from collections.abc import Callable
from fractions import Fraction

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QEvent, QObject, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QApplication, QGraphicsScene, QGraphicsView, QWidget

from phasemark.model.mark_edits import Address, move_boundary
from phasemark.model.marks import LOWERING, RAISING, Boundary, Marks, Origin, Phase, Place, Rep
from phasemark.session.readout import Readout
from phasemark.signal.pyramid import Pyramid, build
from phasemark.window.traces.lane_painting import FRONT_PX
from phasemark.window.traces.trial_picture import Lane, LaneKind, TrialPicture
from phasemark.window.traces.trial_plot import TrialPlot
from phasemark.window.traces.view_span import Span

RATE, SECONDS, LANES, REPS = 2000, 3600, 16, 64
HEIGHT_RATE = 100
SPANS_S = (3600.0, 300.0, 60.0, 5.0, 1.0)
FRAMES = 41
TURNS = 3
FRAMES_ALIKE = 4  # curves with smooth edges take seconds a frame where much is seen

Curve = tuple[np.ndarray, np.ndarray, bool]
Pair = tuple[float, float]


class PaintCount(QObject):
    """Counts paint events of a viewport."""

    def __init__(self, target: QWidget) -> None:
        super().__init__(target)
        self.count = 0
        target.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        self.count += event.type() is QEvent.Type.Paint
        return False


def phase(name: str, begin: int, length: int) -> Phase:
    samples = [begin + length * k // 3 for k in range(4)]
    first, second = Boundary(samples[1]), Boundary(samples[2], Origin.HAND)
    return Phase(name, Boundary(samples[0]), Boundary(samples[3]), (first, second))


def many_reps(length: int) -> Marks:
    """Reps of 5 s, back to back in the middle of the recording, so that every span shows some."""
    start, each = length // 2 - REPS * 5 * RATE // 2, 5 * RATE
    reps = tuple(
        Rep(k + 1, (phase(LOWERING, start + k * each, 2 * RATE), phase(RAISING, start + k * each + 2 * RATE, 2 * RATE)))
        for k in range(REPS)
    )
    return Marks("R1", length, reps, next_id=REPS + 1)


def signals() -> tuple[list[Pyramid], list[Pyramid]]:
    noise = np.random.default_rng(1).normal(0, 0.1, RATE * SECONDS)
    raw, envelopes = [], []
    for k in range(LANES):
        swing = 1 + np.sin(2 * np.pi * np.arange(RATE * SECONDS) / (RATE * 5) + k)
        raw.append(build(noise * swing))
        envelopes.append(build(0.1 * swing + np.roll(noise, k) * 0.02))
    return raw, envelopes


def wait_for_paint(counter: PaintCount, painted: int) -> None:
    started = time.perf_counter()
    while counter.count == painted:
        QApplication.processEvents()
        assert time.perf_counter() - started < 120, "nothing was painted"


def frame_ms(target: QWidget, show: Callable[[float, float], None], views: list[tuple[float, float]]) -> float:
    """Mean processor time (ms; other work on the machine does not count) of a frame over some views (begin, width)."""
    counter = PaintCount(target)
    show(*views[1])  # whatever was seen before, the first view is another
    QApplication.processEvents()
    before = counter.count
    show(*views[0])
    wait_for_paint(counter, before)
    started = time.process_time()
    for view in views[1:]:
        painted = counter.count
        show(*view)
        wait_for_paint(counter, painted)
        assert counter.count == painted + 1, "a frame was painted twice"
    target.removeEventFilter(counter)
    return (time.process_time() - started) / (len(views) - 1) * 1e3


def panning(span: float) -> list[tuple[float, float]]:
    """Views that move on by 1.4 % of what is seen; a view of all can only go to and fro."""
    step = 0.014 * span
    if span >= SECONDS:
        return [((frame % 2) * step - 0.007 * span, span) for frame in range(FRAMES)]
    return [((SECONDS - span) / 2 + frame * step, span) for frame in range(FRAMES)]


def zooming(span: float) -> list[tuple[float, float]]:
    """Views about one middle that are wider by turns; no two widths are the same."""
    widths = [span * (0.8 + 0.2 * ((frame * 7) % FRAMES) / FRAMES) for frame in range(FRAMES)]
    return [((SECONDS - width) / 2, width) for width in widths]


def bar_height() -> Pyramid:
    return build(40 + 20 * np.cos(2 * np.pi * np.arange(HEIGHT_RATE * SECONDS) / (5 * HEIGHT_RATE)))


def ours(raw: list[Pyramid], envelopes: list[Pyramid]) -> tuple[TrialPlot, Marks]:
    rate, length = Fraction(RATE), RATE * SECONDS
    lanes = [Lane("bar height", "cm", Fraction(HEIGHT_RATE), bar_height(), kind=LaneKind.MOVEMENT)]
    lanes += [Lane(f"muscle {k}", "mV", rate, r, e) for k, (r, e) in enumerate(zip(raw, envelopes, strict=True))]
    marks = many_reps(length)
    plot = TrialPlot()
    plot.resize(1600, 1000)
    plot.show()
    plot.set_trial(TrialPicture(tuple(lanes), rate, length, marks, {k + 1: (33.3, 46.7) for k in range(REPS)}))
    QApplication.processEvents()
    return plot, marks


def curves(raw: list[Pyramid], envelopes: list[Pyramid]) -> list[Curve]:
    """Seconds, values and whether it is in front, of every trace; one above the other."""
    seconds, slow = np.arange(RATE * SECONDS) / RATE, np.arange(HEIGHT_RATE * SECONDS) / HEIGHT_RATE
    found = [(seconds, raw[k].values + 2.0 * k, False) for k in range(LANES)]
    found += [(seconds, envelopes[k].values + 2.0 * k, True) for k in range(LANES)]
    return [*found, (slow, bar_height().values / 40 + 2.0 * LANES, True)]


def theirs(traces: list[Curve], *, alike: bool) -> pg.PlotWidget:
    """The same traces as curves; alike: those in front with smooth edges and as wide as ours."""
    widget = pg.PlotWidget()
    widget.resize(1600, 1000)
    for x, y, front in traces:
        pen = pg.mkPen("white" if front else "gray", width=FRONT_PX if front and alike else 1)
        curve = widget.plot(x, y, pen=pen, antialias=front and alike)
        curve.setDownsampling(auto=True, method="peak")
        curve.setClipToView(True)
    widget.disableAutoRange()
    widget.setYRange(-1, 2 * LANES + 2, padding=0)
    widget.show()
    QApplication.processEvents()
    return widget


def floor_ms() -> float:
    """Processor time (ms) of painting a view of the same size with nothing in it."""
    empty = QGraphicsView(QGraphicsScene())
    empty.resize(1600, 1000)
    empty.show()
    QApplication.processEvents()
    return frame_ms(empty.viewport(), lambda _b, _w: empty.viewport().update(), [(0.0, 0.0)] * FRAMES)


def drag_ms(plot: TrialPlot, target: QWidget, marks: Marks) -> float:
    """Median processor time (ms) from set_marks to its paint while one boundary of a rep moves."""
    counter, times = PaintCount(target), []
    address, at = Address(REPS // 2 + 1, 0, Place.BEGIN), marks.reps[REPS // 2].begin
    for frame in range(FRAMES):
        moved = move_boundary(marks, address, at + 10 * (frame + 1))
        painted, started = counter.count, time.process_time()
        plot.set_marks(moved, plot._drawing.levels if plot._drawing else None)
        wait_for_paint(counter, painted)
        times.append(time.process_time() - started)
    plot.set_marks(marks, plot._drawing.levels if plot._drawing else None)
    return float(np.median(times) * 1e3)


def cursor_ms(plot: TrialPlot, target: QWidget) -> float:
    """Median processor time (ms) from a mouse move to the painted hairline, with values read at it."""
    counter, times = PaintCount(target), []

    def read(sample: int | None) -> None:
        held = None if sample is None else Readout(sample, sample / RATE, 41.0, 12.3, (), (0.1,) * LANES)
        plot.set_readout(held)

    plot.cursorMoved.connect(read)
    for frame in range(FRAMES):
        at = QPointF(100.0 + 7 * frame, 300.0)
        everywhere = QPointF(target.mapToGlobal(QPoint(0, 0))) + at
        none = Qt.MouseButton.NoButton
        event = QMouseEvent(QEvent.Type.MouseMove, at, everywhere, none, none, Qt.KeyboardModifier.NoModifier)
        painted, started = counter.count, time.process_time()
        QApplication.sendEvent(target, event)
        wait_for_paint(counter, painted)
        times.append(time.process_time() - started)
        assert counter.count == painted + 1, "a move of the cursor was painted twice"
    plot.cursorMoved.disconnect(read)
    plot.set_readout(None)
    target.removeEventFilter(counter)
    return float(np.median(times) * 1e3)


def compared(view: QGraphicsView, plot: TrialPlot, other: pg.PlotWidget, views: list[tuple[float, float]]) -> Pair:
    """Median ms of a frame over some turns, ours and theirs."""
    turns = [
        (
            frame_ms(view.viewport(), lambda b, w: plot.show_span(Span(b, b + w)), views),
            frame_ms(other.viewport(), lambda b, w: other.setXRange(b, b + w, padding=0), views),
        )
        for _ in range(TURNS)
    ]
    mine, hers = np.median(turns, axis=0).tolist()
    return mine, hers


def main() -> None:
    app = QApplication.instance() or QApplication(sys.argv)
    raw, envelopes = signals()
    plot, marks = ours(raw, envelopes)
    view = plot.findChild(QGraphicsView)
    assert view is not None
    print(f"an empty view: {floor_ms():.2f} ms a frame")
    traces = curves(raw, envelopes)
    other, alike = theirs(traces, alike=False), theirs(traces, alike=True)
    print(f"{LANES} lanes with envelopes and a movement trace, {REPS} reps; curves: {2 * LANES + 1}, no marks")
    for span in [float(text) for text in sys.argv[1:]] or SPANS_S:
        for name, views in (("moving", panning(span)), ("zooming", zooming(span))):
            mine, hair = compared(view, plot, other, views)
            few = views[: FRAMES_ALIKE + 1]
            same = frame_ms(alike.viewport(), lambda b, w: alike.setXRange(b, b + w, padding=0), few)
            print(f"{span:6g} s {name:8}: {mine:6.2f} ms a frame; curves {hair:6.1f} ms, {hair / mine:5.1f} times; "
                  f"drawn alike {same:7.1f} ms, {same / mine:5.1f} times", flush=True)  # fmt: skip
        print(f"{span:6g} s dragging: {drag_ms(plot, view.viewport(), marks):6.1f} ms a move of a boundary; "
              f"cursor {cursor_ms(plot, view.viewport()):4.1f} ms a move of the mouse")  # fmt: skip
    app.processEvents()


if __name__ == "__main__":
    main()
