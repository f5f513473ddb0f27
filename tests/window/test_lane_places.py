"""Places that want a look are marked in their lane: hatched, with a bar and, where one is looked at, its name."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from pictures import THREE_REPS, lane, marks, movement, picture, pixels, rep, shown
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication, QWidget
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


@pytest.mark.parametrize("begin", [5.0, 9.8])
def test_the_name_of_a_place_is_read_whole_wherever_the_traces_lie_in_the_window(qtbot: QtBot, begin: float) -> None:
    """Grabbed with the widget around it, and alone: the same ink, also at the right edge of the view."""
    plot, around = flat(), QWidget()
    qtbot.addWidget(around)
    around.resize(1800, 700)
    plot.setParent(around)
    plot.move(700, 50)
    around.show()
    plot.show()
    plot.set_places((LanePlace(1, begin, begin + 0.1, "movement artefact", chosen=True, whole=True),))
    QApplication.processEvents()
    with_name, alone = (dark(widget.grab().toImage()) for widget in (around, plot))
    plot.set_places((LanePlace(1, begin, begin + 0.1, "", chosen=True, whole=True),))
    QApplication.processEvents()
    nameless = dark(around.grab().toImage())
    assert with_name - nameless > 150
    assert with_name == pytest.approx(alone, abs=20)


def dark(image: QImage) -> int:
    """Dark pixels of a picture."""
    grey = image.convertToFormat(QImage.Format.Format_Grayscale8)
    rows = np.frombuffer(grey.constBits(), np.uint8).reshape(grey.height(), grey.bytesPerLine())
    return int((rows[:, : grey.width()] < 90).sum())
