"""The cursor, what a dragged boundary may snap to, choosing a stretch, and scrolling at the edges, with real events."""

from math import nan

import numpy as np
import pytest
from heard import Heard, listening
from mouse import LEFT, NONE, RIGHT, click, drag, leave, move, press, release, viewport, wheel, x_of
from pictures import LENGTH, THREE_REPS, lane, marks, movement, picture, pixels, rep, shown
from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent, QPaintEvent, QRegion
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from phasemark.model.mark_edits import Address, move_boundary
from phasemark.model.marks import Decision, Place
from phasemark.phases.snapping import Candidate
from phasemark.session.readout import Readout
from phasemark.window.traces.trial_plot import TrialPlot
from phasemark.window.traces.view_span import Span

BEGIN_2 = Address(2, 0, Place.BEGIN)  # at 6 s
ALT = Qt.KeyboardModifier.AltModifier


@pytest.fixture
def plot(qtbot: QtBot) -> TrialPlot:
    made = shown(picture())
    qtbot.addWidget(made)
    made.show_span(Span(4.0, 14.0))
    return made


@pytest.fixture
def told(plot: TrialPlot) -> Heard:
    return listening(
        plot, "selected", "dragStarted", "dragMoved", "dragFinished", "dragCancelled", "repPicked", "cursorMoved",
        "stretchChosen", "stretchDropped", "hovered", "spanChanged",
    )  # fmt: skip


def key(plot: TrialPlot, which: Qt.Key, kind: QEvent.Type = QEvent.Type.KeyPress) -> None:
    QApplication.sendEvent(plot, QKeyEvent(kind, which, Qt.KeyboardModifier.NoModifier))


# Cursor


def test_the_cursor_tells_the_sample_under_the_mouse_once(plot: TrialPlot, told: Heard) -> None:
    """Each other sample is told, the same one is not told again, and leaving tells None."""
    assert plot.cursor_sample() is None
    for x in (300, 300, 301):
        move(plot, x, NONE)
    wanted = [round((4.0 + x / viewport(plot).width() * 10.0) * 1000) for x in (300, 301)]
    assert told.of("cursorMoved") == [(sample,) for sample in wanted]
    assert plot.cursor_sample() == wanted[-1]
    leave(plot)
    assert told.of("cursorMoved")[-1] == (None,)
    assert plot.cursor_sample() is None


def test_the_cursor_is_nowhere_beside_the_recording(plot: TrialPlot) -> None:
    """In the margins left of the first and right of the last sample there is no sample."""
    plot.fit_all()
    move(plot, 1, NONE)
    assert plot.cursor_sample() is None
    move(plot, x_of(plot, 0.1), NONE)
    assert plot.cursor_sample() is not None


def test_the_view_moving_under_a_resting_mouse_moves_the_cursor(plot: TrialPlot, told: Heard) -> None:
    """By the keyboard, by the wheel, and with another trial."""
    move(plot, 400, NONE)
    plot.move_by(0.2)
    assert told.of("cursorMoved")[-1] == (plot.cursor_sample(),)
    assert len(told.of("cursorMoved")) == 2
    wheel(plot, 100, 2)
    assert len(told.of("cursorMoved")) == 3
    plot.set_trial(None)
    assert told.of("cursorMoved")[-1] == (None,)


def test_the_hairline_stands_at_the_cursor_through_all_lanes_with_its_time(plot: TrialPlot) -> None:
    """Its column differs from before from the top of the lanes to their foot, its time stands on the axis."""
    before = pixels(plot)
    x = round(x_of(plot, 5.5))
    move(plot, x, NONE)
    after = pixels(plot)
    changed = np.flatnonzero((before != after).any(axis=(0, 2)))
    assert changed.tolist() in ([x - 1], [x])  # the nearest sample may lie just left of where the mouse points
    x = int(changed[0])
    drawing = plot._drawing
    assert drawing is not None
    assert (after[int(drawing.header) + 1 : -1, x] != before[int(drawing.header) + 1 : -1, x]).any(axis=1).mean() > 0.95
    assert plot._axis._cursor is not None
    assert plot._axis._cursor[1] == f"{plot.cursor_sample() / 1000:.3f} s"  # type: ignore[operator]
    leave(plot)
    assert (pixels(plot) == before).all()
    assert plot._axis._cursor is None


