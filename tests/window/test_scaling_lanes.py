"""Lanes drawn larger and smaller by wheel and keys: on the traces alone, and in the window from trial to trial."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from curls_study import make_study
from mouse import NONE, leave, move, x_of
from pictures import LENGTH, lane, movement, picture, shown
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QFontMetricsF, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from whole_window import CTRL, SHIFT, press, session_of, window_on

from phasemark.window.actions import ActionName
from phasemark.window.main_window import MainWindow
from phasemark.window.traces.lane_gutter import LaneGutter, lane_ticks
from phasemark.window.traces.trial_plot import TrialPlot

KEY, ALT, LEFT = Qt.Key, Qt.KeyboardModifier.AltModifier, Qt.MouseButton.LeftButton
BAR, SOLEUS, TIBIALIS = range(3)


@pytest.fixture
def plot(qtbot: QtBot) -> TrialPlot:
    noise = np.random.default_rng(1).normal(0, 0.1, LENGTH)
    made = shown(picture(lanes=(movement(), lane(noise), replace(lane(noise), label="tibialis anterior"))))
    qtbot.addWidget(made)
    return made


def gutter(plot: TrialPlot) -> LaneGutter:
    found = plot.findChild(LaneGutter)
    assert found is not None
    return found


def highs(plot: TrialPlot) -> list[float]:
    """The largest value of each lane's scale."""
    return [band.high for band in plot._bands]


def turn(plot: TrialPlot, place: int, eighths: int) -> None:
    """Turn the wheel over a lane's name and scale; an ordinary step is 120 eighths of a degree."""
    target, band = gutter(plot), plot._bands[place]
    at = QPointF(20, (band.top + band.bottom) / 2)
    event = QWheelEvent(
        at, QPointF(target.mapToGlobal(QPoint(0, 0))) + at, QPoint(), QPoint(0, eighths), NONE,
        Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(target, event)
    QApplication.processEvents()


def click_name(plot: TrialPlot, place: int, *, twice: bool = False) -> None:
    band = plot._bands[place]
    at = QPoint(20, round((band.top + band.bottom) / 2))
    (QTest.mouseDClick if twice else QTest.mouseClick)(gutter(plot), LEFT, pos=at)
    QApplication.processEvents()


def test_the_wheel_over_a_lane_scales_that_lane_alone(plot: TrialPlot) -> None:
    before = highs(plot)
    span = plot.span
    turn(plot, SOLEUS, 240)
    assert highs(plot) == [before[BAR], pytest.approx(before[SOLEUS] / 2), before[TIBIALIS]]
    assert gutter(plot)._besides[SOLEUS].text == "mV, ×2"
    turn(plot, SOLEUS, -360)
    assert highs(plot)[SOLEUS] == pytest.approx(before[SOLEUS] * 2**0.5)
    assert plot.span == span
    click_name(plot, SOLEUS, twice=True)
    assert highs(plot) == before
    assert gutter(plot)._besides[SOLEUS].text == "mV"
    assert plot.lane_in_hand is None


def test_the_parts_of_a_step_of_a_fine_wheel_add_up(plot: TrialPlot) -> None:
    before = highs(plot)[TIBIALIS]
    for _ in range(7):
        turn(plot, TIBIALIS, 30)
    assert highs(plot)[TIBIALIS] == pytest.approx(before / 2**0.5)
    turn(plot, TIBIALIS, 30)
    assert highs(plot)[TIBIALIS] == pytest.approx(before / 2)


def test_a_scale_can_be_read_at_any_size(plot: TrialPlot) -> None:
    """Ticks with texts stand in the lane, and the trace is cut off at its edges and shown to be."""
    for _ in range(26):
        turn(plot, SOLEUS, 120)
        ticks = lane_ticks(plot._bands[SOLEUS], QFontMetricsF(gutter(plot).font()))
        assert sum(bool(tick.text) for tick in ticks) >= 2
    assert highs(plot)[SOLEUS] == pytest.approx(1 / 256)


def test_without_a_lane_in_hand_or_under_the_mouse_all_muscles_are_meant(plot: TrialPlot) -> None:
    before = highs(plot)
    plot.enlarge(2)
    assert highs(plot) == [before[BAR], pytest.approx(before[SOLEUS] / 2), pytest.approx(before[TIBIALIS] / 2)]
    plot.fit_scales()
    assert highs(plot) == before


def test_the_lane_under_the_mouse_is_meant(plot: TrialPlot) -> None:
    before, band = highs(plot), plot._bands[TIBIALIS]
    move(plot, x_of(plot, 5.0), NONE, y=(band.top + band.bottom) / 2)
    plot.enlarge(2)
    assert highs(plot) == [*before[:TIBIALIS], pytest.approx(before[TIBIALIS] / 2)]
    leave(plot)
    assert plot.lane_meant() is None


def test_a_lane_is_taken_in_hand_by_keys_and_by_a_click(plot: TrialPlot) -> None:
    seen = []
    for _ in range(4):
        QTest.keyClick(plot, KEY.Key_Down, ALT)
        seen.append(plot.lane_in_hand)
    assert seen == [BAR, SOLEUS, TIBIALIS, None]
    QTest.keyClick(plot, KEY.Key_Up, ALT)
    assert plot.lane_in_hand == TIBIALIS
    assert plot.accessibleDescription().endswith("Lane in hand: tibialis anterior.")
    click_name(plot, SOLEUS)
    assert plot.lane_in_hand == plot.lane_meant() == SOLEUS
    click_name(plot, SOLEUS)
    assert plot.lane_in_hand is None
    assert plot.accessibleDescription() == "No boundary is selected."


def test_the_lane_in_hand_is_seen_to_be(plot: TrialPlot) -> None:
    plain = gutter(plot).grab().toImage()
    plot.take_lane(SOLEUS)
    marked = gutter(plot).grab().toImage()
    band = plot._bands[SOLEUS]
    changed = [y for y in range(marked.height()) if marked.pixel(1, y) != plain.pixel(1, y)]
    assert min(changed) >= int(band.top)
    assert max(changed) <= band.bottom + 1
    assert len(changed) >= band.height - 2


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path) -> Iterator[MainWindow]:
    with window_on(qtbot, make_study(tmp_path / "curls")) as window:
        window.desk.plot.setFocus()
        yield window


