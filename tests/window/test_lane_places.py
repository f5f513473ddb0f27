"""Places that want a look are marked in their lane: hatched, with a bar and, where one is looked at, its name."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from pictures import THREE_REPS, lane, marks, movement, picture, pixels, rep, shown
from pytestqt.qtbot import QtBot

from phasemark.window.traces.trial_picture import LanePlace
from phasemark.window.traces.trial_plot import TrialPlot
from phasemark.window.traces.view_span import Span

PLACE = LanePlace(1, 5.0, 7.0, "movement artefact")


def flat() -> TrialPlot:
    """A trial without marks whose two muscles are flat, from 0 to 10 s."""
    still = np.zeros(20_000)
    plot = shown(picture(marks(), (movement(), lane(still), lane(still))))
    plot.show_span(Span(0.0, 10.0))
    return plot


def changed_box(plot: TrialPlot, before: NDArray[np.uint8]) -> tuple[float, float, float, float]:
    """The first and last second, and the first and last row, that differ from a picture taken before."""
    after = pixels(plot)
    rows, columns = np.nonzero((after != before).any(axis=2))
    seconds = plot.span.begin_s + np.array([columns.min(), columns.max() + 1]) / after.shape[1] * plot.span.width_s
    return float(seconds[0]), float(seconds[1]), float(rows.min()), float(rows.max())


def test_a_place_is_marked_where_it_lies_and_in_its_lane_only(qtbot: QtBot) -> None:
    plot = flat()
    qtbot.addWidget(plot)
    before = pixels(plot)
    plot.set_places((PLACE,))
    begin, end, top, bottom = changed_box(plot, before)
    pixel = plot.span.width_s / before.shape[1]
    assert abs(begin - 5.0) <= pixel
    assert abs(end - 7.0) <= pixel
    band = plot._bands[1]
    assert band.top - 1 <= top <= band.top + 1
    assert band.bottom - 2 <= bottom <= band.bottom + 1


def test_a_place_far_narrower_than_a_pixel_is_seen(qtbot: QtBot) -> None:
    plot = flat()
    qtbot.addWidget(plot)
    before = pixels(plot)
    plot.set_places((LanePlace(2, 3.0, 3.001, "clipping"),))
    begin, end, *_ = changed_box(plot, before)
    assert 2.9 <= (end - begin) / plot.span.width_s * before.shape[1] <= 4.1


def test_the_one_that_is_looked_at_has_its_name_and_a_heavier_frame(qtbot: QtBot) -> None:
    plot = flat()
    qtbot.addWidget(plot)
    plot.set_places((PLACE,))
    plain = pixels(plot)
    plot.set_places((replace(PLACE, chosen=True),))
    chosen = pixels(plot)
    ink = [int((image < 90).all(axis=2).sum()) for image in (plain, chosen)]
    assert ink[1] > ink[0] + 200


def test_another_trial_has_no_places_and_the_same_one_keeps_them(qtbot: QtBot) -> None:
    plot = flat()
    qtbot.addWidget(plot)
    without = pixels(plot)
    plot.set_places((PLACE,))
    marked = pixels(plot)
    shown_now = plot._picture
    plot.set_trial(shown_now, keep_view=True)
    assert (pixels(plot) == marked).all()
    plot.set_trial(shown_now)
    plot.show_span(Span(0.0, 10.0))
    assert (pixels(plot) == without).all()


def test_places_stay_when_marks_change(qtbot: QtBot) -> None:
    plot = shown(picture(THREE_REPS))
    qtbot.addWidget(plot)
    plot.set_places((replace(PLACE, lane=0),))
    moved = marks(rep(1, 2100, 5000))
    plot.set_marks(moved, None)
    with_place = pixels(plot)
    plot.set_places(())
    assert (pixels(plot) != with_place).any()


def test_the_name_of_a_place_at_the_right_edge_is_read_whole(qtbot: QtBot) -> None:
    """It is moved left until it fits: just as much ink is seen of it as in the middle of the view."""
    plot = flat()
    qtbot.addWidget(plot)
    inks = []
    for begin in (5.0, 9.8):
        plot.set_places((LanePlace(1, begin, begin + 0.1, "movement artefact", chosen=True, whole=True),))
        inks.append(int((pixels(plot) < 90).all(axis=2).sum()))
    assert inks[1] == pytest.approx(inks[0], rel=0.1)