class Exposed(QObject):
    """Keeps what is painted of a widget."""

    def __init__(self, target: QObject) -> None:
        super().__init__(target)
        self.regions: list[QRegion] = []
        target.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if isinstance(event, QPaintEvent):
            self.regions.append(QRegion(event.region()))
        return False


def test_moving_the_cursor_paints_two_narrow_stripes_once(plot: TrialPlot, qtbot: QtBot) -> None:
    """The traces are painted where the hairline was and where it is, and nowhere between."""
    plot.cursorMoved.connect(lambda sample: plot.set_readout(read(sample)))
    move(plot, 100, NONE)
    qtbot.wait(30)
    exposed = Exposed(viewport(plot))
    move(plot, 700, NONE)
    qtbot.wait(30)
    assert len(exposed.regions) == 1
    painted = sum(rect.width() * rect.height() for rect in exposed.regions[0])
    assert painted <= 2 * 20 * viewport(plot).height()


def read(sample: int | None) -> Readout | None:
    return None if sample is None else Readout(sample, sample / 1000, 41.23, -12.34, (), (0.5, nan))


def test_values_under_the_cursor_stand_beside_the_lanes_with_their_units(plot: TrialPlot) -> None:
    """Position and speed beside the movement, envelopes beside their muscles, a missing one is said; None: units."""
    before = plot._gutter.grab().toImage()
    move(plot, x_of(plot, 5.5), NONE)
    plot.set_readout(read(plot.cursor_sample()))
    assert plot._gutter._values == (("41.2 cm", "−12 cm/s"), ("0.500 mV",), ("no value",))
    assert plot._gutter.grab().toImage() != before
    plot.set_readout(None)
    assert plot._gutter._values is None
    assert plot._gutter.grab().toImage() == before


def test_a_ring_stands_on_each_value_at_the_cursor(plot: TrialPlot) -> None:
    """On the movement and on the muscle that has a value; not where a value belongs to another sample."""
    move(plot, x_of(plot, 5.5), NONE)
    readout = read(plot.cursor_sample())
    plot.set_readout(readout)
    bands = plot._bands
    assert plot._pointer.dots == pytest.approx((bands[0].y(41.23), bands[1].y(0.5)))
    plot.set_readout(read(1234))
    assert plot._pointer.dots == ()


def test_a_readout_survives_another_size_and_ends_with_the_trial(plot: TrialPlot, qtbot: QtBot) -> None:
    """Laid out anew it is still shown; another trial shows units."""
    move(plot, x_of(plot, 5.5), NONE)
    plot.set_readout(read(plot.cursor_sample()))
    plot.resize(800, 500)
    qtbot.wait(10)
    assert plot._gutter._values is not None
    plot.set_trial(picture())
    assert plot._gutter._values is None


def test_the_gutter_keeps_room_for_values_where_a_lane_has_one_row(qtbot: QtBot) -> None:
    """With many low lanes the name gives way, and name and value lie left of the scale's texts."""
    lanes = [movement(), *[lane(np.zeros(100), limits=(-1.5, 1.5)) for _ in range(16)]]
    plot = shown(picture(marks(), lanes), 900, 400)
    qtbot.addWidget(plot)
    plot.set_readout(Readout(5, 0.005, 1.0, 1.0, (), (-1.234,) * 16))
    gutter = plot._gutter
    beside, width = gutter._besides[3], gutter._widths()[0]
    text = gutter._values[3][0] if gutter._values else ""
    assert text.startswith("−1.23")
    assert beside.x + gutter.fontMetrics().horizontalAdvance(text) <= width + 2 * 6 + 2


# Snapping


NEAR = Candidate(6300, "turning point")
FAR = Candidate(9000, "speed rule")


