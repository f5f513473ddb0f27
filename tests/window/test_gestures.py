"""Real mouse events on the traces come out as gestures, each exactly once; the plot moves no mark itself."""

import pytest
from heard import Heard, listening
from mouse import LEFT, NONE, RIGHT, click, drag, move, press, release, viewport, wheel, x_of
from pictures import LENGTH, THREE_REPS, marks, picture, rep, shown
from PySide6.QtCore import QEvent, Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from phasemark.model.mark_edits import Address, delete_rep, move_boundary
from phasemark.model.marks import Place
from phasemark.window.traces.trial_plot import TrialPlot
from phasemark.window.traces.view_span import Span

BEGIN_2 = Address(2, 0, Place.BEGIN)  # at 6 s, alone
END_2 = Address(2, 1, Place.END)  # at 10 s, joined with the begin of rep 3
LINE_2 = Address(2, 0, Place.FIRST_LINE)


@pytest.fixture
def plot(qtbot: QtBot) -> TrialPlot:
    made = shown(picture())
    qtbot.addWidget(made)
    made.show_span(Span(4.0, 14.0))
    return made


@pytest.fixture
def heard(plot: TrialPlot) -> Heard:
    return listening(
        plot, "selected", "dragStarted", "dragMoved", "dragFinished", "dragCancelled", "nudged", "repPicked"
    )


def test_one_drag_starts_moves_and_finishes_once(plot: TrialPlot, heard: Heard) -> None:
    """Press, six moves, release: selected, started, moves that rise, one end at the last sample."""
    drag(plot, x_of(plot, 6.0), x_of(plot, 6.5), moves=6)
    assert heard.names() == ["selected", "dragStarted", *["dragMoved"] * 6, "dragFinished"]
    assert heard.of("dragStarted") == [(BEGIN_2,)]
    samples = [sample for _, sample in heard.of("dragMoved")]
    assert samples == sorted(samples)
    assert all(type(sample) is int for sample in samples)
    assert heard.of("dragFinished") == [(BEGIN_2, samples[-1])]
    per_px = plot.span.width_s / viewport(plot).width() * 1000
    assert abs(samples[-1] - 6500) <= per_px


def test_the_boundary_does_not_jump_to_the_cursor(plot: TrialPlot, heard: Heard) -> None:
    """Taken hold of 4 px beside the line, it moves by as much as the cursor."""
    drag(plot, x_of(plot, 6.0) + 4, x_of(plot, 6.0) + 44, moves=4)
    moved = heard.of("dragFinished")[0][1]
    assert isinstance(moved, int)
    assert abs(moved - 6000 - 40 / viewport(plot).width() * plot.span.width_s * 1000) <= 1


@pytest.mark.parametrize(("beside", "taken"), [(-5, True), (0, True), (5, True),
                                               (8, False), (-8, False)])  # fmt: skip
def test_the_grab_zone_is_wider_than_the_line(plot: TrialPlot, heard: Heard, beside: float, taken: bool) -> None:
    """Nine pixels and more around a line of one pixel take hold of it, more than that do not."""
    click(plot, x_of(plot, 6.0) + beside)
    assert (plot.selected_address == BEGIN_2) is taken


def test_a_drag_cancelled_by_escape_has_no_end(plot: TrialPlot, heard: Heard) -> None:
    """Escape tells cancelled once; further moves and the release tell nothing, and the boundary stays selected."""
    drag(plot, x_of(plot, 6.0), x_of(plot, 6.5), let_go=False)
    QApplication.sendEvent(plot, _key(Qt.Key.Key_Escape))
    told = len(heard.all)
    move(plot, x_of(plot, 6.6))
    release(plot, x_of(plot, 6.6))
    assert heard.all[told - 1] == ("dragCancelled", BEGIN_2)
    assert len(heard.all) == told
    assert plot.selected_address == BEGIN_2


def test_a_right_click_during_a_drag_cancels_it(plot: TrialPlot, heard: Heard) -> None:
    """The other button lets the boundary go back, and its own release and the left one's are no end."""
    drag(plot, x_of(plot, 6.0), x_of(plot, 6.5), let_go=False)
    press(plot, x_of(plot, 6.5), RIGHT, held=LEFT)
    release(plot, x_of(plot, 6.5), RIGHT, held=LEFT)
    move(plot, x_of(plot, 6.7))
    release(plot, x_of(plot, 6.7))
    assert heard.names().count("dragCancelled") == 1
    assert "dragFinished" not in heard.names()
    drag(plot, x_of(plot, 6.0), x_of(plot, 6.5))
    assert heard.names().count("dragFinished") == 1


