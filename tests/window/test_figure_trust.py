"""How far values can be trusted, in the figure: errors below values, hints in sentences, percent, keys, the block."""

from dataclasses import replace
from math import nan
from pathlib import Path

import numpy as np
import pytest
from add_dialog_driver import popups_allowed
from curls_study import make_study
from drawn_figures import figure, muscle, phase, pixels, shown
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QHelpEvent
from PySide6.QtWidgets import QApplication, QToolTip
from pytestqt.qtbot import QtBot
from whole_window import comes_in, shown_window, window_on

from phasemark.model.marks import LOWERING, RAISING
from phasemark.results.further import Further
from phasemark.results.sensitivity import Undetermined
from phasemark.results.value_cells import Normalised
from phasemark.session.figure_readings import Percent, Reading
from phasemark.session.rep_figure import FigureMuscle, Measure, PhaseMotion, RepFigure, Unit
from phasemark.signal.amplitude import Amplitude
from phasemark.signal.kinematics import Motion
from phasemark.signal.sampling_error import SamplingError
from phasemark.window.figure.figure_layout import SMALL, scales_of, unit_of, value_lines
from phasemark.window.figure.figure_picking import beside, value_at
from phasemark.window.figure.figure_words import (
    error_text,
    motion_number,
    motion_words,
    muscle_note,
    reading_sentences,
    shift_text,
)
from phasemark.window.figure.rep_figure_view import MEASURE_FIRST
from phasemark.window.figure.rep_motion_block import RepMotionBlock
from phasemark.window.palette import scheme_of
from phasemark.window.traces.lane_layout import Band

RMS, PERCENT, MV = Measure.RMS, Unit.PERCENT, Unit.MILLIVOLTS
FURTHER = Further(SamplingError(0.041, 0.05, 90.0, 40.0), 0.0012, 0.001, peak=0.05, peak_at_s=2.5, median_hz=88.0)


def trusted(rms: float = 0.02, notes: tuple[str, ...] = (), further: Further = FURTHER) -> Reading:
    percent = Percent(Normalised(100 * rms / 0.1, 20.0, 1.23, 1.0), 2.5, 2.0)
    return Reading(Amplitude(rms, rms * 0.8, 9, 9), None, further, percent, notes)


def with_trust(of: FigureMuscle, **more: object) -> FigureMuscle:
    sides = tuple(replace(side, thirds=(trusted(),) * 3, whole=trusted(0.03)) for side in of.sides)
    return replace(of, sides=sides, rep=trusted(0.03), reference=0.1, **more)  # type: ignore[arg-type]


def trusting(count: int = 2, **more: object) -> RepFigure:
    plain = figure(count)
    muscles = tuple(with_trust(one) for one in plain.muscles)
    return replace(plain, muscles=muscles, scaled=True, shift_s=0.05, **more)  # type: ignore[arg-type]


# Words


def test_errors_are_shares_beside_millivolts_and_points_beside_percent() -> None:
    assert (error_text(trusted(), RMS, MV), shift_text(trusted(), RMS, MV)) == ("±4.1 %", "↔6.0 %")
    assert (error_text(trusted(), RMS, PERCENT), shift_text(trusted(), RMS, PERCENT)) == ("±1.2", "↔2.5")
    large = replace(FURTHER, error=SamplingError(0.123, 0.1, 9.0, 4.0))
    assert error_text(trusted(further=large), RMS, MV) == "±12 %"


def test_what_is_not_determined_is_a_dash_and_said_in_the_hint() -> None:
    none = Further(SamplingError(nan, nan, nan, nan), why_not=Undetermined.SHORT)
    short = trusted(further=none, notes=("Holds only about 4 independent samples.",))
    assert (error_text(short, RMS, MV), shift_text(short, RMS, MV)) == ("±–", "↔–")
    made = trusting()
    sides = (replace(made.muscles[0].sides[0], whole=short), made.muscles[0].sides[1])
    made = replace(made, muscles=(replace(made.muscles[0], sides=sides), made.muscles[1]))
    said = " ".join(reading_sentences(made, (0, LOWERING, "whole"), RMS, MV))
    assert "The sampling error is not determined." in said
    assert "±50 ms: the shift is not determined, since a shift leaves it under 20 ms." in said
    assert "Holds only about 4 independent samples." in said