def test_what_will_be_snapped_to_is_shown_before(plot: TrialPlot) -> None:
    """Nothing comes from far away; within some pixels the nearest is shown with its word, and then as reached."""
    plot.dragStarted.connect(lambda _: plot.set_snaps((NEAR, FAR)))
    x = x_of(plot, 6.0)
    per_px = plot.samples_in(1)
    coming = []
    move(plot, x, NONE)
    press(plot, x)
    for to in (x - 60, x - 20, x + 300 / per_px - 20):
        move(plot, to)
        coming.append(plot._pointer.coming(per_px))
    assert coming == [None, None, NEAR]
    waiting = pixels(plot)
    plot.set_snap_target(NEAR)
    assert plot._pointer.coming(per_px) == NEAR
    assert (pixels(plot) != waiting).any()
    release(plot, x)
    assert plot._pointer.snaps == ()
    assert plot._pointer.target is None


def test_samples_in_pixels_follow_the_zoom(plot: TrialPlot) -> None:
    """Eight pixels are eight times the seconds a pixel has, on the recording's clock; none without a trial."""
    assert plot.samples_in(8) == pytest.approx(8 * 10_000 / viewport(plot).width())
    plot.show_span(Span(5.0, 6.0))
    assert plot.samples_in(8) == pytest.approx(8 * 1_000 / viewport(plot).width())
    plot.set_trial(None)
    assert plot.samples_in(8) == 0


def test_alt_switches_snapping_off_while_it_is_held(plot: TrialPlot, told: Heard) -> None:
    """Held with the mouse or pressed at rest; the drag is told again so that the boundary follows at once."""
    assert plot.snapping
    drag(plot, x_of(plot, 6.0), x_of(plot, 6.3), let_go=False)
    plot.set_snaps((NEAR,))
    count = len(told.of("dragMoved"))
    key(plot, Qt.Key.Key_Alt)
    assert not plot.snapping
    assert told.of("dragMoved")[count:] == told.of("dragMoved")[-2:-1]
    assert plot._pointer.coming(plot.samples_in(1)) is None
    key(plot, Qt.Key.Key_Alt, QEvent.Type.KeyRelease)
    assert plot.snapping
    move(plot, x_of(plot, 6.31), keys=ALT)
    assert not plot.snapping
    release(plot, x_of(plot, 6.31))
    drag(plot, x_of(plot, 10.0), x_of(plot, 10.3))
    assert plot.snapping


def test_marks_of_candidates_hang_at_the_top_of_the_lanes(plot: TrialPlot) -> None:
    """A notch at each candidate in view, painted while a boundary is dragged and gone after Escape."""
    drag(plot, x_of(plot, 6.0), x_of(plot, 5.5), let_go=False)
    before = pixels(plot)
    plot.set_snaps((FAR, Candidate(12_000, "turning point")))
    after = pixels(plot)
    changed = np.flatnonzero((before != after).any(axis=(0, 2)))
    for sample in (9000, 12_000):
        at = x_of(plot, sample / 1000)
        assert ((changed >= at - 7) & (changed <= at + 7)).any()
    assert len(changed) <= 2 * 14
    key(plot, Qt.Key.Key_Escape)
    assert plot._pointer.snaps == ()


# A stretch


def test_a_stretch_is_chosen_by_one_drag_and_moves_nothing(plot: TrialPlot, told: Heard) -> None:
    """Even from a boundary, and from right to left: two samples in order, once; then the mouse is as it was."""
    plot.ask_stretch("Drag over a repetition")
    move(plot, 300, NONE)
    assert plot._gestures.cursor().shape() is Qt.CursorShape.CrossCursor
    drag(plot, x_of(plot, 6.0), x_of(plot, 4.5))
    ((begin, end),) = told.of("stretchChosen")
    assert type(begin) is int
    assert abs(begin - 4500) <= plot.samples_in(1)
    assert abs(end - 6000) <= plot.samples_in(1)
    assert not told.of("dragStarted") + told.of("selected") + told.of("stretchDropped") + told.of("spanChanged")
    move(plot, x_of(plot, 6.7), NONE)
    assert plot._gestures.cursor().shape() is Qt.CursorShape.ArrowCursor
    assert plot._pointer.prompt == ""
    drag(plot, x_of(plot, 6.0), x_of(plot, 6.3))
    assert len(told.of("dragFinished")) == 1
    assert len(told.of("stretchChosen")) == 1


