"""What is kept of the traces while the view moves is the same as all of it painted anew."""

import numpy as np
import pytest
from pictures import LENGTH, lane, movement, picture, pixels, shown
from pytestqt.qtbot import QtBot

from phasemark.window.traces.trial_plot import TrialPlot
from phasemark.window.traces.view_span import Span, in_whole_pixels


def some_lanes() -> list[object]:
    noise = np.random.default_rng(3).normal(0, 0.3, LENGTH)
    noise[9000:9300] = np.nan
    return [movement(), lane(noise), lane(np.sin(np.arange(LENGTH) / 700))]


@pytest.fixture
def plot(qtbot: QtBot) -> TrialPlot:
    made = shown(picture(lanes=some_lanes()))  # type: ignore[arg-type]
    qtbot.addWidget(made)
    return made


def anew(plot: TrialPlot) -> np.ndarray:
    """Everything painted again from nothing, at the same place."""
    plot._canvas._traces._layer._zoom = None
    return pixels(plot)


@pytest.mark.parametrize("width", [19.0, 8.0, 3.0, 1.2, 0.4, 0.05])
def test_every_zoom_is_painted_from_its_own_samples(plot: TrialPlot, width: float) -> None:
    """A view that has been zoomed shows, in its first frame, what a plot does that never had another zoom."""
    plot.show_span(Span(0.0, 20.0))
    pixels(plot)
    for part in (1.0, 0.97, 0.9):
        plot.show_span(Span(8.9, 8.9 + part * width))
        seen = pixels(plot)
        other = shown(plot._picture)
        other.resize(plot.size())
        other.show_span(plot.span)
        assert (seen == pixels(other)).all()
        other.deleteLater()


@pytest.mark.parametrize("width", [6.0, 0.4])
def test_a_view_moved_there_and_back_again_shows_what_a_fresh_one_does(plot: TrialPlot, width: float) -> None:
    """Moved by small and large steps to either side, also round the end of the image that is kept."""
    plot.show_span(Span(8.0, 8.0 + width))
    for share in (0.01, 0.2, -0.013, 0.4, 0.4, 0.4, -0.9, -0.9, 1.7, -0.3):
        plot.move_by(share)
        assert (pixels(plot) == anew(plot)).all()


def test_little_is_painted_while_the_view_moves(plot: TrialPlot, monkeypatch: pytest.MonkeyPatch) -> None:
    """Over twenty steps of one percent only the columns that come into sight, and some ahead of them, are painted."""
    plot.show_span(Span(4.0, 8.0))
    pixels(plot)
    painted = []
    layer = plot._canvas._traces._layer
    paint = layer._paint

    def counted(first: int, last: int) -> None:
        painted.append(last - first)
        paint(first, last)

    monkeypatch.setattr(layer, "_paint", counted)
    for _ in range(20):
        plot.move_by(0.01)
        pixels(plot)
    wide = plot._canvas.width
    assert 0.19 * wide <= sum(painted) <= 0.2 * wide + 2 * 384 + 40


def test_a_view_is_moved_by_whole_pixels_and_zoomed_to_any_place() -> None:
    """Moving keeps the columns of pixels; a span of another width is taken as it is."""
    before = Span(10.0, 20.0)
    after = in_whole_pixels(Span(11.2345, 21.2345), before, 1000)
    assert after.begin_s == pytest.approx(11.23)
    assert after.width_s == pytest.approx(10.0)
    assert in_whole_pixels(Span(11.2345, 21.5), before, 1000) == Span(11.2345, 21.5)
    assert in_whole_pixels(Span(11.0, 21.0), before, 0) == Span(11.0, 21.0)


def test_other_lanes_colours_or_sizes_leave_nothing_of_before(plot: TrialPlot, qtbot: QtBot) -> None:
    """Another trial and another size are drawn whole."""
    plot.show_span(Span(4.0, 8.0))
    pixels(plot)
    plot.set_trial(picture(lanes=[lane(np.zeros(LENGTH))]), keep_view=True)
    assert (pixels(plot) == anew(plot)).all()
    plot.resize(700, 400)
    qtbot.wait(10)
    assert (pixels(plot) == anew(plot)).all()
