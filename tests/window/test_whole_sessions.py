"""From a new study to an export: once by mouse, once by keyboard alone, on recordings nobody has seen before."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from add_dialog_driver import Driver, popups_allowed
from curls_study import ANGLE_RATE, RATE, REPS, recording
from mouse import click, drag, x_of
from PySide6.QtCore import QCoreApplication, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog, QPushButton
from pytestqt.qtbot import QtBot
from shiboken6 import isValid
from whole_window import (
    ALT,
    CTRL,
    LEFT,
    NO_KEYS,
    RETURN,
    answer_with_folder,
    back_in,
    choose,
    comes_in,
    dropped,
    finished,
    marks_in,
    press,
    saved,
    session_of,
    shown_window,
    tab_to,
    trial_in,
    write,
)

from phasemark.model.checking import unchecked
from phasemark.model.clock import seconds
from phasemark.model.marks import Origin
from phasemark.session.command_session import open_for_command
from phasemark.window.actions import ActionName
from phasemark.window.adding.add_dialog import AddRecordingsDialog
from phasemark.window.main_window import MainWindow
from phasemark.window.new_study_dialog import NewStudyDialog

pytestmark = pytest.mark.usefixtures("nothing_remembered")
KEY = Qt.Key
TITLES = ("Biceps brachii right (mV)", "Triceps brachii right (mV)", "Elbow angle (deg)")


def curl_file(folder: Path, person: str, seed: int) -> Path:
    """A recording as text: time, two muscles and the angle, all at the rate of the EMG."""
    made = recording(seed)
    times = np.arange(len(made.emg_values[0])) / RATE
    slow = np.arange(len(made.movement_values[0])) / ANGLE_RATE
    angle = np.interp(times, slow, made.movement_values[0])
    table = pd.DataFrame(np.column_stack([times, *made.emg_values, angle]), columns=("Time (s)", *TITLES))
    path = folder / f"{person}_curl.txt"
    table.to_csv(path, sep="\t", index=False, float_format="%.5f")
    return path


@pytest.fixture
def files(tmp_path: Path) -> list[Path]:
    folder = tmp_path / "files"
    folder.mkdir()
    return [curl_file(folder, person, seed) for seed, person in enumerate(("P01", "P02"))]


def add_dialog(qtbot: QtBot, window: MainWindow) -> AddRecordingsDialog:
    """The dialog of adding, once it has looked at every file."""
    qtbot.waitUntil(lambda: isinstance(window.commands.dialog, AddRecordingsDialog))
    dialog = window.commands.dialog
    assert isinstance(dialog, AddRecordingsDialog)
    qtbot.waitUntil(lambda: not any(file.waiting for file in dialog.draft.files), timeout=10_000)
    return dialog


def left(window: MainWindow) -> int:
    return sum(len(unchecked(trial, "R1")) for trial in session_of(window).study.trials)


def check(study: Path, exports: Path) -> None:
    """What anybody finds on the disk afterwards."""
    segments = pd.read_csv(exports / "segments.csv")
    assert set(segments["participant"]) == {"P01", "P02"}
    counted = segments[(segments["counted"] == "yes") & (segments["phase"] == "rep")]
    assert counted.groupby("participant")["rep"].nunique().to_dict() == {"P01": REPS - 1, "P02": REPS}
    marks = pd.read_csv(exports / "marks.csv")
    assert "hand" in set(marks["origin"])
    assert (exports / "summary_P01.csv").is_file()
    with open_for_command(study, print) as at:
        trial = at.session.study.trial("T001")
        reps = trial.marks_of("R1").reps
        assert [rep.excluded.reason for rep in reps if rep.excluded] == ["elbow moved"]
        assert sum(rep.checked is not None for rep in reps) == REPS - 1
        assert any(b.origin is Origin.HAND for rep in reps for phase in rep.phases for _, b in phase.boundaries())


def test_a_whole_session_by_mouse(qtbot: QtBot, tmp_path: Path, files: list[Path]) -> None:
    with popups_allowed(), shown_window(qtbot) as window:
        qtbot.mouseClick(window.start.new_study, LEFT)
        new = window.commands.dialog
        assert isinstance(new, NewStudyDialog)
        new.place.setText(str(tmp_path))
        qtbot.waitUntil(new.isActiveWindow)
        qtbot.mouseClick(new.name, LEFT)
        write("Curls")
        qtbot.mouseClick(new.create_study, LEFT)
        comes_in(qtbot, window, tmp_path / "Curls")
        window.empty.dropEvent(dropped(tmp_path / "files"))
        adding = add_dialog(qtbot, window)
        assert "column 4: say which way is raising" in adding.status.text()
        driver = Driver(qtbot, adding)
        driver.fill(adding.columns.columns, 3, "Given as", "l")
        driver.page(1)
        driver.fill_rows(adding.rows.table, "Exercise", 2, "curl")
        assert adding.status.text() == "All is described."
        qtbot.mouseClick(adding.add, LEFT)
        assert finished(qtbot, window).startswith("Added 2 recordings.")
        qtbot.waitUntil(lambda: window.desk.signals is not None, timeout=10_000)
        back_in(qtbot, window)
        choose(window, ActionName.MARK)
        assert finished(qtbot, window) == "Marked 2 trials."
        plot, clock = window.desk.plot, trial_in(window).clock
        end = seconds(marks_in(window).reps[0].phases[0].end.sample, clock)
        drag(plot, x_of(plot, end), x_of(plot, end - 0.2))
        last = marks_in(window).reps[-1]
        click(plot, x_of(plot, seconds(last.begin + (last.phases[0].end.sample - last.begin) // 2, clock) + 0.1))
        assert window.desk.rep_in_hand == last.id
        choose(window, ActionName.EXCLUDE)
        excluding = window.reps.dialog
        assert excluding is not None
        qtbot.mouseClick(excluding.reason, LEFT)
        write("elbow moved")
        qtbot.mouseClick(excluding.exclude, LEFT)
        back_in(qtbot, window)
        while left(window):
            choose(window, ActionName.ACCEPT_TRIAL)
            qtbot.waitUntil(lambda: window.desk.signals is not None, timeout=10_000)
        choose(window, ActionName.MEASURE)
        assert finished(qtbot, window) == "Measured 2 trials."
        choose(window, ActionName.EXPORT)
        export_to_by_mouse(qtbot, tmp_path / "exports")
        qtbot.waitUntil(lambda: "Wrote" in window.messages.text, timeout=10_000)
        saved(qtbot, window)
    check(tmp_path / "Curls", tmp_path / "exports")


def export_to_by_mouse(qtbot: QtBot, folder: Path) -> None:
    """Show the folder in the dialog and click on its button."""
    folder.mkdir()
    qtbot.waitUntil(lambda: isinstance(QApplication.activeModalWidget(), QFileDialog))
    chooser = QApplication.activeModalWidget()
    assert isinstance(chooser, QFileDialog)
    chooser.setDirectory(str(folder))
    button = next(b for b in chooser.findChildren(QPushButton) if b.isDefault())
    qtbot.waitUntil(button.isEnabled)
    QTest.mouseClick(button, LEFT, NO_KEYS, button.rect().center())


def test_a_whole_session_by_keyboard_alone(qtbot: QtBot, tmp_path: Path, files: list[Path]) -> None:
    with shown_window(qtbot) as window:
        press(KEY.Key_N, CTRL)
        new = window.commands.dialog
        assert isinstance(new, NewStudyDialog)
        qtbot.waitUntil(new.name.hasFocus)
        write("Curls")
        press(KEY.Key_I, ALT)
        tab_to(new.place.hasFocus)
        press(KEY.Key_A, CTRL)
        write(str(tmp_path))
        press(RETURN)
        comes_in(qtbot, window, tmp_path / "Curls")
        back_in(qtbot, window)
        press(KEY.Key_I, CTRL)
        adding = add_dialog(qtbot, window)
        qtbot.waitUntil(adding.isActiveWindow)
        tab_to(adding.columns.add_files.hasFocus)
        press(KEY.Key_Space)
        with popups_allowed():
            answer_with_files(qtbot, files)
        qtbot.waitUntil(lambda: len(adding.draft.files) == 2)
        add_dialog(qtbot, window)
        adding.activateWindow()
        qtbot.waitUntil(adding.isActiveWindow)
        press(KEY.Key_G, ALT)  # leads to what is open: which way is raising
        qtbot.waitUntil(adding.columns.columns.hasFocus)
        write("l")
        press(RETURN)
        press(KEY.Key_G, ALT)  # then to the first exercise
        qtbot.waitUntil(adding.rows.table.hasFocus)
        for _ in files:
            write("curl")
            press(RETURN)
        assert adding.status.text() == "All is described."
        press(KEY.Key_A, ALT)
        qtbot.waitUntil(lambda: not isValid(adding) or not adding.isVisible())
        assert finished(qtbot, window).startswith("Added 2 recordings.")
        back_in(qtbot, window)
        qtbot.waitUntil(lambda: window.desk.signals is not None, timeout=10_000)
        press(KEY.Key_M, CTRL)
        assert finished(qtbot, window) == "Marked 2 trials."
        tab_to(window.desk.plot.hasFocus)
        press(KEY.Key_Down, times=3)
        press(KEY.Key_Right, CTRL, times=2)
        qtbot.waitUntil(lambda: session_of(window).history.undoable is not None)
        press(KEY.Key_Escape)
        for _ in range(REPS - 1):
            press(RETURN)
        assert window.desk.rep_in_hand == marks_in(window).reps[-1].id
        press(KEY.Key_X, CTRL)
        excluding = window.reps.dialog
        assert excluding is not None
        qtbot.waitUntil(excluding.reason.hasFocus)
        write("elbow moved")
        press(RETURN)
        back_in(qtbot, window)
        press(RETURN, CTRL | ALT)
        qtbot.waitUntil(lambda: window.desk.trial_id == "T002" and window.desk.signals is not None, timeout=10_000)
        draw_first_again(window, "T002")
        while left(window):
            press(RETURN)
        press(KEY.Key_R, CTRL)
        assert finished(qtbot, window) == "Measured 2 trials."
        press(KEY.Key_E, CTRL)
        (tmp_path / "exports").mkdir()
        answer_with_folder(qtbot, tmp_path / "exports")
        qtbot.waitUntil(lambda: "Wrote" in window.messages.text, timeout=10_000)
        back_in(qtbot, window)
        press(KEY.Key_Q, CTRL)
        assert not window.isVisible()
    check(tmp_path / "Curls", tmp_path / "exports")


def draw_first_again(window: MainWindow, trial: str) -> None:
    """Delete the first repetition and add it again over the stretch that the cursor of the keys goes through."""
    first = marks_in(window, trial).reps[0]
    press(KEY.Key_Delete, CTRL)
    assert first.id not in {rep.id for rep in marks_in(window, trial).reps}
    press(KEY.Key_D, CTRL)
    press(KEY.Key_Up, times=9 * REPS)
    press(KEY.Key_Right, CTRL, times=int(10 * first.begin / trial_in(window, trial).clock))
    press(RETURN)
    press(KEY.Key_Down)
    press(RETURN)
    assert len(marks_in(window, trial).reps) == REPS


def answer_with_files(qtbot: QtBot, files: list[Path]) -> None:
    """Type the names of files into the dialog that asks for them, Return."""
    qtbot.waitUntil(lambda: isinstance(QApplication.activeModalWidget(), QFileDialog))
    write(" ".join(f'"{path}"' for path in files))
    press(RETURN)
    QCoreApplication.processEvents()
