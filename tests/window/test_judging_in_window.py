"""Judging in the whole window: from the pages by keys to the study, and from a row to the place in the traces."""

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from whole_window import (
    CTRL,
    RETURN,
    SHIFT,
    nameless,
    press,
    session_of,
    tab_to,
    trial_in,
    window_on,
    write,
)

from phasemark.formats import read_recording
from phasemark.formats.mapping_json import parse_mapping
from phasemark.model.intervals import Purpose
from phasemark.model.recording import EmgChannel, MovementTrace, Recording, Source
from phasemark.model.study import Kind
from phasemark.session.command_session import new_study, open_for_command
from phasemark.session.importing import Arrival, Description, add_recordings
from phasemark.session.measuring import measure, stale_trials
from phasemark.signal.quality.finding import Check
from phasemark.window.main_window import MainWindow
from phasemark.window.reason_dialog import ReasonDialog

RATE = 1000
ESCAPE, DOWN = Qt.Key.Key_Escape, Qt.Key.Key_Down


def recording(seed: int, level: float) -> Recording:
    """Two muscles over 8 s: an effort from 2 to 5 s; a slow wave from 6 to 7 s lies over the first of them."""
    draw = np.random.default_rng(seed)
    times = np.arange(8 * RATE) / RATE
    on = (times > 2) & (times < 5)
    wave = np.where((times > 6) & (times < 7), 3 * np.sin(2 * np.pi * 4 * times), 0.0)
    quad = draw.normal(size=len(times)) * np.where(on, level, 0.004) + wave
    ham = draw.normal(size=len(times)) * np.where(on, 0.5 * level, 0.002)
    trace = MovementTrace("knee angle", Fraction(100), "deg")
    return Recording(
        (EmgChannel("quad", Fraction(RATE)), EmgChannel("ham", Fraction(RATE))),
        (quad, ham),
        (trace,),
        (40 - 40 * np.cos(2 * np.pi * times[::10] / 4),),
        Source(f"made {seed}", "invented"),
    )


def make_study(folder: Path) -> Path:
    """P01 with a set and two MVIC trials; all measured."""
    new_study(folder)
    with open_for_command(folder, print) as at:
        kinds = ((Kind.TASK, 0.2), (Kind.MVIC, 0.5), (Kind.MVIC, 0.4))
        arrivals = [Arrival(Description("P01", kind, "knee"), recording=recording(n, level))
                    for n, (kind, level) in enumerate(kinds)]  # fmt: skip
        at.wait(lambda **back: add_recordings(at.session, arrivals, **back), lambda _: None)
        at.wait(lambda **back: measure(at.session, stale_trials(at.session), **back), lambda _: None)
    return folder


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path) -> Iterator[MainWindow]:
    with window_on(qtbot, make_study(tmp_path / "study")) as window:
        yield window


def take_row(window: MainWindow, trial: str, channel: int, check: Check) -> None:
    """Open the page with Ctrl+L and go to a row by arrow keys."""
    press(Qt.Key.Key_L, CTRL)
    page = window.judging.quality
    assert page.table.hasFocus()
    rows = page.model.rows
    target = next(n for n, row in enumerate(rows) if row.key[:3] == (trial, channel, check))
    press(DOWN, times=target - page.table.currentIndex().row())
    assert page.row is not None
    assert page.row.key[:3] == (trial, channel, check)


def answer(qtbot: QtBot, dialog: object, reason: str) -> None:
    """Type a reason into the dialog that is open, and Return."""
    assert isinstance(dialog, ReasonDialog)
    qtbot.waitUntil(dialog.isActiveWindow)
    assert nameless(dialog) == []
    write(reason)
    press(RETURN)
    assert not dialog.isVisible()