def test_the_stretch_and_its_prompt_are_seen(plot: TrialPlot) -> None:
    """The prompt stands above the lanes, the stretch is veiled while it is dragged, all is gone after."""
    before = pixels(plot)
    plot.ask_stretch("Drag over a repetition")
    asked = pixels(plot)
    header = int(plot._drawing.header) if plot._drawing else 0
    assert (asked[:header] != before[:header]).any()
    assert (asked[header:] == before[header:]).all()
    drag(plot, x_of(plot, 7.0), x_of(plot, 8.0), let_go=False)
    veiled = pixels(plot)
    middle = round(x_of(plot, 7.5))
    assert (veiled[header + 20 :, middle] != before[header + 20 :, middle]).any(axis=1).mean() > 0.9
    assert (veiled[header + 20 :, round(x_of(plot, 9.0))] == before[header + 20 :, round(x_of(plot, 9.0))]).all()
    release(plot, x_of(plot, 8.0))
    leave(plot)
    assert (pixels(plot) == before).all()


@pytest.mark.parametrize("way", ["escape", "right click", "while dragging", "other trial", "mouse taken"])
def test_a_stretch_can_be_dropped(plot: TrialPlot, told: Heard, way: str) -> None:
    """Dropped is told once, nothing is chosen, and the next drag is an ordinary one."""
    plot.ask_stretch("Drag over a repetition")
    if way in ("while dragging", "mouse taken"):
        drag(plot, x_of(plot, 7.0), x_of(plot, 8.0), let_go=False)
    if way in ("escape", "while dragging"):
        key(plot, Qt.Key.Key_Escape)
    elif way == "right click":
        press(plot, 300, RIGHT)
        release(plot, 300, RIGHT)
    elif way == "other trial":
        plot.set_trial(picture())
        plot.show_span(Span(4.0, 14.0))
    else:
        plot._gestures.ungrabMouse()
    release(plot, x_of(plot, 8.0))
    assert told.of("stretchDropped") == [()]
    assert told.of("stretchChosen") == []
    assert plot._pointer.stretch is None
    assert not plot._pointer.prompt
    drag(plot, x_of(plot, 6.0), x_of(plot, 6.3))
    assert len(told.of("dragFinished")) == 1


def test_a_click_chooses_no_stretch_and_goes_on_asking(plot: TrialPlot, told: Heard) -> None:
    """Neither chosen nor dropped nor a rep picked; the drag after it chooses."""
    plot.ask_stretch("Drag over a repetition")
    click(plot, x_of(plot, 7.0))
    assert not told.of("stretchChosen") + told.of("stretchDropped") + told.of("repPicked")
    drag(plot, x_of(plot, 7.0), x_of(plot, 8.0))
    assert len(told.of("stretchChosen")) == 1


def test_a_stretch_stays_within_the_recording(plot: TrialPlot, told: Heard) -> None:
    """Dragged far beyond its end the stretch ends with it."""
    plot.fit_all()
    plot.ask_stretch("Drag over a repetition")
    drag(plot, x_of(plot, 15.0), 5000.0)
    assert told.of("stretchChosen")[0][1] == LENGTH


def test_asking_without_a_trial_asks_nothing(plot: TrialPlot, told: Heard) -> None:
    """There is nothing to choose from."""
    plot.set_trial(None)
    plot.ask_stretch("Drag over a repetition")
    assert not plot._gestures.asking


# Scrolling at the edges