def test_the_trial_taken_away_during_a_drag_cancels_it(plot: TrialPlot, heard: Heard) -> None:
    """Another trial, or marks without the dragged rep, end the drag without an edit."""
    drag(plot, x_of(plot, 6.0), x_of(plot, 6.5), let_go=False)
    plot.set_marks(delete_rep(THREE_REPS, 2), {})
    release(plot, x_of(plot, 6.5))
    assert heard.of("dragCancelled") == [(BEGIN_2,)]
    plot.set_trial(picture())
    plot.show_span(Span(4.0, 14.0))
    drag(plot, x_of(plot, 6.0), x_of(plot, 6.5), let_go=False)
    plot.set_trial(None)
    release(plot, 10.0)
    assert heard.of("dragCancelled") == [(BEGIN_2,), (BEGIN_2,)]
    assert heard.of("dragFinished") == []


def test_a_window_that_takes_the_mouse_cancels_a_drag(plot: TrialPlot, heard: Heard) -> None:
    """When the view loses its grab of the mouse, nothing is moved."""
    drag(plot, x_of(plot, 6.0), x_of(plot, 6.5), let_go=False)
    plot._gestures.ungrabMouse()
    release(plot, x_of(plot, 6.5))
    assert heard.of("dragCancelled") == [(BEGIN_2,)]
    assert heard.of("dragFinished") == []


def test_a_click_selects_and_moves_nothing(plot: TrialPlot, heard: Heard) -> None:
    """A press that shakes by 2 px is a click on the boundary."""
    x = x_of(plot, 6.0)
    press(plot, x)
    move(plot, x + 2)
    release(plot, x + 2)
    assert heard.all == [("selected", BEGIN_2)]


def test_a_drag_back_to_the_start_ends_where_it_began(plot: TrialPlot, heard: Heard) -> None:
    """There and back again: the end names the sample the boundary had."""
    x = x_of(plot, 6.0)
    move(plot, x, NONE)
    press(plot, x)
    for to in (x + 30, x + 60, x):
        move(plot, to)
    release(plot, x)
    assert heard.of("dragFinished") == [(BEGIN_2, 6000)]


def test_a_drag_beyond_the_recording_stays_within_it(plot: TrialPlot, heard: Heard) -> None:
    """Samples that are told lie from 0 to the recording's length."""
    plot.fit_all()
    drag(plot, x_of(plot, 2.0), -400.0)
    drag(plot, x_of(plot, 14.0), viewport(plot).width() + 500.0)
    assert [sample for _, sample in heard.of("dragFinished")] == [0, LENGTH]


def test_a_drag_on_empty_space_moves_the_view_under_the_cursor(plot: TrialPlot, heard: Heard) -> None:
    """What was under the cursor stays under it; no boundary is touched."""
    drag(plot, x_of(plot, 6.7), x_of(plot, 7.7))
    assert plot.span.begin_s == pytest.approx(3.0, abs=10.0 / viewport(plot).width())
    assert plot.span.width_s == pytest.approx(10.0)
    assert heard.all == []


def test_the_view_stops_at_the_ends_of_the_recording(plot: TrialPlot) -> None:
    """Moved far to either side, the recording stays in sight."""
    drag(plot, x_of(plot, 6.7), x_of(plot, 6.7) + 5000)
    assert plot.span.begin_s == pytest.approx(-0.2)
    drag(plot, 300.0, -5000.0)
    assert plot.span.end_s == pytest.approx(20.2)


@pytest.mark.parametrize("steps", [1.0, -1.0, 0.25, 8.0])
def test_the_wheel_zooms_about_the_cursor(plot: TrialPlot, steps: float) -> None:
    """The time under the cursor keeps its place; forward sees less; heights do not change."""
    at, before, bands = 250, plot.span, plot._bands
    time = plot._time_at(at)
    wheel(plot, at, steps)
    assert plot._time_at(at) == pytest.approx(time)
    assert (plot.span.width_s < before.width_s) is (steps > 0)
    assert plot._bands == bands


def test_shift_and_the_wheel_move_the_view(plot: TrialPlot) -> None:
    """Sideways without a sideways wheel; the width stays."""
    wheel(plot, 300.0, -1.0, Qt.KeyboardModifier.ShiftModifier)
    assert plot.span.begin_s > 4.0
    assert plot.span.width_s == pytest.approx(10.0)


def test_zoom_ends_at_a_few_samples_and_at_the_whole(plot: TrialPlot) -> None:
    """However often the wheel turns, the span stays between a dozen samples and the recording."""
    for _ in range(40):
        wheel(plot, 300.0, 3.0)
    assert plot.span.width_s == pytest.approx(0.012)
    for _ in range(40):
        wheel(plot, 300.0, -3.0)
    assert plot.span == Span(-0.2, 20.2)


