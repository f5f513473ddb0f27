"""What is painted lies at the pixel of its time, on any display and whatever the rate and shift of a lane."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from mouse import viewport
from numpy.typing import NDArray
from pictures import CLOCK, LENGTH, THREE_REPS, lane, marks, movement, picture, pixels, rep, shown
from PySide6.QtGui import QColor, QImage, QPalette
from pytestqt.qtbot import QtBot

from phasemark.model.clock import Alignment
from phasemark.model.mark_edits import Address, move_boundary
from phasemark.model.marks import Decision, Place
from phasemark.window.palette import scheme_of
from phasemark.window.traces.trial_plot import TrialPlot
from phasemark.window.traces.view_span import Span

NO_MARKS = marks()
SLOW = Fraction(1000, 3)
SHIFTED = Alignment(Fraction(1234, 10000), Fraction(10007, 10000))


def spike(at: int, samples: int) -> NDArray[np.float64]:
    values = np.zeros(samples)
    values[at] = 0.9
    return values


def dark_columns(image: NDArray[np.uint8], rows: slice, under: int = 215) -> NDArray[np.int64]:
    """Columns that have a dark pixel in these rows."""
    return np.flatnonzero((image[rows].max(axis=2) < under).any(axis=0))


def upper_part(plot: TrialPlot, lane_index: int, scale: float) -> slice:
    """Rows near the top of a lane, where only a spike reaches and no grid or boundary confuses."""
    band = plot._bands[lane_index]
    return slice(round((band.top + 0.10 * band.height) * scale), round((band.top + 0.22 * band.height) * scale))


def expected_column(plot: TrialPlot, time_s: float, columns: int) -> float:
    return (time_s - plot.span.begin_s) / plot.span.width_s * columns


@pytest.fixture
def without_grid(monkeypatch: pytest.MonkeyPatch) -> None:
    """No time grid, so that the only upright things are spikes."""
    monkeypatch.setattr("phasemark.window.traces.trial_view.TrialView._time_ticks", lambda self: ())


@pytest.mark.usefixtures("without_grid")
@pytest.mark.parametrize("scale", [1.0, 1.5, 2.0])
@pytest.mark.parametrize("span", [Span(-0.2, 20.2), Span(3.0, 9.1), Span(6.9, 7.913)])
def test_a_spike_is_painted_at_the_pixel_of_its_time_in_every_lane(qtbot: QtBot, scale: float, span: Span) -> None:
    """Three lanes of other rates and shifts, each with one spike: its column is that of its sample's time."""
    lanes = [lane(spike(7123, LENGTH)), lane(spike(2371, 6600), SLOW),
             lane(spike(2333, 6600), SLOW, SHIFTED)]  # fmt: skip
    plot = shown(picture(NO_MARKS, lanes))
    qtbot.addWidget(plot)
    plot.show_span(span)
    image = pixels(plot, scale)
    for index, (drawn, at) in enumerate(zip(lanes, (7123, 2371, 2333), strict=True)):
        column = expected_column(plot, drawn.time_of(at), image.shape[1])
        found = dark_columns(image, upper_part(plot, index, scale))
        per_sample = float(drawn.seconds_per_sample) / plot.span.width_s * image.shape[1]
        if per_sample <= 1:
            assert list(found) == [int(column)]
        else:  # lines from sample to sample rise to the spike from both sides
            assert abs((found[0] + found[-1] + 1) / 2 - column) <= 1
            assert found[-1] - found[0] <= 2 * per_sample


@pytest.mark.usefixtures("without_grid")
@pytest.mark.parametrize("scale", [1.0, 1.5, 2.0])
def test_a_boundary_is_painted_at_the_pixel_of_its_sample(qtbot: QtBot, scale: float) -> None:
    """The begin of rep 1 and a spike in the same sample of the fastest channel share a column."""
    plot = shown(picture(THREE_REPS, [lane(spike(2000, LENGTH))]))
    qtbot.addWidget(plot)
    plot.show_span(Span(1.0, 4.5))
    image = pixels(plot, scale)
    line = QColor(plot._scheme.hue("lowering"))
    hue = np.array([line.blue(), line.green(), line.red()])
    rows = slice(round((plot._bands[0].top + 0.75 * plot._bands[0].height) * scale), None)
    seen = np.flatnonzero((np.abs(image[rows].astype(int) - hue).max(axis=2) < 10).mean(axis=0) > 0.8)
    assert int(expected_column(plot, 2.0, image.shape[1])) in seen