def test_a_boundary_held_at_the_edge_takes_the_view_along_to_the_end(
    plot: TrialPlot, told: Heard, qtbot: QtBot
) -> None:
    """The view moves on, the boundary with it, until the recording ends; one finish, and the scrolling stops."""
    plot.dragMoved.connect(lambda a, sample: plot.set_marks(move_boundary(THREE_REPS, a, sample), {}))
    end = Address(3, 1, Place.END)  # at 14 s
    plot.show_span(Span(11.0, 15.0))
    edge = viewport(plot).width() - 2
    drag(plot, x_of(plot, 14.0), edge, let_go=False)
    qtbot.waitUntil(lambda: plot.span.end_s >= 20.2 - 1e-9, timeout=5000)
    spans = [span.begin_s for (span,) in told.of("spanChanged")]  # type: ignore[attr-defined]
    assert len(spans) > 5
    assert spans == sorted(spans)
    qtbot.waitUntil(lambda: not plot._scroll.isActive(), timeout=1000)
    release(plot, edge)
    ((address, sample),) = told.of("dragFinished")
    assert address == end
    assert sample == min(LENGTH, round(plot._time_at(edge) * 1000)) or abs(sample - LENGTH) <= 250  # type: ignore[operator]
    assert not told.of("dragCancelled")


def test_scrolling_ends_when_the_mouse_comes_back_or_the_drag_is_dropped(plot: TrialPlot, qtbot: QtBot) -> None:
    """Back in the middle the view rests; Escape at the edge rests it too."""
    plot.show_span(Span(5.0, 9.0))
    drag(plot, x_of(plot, 6.0), 3, let_go=False)
    assert plot._scroll.isActive()
    move(plot, 300)
    qtbot.wait(40)
    assert not plot._scroll.isActive()
    move(plot, 2)
    key(plot, Qt.Key.Key_Escape)
    span = plot.span
    qtbot.wait(40)
    assert plot.span == span
    release(plot, 2)


def test_a_boundary_taken_at_the_edge_does_not_scroll_until_it_is_moved_outward(plot: TrialPlot, qtbot: QtBot) -> None:
    """Taken hold of ten pixels from the left edge and moved inward, the view stays."""
    width = viewport(plot).width()
    plot.show_span(Span(6.0 - 10 / width * 4.0, 10.0 - 10 / width * 4.0))
    span = plot.span
    drag(plot, x_of(plot, 6.0), x_of(plot, 6.0) + 8, let_go=False)
    qtbot.wait(40)
    assert plot.span == span
    release(plot, x_of(plot, 6.0) + 8)


def test_panning_does_not_scroll_by_itself(plot: TrialPlot, qtbot: QtBot) -> None:
    """The view that is dragged to its edge stays where the hand put it."""
    drag(plot, x_of(plot, 6.7), 2, let_go=False)
    span = plot.span
    qtbot.wait(40)
    assert plot.span == span
    release(plot, 2)


# What needs attention


def test_a_doubtful_rep_says_why_when_its_number_is_hovered(qtbot: QtBot) -> None:
    """In the strip above the lanes the rep is told with doubt and reasons; its boundaries tell them too."""
    doubtful = rep(1, 2000, 6000, doubt=0.7, doubts=("range of motion 41 % below this trial's median",))
    checked = rep(2, 8000, 12_000, checked=Decision("R2", "2025-01-01T00:00:00Z"))
    plot = shown(picture(marks(doubtful, checked)))
    qtbot.addWidget(plot)
    words: list[str] = []
    plot.hovered.connect(words.append)
    move(plot, x_of(plot, 4.5), NONE, y=10)
    move(plot, x_of(plot, 10.5), NONE, y=10)
    move(plot, x_of(plot, 10.5), NONE, y=200)
    move(plot, x_of(plot, 2.0), NONE)
    assert words == [
        "rep 1, doubt 0.70: range of motion 41 % below this trial's median",
        "rep 2, checked by R2",
        "",
        "rep 1: lowering begins at 2.000 s, automatic; doubt 0.70: range of motion 41 % below this trial's median",
    ]


def signs(plot: TrialPlot) -> np.ndarray:
    """The strip above the lanes."""
    assert plot._drawing is not None
    return pixels(plot)[: int(plot._drawing.header)]


