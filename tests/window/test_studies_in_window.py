"""Studies in the window: the first start, an empty, locked, or damaged one, what is dropped, closing at any moment."""

import shutil
import threading
from pathlib import Path

import pytest
from curls_study import make_study
from mouse import drag, x_of
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialog, QPushButton
from pytestqt.qtbot import QtBot
from shiboken6 import isValid
from whole_window import (
    CTRL,
    LEFT,
    RETURN,
    answer_with_folder,
    comes_in,
    dropped,
    finished,
    last_edit,
    marks_in,
    open_in,
    press,
    saved,
    session_of,
    shown_window,
    trial_in,
    trigger,
    window_on,
    write,
)

from phasemark.model.clock import seconds
from phasemark.results.study_grid import State
from phasemark.session.command_session import new_study, open_for_command
from phasemark.window.actions import ACTIONS, ActionName
from phasemark.window.adding.add_dialog import AddRecordingsDialog
from phasemark.window.main_window import MainWindow
from phasemark.window.new_study_dialog import NewStudyDialog

pytestmark = pytest.mark.usefixtures("nothing_remembered")
KEY = Qt.Key


@pytest.fixture
def study(tmp_path: Path) -> Path:
    return make_study(tmp_path / "curls")


@pytest.fixture
def empty(tmp_path: Path) -> Path:
    new_study(tmp_path / "Heels")
    return tmp_path / "Heels"


def enabled(window: MainWindow) -> set[ActionName]:
    return {action.name for action in ACTIONS if window.action(action.name).isEnabled()}


def page(window: MainWindow) -> object:
    return next(p for p in (window.start, window.empty, window.desk) if p.isVisibleTo(window))


NEEDS_NOTHING = {ActionName.NEW, ActionName.OPEN, ActionName.QUIT}


def test_the_first_start_offers_what_to_do_and_nothing_that_needs_a_study(qtbot: QtBot) -> None:
    with shown_window(qtbot) as window:
        assert page(window) is window.start
        assert enabled(window) == NEEDS_NOTHING
        assert window.windowTitle() == "Phasemark"
        window.dropEvent(dropped(Path("P01.txt")))
        qtbot.waitUntil(lambda: "Open a study or make a new one first" in window.messages.text)


def test_an_empty_study_says_what_to_do_next(qtbot: QtBot, empty: Path) -> None:
    with shown_window(qtbot) as window:
        open_in(qtbot, window, empty)
        assert page(window) is window.empty
        before_data = {ActionName.SETTINGS, ActionName.COMPARE}  # a plan too is written before anything is recorded
        assert enabled(window) == NEEDS_NOTHING | {ActionName.ADD} | before_data
        press(KEY.Key_Comma, CTRL)
        assert window.settings.isVisibleTo(window), "settings can be made before anything is added"
        qtbot.mouseClick(window.empty.add, LEFT)
        assert isinstance(window.commands.dialog, AddRecordingsDialog)
        window.commands.dialog.done(0)


def test_a_trial_without_marks_is_in_view_and_marking_takes_its_first_repetition(qtbot: QtBot, study: Path) -> None:
    with window_on(qtbot, study) as window:
        for _ in range(3):
            press(KEY.Key_Delete, CTRL)
        assert marks_in(window).reps == ()
        assert window.desk.rep_in_hand is None
        press(RETURN, CTRL)
        assert "Take a repetition in hand first" in window.messages.text
        for _ in range(3):
            press(KEY.Key_Z, CTRL)
        assert len(marks_in(window).reps) == 3
        assert window.desk.rep_in_hand is not None


def offered(window: MainWindow) -> list[QPushButton]:
    return [b for b in window.start.findChildren(QPushButton) if b.accessibleName() == "Open curls"]


def test_studies_opened_before_are_offered(qtbot: QtBot, study: Path) -> None:
    with window_on(qtbot, study):
        pass
    with shown_window(qtbot) as window:
        qtbot.waitUntil(lambda: len(offered(window)) == 1)
        (button,) = offered(window)
        with qtbot.waitSignal(window.desk.shown, timeout=10_000):
            qtbot.mouseClick(button, LEFT, pos=button.rect().center())
    shutil.rmtree(study)
    with shown_window(qtbot) as window:
        qtbot.wait(100)
        assert offered(window) == []


def test_a_new_study_by_its_dialog_and_one_that_is_there_already(qtbot: QtBot, tmp_path: Path, empty: Path) -> None:
    with shown_window(qtbot) as window:
        press(KEY.Key_N, CTRL)
        dialog = window.commands.dialog
        assert isinstance(dialog, NewStudyDialog)
        dialog.place.setText(str(tmp_path))
        dialog.name.setFocus()
        write(empty.name)
        press(RETURN)
        qtbot.waitUntil(lambda: "is a study already" in dialog.status.text())
        assert dialog.isVisible(), "it is said in the dialog what is wrong, and another name can be tried"
        assert dialog.name.hasFocus()
        press(KEY.Key_A, CTRL)
        write("Other heels")
        press(RETURN)
        comes_in(qtbot, window, tmp_path / "Other heels")
        assert page(window) is window.empty
        assert session_of(window).study.name == "Other heels"