def test_of_two_boundaries_in_one_place_the_selected_one_is_taken(plot: TrialPlot) -> None:
    """Where the end of rep 2 meets the begin of rep 3, a click keeps the one that is selected."""
    begin_3 = Address(3, 0, Place.BEGIN)
    plot.select(begin_3)
    click(plot, x_of(plot, 10.0))
    assert plot.selected_address == begin_3
    plot.select(END_2)
    click(plot, x_of(plot, 10.0))
    assert plot.selected_address == END_2


def test_lines_that_are_not_drawn_are_not_taken(qtbot: QtBot) -> None:
    """Where a phase is a few pixels wide its third lines are neither seen nor taken hold of."""
    plot = shown(picture(marks(rep(1, 10_000, 10_600))))
    qtbot.addWidget(plot)
    click(plot, x_of(plot, 10.1))
    assert plot.selected_address is not None
    assert plot.selected_address.place is Place.BEGIN
    plot.show_span(Span(9.9, 10.7))
    click(plot, x_of(plot, 10.1))
    assert plot.selected_address == Address(1, 0, Place.FIRST_LINE)


def test_a_click_beside_the_boundaries_picks_the_rep_and_selects_none(plot: TrialPlot, heard: Heard) -> None:
    """Inside a rep its id is told, outside nothing; a selection ends with it."""
    plot.select(BEGIN_2)
    click(plot, x_of(plot, 6.25))
    click(plot, x_of(plot, 5.5))
    assert heard.all == [("selected", None), ("repPicked", 2)]


def test_what_is_under_the_cursor_is_said_in_words(plot: TrialPlot, qtbot: QtBot) -> None:
    """Hovering a boundary names rep, place, time and origin; beside it the words are empty, and the cursor plain."""
    words: list[str] = []
    plot.hovered.connect(words.append)
    move(plot, x_of(plot, 6.0) + 3, NONE)
    assert plot._gestures.cursor().shape() is Qt.CursorShape.SplitHCursor
    move(plot, x_of(plot, 6.3), NONE)
    assert plot._gestures.cursor().shape() is Qt.CursorShape.ArrowCursor
    assert words == ["rep 2: lowering begins at 6.000 s, automatic", ""]


def test_moving_the_marks_during_a_drag_keeps_the_drag(plot: TrialPlot, heard: Heard) -> None:
    """Whoever owns the marks sets them at each move; the drag goes on and ends once."""
    held = THREE_REPS

    def follow(address: Address, sample: int) -> None:
        plot.set_marks(move_boundary(held, address, sample), {})

    plot.dragMoved.connect(follow)
    drag(plot, x_of(plot, 6.0), x_of(plot, 6.6))
    drawn = plot._drawing
    assert drawn is not None
    line = drawn.line(BEGIN_2)
    assert line is not None
    assert [(BEGIN_2, line.sample)] == heard.of("dragFinished")


def test_setting_marks_or_selection_tells_no_gesture(plot: TrialPlot, heard: Heard) -> None:
    """What the program does is not told as what the user did."""
    plot.set_marks(move_boundary(THREE_REPS, BEGIN_2, 6100), {})
    plot.select(LINE_2)
    plot.select(None)
    plot.set_trial(picture(), keep_view=True)
    plot.fit_all()
    assert heard.all == []


def test_a_middle_button_drag_moves_the_view_even_from_a_boundary(plot: TrialPlot, heard: Heard) -> None:
    """The middle button never takes hold of a boundary."""
    middle = Qt.MouseButton.MiddleButton
    x = x_of(plot, 6.0)
    press(plot, x, middle)
    move(plot, x + 50, middle)
    release(plot, x + 50, middle)
    assert plot.span.begin_s < 4.0
    assert heard.all == []


def _key(key: Qt.Key) -> QEvent:
    from PySide6.QtGui import QKeyEvent

    return QKeyEvent(QEvent.Type.KeyPress, key, Qt.KeyboardModifier.NoModifier)


def test_new_signals_of_the_same_trial_leave_a_drag_alone(plot: TrialPlot, heard: Heard) -> None:
    """An envelope that arrives while a boundary is dragged is drawn, with the same seconds, and the drag goes on."""
    drag(plot, x_of(plot, 6.0), x_of(plot, 6.5), let_go=False)
    span = plot.span
    plot.set_trial(picture(), keep_view=True)
    assert plot.span == span
    assert plot.selected_address == BEGIN_2
    release(plot, x_of(plot, 6.5))
    assert heard.names().count("dragFinished") == 1
    assert "dragCancelled" not in heard.names()