@pytest.mark.parametrize("text", [1.0, 2.0])
@pytest.mark.parametrize("width", [1000, 260])
def test_signs_of_doubt_and_check_differ_by_form(qtbot: QtBot, text: float, width: int) -> None:
    """The same rep plain, doubtful and checked: three strips that differ, at any size of text and narrow too."""
    strips = []
    for more in ({}, {"doubt": 0.5}, {"checked": Decision("R1", "2025-01-01T00:00:00Z")}):
        plot = shown(picture(marks(rep(1, 2000, 18_000, **more))), width)
        qtbot.addWidget(plot)
        font = plot.font()
        font.setPointSizeF(font.pointSizeF() * text)
        plot.setFont(font)
        strips.append(signs(plot).min(axis=2) < 160)
    assert (strips[0] != strips[1]).any()
    assert (strips[0] != strips[2]).any()
    assert (strips[1] != strips[2]).any()


def test_a_little_doubt_or_a_settled_one_has_no_sign(qtbot: QtBot) -> None:
    """Below one half, or excluded, the strip shows no question."""
    strips = []
    for doubt in (0.0, 0.49):
        plot = shown(picture(marks(rep(1, 2000, 18_000, doubt=doubt))))
        qtbot.addWidget(plot)
        strips.append(signs(plot))
    assert (strips[0] == strips[1]).all()


@pytest.mark.parametrize("text", [1.0, 2.0])
def test_a_third_line_placed_by_hand_is_told_by_its_form(qtbot: QtBot, text: float) -> None:
    """It has a handle at the top that grows with the text, and is thicker than an automatic one."""
    from pictures import phase

    from phasemark.model.marks import LOWERING, RAISING, Rep

    widths = []
    for hand in ((), (6000,)):
        held = marks(Rep(1, (phase(LOWERING, 2000, 14_000, hand), phase(RAISING, 14_000, 18_000))))
        plot = shown(picture(held, [lane(np.full(LENGTH, nan), limits=(1.0, 2.0))]))
        qtbot.addWidget(plot)
        font = plot.font()
        font.setPointSizeF(font.pointSizeF() * text)
        plot.setFont(font)
        plot.show_span(Span(5.0, 7.0))
        image, at = pixels(plot).astype(int), round(x_of(plot, 6.0))
        hue = plot._scheme.hue("lowering")
        drawn = np.abs(image - [hue.blue(), hue.green(), hue.red()]).max(axis=2) < 60
        near = drawn[:, at - 20 : at + 20]
        header = int(plot._drawing.header) if plot._drawing else 0
        widths.append((near[header - 2 : header + 3].sum(axis=1).max(), near[header + 60 :].sum(axis=1).max()))
    (automatic_top, automatic_line), (hand_top, hand_line) = widths
    assert hand_line == 2 * automatic_line == 2
    assert automatic_top <= 1
    assert hand_top >= (14 if text == 2.0 else 7)


def test_keys_do_nothing_else_while_a_stretch_is_asked(plot: TrialPlot, told: Heard) -> None:
    """Escape ends the asking before it ends a selection."""
    plot.select(BEGIN_2)
    plot.ask_stretch("Drag over a repetition")
    QTest.keyClick(plot, Qt.Key.Key_Escape)
    assert plot.selected_address == BEGIN_2
    QTest.keyClick(plot, Qt.Key.Key_Escape)
    assert plot.selected_address is None


def test_dragging_hides_the_hairline_and_leaves_the_cursor_told(plot: TrialPlot, told: Heard) -> None:
    """While a boundary is dragged it is itself the line; the sample under the mouse is still told."""
    move(plot, x_of(plot, 6.0), NONE)
    press(plot, x_of(plot, 6.0))
    move(plot, x_of(plot, 6.5), LEFT)
    assert plot._canvas._pointer._pointer.cursor is None
    assert abs(told.of("cursorMoved")[-1][0] - 6500) <= plot.samples_in(1)  # type: ignore[operator]
    release(plot, x_of(plot, 6.5))
    assert plot._canvas._pointer._pointer.cursor == plot.cursor_sample()