def test_a_finding_is_found_seen_and_accepted_by_keys_alone(qtbot: QtBot, window: MainWindow) -> None:
    take_row(window, "T002", 0, Check.ARTEFACT)
    qtbot.waitUntil(lambda: window.desk.trial_id == "T002" and bool(window.desk.plot._places), timeout=10_000)
    (place,) = window.desk.plot._places
    assert (place.lane, place.words) == (1, "movement artefact")
    assert 5.4 <= place.begin_s < place.end_s <= 7.6
    assert window.desk.plot.span.begin_s < place.begin_s < place.end_s < window.desk.plot.span.end_s
    tab_to(window.judging.quality.accept.hasFocus)
    press(Qt.Key.Key_Space)
    answer(qtbot, window.judging.dialog, "outside the effort")
    (held,) = trial_in(window, "T002").accepted
    assert (held.check, held.muscle, held.decision.reason) == (Check.ARTEFACT, "quad", "outside the effort")
    assert window.judging.quality.row is not None
    assert window.judging.quality.row.to_decide  # it went on with the next one
    window.activateWindow()
    window.judging.quality.take_focus()
    qtbot.waitUntil(window.judging.quality.table.hasFocus)
    press(ESCAPE)
    assert window.grid.isVisible()
    assert window.desk.plot._places == ()


def test_a_channel_is_excluded_from_its_row_and_comes_back(qtbot: QtBot, window: MainWindow) -> None:
    take_row(window, "T001", 0, Check.ARTEFACT)
    page = window.judging.quality
    page.exclude.click()
    answer(qtbot, window.judging.dialog, "electrode came off")
    (out,) = trial_in(window).excluded_channels
    assert (out.muscle, out.decision.reason) == ("quad", "electrode came off")
    page.which.setCurrentIndex(1)
    page.table.setCurrentIndex(page.model.index(0, 1))
    page.take_back.click()
    assert trial_in(window).excluded_channels == ()


def test_a_reason_that_is_not_given_decides_nothing(qtbot: QtBot, window: MainWindow) -> None:
    take_row(window, "T002", 0, Check.ARTEFACT)
    window.judging.quality.accept.click()
    dialog = window.judging.dialog
    assert isinstance(dialog, ReasonDialog)
    assert not dialog.go.isEnabled()
    press(ESCAPE)
    assert trial_in(window, "T002").accepted == ()


def flags(window: MainWindow) -> dict[str, int]:
    """Findings to decide as the grid has them."""
    trials = (trial for row in window.grid.grid.cells for cell in row for trial in cell.trials)
    return {trial.trial: trial.findings for trial in trials if trial.findings}


def test_the_grid_flags_what_is_to_decide_and_follows_decisions_undo_and_measuring(
    qtbot: QtBot, window: MainWindow
) -> None:
    before = flags(window)
    assert before
    assert before == window.judging.to_decide()
    take_row(window, "T002", 0, Check.ARTEFACT)
    row = window.judging.quality.row
    assert row is not None
    window.judging.accept([row], "outside the effort")
    assert flags(window) == {**before, "T002": before["T002"] - 1}
    press(Qt.Key.Key_Z, CTRL)
    assert flags(window) == before
    window.commands.change_setting("filter.highpass_hz", "30")
    assert flags(window) == {}, "of a trial that is not measured as it is now nothing is known"
    window.commands.measure_study()
    qtbot.waitUntil(lambda: "T002" in flags(window), timeout=10_000)
    assert flags(window) == window.judging.to_decide()


def test_undo_takes_an_acceptance_back_in_the_page_too(qtbot: QtBot, window: MainWindow) -> None:
    take_row(window, "T002", 0, Check.ARTEFACT)
    key = window.judging.quality.row.key if window.judging.quality.row else None
    window.judging.quality.accept.click()
    answer(qtbot, window.judging.dialog, "seen")
    assert key not in {row.key for row in window.judging.quality.model.rows}
    window.activateWindow()
    window.judging.quality.table.setFocus()
    qtbot.waitUntil(window.judging.quality.table.hasFocus)
    press(Qt.Key.Key_Z, CTRL)
    assert key in {row.key for row in window.judging.quality.model.rows}


def test_an_attempt_is_chosen_and_the_rule_comes_back(qtbot: QtBot, window: MainWindow) -> None:
    press(Qt.Key.Key_L, CTRL | SHIFT)
    page = window.judging.references
    assert page.table.hasFocus()
    assert nameless(window) == []
    page.attempt_table.setCurrentIndex(page.attempts.index(1, 1))
    qtbot.waitUntil(lambda: window.desk.trial_id == "T003" and bool(window.desk.plot._places), timeout=10_000)
    assert window.desk.plot._places[0].words == "attempt 2"
    qtbot.waitUntil(lambda: page._sketch_of(page.attempts.rows[1]) is not None, timeout=10_000)
    high = page.reference.rms if page.reference else 0.0
    page.use.click()
    answer(qtbot, window.judging.dialog, "the other was jerky")
    assert page.reference is not None
    assert page.reference.rms == pytest.approx(0.8 * high, rel=0.1)
    page.by_rule.click()
    assert page.reference.rms == high


