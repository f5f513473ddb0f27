"""Baselines, plateaus and holds placed over the traces by keys and by mouse, removed, undone; edges of filters."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from curls_study import RATE, make_study
from mouse import drag, move, release, x_of
from pictures import lane, movement, picture, shown
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from shiboken6 import isValid
from whole_window import ALT, CTRL, RETURN, back_in, last_edit, press, trial_in, window_on

from phasemark.model.intervals import Purpose
from phasemark.model.recording import Side
from phasemark.window.main_window import MainWindow
from phasemark.window.traces.lane_stretches import EDGE_WORDS, lanes_of, stretch_words
from phasemark.window.traces.trial_picture import PlacedStretch
from phasemark.window.traces.trial_plot import TrialPlot

KEY = Qt.Key


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path) -> Iterator[MainWindow]:
    with window_on(qtbot, make_study(tmp_path / "curls")) as window:
        window.desk.plot.setFocus()
        yield window


def by_keys(window: MainWindow) -> None:
    """Choose a stretch from where the cursor is: 0.2 s of it."""
    press(RETURN)
    press(KEY.Key_Right, CTRL, times=2)
    press(RETURN)


@pytest.mark.parametrize(
    ("key", "purpose", "said"),
    [
        (KEY.Key_1, Purpose.BASELINE, "Measure (Ctrl+R)"),
        (KEY.Key_2, Purpose.PLATEAU, "no use in a task trial"),
        (KEY.Key_3, Purpose.HOLD, "isometric hold in the settings"),
    ],
)
def test_a_stretch_is_placed_by_keys_for_all_muscles_and_undone(
    window: MainWindow, key: Qt.Key, purpose: Purpose, said: str
) -> None:
    press(key, CTRL)
    by_keys(window)
    (placed,) = trial_in(window).intervals
    assert (placed.purpose, placed.muscle, placed.end - placed.begin) == (purpose, "", RATE // 5)
    assert said in window.messages.text
    assert last_edit(window) == f"placed the {purpose} of all muscles in trial T001"
    assert len(window.desk.plot._drawing.stretches) == 1  # type: ignore[union-attr]
    press(KEY.Key_Z, CTRL)
    assert trial_in(window).intervals == ()
    assert window.desk.plot._drawing.stretches == ()  # type: ignore[union-attr]


def test_one_muscle_is_the_lane_in_hand(window: MainWindow) -> None:
    window.desk.plot.take_lane(2)
    press(KEY.Key_1, CTRL | ALT)
    by_keys(window)
    (placed,) = trial_in(window).intervals
    assert (placed.muscle, placed.side) == ("triceps brachii", Side.RIGHT)
    press(KEY.Key_1, CTRL)
    by_keys(window)
    assert {interval.muscle for interval in trial_in(window).intervals} == {"", "triceps brachii"}


def test_one_muscle_is_the_lane_under_the_mouse_where_the_stretch_ends(window: MainWindow) -> None:
    plot = window.desk.plot
    band = plot._bands[1]
    press(KEY.Key_2, CTRL | ALT)
    drag(plot, x_of(plot, 5.0), x_of(plot, 6.0), let_go=False)
    move(plot, x_of(plot, 6.0), y=(band.top + band.bottom) / 2)
    release(plot, x_of(plot, 6.0))
    (placed,) = trial_in(window).intervals
    assert (placed.purpose, placed.muscle) == (Purpose.PLATEAU, "biceps brachii")
    assert placed.begin == pytest.approx(5 * RATE, abs=30)
    assert placed.end == pytest.approx(6 * RATE, abs=30)


def test_without_a_muscle_nothing_is_placed_and_it_is_said(window: MainWindow) -> None:
    window.desk.plot.take_lane(0)  # the movement trace
    press(KEY.Key_1, CTRL | ALT)
    by_keys(window)
    assert trial_in(window).intervals == ()
    assert "Take a muscle in hand" in window.messages.text


def test_escape_places_nothing_and_a_rep_drawn_next_is_a_rep(window: MainWindow) -> None:
    press(KEY.Key_1, CTRL)
    press(KEY.Key_Escape)
    press(KEY.Key_D, CTRL)
    by_keys(window)
    assert trial_in(window).intervals == ()


def test_what_is_placed_is_listed_and_taken_away_by_keys(window: MainWindow, qtbot: QtBot) -> None:
    press(KEY.Key_4, CTRL)
    assert "No stretch is placed" in window.messages.text
    press(KEY.Key_1, CTRL)
    by_keys(window)
    press(KEY.Key_4, CTRL)
    dialog = window.intervals.dialog
    assert dialog is not None
    assert dialog.placed.currentItem().text().startswith("baseline  ·  all muscles  ·  ")
    qtbot.waitUntil(dialog.isActiveWindow)
    press(KEY.Key_Delete)  # a button pressed by its key stays down for a moment
    qtbot.waitUntil(lambda: trial_in(window).intervals == ())
    qtbot.waitUntil(lambda: not isValid(dialog))
    back_in(qtbot, window)
    press(KEY.Key_Z, CTRL)
    assert len(trial_in(window).intervals) == 1


# On the traces


def drawn(qtbot: QtBot, **more: object) -> TrialPlot:
    noise = lane(np.random.default_rng(1).normal(0, 0.1, 20_000), edges=((0, 500), (19_500, 20_000)), **more)
    plot = shown(replace(picture(lanes=[movement(), noise, lane(np.zeros(20_000))]), stretches=STRETCHES))
    qtbot.addWidget(plot)
    return plot


STRETCHES = (PlacedStretch(15_000, 17_000, "baseline"), PlacedStretch(17_500, 18_500, "plateau", lane=2))


def words(plot: TrialPlot, sample: int, place: int) -> str:
    drawing, band = plot._drawing, plot._bands[place]
    assert drawing is not None
    return stretch_words(drawing, sample, (band.top + band.bottom) / 2)


def test_a_stretch_is_said_over_the_lanes_that_it_concerns(qtbot: QtBot) -> None:
    plot = drawn(qtbot)
    assert words(plot, 16_000, 1) == words(plot, 15_000, 2) == "baseline: 15.000 to 17.000 s."
    assert words(plot, 16_000, 0) == words(plot, 17_000, 1) == words(plot, 14_999, 1) == ""
    assert words(plot, 18_000, 2).startswith("plateau: 17.500")
    assert words(plot, 18_000, 1) == ""


def test_edges_are_said_under_the_mouse(qtbot: QtBot) -> None:
    plot = drawn(qtbot)
    assert words(plot, 0, 1) == words(plot, 499, 1) == words(plot, 19_500, 1) == EDGE_WORDS
    assert words(plot, 500, 1) == words(plot, 19_499, 1) == words(plot, 100, 2) == ""
    heard: list[str] = []
    plot.hovered.connect(heard.append)
    band = plot._bands[1]
    move(plot, x_of(plot, 0.2), Qt.MouseButton.NoButton, y=(band.top + band.bottom) / 2)
    assert heard[-1] == EDGE_WORDS


def test_a_bracket_is_painted_along_the_foot_of_its_lane_and_edges_fade(qtbot: QtBot) -> None:
    plot = drawn(qtbot)
    view = plot._canvas.view
    image = view.grab().toImage()
    scheme = plot._scheme

    def at(sample: int, y: float) -> tuple[int, int, int]:
        colour = image.pixelColor(round(x_of(plot, sample / 1000)), round(y))
        return colour.red(), colour.green(), colour.blue()

    ink = (scheme.ink.red(), scheme.ink.green(), scheme.ink.blue())
    for place in (1, 2):
        assert at(16_600, plot._bands[place].bottom - 2) == ink
    assert at(18_400, plot._bands[2].bottom - 2) == ink
    assert at(18_400, plot._bands[1].bottom - 2) != ink
    middle = round((plot._bands[1].top + plot._bands[1].bottom) / 2)

    def darkness(first: int, last: int) -> float:
        rows = range(middle - 3, middle + 4)
        found = [sum(at(sample, y)) for sample in range(first, last, 20) for y in rows]
        return 765 - sum(found) / len(found)

    assert darkness(60, 440) < 0.75 * darkness(15_200, 16_800)


def test_a_muscle_that_a_trial_does_not_have_draws_no_stretch(qtbot: QtBot) -> None:
    plot = drawn(qtbot)
    drawing = plot._drawing
    assert drawing is not None
    beyond = replace(drawing, stretches=(PlacedStretch(1, 9, "hold", lane=7),))
    assert stretch_words(beyond, 5, plot._bands[1].top + 2) == EDGE_WORDS
    assert lanes_of(beyond, beyond.stretches[0]) == ()
    before = plot._canvas.view.grab().toImage()
    plot._redraw_marks(replace(drawing, stretches=()), None)
    QApplication.processEvents()
    without = plot._canvas.view.grab().toImage()
    plot._redraw_marks(beyond, None)
    QApplication.processEvents()
    assert before != without
    assert plot._canvas.view.grab().toImage() == without