def test_another_study_is_opened_through_the_dialog(qtbot: QtBot, study: Path, empty: Path) -> None:
    with window_on(qtbot, study) as window:
        press(KEY.Key_O, CTRL)
        answer_with_folder(qtbot, empty)
        qtbot.waitUntil(lambda: session_of(window).path == empty)
        assert page(window) is window.empty


def test_a_study_and_files_are_dropped(qtbot: QtBot, study: Path, empty: Path, tmp_path: Path) -> None:
    with shown_window(qtbot) as window:
        with qtbot.waitSignal(window.desk.shown, timeout=10_000):
            window.dropEvent(dropped(study / "project.h5"))
        assert session_of(window).path == study
        window.dropEvent(dropped(empty))
        comes_in(qtbot, window, empty)
        text = tmp_path / "P01.txt"
        text.write_text("a\tb\n" + "1.5\t2.5\n" * 50, encoding="utf-8")
        window.dropEvent(dropped(text))
        qtbot.waitUntil(lambda: isinstance(window.commands.dialog, AddRecordingsDialog))
        dialog = window.commands.dialog
        assert isinstance(dialog, AddRecordingsDialog)
        assert [file.path for file in dialog.draft.files] == [text]
        dialog.done(0)


def test_a_dialog_of_adding_is_closed_with_its_study(qtbot: QtBot, study: Path, tmp_path: Path) -> None:
    """Files are still looked at while the window goes to another study."""
    text = tmp_path / "P01.txt"
    text.write_text("a\tb\n" + "1.5\t2.5\n" * 20_000, encoding="utf-8")
    with window_on(qtbot, study) as window:
        window.commands.add_files([text])
        dialog = window.commands.dialog
        assert isinstance(dialog, QDialog)
        window.close_study()
        assert not isValid(dialog) or not dialog.isVisible()
        qtbot.wait(50)
        assert window.messages.text == ""


def test_a_locked_study_can_be_looked_at_and_exported(qtbot: QtBot, study: Path, tmp_path: Path) -> None:
    with open_for_command(study, print), window_on(qtbot, study) as window:
        assert "read-only" in window.messages.text
        assert "(read-only)" in window.windowTitle()
        reading = {ActionName.NEXT_TRIAL, ActionName.PREVIOUS_TRIAL, ActionName.FIT_ALL, ActionName.PREVIOUS_REP}
        reading |= {ActionName.ENLARGE, ActionName.REDUCE, ActionName.FIT_SCALES, ActionName.HOLD_SCALES}
        reading |= {ActionName.FILTERED, ActionName.PLACED, ActionName.QUALITY, ActionName.REFERENCES}
        reading |= {ActionName.SETTINGS, ActionName.COMPARE, ActionName.EXPORT}
        assert enabled(window) == NEEDS_NOTHING | reading
        before = session_of(window).study
        window.desk.plot.setFocus()
        press(RETURN)
        assert session_of(window).study == before
        assert window.messages.text, "it is said why nothing is accepted"
        press(KEY.Key_Comma, CTRL)
        assert not window.settings.field("filter.highpass_hz").isEnabled()
        window.dropEvent(dropped(tmp_path / "P03.txt"))
        qtbot.waitUntil(lambda: "read-only" in window.messages.text)
        assert window.commands.dialog is None
        press(KEY.Key_E, CTRL)
        answer_with_folder(qtbot, tmp_path)
        qtbot.waitUntil(lambda: "Wrote" in window.messages.text, timeout=10_000)
        assert (tmp_path / "segments.csv").is_file()


def test_the_cell_of_a_missing_recording_says_so_until_it_can_be_read(qtbot: QtBot, study: Path) -> None:
    recording = next((study / "recordings").glob("*1.h5"))
    aside = recording.rename(study / "aside.h5")
    with shown_window(qtbot) as window:
        window.open_study(study)
        qtbot.waitUntil(lambda: "missing" in window.messages.text, timeout=10_000)
        cell = window.grid.grid.cells[0][0].trials[0]
        assert (cell.trial, cell.state) == ("T001", State.PROBLEM)
        assert "missing" in cell.note
        with qtbot.waitSignal(window.desk.shown, timeout=10_000):
            window.show_trial("T002")
        aside.rename(recording)
        with qtbot.waitSignal(window.desk.shown, timeout=10_000):
            window.show_trial("T001")
        assert window.grid.grid.cells[0][0].trials[0].state is State.TO_CHECK


def test_what_was_dragged_last_is_kept_when_the_window_is_closed_at_once(qtbot: QtBot, study: Path) -> None:
    with window_on(qtbot, study) as window:
        plot = window.desk.plot
        end = seconds(marks_in(window).rep(1).phases[0].end.sample, trial_in(window).clock)
        drag(plot, x_of(plot, end), x_of(plot, end - 0.3))
        press(KEY.Key_Left)  # a burst of nudges that has not ended
        kept = window.desk.marks
    with open_for_command(study, print) as at:
        assert at.session.study.trial("T001").marks_of("R1") == kept