def test_the_hint_says_that_an_error_is_of_this_stretch_and_no_interval_between_people() -> None:
    said = reading_sentences(trusting(), (1, RAISING, "upper"), RMS, MV)
    assert said[0] == "muscle 2, raising, upper third: RMS 0.0200 mV."
    assert said[1] == "± 4.1 % of the value: sampling error of this stretch, no interval between people."
    assert said[2] == "Boundaries moved by ±50 ms shift it by up to 6.0 % of the value."
    assert said[3] == "Highest envelope 0.0500 mV at 2.500 s."
    assert said[4].startswith("Median frequency 88 Hz")
    percent = reading_sentences(trusting(), (1, RAISING, "upper"), RMS, PERCENT)
    assert percent[0] == "muscle 2, raising, upper third: RMS 20.0 % of the reference."
    assert percent[1].startswith("± 1.2 points")
    assert reading_sentences(trusting(), (1, "no such phase", "upper"), RMS, MV) == ()


# Percent


def test_a_muscle_without_a_reference_stays_in_millivolts_and_says_so() -> None:
    made = trusting()
    bare = replace(made.muscles[0], reference=nan)
    made = replace(made, muscles=(bare, made.muscles[1]))
    assert [unit_of(one, PERCENT) for one in made.muscles] == [MV, PERCENT]
    assert muscle_note(made, bare, RMS, PERCENT) == "no reference: mV"
    assert muscle_note(made, bare, RMS, MV) == muscle_note(made, made.muscles[1], RMS, PERCENT) == ""
    assert muscle_note(replace(made, scaled=False), bare, RMS, PERCENT) == "", "it is not known yet"


def test_a_scale_in_percent_ends_at_a_short_number_and_one_scale_is_for_those_in_one_unit() -> None:
    """Peaks of 0.095 mV are 95 % of 0.1 mV and 23.75 % of 0.4 mV."""
    made = trusting(3)
    muscles = (made.muscles[0], replace(made.muscles[1], reference=0.4), replace(made.muscles[2], reference=nan))
    made = replace(made, muscles=muscles)
    each = scales_of(made, PERCENT, one_scale=False)
    assert [(scale.end, scale.unit) for scale in each] == [(100.0, PERCENT), (25.0, PERCENT), (0.1, MV)]
    assert [scale.millivolts for scale in each] == pytest.approx([0.001, 0.004, 1.0])
    together = scales_of(made, PERCENT, one_scale=True)
    assert [scale.end for scale in together] == [100.0, 100.0, 0.1]
    assert [scale.end for scale in scales_of(made, MV, one_scale=False)] == [0.1, 0.1, 0.1]


def test_the_view_reads_in_percent(qtbot: QtBot) -> None:
    view = shown(trusting())
    qtbot.addWidget(view)
    before = pixels(view)
    view.set_unit(PERCENT)
    QApplication.processEvents()
    assert "RMS in % of the reference" in view.accessibleDescription()
    assert "upper third 20.0 ± 1.2" in view.accessibleDescription()
    assert (pixels(view) != before).any()
    layout = view.layout_now
    assert layout is not None
    assert [column.limit for column in layout.columns] == [100.0, 100.0]
    assert layout.columns[0].x(RAISING, 0.1) == layout.columns[0].centre + layout.columns[0].reach


# Room and picking


def test_errors_take_lines_only_where_there_is_room() -> None:
    row, small = 15.0, 15.0 * SMALL
    for room, lines in ((16.0, 1), (29.0, 2), (41.0, 3), (90.0, 3)):
        assert value_lines((100.0, 100.0 + room, 100.0 + 2 * room), row, small, Band(0, 400, 0.0, 1.0)) == lines


def test_errors_are_painted_below_values_and_not_while_a_boundary_moves(qtbot: QtBot) -> None:
    """The soft words below the whole phases are there only with errors."""
    inks = []
    for made in (trusting(), figure(2)):
        view = shown(made)
        qtbot.addWidget(view)
        layout = view.layout_now
        assert layout is not None
        rows = slice(round(layout.rows.whole_error), round(layout.rows.whole_error + 2 * layout.small))
        column = layout.columns[0]
        part = pixels(view)[rows, round(column.left) : round(column.right)]
        base = scheme_of(view.palette()).base
        inks.append(int((np.abs(part - np.array([base.red(), base.green(), base.blue()])).sum(axis=2) > 200).sum()))
    assert inks[0] > 40
    assert inks[1] == 0