def go(qtbot: QtBot, window: MainWindow, key: Qt.Key) -> None:
    with qtbot.waitSignal(window.desk.shown, timeout=10_000):
        press(key, CTRL)


def test_keys_scale_the_muscles_of_every_trial_and_are_no_edit(qtbot: QtBot, window: MainWindow) -> None:
    plot = window.desk.plot
    first = highs(plot)
    press(KEY.Key_Plus, CTRL, times=2)
    assert highs(plot) == [first[0], *(pytest.approx(high / 2) for high in first[1:])]
    go(qtbot, window, KEY.Key_PageDown)
    assert [plot._fitted[n][1] / plot._bands[n].high for n in (1, 2)] == pytest.approx([2, 2])
    assert highs(plot)[1] != highs(plot)[2], "each trial's own scale, twice as large"
    press(KEY.Key_Minus, CTRL)
    press(KEY.Key_9, CTRL)
    assert [band.high for band in plot._bands] == [high for _, high in plot._fitted]
    assert session_of(window).history.undoable is None


def test_held_scales_are_those_of_all_trials_until_let_go(qtbot: QtBot, window: MainWindow) -> None:
    plot = window.desk.plot
    held = highs(plot)
    press(KEY.Key_H, CTRL)
    assert window.action(ActionName.HOLD_SCALES).isChecked()
    go(qtbot, window, KEY.Key_PageDown)
    fitted = [high for _, high in plot._fitted]
    assert highs(plot) == held != fitted
    assert plot._gutter._besides[1].text == "mV, held"
    press(KEY.Key_H, CTRL)
    assert highs(plot) == fitted
    assert not window.action(ActionName.HOLD_SCALES).isChecked()


def test_blind_a_held_scale_does_not_tell_one_trial_from_another(qtbot: QtBot, window: MainWindow) -> None:
    press(KEY.Key_H, CTRL)
    with qtbot.waitSignal(window.desk.shown, timeout=10_000):
        press(KEY.Key_B, CTRL | SHIFT)
    plot = window.desk.plot
    assert [band.high for band in plot._bands[1:]] == [high for _, high in plot._fitted[1:]]


def test_another_study_begins_with_scales_that_fit(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> None:
    press(KEY.Key_Plus, CTRL)
    press(KEY.Key_H, CTRL)
    other = make_study(tmp_path / "others")
    with qtbot.waitSignal(window.desk.shown, timeout=10_000):
        window.open_study(other)
    plot = window.desk.plot
    assert highs(plot) == [high for _, high in plot._fitted]
    assert not window.action(ActionName.HOLD_SCALES).isChecked()
