"""Filters on the settings page: the picture of the response, what was taken out, a muscle's own, refusals."""

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from curls_study import RATE, make_study
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from whole_window import CTRL, SHIFT, last_edit, press, session_of, trigger, window_on, write

from phasemark.model.settings import FilterSettings, MuscleFilter, Settings
from phasemark.model.study import Study, Trial
from phasemark.session.command_session import open_for_command
from phasemark.session.filter_chain import FilterChain, chain_of
from phasemark.window.actions import ActionName
from phasemark.window.filters.filter_panel import FilterPanel
from phasemark.window.filters.response_picture import NO_CHANNEL, ResponsePicture, chain_words
from phasemark.window.main_window import MainWindow
from phasemark.window.setting_editors import TextEditor

KEY = Qt.Key


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Study:
    folder: Path = make_study(tmp_path_factory.mktemp("filters") / "curls")
    with open_for_command(folder, print) as at:
        return at.session.study


def chain(study: Study, **filters: object) -> FilterChain:
    made = chain_of(replace(study, settings=Settings(FilterSettings(**filters))), study.trials[0])  # type: ignore[arg-type]
    assert made is not None
    return made


# The picture


def grabbed(picture: ResponsePicture) -> np.ndarray:
    image = picture.grab().toImage().convertToFormat(QImage.Format.Format_Grayscale8)
    flat = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())
    return flat[:, : image.width()].astype(int)


def painted(qtbot: QtBot, what: FilterChain | None, *, linear: bool = False) -> ResponsePicture:
    picture = ResponsePicture()
    qtbot.addWidget(picture)
    picture.resize(420, picture.sizeHint().height())
    picture.set_linear(linear)
    picture.show_chain(what)
    picture.show()
    QApplication.processEvents()
    return picture


def test_the_curve_and_its_points_lie_where_the_response_says(qtbot: QtBot, study: Study) -> None:
    """On both axes: a dot at each -3 dB point, the passband flat at 0 dB, and nothing there in the stopband."""
    made = chain(study)
    for linear in (False, True):
        picture = painted(qtbot, made, linear=linear)
        plot = picture.plot_of(made)
        dark = grabbed(picture) < 90
        for hz in (20.0, 450.0):
            x, y = round(plot.x(hz)), round(plot.y(-3.01))
            assert dark[y - 2 : y + 3, x - 2 : x + 3].mean() > 0.8, (linear, hz)
        x, y = round(plot.x(130.0)), round(plot.y(0.0))
        assert dark[y - 2 : y + 2, x].any()
        column = dark[round(plot.y(-20)) : round(plot.y(-55)), x]
        assert not column.any(), "130 Hz is passed"
    assert plot.x(250.0) - plot.x(0.0) == pytest.approx(plot.x(500.0) - plot.x(250.0)), "the last one was linear"


def test_a_notch_is_a_dip_to_the_foot_with_a_veil_of_its_width(qtbot: QtBot, study: Study) -> None:
    made = chain(study, notch_hz=50.0, notch_q=2.0)
    picture = painted(qtbot, made)
    plot = picture.plot_of(made)
    shade = grabbed(picture)
    foot = round(plot.y(-57))
    assert shade[foot, round(plot.x(50.0)) - 1 : round(plot.x(50.0)) + 2].min() < 90
    _, low, high = made.notches[0]
    beside = shade[round(plot.y(-40)), round(plot.x(low * 0.85))], shade[round(plot.y(-40)), round(plot.x(high * 1.2))]
    inside = shade[round(plot.y(-40)), round((plot.x(low) + plot.x(50.0)) / 2) - 4]
    assert inside < min(beside)


def test_words_of_a_response(study: Study) -> None:
    assert chain_words(chain(study)).startswith("−3 dB at 20 Hz and 450 Hz. Both passes together, at 1000 Hz (")
    several = chain_words(chain(study, notch_hz=60.0, notch_harmonics=9))
    assert "notches at 60, 120, 180, 240, 300, 360, 420, 480 Hz, 2.0 to 16.0 Hz wide" in several
    assert "left out: 540 Hz" in several
    assert "nothing is cut off" in chain_words(chain(study, highpass_hz=None, lowpass_hz=None)).lower()
    assert "nothing gets through" in chain_words(chain(study, highpass_hz=100.0, lowpass_hz=101.0)).lower()
    assert "700 Hz does not fit" in chain_words(chain(study, lowpass_hz=700.0))
    assert chain_words(None) == NO_CHANNEL


def test_where_there_is_no_response_it_is_said_why(qtbot: QtBot, study: Study) -> None:
    for what in (None, chain(study, lowpass_hz=700.0)):
        picture = painted(qtbot, what)
        assert picture.accessibleDescription() == chain_words(what)
        assert (grabbed(picture) < 128).sum() > 50


# The panel