def test_a_plateau_is_dragged_over_the_traces_for_its_muscle_alone(qtbot: QtBot, window: MainWindow) -> None:
    press(Qt.Key.Key_L, CTRL | SHIFT)
    page, plot = window.judging.references, window.desk.plot
    page.plateau.click()
    qtbot.waitUntil(lambda: window.desk.trial_id == "T002" and plot._gestures.asking, timeout=10_000)
    view = plot._canvas.view.viewport()
    left, right = view.rect().center() * 0.5, view.rect().center()
    QTest.mousePress(view, Qt.MouseButton.LeftButton, pos=left)
    QTest.mouseMove(view, QPointF(right).toPoint())
    QApplication.processEvents()
    QTest.mouseRelease(view, Qt.MouseButton.LeftButton, pos=right)
    answer(qtbot, window.judging.dialog, "the steady part")
    (placed,) = trial_in(window, "T002").intervals
    assert (placed.purpose, placed.muscle, placed.decision.reason) == (Purpose.PLATEAU, "quad", "the steady part")
    assert not trial_in(window, "T002").marks_of("R1").reps
    assert page.stale.isVisible()
    page.measure.click()
    qtbot.waitUntil(lambda: not page.stale.isVisible(), timeout=20_000)
    assert any(at.by_hand == placed for at in page.attempts.rows)


def test_a_position_that_serves_one_muscle_leaves_the_other_in_mv(window: MainWindow) -> None:
    press(Qt.Key.Key_L, CTRL | SHIFT)
    page = window.judging.references
    page._tabs.setCurrentIndex(1)
    page.position_view.table.setFocus()
    page.position_view.table.setCurrentIndex(page.positions.index(0, 1))
    press(Qt.Key.Key_Space)
    assert session_of(window).study.settings.normalisation.positions[0].muscles == ("quad",)
    assert page.position_view.without.text() == "No position serves ham: reported in mV."
    assert [row.there for row in page._picture.rows] == [True, False] if page._picture else False


def test_a_page_takes_room_and_gives_it_back(window: MainWindow) -> None:
    before = window.grid.width()
    press(Qt.Key.Key_L, CTRL)
    QApplication.processEvents()
    assert window.judging.quality.width() > before
    assert window.desk.plot.width() >= 300
    press(ESCAPE)
    QApplication.processEvents()
    assert window.grid.width() == before


def test_the_artefact_at_the_start_of_a_real_trial_is_named_and_marked(
    qtbot: QtBot, tmp_path: Path, open_data: Path
) -> None:
    """'EMG Dataset in Lower Limb' (Sanchez & Sotelo 2014, doi 10.24432/C5ZW3P): trial 6Nsen, semitendinosus."""
    muscles = ("rectus femoris", "biceps femoris", "vastus medialis", "semitendinosus")
    mapping = parse_mapping({
        "version": 1, "rate_hz": 1000, "time": None,
        "emg": [{"column": n + 1, "muscle": m, "side": "right", "unit": "mV"} for n, m in enumerate(muscles)],
        "movement": [{"column": 5, "kind": "knee angle", "unit": "deg", "up": "larger"}],
    })  # fmt: skip
    new_study(tmp_path / "real")
    with open_for_command(tmp_path / "real", print) as at:
        held = read_recording(open_data / "knee_emg" / "6Nsen.txt", mapping, lambda _: None)
        arrivals = [Arrival(Description("6N", exercise="extension"), recording=held)]
        at.wait(lambda **back: add_recordings(at.session, arrivals, **back), lambda _: None)
        at.wait(lambda **back: measure(at.session, stale_trials(at.session), **back), lambda _: None)
    with window_on(qtbot, tmp_path / "real") as window:
        take_row(window, "T001", 3, Check.ARTEFACT)
        place = window.desk.plot._places[0]
        assert (place.lane, place.chosen) == (4, True)
        assert place.begin_s < 0.5
        assert place.end_s < 1.5