@pytest.mark.usefixtures("without_grid")
def test_a_gap_of_one_sample_is_seen_when_an_hour_is_shown(qtbot: QtBot) -> None:
    """A single missing sample among seven million is tinted at its place, at least a pixel wide."""
    values = np.zeros(3600 * 2000)
    values[2_345_678] = np.nan
    plot = shown(picture(marks(length=3_600_000), [lane(values, Fraction(2000))]))
    qtbot.addWidget(plot)
    image = pixels(plot)
    base = image[upper_part(plot, 0, 1.0)][0, -1]
    tinted = np.flatnonzero((image[upper_part(plot, 0, 1.0)] != base).any(axis=(0, 2)))
    assert 1 <= len(tinted) <= 2
    assert abs(tinted[0] - expected_column(plot, 2_345_678 / 2000, image.shape[1])) <= 1


@pytest.mark.usefixtures("without_grid")
def test_the_last_sample_of_a_lane_is_drawn(qtbot: QtBot) -> None:
    """A spike in the very last sample, which falls in a partial bin, is seen zoomed out."""
    plot = shown(picture(NO_MARKS, [lane(spike(LENGTH - 1, LENGTH))]))
    qtbot.addWidget(plot)
    image = pixels(plot)
    assert len(dark_columns(image, upper_part(plot, 0, 1.0))) == 1


@pytest.mark.usefixtures("without_grid")
def test_nothing_is_drawn_across_a_gap(qtbot: QtBot) -> None:
    """Zoomed in and zoomed out, a missing second has no line through it."""
    values = np.full(LENGTH, 0.6)
    values[8000:9000] = np.nan
    plot = shown(picture(NO_MARKS, [lane(values)]))
    qtbot.addWidget(plot)
    for span in (Span(0, 20), Span(7.9, 9.1)):
        plot.show_span(span)
        image = pixels(plot)
        y = round(plot._bands[0].y(0.6))
        dark = dark_columns(image, slice(y - 3, y + 4), 180)
        left, right = (expected_column(plot, t, image.shape[1]) for t in (8.0, 9.0))
        assert not any(left + 2 < column < right - 2 for column in dark)
        assert any(column < left for column in dark)
        assert any(column > right for column in dark)


def on_screen(plot: TrialPlot) -> QImage:
    """What stands on the screen, without painting it again."""
    return plot.screen().grabWindow(plot.winId()).toImage()


def test_a_stretch_repainted_alone_equals_a_whole_repaint(qtbot: QtBot) -> None:
    """After a boundary has moved, what set_marks repainted looks the same as everything painted anew."""
    plot = shown(picture())
    qtbot.addWidget(plot)
    plot.clearFocus()
    qtbot.wait(30)
    before = on_screen(plot)
    moved = move_boundary(THREE_REPS, Address(2, 0, Place.BEGIN), 6400)
    plot.set_marks(moved, plot._picture.levels if plot._picture else None)
    qtbot.wait(30)
    partly = on_screen(plot)
    plot.repaint()
    viewport(plot).repaint()
    assert partly == on_screen(plot)
    assert partly != before


def test_values_off_the_scale_are_marked_at_the_edge(qtbot: QtBot) -> None:
    """A lane cut off at its limits shows where, and only where, values go beyond."""
    values = np.zeros(LENGTH)
    values[10_000:10_400] = 3.0
    plot = shown(picture(NO_MARKS, [lane(values)]))
    qtbot.addWidget(plot)
    image = pixels(plot)
    top = round(plot._bands[0].top)
    dark = dark_columns(image, slice(top, top + 3), 60)
    left, right = (expected_column(plot, t, image.shape[1]) for t in (10.0, 10.4))
    assert dark[0] == int(left)
    assert abs(dark[-1] - right) <= 1
    assert len(dark) == dark[-1] - dark[0] + 1


def colour_at(image: NDArray[np.uint8], x: float, y: float) -> tuple[int, int, int]:
    blue, green, red = (int(v) for v in image[round(y), round(x)])
    return red, green, blue


@pytest.mark.parametrize("dark", [False, True])
def test_thirds_are_shaded_and_follow_light_and_dark(qtbot: QtBot, dark: bool) -> None:
    """Lowering runs from the strong upper to the weak lower shade, raising the other way, in both looks."""
    plot = shown(picture(THREE_REPS, [lane(np.zeros(LENGTH))]))
    qtbot.addWidget(plot)
    colours = plot.palette()
    for role, light in ((QPalette.ColorRole.Base, not dark), (QPalette.ColorRole.Text, dark)):
        colours.setColor(role, QColor("white" if light else "black"))
    plot.setPalette(colours)
    scheme = scheme_of(plot.palette())
    assert scheme.dark is dark
    plot.show_span(Span(1.5, 5.5))
    image = pixels(plot)
    y = plot._bands[0].top + 3
    for time, name, third in ((2.2, "lowering", "upper"), (2.8, "lowering", "middle"), (3.3, "lowering", "lower"),
                              (3.7, "raising", "lower"), (4.8, "raising", "upper")):  # fmt: skip
        tint = scheme.tint(name, third)
        x = expected_column(plot, time, image.shape[1])
        assert colour_at(image, x, y) == (tint.red(), tint.green(), tint.blue())


