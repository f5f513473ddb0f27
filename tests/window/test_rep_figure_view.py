"""The figure of a rep on the screen: what is painted lies where its value says, and all of it can be heard."""

from dataclasses import replace

import numpy as np
import pytest
from drawn_figures import AXIS, figure, like, muscle, phase, pixels, reading, shown, side
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QMouseEvent, QPalette
from PySide6.QtWidgets import QApplication, QCheckBox, QScrollBar
from pytestqt.qtbot import QtBot

from phasemark.model.marks import LOWERING, RAISING
from phasemark.session.rep_figure import FigureAxis, Measure
from phasemark.window.figure.figure_frame import bold
from phasemark.window.figure.figure_layout import limit_text, scale_limit, value_heights, value_text
from phasemark.window.figure.figure_painting import fitting_title
from phasemark.window.figure.figure_words import notes, title_text, titles
from phasemark.window.figure.rep_figure_view import NO_EMG, NO_REP, RepFigureView
from phasemark.window.palette import scheme_of
from phasemark.window.traces.lane_layout import Band


def hue_rows(view: RepFigureView, phase_name: str, scale: float = 1.0) -> tuple[float, float]:
    """Where the curve of the first muscle reaches farthest from its centre line: its row and its reach (px)."""
    layout = view.layout_now
    assert layout is not None
    column = layout.columns[0]
    hit = like(pixels(view, scale), scheme_of(view.palette()).hue(phase_name), 150)
    hit[: round((layout.band.top - 2) * scale)] = hit[round((layout.band.bottom + 2) * scale) :] = False
    hit[:, : round(column.left * scale)] = hit[:, round(column.right * scale) :] = False
    rows, columns = np.nonzero(hit)
    away = np.abs((columns + 0.5) / scale - column.centre)
    far = away >= away.max() - 1.01 / scale
    return float((rows[far].mean() + 0.5) / scale), float(away.max())


@pytest.mark.parametrize("scale", [1.0, 1.5, 2.0])
@pytest.mark.parametrize(("peak_at", "up"), [(0.6, True), (0.95, True), (0.9, False)])
def test_a_peak_is_painted_at_the_height_of_its_position(qtbot: QtBot, scale: float, peak_at: float, up: bool) -> None:
    """On both sides, on any display, and upside down where smaller is raised; as far out as its value says."""
    view = shown(figure(peak_at=peak_at))
    qtbot.addWidget(view)
    view.set_axis(120.0, 380.0, *((-0.1, 1.1) if up else (1.1, -0.1)))
    QApplication.processEvents()
    share = (peak_at + 0.1) / 1.2 if up else (1.1 - peak_at) / 1.2
    layout = view.layout_now
    assert layout is not None
    column = layout.columns[0]
    for name in (LOWERING, RAISING):
        row, reach = hue_rows(view, name, scale)
        assert row == pytest.approx(380 - 260 * share, abs=1.5)
        assert reach == pytest.approx(column.reach * 0.09 / column.limit, abs=2.0)


def test_third_levels_run_from_edge_to_edge_at_their_heights(qtbot: QtBot) -> None:
    view = shown(figure())
    qtbot.addWidget(view)
    view.set_axis(120.0, 420.0, 0.0, 1.0)
    image = pixels(view)
    layout = view.layout_now
    assert layout is not None
    gap = (layout.columns[0].right + layout.columns[1].left) / 2
    for y in (220, 320):
        dark = (image[y - 3 : y + 4, round(gap) - 4 : round(gap) + 5].sum(axis=2) < 500).any(axis=1)
        assert list(np.flatnonzero(dark) + y - 3) == [y]


def test_alone_it_fills_its_height_and_thirds_are_in_their_order(qtbot: QtBot) -> None:
    view = shown(figure())
    qtbot.addWidget(view)
    layout = view.layout_now
    assert layout is not None
    assert layout.band.top == view.room_above
    assert layout.band.y(1.0) < layout.band.y(0.0)
    lowering, raising = (side(phase(name, 1.0), 0.5) for name in (LOWERING, RAISING))
    down, up = (value_heights(figure(), s, layout.band, layout.row) for s in (lowering, raising))
    assert down == tuple(sorted(down))
    assert up == tuple(reversed(down))
    assert down[1] == pytest.approx(layout.band.y(0.5))


def test_values_never_stand_on_one_another() -> None:
    """Levels squeezed into a corner: values are still a row apart and within the axis."""
    band, row = Band(100, 200, 0.0, 1.0), 15.0
    for levels in ((0.01, 0.02), (0.98, 0.99), (0.5, 0.5), (-3.0, 5.0)):
        heights = value_heights(figure(levels=levels), side(phase(LOWERING, 1.0), 0.5), band, row)
        assert min(np.diff(heights)) >= row - 1e-9
        assert min(heights) >= 100 + row / 2
        assert max(heights) <= 200 - row / 2


