"""Names, units and ticks beside and below the traces are readable at any height and width."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from pictures import lane, movement, picture, shown
from PySide6.QtGui import QFont, QFontInfo, QFontMetricsF
from pytestqt.qtbot import QtBot

from phasemark.window.traces.lane_gutter import lane_ticks, width_for_rows, wrapped
from phasemark.window.traces.lane_layout import Band
from phasemark.window.traces.time_axis import time_ticks
from phasemark.window.traces.view_span import Span


@pytest.fixture
def metrics(qapp: object) -> QFontMetricsF:
    return QFontMetricsF(QFont("DejaVu Sans", 9))


@pytest.mark.parametrize("height", [12.0, 25.0, 40.0, 80.0, 300.0])
@pytest.mark.parametrize(("low", "high"), [(-0.22, 0.18), (-1200.0, 900.0), (3.0, 78.0), (0.0, 0.0004)])
def test_every_lane_has_ticks_that_keep_clear_of_each_other(
    metrics: QFontMetricsF, height: float, low: float, high: float
) -> None:
    """Two ticks or more, one text or more, texts a row apart and within the lane."""
    band = Band(100.0, 100.0 + height, low, high)
    found = lane_ticks(band, metrics)
    assert len(found) >= 2
    texts = sorted(band.y(tick.value) for tick in found if tick.text)
    assert len(texts) >= (2 if height >= 40 else 1)
    assert all(b - a >= metrics.height() for a, b in pairwise(texts))
    assert all(band.top <= y <= band.bottom for y in texts)


@pytest.mark.parametrize("width", [150.0, 400.0, 1400.0])
@pytest.mark.parametrize("seconds", [0.01, 0.7, 12.0, 3600.0])
@pytest.mark.parametrize("begin", [0.0, 3456.789])
def test_times_keep_clear_of_each_other(metrics: QFontMetricsF, width: float, seconds: float, begin: float) -> None:
    """Texts of neighbouring ticks do not touch at any zoom."""
    span = Span(begin, begin + seconds)
    found = time_ticks(span, width, metrics)
    places = [(tick.value - span.begin_s) / span.width_s * width for tick in found]
    widths = [metrics.horizontalAdvance(tick.text) for tick in found]
    for k in range(1, len(found)):
        assert places[k] - places[k - 1] > (widths[k] + widths[k - 1]) / 2 + 4
    assert len({tick.text for tick in found}) == len(found)


def test_names_are_broken_between_words_and_elided_where_they_must(metrics: QFontMetricsF) -> None:
    """Whole words in as many rows as there are; a side at the end stays."""
    room = metrics.horizontalAdvance("gastrocnemius")
    name = "gastrocnemius medialis (left)"
    enough = width_for_rows(name, metrics, 2)
    assert wrapped(name, metrics, enough, 2) == ("gastrocnemius", "medialis (left)")
    assert width_for_rows(name, metrics, 3) == room
    assert width_for_rows(name, metrics, 1) == metrics.horizontalAdvance(name)
    (short,) = wrapped(name, metrics, 2 * room, 1)
    assert metrics.horizontalAdvance(short) <= 2 * room
    assert "…" in short or short == name
    assert short.endswith("(left)")


@pytest.mark.parametrize("size", [7, 10, 18])
def test_the_gutter_grows_with_the_font_and_the_axis_stays_level(qtbot: QtBot, size: int) -> None:
    """Text scales with the system; the time axis begins where the traces begin."""
    plot = shown(picture(lanes=[movement(), lane(np.zeros(100), limits=None)]))
    qtbot.addWidget(plot)
    plot.setFont(QFont("DejaVu Sans", size))
    qtbot.wait(20)
    assert plot._gutter.width() == plot._gutter.sizeHint().width()
    axis_begin = plot._axis.geometry().x() + plot._axis.place(plot.span.begin_s)
    assert axis_begin == pytest.approx(plot._canvas.view.geometry().x())
    axis_end = plot._axis.geometry().x() + plot._axis.place(plot.span.end_s)
    assert axis_end == pytest.approx(plot._canvas.view.geometry().right() + 1)
    wide = QFontMetricsF(plot.font()).horizontalAdvance("bar height")
    assert plot._gutter.width() > wide


def test_a_name_is_written_smaller_before_it_is_cut_off(qtbot: QtBot) -> None:
    """In whole rows above the unit; where even that is not enough it keeps its size and its end."""
    named = [replace(lane(np.zeros(100), limits=None), label=f"vastus {part} (right)") for part in ("medialis", "x")]
    plot = shown(picture(lanes=[movement(), *named, *named]), 700, 520)
    qtbot.addWidget(plot)
    plot.setFont(QFont("DejaVu Sans", 18))
    qtbot.wait(20)
    gutter, band = plot._gutter, plot._bands[1]
    shares = {room: gutter._text_share(room) for room in range(60, 900, 5)}
    assert len(set(shares.values())) > 1
    assert min(shares.values()) * QFontInfo(gutter.font()).pixelSize() >= 12
    assert shares[895] == shares[60] == 1.0
    for room, share in shares.items():
        font = QFont(gutter._name_font())
        font.setPixelSize(round(QFontInfo(font).pixelSize() * share))
        texts = wrapped(named[0].label, QFontMetricsF(font), room, gutter._rows(band, share) - 1)
        assert share == 1.0 or "…" not in "".join(texts)
    plot.setFont(QFont("DejaVu Sans", 8))
    qtbot.wait(20)
    assert {gutter._text_share(room) for room in range(60, 900, 5)} == {1.0}, "small text stays"
