"""What is seen and said while a boundary is dragged: where it was, how far it is from there, which keys help."""

import pytest
from heard import Heard, listening
from mouse import NONE, drag, move, press, release, x_of
from pictures import picture, pixels, shown
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from phasemark.model.mark_edits import move_boundary
from phasemark.window.traces.pointer_drawing import shift_text
from phasemark.window.traces.trial_plot import DRAG_KEYS, TrialPlot
from phasemark.window.traces.view_span import Span


@pytest.fixture
def plot(qtbot: QtBot) -> TrialPlot:
    made = shown(picture())
    qtbot.addWidget(made)
    made.show_span(Span(4.0, 14.0))
    return made


def follow(plot: TrialPlot) -> Heard:
    """Give the plot the marks that a drag asks for, as whoever owns them does."""
    heard = listening(plot, "hovered")
    kept = picture().marks
    plot.dragMoved.connect(lambda address, sample: plot.set_marks(move_boundary(kept, address, sample), None))
    plot.dragCancelled.connect(lambda _: plot.set_marks(kept, None))
    return heard


@pytest.mark.parametrize("end", ["release", "escape"])
def test_where_the_boundary_was_is_seen_until_the_drag_ends(plot: TrialPlot, end: str) -> None:
    """A broken line through all lanes with an empty lozenge at its top."""
    follow(plot)
    header = int(plot._drawing.header) if plot._drawing else 0
    here = round(x_of(plot, 6.0))
    drag(plot, x_of(plot, 6.0), x_of(plot, 6.8), let_go=False)
    dragged = pixels(plot)
    if end == "escape":
        QTest.keyClick(plot, Qt.Key.Key_Escape)
    release(plot, x_of(plot, 6.8))
    move(plot, x_of(plot, 12.0), NONE)
    after = pixels(plot)
    column = (dragged[header + 20 :, here] != after[header + 20 :, here]).any(axis=1)
    assert 0.3 < column.mean() <= 1.0
    assert (
        dragged[header - 3 : header + 4, here - 4 : here + 5] != after[header - 3 : header + 4, here - 4 : here + 5]
    ).any()
    assert plot._pointer.start is None


def test_the_time_axis_says_how_far_it_is_from_where_it_was(plot: TrialPlot) -> None:
    follow(plot)
    press(plot, x_of(plot, 6.0))
    move(plot, x_of(plot, 5.5))
    line = plot._drawing.line(plot.selected_address) if plot._drawing else None
    assert line is not None
    assert plot._tag_text(line) == f"{line.sample / 1000:.3f} s  (−{(6000 - line.sample) / 1000:.3f} s)"
    release(plot, x_of(plot, 5.5))
    assert plot._tag_text(line) == f"{line.sample / 1000:.3f} s"


def test_on_a_narrow_axis_the_time_alone_is_said(qtbot: QtBot) -> None:
    narrow = shown(picture(), width=300)
    qtbot.addWidget(narrow)
    narrow.show_span(Span(4.0, 14.0))
    follow(narrow)
    press(narrow, x_of(narrow, 6.0))
    move(narrow, x_of(narrow, 7.0))
    line = narrow._drawing.line(narrow.selected_address) if narrow._drawing else None
    assert line is not None
    assert narrow._tag_text(line) == f"{line.sample / 1000:.3f} s"
    release(narrow, x_of(narrow, 7.0))


def test_what_is_dragged_and_the_keys_that_help_are_said(plot: TrialPlot) -> None:
    heard = follow(plot)
    drag(plot, x_of(plot, 6.0), x_of(plot, 6.5), let_go=False)
    line = plot._drawing.line(plot.selected_address) if plot._drawing else None
    assert line is not None
    assert heard.of("hovered")[-1] == (f"lowering begins: +{(line.sample - 6000) / 1000:.3f} s. {DRAG_KEYS}",)
    release(plot, x_of(plot, 6.5))
    assert DRAG_KEYS not in str(heard.of("hovered")[-1])


@pytest.mark.parametrize(("start", "now", "text"), [(10, 12, "+0.002 s"), (12, 10, "−0.002 s"), (5, 5, "+0.000 s")])
def test_a_shift_has_a_sign(start: int, now: int, text: str) -> None:
    assert shift_text(start, now, picture().clock) == text