def test_an_excluded_muscle_is_hatched_and_said(qtbot: QtBot) -> None:
    """The ground beside the curve of the excluded one only is not blank."""
    made = figure(2)
    out = replace(made, muscles=(made.muscles[0], replace(made.muscles[1], excluded="slipped")))
    view = shown(out)
    qtbot.addWidget(view)
    layout = view.layout_now
    assert layout is not None
    ground = QColor(scheme_of(view.palette()).base)
    marks = []
    for column in layout.columns:
        rows = slice(round(layout.band.y(0.3)), round(layout.band.y(0.2)))
        part = pixels(view)[rows, round(column.centre + column.reach * 0.5) : round(column.centre + column.reach * 0.9)]
        marks.append(int((~like(part, ground, 20)).sum()))
    assert marks[0] == 0
    assert marks[1] > 20
    view.setFocus()
    qtbot.keyClick(view, Qt.Key.Key_Right)
    assert "excluded: slipped" in view.accessibleDescription()


def test_keys_go_from_muscle_to_muscle_and_say_its_values(qtbot: QtBot) -> None:
    view = shown(figure(16), width=400)
    qtbot.addWidget(view)
    view.setFocus()
    bar = view.findChild(QScrollBar)
    assert bar is not None
    assert bar.isVisible()
    with qtbot.waitSignal(view.musclePicked) as picked:
        qtbot.keyClick(view, Qt.Key.Key_Right)
    assert picked.args == [1]
    said = view.accessibleDescription()
    assert "muscle 2, muscle 2 of 16, RMS in mV" in said
    assert "lowering: upper third 0.0110, middle third 0.0220, lower third 0.0330, whole 0.0440" in said
    assert "raising: lower third 0.0110" in said
    assert "whole repetition: 0.0550" in said
    qtbot.keyClick(view, Qt.Key.Key_End)
    layout = view.layout_now
    assert layout is not None
    assert view.current_muscle == 15 == layout.columns[-1].muscle
    qtbot.keyClick(view, Qt.Key.Key_Right)
    assert view.current_muscle == 15
    qtbot.keyClick(view, Qt.Key.Key_Home)
    assert view.current_muscle == 0 == bar.value()


def test_measure_and_moved_values_are_said(qtbot: QtBot) -> None:
    made = figure(1)
    first = made.muscles[0]
    changed = replace(first.sides[0], whole=reading(0.044, before=0.05))
    view = shown(replace(made, muscles=(replace(first, sides=(changed, first.sides[1])),)))
    qtbot.addWidget(view)
    assert "whole 0.0440 (moved)" in view.accessibleDescription()
    view.set_measure(Measure.MEAN_AMPLITUDE)
    assert "mean amplitude in mV" in view.accessibleDescription()
    assert "upper third 0.00880" in view.accessibleDescription()


def test_pointing_reads_position_times_and_envelope(qtbot: QtBot) -> None:
    view = shown(figure())
    qtbot.addWidget(view)
    layout = view.layout_now
    assert layout is not None
    heard: list[str] = []
    times: list[tuple[float, ...]] = []
    view.hovered.connect(heard.append)
    view.pointed.connect(times.append)
    at = QPointF(layout.columns[1].centre + 3, layout.band.y(0.5))
    none = Qt.MouseButton.NoButton
    event = QMouseEvent(QEvent.Type.MouseMove, at, at, none, none, Qt.KeyboardModifier.NoModifier)
    QApplication.sendEvent(view, event)
    assert heard[-1] == "0.500 m · muscle 2 · lowering at 2.500 s, 0.0900 mV · raising at 5.500 s, 0.0900 mV"
    assert times[-1] == pytest.approx((2.5, 5.5))
    QApplication.sendEvent(view, QEvent(QEvent.Type.Leave))
    assert (heard[-1], times[-1]) == ("", ())


def test_one_scale_for_all_or_each_its_own(qtbot: QtBot) -> None:
    made = figure(2)
    view = shown(replace(made, muscles=(made.muscles[0], replace(made.muscles[1], peak=0.38))))
    qtbot.addWidget(view)

    def limits() -> list[float]:
        assert view.layout_now is not None
        return [column.limit for column in view.layout_now.columns]

    assert limits() == pytest.approx([0.1, 0.4])
    box = view.findChild(QCheckBox)
    assert box is not None
    with qtbot.waitSignal(view.oneScaleChanged) as changed:
        qtbot.mouseClick(box, Qt.MouseButton.LeftButton, pos=QPointF(8, box.height() / 2).toPoint())
    assert changed.args == [True]
    assert limits() == pytest.approx([0.4, 0.4])


@pytest.mark.parametrize(
    ("peak", "limit", "text"),
    [(0.0, 1.0, "1"), (0.0951, 0.1, "0.1"), (0.011, 0.012, "0.012"), (0.1, 0.12, "0.12"), (0.21, 0.25, "0.25"),
     (3.9, 4.0, "4"), (0.0000071, 0.000008, "0.000008"), (float("nan"), 1.0, "1")],
)  # fmt: skip
def test_scales_end_at_short_numbers_just_above_the_peak(peak: float, limit: float, text: str) -> None:
    assert scale_limit(peak) == pytest.approx(limit)
    assert limit_text(limit) == text