def test_a_panel_says_whose_filters_a_muscle_has_and_gives_them_back(qtbot: QtBot, study: Study) -> None:
    panel = FilterPanel("biceps brachii")
    qtbot.addWidget(panel)
    panel.show()
    panel.show_filters(study, study.trials[0], editable=True)
    assert not panel.share.isVisible()
    own = Settings(muscle_filters=(MuscleFilter("biceps brachii", FilterSettings(highpass_hz=40.0)),))
    panel.show_filters(replace(study, settings=own), study.trials[0], editable=True)
    assert "−3 dB at 40 Hz" in panel.said
    with qtbot.waitSignal(panel.shared) as given:
        panel.share.click()
    assert given.args == ["biceps brachii"]


def test_what_is_taken_out_is_on_its_way_until_it_is_there(qtbot: QtBot, study: Study) -> None:
    panel = FilterPanel("")
    qtbot.addWidget(panel)
    panel.show()
    trial = study.trials[0]
    panel.show_removed(study, trial, ())
    assert "taken out" not in panel.said
    notched = replace(study, settings=Settings(FilterSettings(notch_hz=50.0)))
    panel.show_removed(notched, trial, None)
    assert "being worked out" in panel.said
    panel.show_removed(notched, None, None)
    assert "being worked out" not in panel.said


# In the window


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path) -> Iterator[MainWindow]:
    with window_on(qtbot, make_study(tmp_path / "curls")) as window:
        window.desk.plot.setFocus()
        yield window


def enter(window: MainWindow, key: str, text: str) -> None:
    field = window.settings.show_field(key)
    assert isinstance(field, TextEditor)
    field.selectAll()
    write(text)
    press(KEY.Key_Return)


def trial(window: MainWindow) -> Trial:
    return session_of(window).study.trial(window.desk.trial_id)


def test_a_notch_typed_says_what_it_took_out_of_the_trial_in_view(window: MainWindow, qtbot: QtBot) -> None:
    press(KEY.Key_Comma, CTRL)
    enter(window, "filter.notch_hz", "50")
    panel = window.settings.panel()
    qtbot.waitUntil(lambda: "µV²" in panel.said)
    assert panel.said.count("50 Hz: ") == 2, "one for each muscle"
    assert "notch at 50 Hz" in panel.said
    assert window.desk.signals is not None
    assert window.desk.signals.conditioned[0].removed.lines.hz == (50.0,)


def test_a_muscle_gets_filters_of_its_own_and_gives_them_back_as_one_edit(window: MainWindow, qtbot: QtBot) -> None:
    trigger(window, ActionName.SETTINGS)
    enter(window, "filter[triceps brachii].highpass_hz", "35")
    enter(window, "filter[triceps brachii].lowpass_hz", "300")
    panel = window.settings.panel("triceps brachii")
    assert "−3 dB at 35 Hz and 300 Hz" in panel.said
    assert session_of(window).study.settings.muscle_filters != ()
    panel.share.click()
    assert session_of(window).study.settings.muscle_filters == ()
    assert last_edit(window) == "settings: triceps brachii has the filters of all muscles again"
    assert "−3 dB at 20 Hz and 450 Hz" in panel.said
    window.undo()
    assert session_of(window).study.settings.filter_for("triceps brachii").lowpass_hz == 300


def test_what_does_not_fit_the_rate_is_refused_beside_its_field(window: MainWindow) -> None:
    trigger(window, ActionName.SETTINGS)
    enter(window, "filter.lowpass_hz", "700")
    field = window.settings.field("filter.lowpass_hz")
    assert field.text() == "450.0"
    assert "700 Hz does not fit" in window.settings.said
    assert "would fit" in field.accessibleDescription()
    (label,) = window.settings._box("filter.lowpass_hz")._refusals.values()
    assert label.isVisible()
    below = label.mapTo(window, label.rect().topLeft()).y() - field.mapTo(window, field.rect().topLeft()).y()
    assert 0 < below <= 3 * field.height()
    enter(window, "filter.lowpass_hz", "400")
    assert window.settings.said == ""
    assert "would fit" not in field.accessibleDescription()


def test_the_filtered_signal_is_seen_by_key_and_from_the_page(window: MainWindow, qtbot: QtBot) -> None:
    plot = window.desk.plot
    assert plot._picture is not None
    recorded = plot._picture.lanes[1].raw
    press(KEY.Key_F, CTRL | SHIFT)
    qtbot.waitUntil(lambda: plot._picture is not None and plot._picture.lanes[1].raw is not recorded)
    signals = window.desk.signals
    assert signals is not None
    np.testing.assert_array_equal(plot._picture.lanes[1].raw.values, signals.conditioned[0].values)
    trigger(window, ActionName.SETTINGS)
    assert window.settings.filtered.isChecked()
    window.settings.filtered.click()
    qtbot.waitUntil(lambda: plot._picture is not None and plot._picture.lanes[1].raw is recorded)
    assert not window.action(ActionName.FILTERED).isChecked()


def test_edges_are_drawn_at_both_ends(window: MainWindow) -> None:
    assert window.desk.plot._picture is not None
    lane = window.desk.plot._picture.lanes[1]
    (first, last), length = lane.edges, trial(window).recording.emg_samples[0]
    assert first[0] == 0
    assert 0.02 < first[1] / RATE < 0.2
    assert last == (length - first[1], length)
    assert lane.rate == Fraction(RATE)