@pytest.mark.parametrize("work", ["measure", "mark", "export", "load"])
def test_closing_in_the_middle_of_long_work_ends_it_and_nothing_comes_back(
    qtbot: QtBot, study: Path, tmp_path: Path, work: str
) -> None:
    before = set(threading.enumerate())
    with window_on(qtbot, study) as window:
        starts = {
            "measure": window.commands.measure_study,
            "mark": window.commands.mark_all_again,
            "export": lambda: window.commands.export_to(tmp_path / "out"),
            "load": lambda: window.show_trial("T002"),
        }
        starts[work]()
        window.close()
        qtbot.wait(100)
        assert window.messages.text == ""
    qtbot.waitUntil(lambda: not [t for t in threading.enumerate() if t not in before and not t.daemon])
    with open_for_command(study, print) as at:
        assert len(at.session.study.trial("T001").marks_of("R1").reps) == 3


def test_work_under_way_is_stopped_by_its_button_and_a_second_one_is_refused(qtbot: QtBot, study: Path) -> None:
    with window_on(qtbot, study) as window:
        gate = threading.Event()
        session_of(window).worker.disk.submit(gate.wait)  # the disk is slow
        window.commands.mark_all_again()
        assert window.work.isVisibleTo(window)
        window.commands.measure_study()
        assert "still under way" in window.messages.text
        qtbot.mouseClick(window.work.stop, LEFT)
        gate.set()
        assert "Stopped" in finished(qtbot, window)
        assert last_edit(window) == ""


def test_an_export_is_stopped_by_its_button(qtbot: QtBot, study: Path, tmp_path: Path) -> None:
    with window_on(qtbot, study) as window:
        gate = threading.Event()
        session_of(window).worker.disk.submit(gate.wait)  # the disk is slow
        window.commands.export_to(tmp_path / "out")
        qtbot.mouseClick(window.work.stop, LEFT)
        gate.set()
        assert "Stopped" in finished(qtbot, window)
        assert not (tmp_path / "out").exists()


def test_the_demo_study_is_written_with_progress_and_can_be_stopped(qtbot: QtBot, tmp_path: Path) -> None:
    with shown_window(qtbot) as window:
        qtbot.mouseClick(window.start.demo_study, LEFT)
        answer_with_folder(qtbot, tmp_path)
        qtbot.waitUntil(lambda: window.work.busy)
        qtbot.waitUntil(lambda: window.work.share > 0, timeout=20_000)
        qtbot.mouseClick(window.work.stop, LEFT)
        assert "Stopped" in finished(qtbot, window)
        assert page(window) is window.start
        assert [path.name for path in tmp_path.iterdir() if path.name != "settings"] == []


def test_closing_while_the_demo_study_is_written_leaves_no_thread(qtbot: QtBot, tmp_path: Path) -> None:
    before = set(threading.enumerate())
    with shown_window(qtbot) as window:
        window.commands.write_demo_in(tmp_path / "demo")
        qtbot.waitUntil(lambda: window.work.share > 0, timeout=20_000)
    qtbot.waitUntil(lambda: not [t for t in threading.enumerate() if t not in before and not t.daemon])


def test_an_unforeseen_fault_is_said_with_its_details_and_the_window_goes_on(qtbot: QtBot, study: Path) -> None:
    with window_on(qtbot, study) as window:
        window.say_problem(RuntimeError("odd"))
        assert window.messages.text == "Something unforeseen went wrong: odd"
        copy = next(b for b in window.messages.findChildren(QPushButton) if b.text() == "Copy details")
        away = next(b for b in window.messages.findChildren(QPushButton) if b.text() == "Dismiss")
        assert copy.isVisibleTo(window)
        qtbot.mouseClick(away, LEFT)
        assert window.messages.text == ""
        press(KEY.Key_K, CTRL)
        saved(qtbot, window)


def test_the_window_is_closed_by_its_key(qtbot: QtBot, study: Path) -> None:
    with window_on(qtbot, study) as window:
        QTest.keyClick(window, KEY.Key_Q, CTRL)
        assert not window.isVisible()
        assert window.session is None


@pytest.mark.parametrize(("size", "scale"), [((1280, 720), 1.0), ((1280, 720), 2.0)])
def test_the_window_fits_a_small_screen_at_twice_the_text(
    qtbot: QtBot, study: Path, size: tuple[int, int], scale: float
) -> None:
    with window_on(qtbot, study) as window:
        font = window.font()
        font.setPointSizeF(font.pointSizeF() * scale)
        window.setFont(font)
        window.resize(*size)
        window.messages.say("Something long to say. " * 12)
        qtbot.wait(30)
        assert (window.width(), window.height()) == size
        trigger(window, ActionName.SETTINGS)
        qtbot.wait(30)
        assert (window.width(), window.height()) == size