def test_values_have_the_decimals_of_their_scale() -> None:
    assert [value_text(v, 0.25) for v in (0.1234, 0.0, float("nan"))] == ["0.123", "0.000", "–"]
    assert value_text(0.01234, 0.05) == "0.0123"
    assert value_text(12.34, 40.0) == "12.3"
    assert value_text(0.00188, 0.004) == "0.0019"
    assert value_text(0.000188, 0.0004) == "0.000188"


def test_what_is_to_be_known_is_said() -> None:
    half = figure(phases=(phase(LOWERING, 1.0),), number=None, complete=False, counted=False,
                  reason="incomplete repetition", doubt=0.4, doubts=("ends in mid-movement",))  # fmt: skip
    assert title_text(half) == "Incomplete repetition: lowering only"
    assert notes(half) == ("not counted: incomplete repetition", "doubt 0.40: ends in mid-movement")
    out = figure(excluded="artefact", counted=False, reason="artefact")
    assert title_text(out) == "Repetition 2 of 8"
    assert notes(out) == ("excluded: artefact",)


def test_the_title_is_said_shorter_before_it_is_cut_off(qtbot: QtBot) -> None:
    made = figure(4)
    assert titles(made, (0, 3)) == ("Repetition 2 of 8", "Rep 2 of 8")
    assert titles(made, (1, 2))[0] == "Repetition 2 of 8  ·  muscles 2 to 3 of 4"
    assert titles(made, (1, 1))[:2] == ("Repetition 2 of 8  ·  muscle 2 of 4", "Repetition 2 of 8  ·  2 of 4")
    view = shown(made, 1200, 400)
    qtbot.addWidget(view)
    said = []
    for width in range(1200, 200, -20):
        view.resize(width, 400)
        layout = view.layout_now
        assert layout is not None
        said.append(fitting_title(made, layout, view.font(), view._title_room))
        assert QFontMetricsF(bold(view.font())).horizontalAdvance(said[-1]) <= view._title_room
    assert said[0] == "Repetition 2 of 8"
    assert said[-1].startswith("Rep 2 of 8")
    assert len(set(said)) > 3


def test_where_there_is_nothing_to_draw_it_says_so(qtbot: QtBot) -> None:
    view = shown(None)
    qtbot.addWidget(view)
    assert view.accessibleDescription() == NO_REP
    assert (pixels(view).sum(axis=2) < 500).any()  # words are there to be seen
    view.set_figure(figure(0))
    assert view.accessibleDescription() == NO_EMG
    view.set_figure(None, message="Reading this trial ...")
    assert view.accessibleDescription() == "Reading this trial ..."


def test_without_a_movement_trace_the_axis_is_time_whatever_the_plot_shows(qtbot: QtBot) -> None:
    """Time runs downward from 0 within the heights given, not over the values of another trace."""
    view = shown(figure(levels=None, axis=FigureAxis("time", "s", 3.0, 0.0, of_time=True)))
    qtbot.addWidget(view)
    view.set_axis(120.0, 380.0, -50.0, 50.0)
    layout = view.layout_now
    assert layout is not None
    assert 120 < layout.band.y(0.0) < 150
    assert 350 < layout.band.y(3.0) < 380
    view.clear_axis()
    assert view.layout_now is not None
    assert view.layout_now.band.top == view.room_above


@pytest.mark.parametrize("scale", [1.0, 2.0])
@pytest.mark.parametrize("size", [(150, 280), (420, 300), (1500, 500)])
def test_it_paints_at_any_size_and_text(qtbot: QtBot, size: tuple[int, int], scale: float) -> None:
    """Long names, 16 muscles, dark, twice the text: columns lie within the widget and do not overlap."""
    made = figure(1)
    name = "gastrocnemius lateralis (right)"
    view = shown(replace(made, muscles=tuple(muscle(name, made.phases) for _ in range(16))), *size)
    qtbot.addWidget(view)
    font = view.font()
    font.setPointSizeF(font.pointSizeF() * scale)
    view.setFont(font)
    dark = QPalette(QColor("#222222"))
    dark.setColor(QPalette.ColorRole.Base, QColor("#1b1b1b"))
    dark.setColor(QPalette.ColorRole.Text, QColor("#eeeeee"))
    view.setPalette(dark)
    image = pixels(view)
    assert like(image, QColor("#1b1b1b"), 6).mean() > 0.3
    layout = view.layout_now
    assert layout is not None
    assert layout.left >= layout.gutter
    assert layout.right <= view.width()
    assert all(a.right < b.left for a, b in zip(layout.columns, layout.columns[1:], strict=False))


def test_levels_of_another_height_than_the_axis_are_left_out(qtbot: QtBot) -> None:
    """Fixed levels beyond the range: nothing is painted outside the axis, and nothing fails."""
    view = shown(figure(levels=(-4.0, 9.0), axis=AXIS))
    qtbot.addWidget(view)
    assert (pixels(view).sum(axis=2) < 500).any()