def test_an_excluded_rep_is_hatched_and_an_incomplete_one_dotted(qtbot: QtBot) -> None:
    """What is said by colour is also said by form: hatching in the pause, dots in place of a whole line."""
    held = marks(rep(1, 2000, 6000, pause=1000, excluded=Decision("R1", "2025-01-01T00:00:00Z", "artefact")),
                 rep(2, 8000, 12000, complete=False))  # fmt: skip
    plot = shown(picture(held, [lane(np.full(LENGTH, np.nan), limits=(1.0, 2.0))]))
    qtbot.addWidget(plot)
    plot.show_span(Span(1.0, 13.0))
    image = pixels(plot)
    band = plot._bands[0]
    rows = slice(round(band.top) + 5, round(band.bottom) - 5)
    pause = image[rows, round(expected_column(plot, 3.8, image.shape[1])) + 2]
    assert len(np.unique(pause, axis=0)) > 1
    between = image[rows, round(expected_column(plot, 7.0, image.shape[1])) + 2]
    assert len(np.unique(between, axis=0)) == 1
    whole, dotted = (np.unique(image[rows, int(expected_column(plot, t, image.shape[1]))], axis=0) for t in (2.0, 8.0))
    assert len(dotted) > 1
    assert len(whole) == 1


def test_a_downward_lane_draws_larger_values_lower(qtbot: QtBot) -> None:
    """Where raising makes an angle smaller, raised is on top, and the area for other panels says so."""
    drawn = replace(movement(), downward=True)
    plot = shown(picture(NO_MARKS, [drawn, *[lane(np.zeros(LENGTH))] * 4]))
    qtbot.addWidget(plot)
    area = plot.movement_area()
    assert area is not None
    rect, (at_bottom, at_top) = area
    assert at_bottom > 60
    assert at_top < 20
    assert plot._bands[0].y(60) > plot._bands[0].y(20)
    assert 0.33 < rect.height() / plot.lanes_area().height() < 0.42


def test_a_window_without_a_trial_says_what_to_do(qtbot: QtBot) -> None:
    """The empty state is a sentence; a trial takes its place and goes again."""
    plot = shown(None)
    qtbot.addWidget(plot)
    assert plot._message.isVisible()
    plot.set_trial(picture())
    assert not plot._message.isVisible()
    plot.set_trial(None, message="Nothing here.")
    assert plot._message.isVisible()
    assert plot.accessibleDescription() == "Nothing here."
    assert plot.movement_area() is None


@pytest.mark.parametrize("lanes", [[], [movement()], [lane(np.array([]))], [lane(np.full(50, np.nan), limits=None)],
                                   [lane(np.array([0.5]), limits=None)], [lane(np.zeros(9), limits=None)]])  # fmt: skip
def test_odd_lanes_are_drawn_without_complaint(qtbot: QtBot, lanes: list[object]) -> None:
    """No lane, no muscle, no sample, only missing samples, one sample, a constant."""
    plot = shown(picture(THREE_REPS, lanes))  # type: ignore[arg-type]
    qtbot.addWidget(plot)
    for span in (Span(0, 20), Span(0, 0.02)):
        plot.show_span(span)
        assert pixels(plot).any()


def test_a_recording_as_short_as_one_sample_is_drawn(qtbot: QtBot) -> None:
    """A length of one clock sample leaves the view sound."""
    plot = shown(picture(marks(length=1), [lane(np.array([0.1]))]))
    qtbot.addWidget(plot)
    assert plot.span.width_s > 0
    assert pixels(plot).any()


def test_seconds_outside_the_recording_are_not_shown(qtbot: QtBot) -> None:
    """The span is kept within the recording with its small margin."""
    plot = shown(picture())
    qtbot.addWidget(plot)
    plot.show_span(Span(-100, -90))
    assert plot.span.begin_s == pytest.approx(-0.01 * LENGTH / float(CLOCK))
    assert plot.span.width_s == pytest.approx(10)
