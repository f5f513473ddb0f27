"""Cost of the figure of the rep in hand at each move of a drag: 16 muscles at 2 kHz, eight reps of 3 s.

Run on demand:  python tests/benchmarks/bench_rep_figure.py
Times are medians of processor time (ms): the move itself (marks and values), the figure from those values, and the
view from set_figure to its paint, counted by paint events.
"""

import os
import sys
import time
from collections.abc import Callable
from fractions import Fraction

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
from PySide6.QtCore import QEvent, QObject
from PySide6.QtWidgets import QApplication, QWidget

from phasemark.model.mark_edits import Address, boundary_at
from phasemark.model.marks import Marks, Place
from phasemark.model.recording import EmgChannel, MovementTrace, Side
from phasemark.model.settings import Settings
from phasemark.model.study import RecordingRef, Trial
from phasemark.phases.marking import mark_trial
from phasemark.phases.movement import filtered_movement
from phasemark.results.measure import condition_trial
from phasemark.session.boundary_move import preview_move, values_of_rep
from phasemark.session.rep_figure import RepFigure, figure_of
from phasemark.session.trial_signals import TrialSignals
from phasemark.signal.envelope import envelope
from phasemark.signal.pyramid import build
from phasemark.window.figure.rep_figure_view import RepFigureView

RATE, MUSCLES, REPS, REP_S, MOVES = Fraction(2000), 16, 8, 6.0, 60


def invented() -> tuple[Trial, TrialSignals, Marks, Settings]:
    seconds = REPS * REP_S + 4
    samples, places = int(seconds * RATE), int(seconds * 100)
    draw = np.random.default_rng(3)
    emg = tuple(EmgChannel(f"muscle {k // 2}", RATE, (Side.LEFT, Side.RIGHT)[k % 2]) for k in range(MUSCLES))
    times = np.arange(places) / 100
    moving = (times >= 2) & (times < 2 + REPS * REP_S)
    height = np.where(moving, 0.5 + 0.5 * np.cos(2 * np.pi * (times - 2) / REP_S), 1.0)
    trace = MovementTrace("bar height", Fraction(100), "m")
    trial = Trial("T1", "P1", RecordingRef("R1", "", 0, "", (samples,) * MUSCLES, (places,)), emg, (trace,))
    settings = Settings()
    values = [draw.normal(0, 0.1, samples) for _ in emg]
    conditioned = condition_trial(trial, values, settings)
    movement = filtered_movement(height, trace, trial.clock, trial.length, settings.phases)
    envelopes = tuple(build(envelope(channel, settings.envelope)) for channel in conditioned)
    raw, position = tuple(build(v) for v in values), build(movement.position)
    signals = TrialSignals(trial, raw, (build(height),), conditioned, envelopes, movement, position)
    marks = mark_trial(movement, settings.phases, "lowering", Marks("R1", trial.length))
    return trial, signals, marks, settings


class PaintCount(QObject):
    """Counts paint events of a widget."""

    def __init__(self, target: QWidget) -> None:
        super().__init__(target)
        self.count = 0
        target.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        self.count += event.type() is QEvent.Type.Paint
        return False


def median_ms(work: Callable[[int], object]) -> float:
    spent = []
    for turn in range(MOVES):
        started = time.process_time()
        work(turn)
        spent.append(time.process_time() - started)
    return float(np.median(spent) * 1e3)


def painted_ms(figures: list[RepFigure], width: int) -> tuple[float, int]:
    view = RepFigureView()
    view.resize(width, 460)
    view.show()
    view.set_figure(figures[0])
    QApplication.processEvents()
    counter = PaintCount(view)

    def show(turn: int) -> None:
        before = counter.count
        view.set_figure(figures[turn % len(figures)])
        while counter.count == before:
            QApplication.processEvents()

    cost = median_ms(show)
    assert view.layout_now is not None
    return cost, len(view.layout_now.columns)


def main() -> None:
    app = QApplication.instance() or QApplication(sys.argv)
    trial, signals, marks, settings = invented()
    rep = marks.reps[3]
    address, before = Address(rep.id, 0, Place.END), values_of_rep(marks, rep.id, signals, settings)
    at = boundary_at(marks, address).sample
    moves = [preview_move(marks, address, at + 7 * turn, signals, settings) for turn in range(MOVES)]

    def figure(turn: int) -> RepFigure:
        moved = moves[turn]
        return figure_of(trial, moved.marks, rep.id, signals, settings, values=moved.values[rep.id], before=before)

    print(f"{MUSCLES} muscles, {len(marks.reps)} reps, medians of processor time")
    moving = median_ms(lambda turn: preview_move(marks, address, at + turn, signals, settings))
    print(f"move, thirds and values   {moving:5.2f} ms")
    print(f"figure from those values  {median_ms(figure):5.2f} ms")
    figures = [figure(turn) for turn in range(MOVES)]
    for width in (520, 1000, 1900):
        cost, seen = painted_ms(figures, width)
        print(f"set and painted, {width:4d} px  {cost:5.2f} ms  ({seen} muscles seen)")
    app.processEvents()


if __name__ == "__main__":
    main()