def test_keys_go_from_value_to_value_and_say_each(qtbot: QtBot) -> None:
    view = shown(trusting())
    qtbot.addWidget(view)
    view.setFocus()
    heard: list[str] = []
    view.hovered.connect(heard.append)
    qtbot.keyClick(view, Qt.Key.Key_Down)
    assert heard[-1].startswith("muscle 1, lowering, upper third: RMS 0.0200 mV. ± 4.1 %")
    assert view.accessibleDescription() == heard[-1]
    for _ in range(9):
        qtbot.keyClick(view, Qt.Key.Key_Down)
    assert heard[-1].startswith("muscle 1, raising, whole phase")
    qtbot.keyClick(view, Qt.Key.Key_Up)
    assert heard[-1].startswith("muscle 1, raising, upper third")


def test_the_value_beside_another_is_found_from_either_end() -> None:
    one = trusting(1).muscles[0]
    assert beside(one, None, 1) == (LOWERING, "upper")
    assert beside(one, None, -1) == (RAISING, "whole")
    assert beside(one, (LOWERING, "whole"), 1) == (RAISING, "lower")
    assert beside(replace(one, sides=()), None, 1) is None


def test_the_hint_is_of_the_value_under_the_mouse(qtbot: QtBot) -> None:
    made = trusting()
    view = shown(made)
    qtbot.addWidget(view)
    layout = view.layout_now
    assert layout is not None
    column = layout.columns[1]
    places = {
        (column.left + 4, layout.band.y(0.9)): (1, LOWERING, "upper"),
        (column.right - 4, layout.band.y(0.1)): (1, RAISING, "lower"),
        (column.right - 4, layout.rows.whole + 3): (1, RAISING, "whole"),
        (column.right - 4, 3.0): None,
        (2.0, layout.band.y(0.5)): None,
    }
    for (x, y), found in places.items():
        assert value_at(layout, made, QPointF(x, y)) == found
    at = QPoint(round(column.left + 4), round(layout.band.y(0.9)))
    with popups_allowed():
        QApplication.sendEvent(view, QHelpEvent(QEvent.Type.ToolTip, at, view.mapToGlobal(at)))
        assert "no interval between people" in QToolTip.text()
        QToolTip.hideText()


# How the phases moved


SLOW = PhaseMotion(LOWERING, 2.14, 2.0, Motion(0.55, 0.3, 0.62))
STUCK = PhaseMotion(RAISING, 1.5, None, Motion(0.56, 0.4, 0.9, 4.5, 4.6, 4.9, 0.5, 0.3), (0.2, 0.35))


def test_motion_is_said_with_what_was_planned_and_where_it_stuck() -> None:
    assert motion_words(SLOW, "m") == (
        "lowering 2.14 s (planned 2 s), range 0.550 m, mean speed 0.300 m/s, peak speed 0.620 m/s"
    )
    assert motion_words(STUCK, "m").endswith("sticking region 4.60 to 4.90 s")
    assert motion_words(PhaseMotion("burst", 1.0, None, Motion()), "") == "burst 1.00 s"


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.3, "0.300"), (1.08, "1.08"), (41.2, "41.2"), (999.6, "1000"), (1234.0, "1234"), (0.0, "0"), (nan, "–")],
)
def test_ranges_and_speeds_keep_three_digits_as_their_neighbours_do(value: float, text: str) -> None:
    assert motion_number(value) == text


def test_the_block_is_a_table_where_there_is_room_and_lines_where_there_is_none(qtbot: QtBot) -> None:
    block = RepMotionBlock()
    qtbot.addWidget(block)
    block.resize(600, 90)
    block.show_motion(trusting(motion=(SLOW, STUCK)))
    block.show()
    QApplication.processEvents()
    assert "<table" in block.text()
    assert "time, planned (s)" in block.text()
    assert "mean (m/s)" in block.text()
    assert "<td align='right'>0.300</td>" in block.text()
    assert "2.14 (2)" in block.text()
    assert "4.60–4.90" in block.text()
    assert "sticking region" in block.accessibleDescription()
    block.resize(160, 200)
    QApplication.processEvents()
    assert "<table" not in block.text()
    assert "planned 2 s" in block.text()
    block.show_motion(None)
    assert not block.isVisible()


