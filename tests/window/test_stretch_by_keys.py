"""A stretch chosen by keys alone: where the cursor begins, how it goes, what sets and what drops an end."""

import pytest
from heard import Heard, listening
from mouse import NONE, drag, move, x_of
from pictures import LENGTH, picture, pixels, shown
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from phasemark.model.mark_edits import Address
from phasemark.model.marks import Place
from phasemark.window.traces.trial_plot import TrialPlot
from phasemark.window.traces.view_span import Span

KEY, SHIFT, CTRL = Qt.Key, Qt.KeyboardModifier.ShiftModifier, Qt.KeyboardModifier.ControlModifier
NO_KEYS = Qt.KeyboardModifier.NoModifier
BEGIN_2 = Address(2, 0, Place.BEGIN)  # at 6 s


@pytest.fixture
def plot(qtbot: QtBot) -> TrialPlot:
    made = shown(picture())
    qtbot.addWidget(made)
    made.show_span(Span(4.0, 14.0))
    return made


@pytest.fixture
def told(plot: TrialPlot) -> Heard:
    return listening(plot, "stretchChosen", "stretchDropped", "cursorMoved", "nudged", "selected")


def press(plot: TrialPlot, *keys: Qt.Key, held: Qt.KeyboardModifier = NO_KEYS, times: int = 1) -> None:
    for _ in range(times):
        for one in keys:
            QTest.keyClick(plot, one, held)


@pytest.mark.parametrize("confirm", [KEY.Key_Return, KEY.Key_Enter, KEY.Key_Space])
def test_a_stretch_is_chosen_by_keys_alone(plot: TrialPlot, told: Heard, confirm: Qt.Key) -> None:
    """From the selected boundary a second back and half a second on: told once, in order, and nothing is moved."""
    plot.select(BEGIN_2)
    plot.ask_stretch("Show a repetition")
    press(plot, KEY.Key_Left, held=CTRL, times=10)
    press(plot, confirm)
    press(plot, KEY.Key_Right, held=CTRL, times=5)
    press(plot, KEY.Key_Right, held=SHIFT, times=3)
    press(plot, KEY.Key_Right, times=2)
    assert plot.accessibleDescription() == "Cursor at 5.532 s, 0.532 s from 5.000 s."
    press(plot, confirm)
    assert told.of("stretchChosen") == [(5000, 5532)]
    assert told.of("nudged") == told.of("selected") == told.of("stretchDropped") == []
    assert told.of("cursorMoved")[-1] == (None,)
    assert plot.accessibleDescription().startswith("rep 2: lowering begins at 6.000 s")
    press(plot, KEY.Key_Right)
    assert told.of("nudged") == [(BEGIN_2, 1)], "the keys mean what they meant before"


def test_the_end_may_lie_before_the_begin(plot: TrialPlot, told: Heard) -> None:
    plot.select(BEGIN_2)
    plot.ask_stretch("Show a repetition")
    press(plot, KEY.Key_Return)
    press(plot, KEY.Key_Left, held=CTRL, times=3)
    press(plot, KEY.Key_Return)
    assert told.of("stretchChosen") == [(5700, 6000)]


def test_two_ends_in_one_place_choose_nothing_yet(plot: TrialPlot, told: Heard) -> None:
    plot.ask_stretch("Show a repetition")
    press(plot, KEY.Key_Return, times=3)
    assert told.of("stretchChosen") == []
    press(plot, KEY.Key_Right)
    press(plot, KEY.Key_Return)
    assert told.of("stretchChosen") == [(9000, 9001)], "it began in the middle of what is seen"


def test_the_cursor_begins_under_the_mouse(plot: TrialPlot, told: Heard) -> None:
    plot.ask_stretch("Show a repetition")
    move(plot, x_of(plot, 12.0), NONE)
    under = plot.cursor_sample()
    press(plot, KEY.Key_Right)
    assert under is not None
    assert plot.cursor_sample() == under + 1
    move(plot, x_of(plot, 5.0), NONE)
    assert plot.cursor_sample() == under + 1, "a mouse that is only pushed aside changes nothing"