def test_a_narrow_block_has_its_units_below_its_titles(qtbot: QtBot) -> None:
    block = RepMotionBlock()
    qtbot.addWidget(block)
    block.show_motion(trusting(motion=(SLOW,)))
    wide = next(width for width in range(100, 900, 5) if _has(block, width, "mean (m/s)"))
    narrow = next(width for width in range(100, 900, 5) if _has(block, width, "<table"))
    assert narrow < wide
    block.resize(narrow, 90)
    QApplication.processEvents()
    assert ">mean</td>" in block.text()
    assert ">m/s</td>" in block.text()


def _has(block: RepMotionBlock, width: int, text: str) -> bool:
    block.resize(width, 90)
    block.show()
    QApplication.processEvents()
    return text in block.text()


def test_while_a_boundary_moves_the_block_does_not_write_at_every_move(qtbot: QtBot) -> None:
    block = RepMotionBlock()
    qtbot.addWidget(block)
    block.resize(600, 90)
    block.show_motion(trusting(motion=(SLOW,)))
    block.show_motion(trusting(motion=(STUCK,)), moving=True)
    assert "lowering" in block.text()
    block.show_motion(trusting(motion=(STUCK,)))
    assert "raising" in block.text()


def test_where_the_lift_sticks_a_bar_stands_beside_the_axis(qtbot: QtBot) -> None:
    view = shown(trusting(motion=(SLOW, STUCK)))
    qtbot.addWidget(view)
    view.set_axis(120.0, 380.0, 0.0, 1.0)
    QApplication.processEvents()
    layout = view.layout_now
    assert layout is not None
    hue = scheme_of(view.palette()).hue(RAISING)
    image = pixels(view)[:, round(layout.gutter) - 4]
    rows = np.flatnonzero(np.abs(image - np.array([hue.red(), hue.green(), hue.blue()])).sum(axis=1) < 60)
    assert rows.min() == pytest.approx(layout.band.y(0.35), abs=2)
    assert rows.max() == pytest.approx(layout.band.y(0.2), abs=2)


def test_a_value_with_more_to_know_has_a_sign(qtbot: QtBot) -> None:
    noted = trusting(1)
    side = noted.muscles[0].sides[0]
    sides = (replace(side, whole=trusted(0.03, ("already rectified: no RMS",))), noted.muscles[0].sides[1])
    marked = replace(noted, muscles=(replace(noted.muscles[0], sides=sides),))
    images = []
    for made in (noted, marked):
        view = shown(made)
        qtbot.addWidget(view)
        images.append(pixels(view))
    layout = view.layout_now
    assert layout is not None
    changed = np.flatnonzero((images[0] != images[1]).any(axis=(1, 2)))
    assert changed.min() >= layout.rows.whole - 1
    assert changed.max() <= layout.rows.whole_error


# In the window


def test_errors_follow_once_a_rep_is_at_rest_and_the_choice_is_remembered(
    qtbot: QtBot, tmp_path: Path, nothing_remembered: None
) -> None:
    study = make_study(tmp_path / "curls")
    with window_on(qtbot, study) as window:

        def errors() -> bool:
            made = window.desk.figure.figure
            return made is not None and made.muscles[0].sides[0].whole.further is not None

        qtbot.waitUntil(errors)
        choice = window.desk.measure_choice
        choice.units.setCurrentIndex(1)
        choice.units.activated.emit(1)
        assert "no reference" in window.desk.figure.toolTip(), "there is no MVIC in this study"
        assert MEASURE_FIRST in window.desk.figure.toolTip()
        choice.button(Measure.MEAN_AMPLITUDE).click()
    with shown_window(qtbot) as again:
        again.open_study(study)
        comes_in(qtbot, again, study)
        qtbot.waitUntil(lambda: again.desk.measure_choice.unit is PERCENT)
        assert again.desk.measure_choice.measure is Measure.MEAN_AMPLITUDE
        assert "mean amplitude" in again.desk.figure.accessibleDescription() or again.desk.figure.figure is None


def test_hand_made_muscles_have_no_reference() -> None:
    assert unit_of(muscle("soleus", (phase(LOWERING, 1.0),)), PERCENT) is MV