def test_up_and_down_go_to_boundaries_and_pages_by_a_tenth_of_the_view(plot: TrialPlot) -> None:
    plot.ask_stretch("Show a repetition")
    seen = []
    for key in (KEY.Key_Down, KEY.Key_Up, KEY.Key_Up, KEY.Key_PageDown, KEY.Key_PageUp, KEY.Key_PageUp):
        press(plot, key)
        seen.append(plot.cursor_sample())
    assert seen[0] == 9500
    assert seen[1] == 9000 == seen[0] - 500
    assert seen[2] == 8500
    assert [seen[3] - seen[2], seen[4] - seen[3], seen[5] - seen[4]] == [1000, -1000, -1000]


def test_the_view_follows_the_cursor_to_the_ends_of_the_recording(plot: TrialPlot, told: Heard) -> None:
    plot.ask_stretch("Show a repetition")
    press(plot, KEY.Key_Down, times=40)
    assert plot.cursor_sample() == LENGTH
    assert plot.span.begin_s <= LENGTH / 1000 <= plot.span.end_s
    press(plot, KEY.Key_Return)
    press(plot, KEY.Key_Up, times=40)
    assert plot.cursor_sample() == 0
    assert plot.span.begin_s <= 0.0
    press(plot, KEY.Key_Return)
    assert told.of("stretchChosen") == [(0, LENGTH)]


def test_plus_zooms_about_the_cursor(plot: TrialPlot) -> None:
    plot.ask_stretch("Show a repetition")
    press(plot, KEY.Key_Right, held=CTRL, times=20)
    before = x_of(plot, 11.0)
    press(plot, KEY.Key_Plus)
    assert plot.span.width_s == pytest.approx(8.0)
    assert x_of(plot, 11.0) == pytest.approx(before, abs=1)


@pytest.mark.parametrize("begun", [False, True])
def test_escape_leaves_it_and_draws_all_as_it_was(plot: TrialPlot, told: Heard, begun: bool) -> None:
    before = pixels(plot)
    plot.ask_stretch("Show a repetition")
    press(plot, KEY.Key_Right)
    if begun:
        press(plot, KEY.Key_Return)
        press(plot, KEY.Key_Right, held=CTRL)
    assert (pixels(plot) != before).any()
    press(plot, KEY.Key_Escape)
    assert told.of("stretchDropped") == [()]
    assert told.of("stretchChosen") == []
    assert (pixels(plot) == before).all()


def test_a_press_of_the_mouse_takes_over(plot: TrialPlot, told: Heard) -> None:
    plot.ask_stretch("Show a repetition")
    press(plot, KEY.Key_Return)
    press(plot, KEY.Key_Right, held=CTRL)
    drag(plot, x_of(plot, 7.0), x_of(plot, 8.0))
    ((begin, end),) = told.of("stretchChosen")
    assert abs(begin - 7000) <= plot.samples_in(1)
    assert abs(end - 8000) <= plot.samples_in(1)


def test_return_belongs_to_the_stretch_only_while_it_is_asked_for(plot: TrialPlot, told: Heard) -> None:
    """Return accepts in the window; while a stretch is chosen it must not."""
    accepted: list[bool] = []
    accept = QShortcut(QKeySequence("Return"), plot)
    accept.setContext(Qt.ShortcutContext.WidgetShortcut)
    accept.activated.connect(lambda: accepted.append(True))
    plot.activateWindow()
    plot.setFocus()
    QApplication.processEvents()
    press(plot, KEY.Key_Return)
    assert accepted == [True]
    plot.ask_stretch("Show a repetition")
    press(plot, KEY.Key_Return)
    press(plot, KEY.Key_Right, KEY.Key_Return)
    assert len(told.of("stretchChosen")) == 1
    assert accepted == [True]


def test_another_trial_ends_it(plot: TrialPlot, told: Heard) -> None:
    plot.ask_stretch("Show a repetition")
    press(plot, KEY.Key_Return)
    plot.set_trial(None)
    assert told.of("stretchDropped") == [()]
    assert plot.cursor_sample() is None
