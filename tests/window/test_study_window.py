"""The window as a researcher uses it: open, drag, nudge, undo, close, reopen."""

import json
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from curls_study import make_study
from mouse import click, drag, move, release, x_of
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QAction, QFont, QImage
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from phasemark.model.clock import seconds
from phasemark.model.mark_edits import Address
from phasemark.model.marks import Marks, Origin, Place
from phasemark.session.command_session import open_for_command
from phasemark.session.rep_figure import Measure
from phasemark.window.main_window import MainWindow
from phasemark.window.palette import scheme_of

END_OF_RAISING = Address(1, 0, Place.END)


@pytest.fixture
def study(tmp_path: Path) -> Path:
    return make_study(tmp_path / "curls")


@pytest.fixture
def window(qtbot: QtBot, study: Path) -> Iterator[MainWindow]:
    yield from opened(qtbot, study)


def opened(qtbot: QtBot, study: Path) -> Iterator[MainWindow]:
    window = MainWindow()
    qtbot.addWidget(window)
    window.resize(1280, 720)
    window.show()
    with qtbot.waitSignal(window.desk.shown, timeout=10_000):
        window.open_study(study)
    yield window
    window.close()


def marks_in(window: MainWindow, trial: str = "T001") -> Marks:
    assert window.session is not None
    return window.session.study.trial(trial).marks_of("R1")


def place_of(window: MainWindow, address: Address) -> float:
    """Time (s) of a boundary of the first trial."""
    boundary = marks_in(window).rep(address.rep).phases[address.phase].at(address.place)
    return seconds(boundary.sample, window.session.study.trial("T001").clock)  # type: ignore[union-attr]


def numbers(window: MainWindow) -> list[float]:
    """All values that the figure of the rep in hand shows (mV)."""
    figure = window.desk.figure.figure
    assert figure is not None
    return [
        reading.number(Measure.RMS)
        for muscle in figure.muscles
        for side in muscle.sides
        for reading in (*side.thirds, side.whole)
    ]


def ledger(study: Path) -> list[dict[str, object]]:
    return [json.loads(line) for line in (study / "ledger.jsonl").read_text(encoding="utf-8").splitlines()]


def settled(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.waitUntil(lambda: window.session is not None and window.session.unsaved == 0)


def drag_boundary(window: MainWindow, address: Address, by_s: float, *, let_go: bool = True) -> float:
    plot = window.desk.plot
    start = place_of(window, address)
    drag(plot, x_of(plot, start), x_of(plot, start + by_s), let_go=let_go)
    return start + by_s


def test_a_dragged_boundary_changes_the_numbers_while_it_moves_and_is_one_edit(
    qtbot: QtBot, window: MainWindow, study: Path
) -> None:
    before, lines, shown = marks_in(window), len(ledger(study)), numbers(window)
    target = drag_boundary(window, END_OF_RAISING, -0.3, let_go=False)
    while_dragged = numbers(window)
    assert while_dragged != shown
    assert marks_in(window) == before, "nothing is kept before the mouse lets go"
    release(window.desk.plot, x_of(window.desk.plot, target))
    settled(qtbot, window)
    assert numbers(window) == while_dragged, "what the drag showed is what its release keeps"
    assert abs(place_of(window, END_OF_RAISING) - target) < 0.02
    new = ledger(study)[lines:]
    assert [line["what"] for line in new] == ["moved raising end of rep 1"]
    assert marks_in(window).rep(1).phases[0].end.origin is Origin.HAND
    assert marks_in(window).rep(2) == before.rep(2)


def test_undo_and_redo_by_keys_restore_marks_and_numbers(qtbot: QtBot, window: MainWindow) -> None:
    before, shown = marks_in(window), numbers(window)
    drag_boundary(window, END_OF_RAISING, -0.3)
    after, moved = marks_in(window), numbers(window)
    qtbot.keyClick(window, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert (marks_in(window), numbers(window)) == (before, shown)
    qtbot.keyClick(window, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier)
    assert (marks_in(window), numbers(window)) == (after, moved)


def test_escape_drops_a_drag(qtbot: QtBot, window: MainWindow) -> None:
    before, shown = marks_in(window), numbers(window)
    target = drag_boundary(window, END_OF_RAISING, -0.3, let_go=False)
    qtbot.keyClick(window.desk.plot, Qt.Key.Key_Escape)
    assert numbers(window) == shown
    release(window.desk.plot, x_of(window.desk.plot, target))
    assert marks_in(window) == before
    assert window.session is not None
    assert window.session.history.undoable is None


def test_a_burst_of_arrow_keys_is_one_edit(qtbot: QtBot, window: MainWindow) -> None:
    plot = window.desk.plot
    start = marks_in(window).rep(1).phases[0].end.sample
    click(plot, x_of(plot, place_of(window, END_OF_RAISING)))
    for _ in range(3):
        qtbot.keyClick(plot, Qt.Key.Key_Left)
    qtbot.keyClick(plot, Qt.Key.Key_Left, Qt.KeyboardModifier.ShiftModifier)
    assert window.session is not None
    assert window.session.history.undoable is None, "the burst has not ended yet"
    qtbot.waitUntil(lambda: window.session.history.undoable is not None)  # type: ignore[union-attr]
    assert marks_in(window).rep(1).phases[0].end.sample == start - 13
    window.undo()
    assert marks_in(window).rep(1).phases[0].end.sample == start
    assert window.session.history.undoable is None


def test_nudges_are_kept_when_another_trial_is_chosen_at_once(qtbot: QtBot, window: MainWindow) -> None:
    plot = window.desk.plot
    start = marks_in(window).rep(1).phases[0].end.sample
    click(plot, x_of(plot, place_of(window, END_OF_RAISING)))
    qtbot.keyClick(plot, Qt.Key.Key_Right)
    with qtbot.waitSignal(window.desk.shown, timeout=10_000):
        window.show_trial("T002")
    assert marks_in(window).rep(1).phases[0].end.sample == start + 1
    with qtbot.waitSignal(window.desk.shown, timeout=10_000):
        window.undo()
    assert window.desk.trial_id == "T001", "undo goes to the trial that it changes"


def test_all_is_there_after_closing_and_opening_again(qtbot: QtBot, study: Path) -> None:
    for first in opened(qtbot, study):
        drag_boundary(first, END_OF_RAISING, -0.3)
        kept = marks_in(first)
    for second in opened(qtbot, study):
        assert marks_in(second) == kept


def test_a_study_that_is_open_elsewhere_can_be_read_and_says_who_holds_it(qtbot: QtBot, study: Path) -> None:
    with open_for_command(study, print):
        for window in opened(qtbot, study):
            before = marks_in(window)
            assert str(os.getpid()) in window.messages.text
            drag_boundary(window, END_OF_RAISING, -0.3)
            assert marks_in(window) == before


def test_the_wheel_zooms_about_the_cursor_and_a_drag_on_nothing_pans(window: MainWindow) -> None:
    from mouse import wheel

    plot = window.desk.plot
    x = x_of(plot, 5.0)
    wheel(plot, x, 4)
    assert plot.span.width_s < 8
    assert abs(x_of(plot, 5.0) - x) < 1.5
    begin = plot.span.begin_s
    free = x_of(plot, 4.5)
    drag(plot, free, free + 60)
    assert plot.span.begin_s < begin


def test_a_click_in_a_rep_takes_it_in_hand(window: MainWindow) -> None:
    plot = window.desk.plot
    rep = marks_in(window).reps[1]
    middle = seconds((rep.phases[0].begin.sample + rep.phases[0].end.sample) // 2, marks_in_clock(window)) + 0.6
    move(plot, x_of(plot, middle), Qt.MouseButton.NoButton)
    click(plot, x_of(plot, middle))
    assert window.desk.rep_in_hand == rep.id


def marks_in_clock(window: MainWindow):  # noqa: ANN201
    return window.session.study.trial("T001").clock  # type: ignore[union-attr]


def test_export_from_the_window_measures_first(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> None:
    window.commands.export_to(tmp_path / "out")
    qtbot.waitUntil(lambda: "Wrote" in window.messages.text, timeout=10_000)
    assert (tmp_path / "out" / "segments.csv").read_text(encoding="utf-8").count("\n") > 50


def test_a_file_that_is_no_study_is_said_in_one_sentence(qtbot: QtBot, tmp_path: Path) -> None:
    window = MainWindow()
    qtbot.addWidget(window)
    window.show()
    window.open_study(tmp_path / "nowhere")
    qtbot.waitUntil(lambda: "nowhere" in window.messages.text)
    assert window.door.at_rest
    assert window.session is None
    assert "\n" not in window.messages.text
    window.close()


def test_a_missing_recording_is_said_and_the_marks_stay(qtbot: QtBot, study: Path) -> None:
    next((study / "recordings").glob("*1.h5")).unlink()
    window = MainWindow()
    qtbot.addWidget(window)
    window.show()
    window.open_study(study)
    qtbot.waitUntil(lambda: "missing" in window.messages.text, timeout=10_000)
    assert marks_in(window).reps
    window.close()


def test_closing_leaves_no_thread_behind(qtbot: QtBot, study: Path) -> None:
    before = set(threading.enumerate())
    for window in opened(qtbot, study):
        drag_boundary(window, END_OF_RAISING, -0.3)
    qtbot.waitUntil(lambda: not [t for t in threading.enumerate() if t not in before and not t.daemon])


def test_every_action_has_a_key_of_its_own(window: MainWindow) -> None:
    keys = [action.shortcut().toString() for action in window.findChildren(QAction) if action.shortcut().toString()]
    assert len(keys) == len(set(keys)) >= 6


_KILLED = """
import sys
from PySide6.QtCore import QStandardPaths
QStandardPaths.setTestModeEnabled(True)
sys.path.insert(0, sys.argv[2])
from pathlib import Path
from PySide6.QtWidgets import QApplication, QWidget
from phasemark.window.main_window import MainWindow
from mouse import drag, x_of
app = QApplication([])
window = MainWindow()
window.resize(1280, 720)
window.show()
window.desk.shown.connect(lambda _: QApplication.instance().exit())
window.open_study(Path(sys.argv[1]))
app.exec()
plot = window.desk.plot
rep = window.session.study.trial("T001").marks_of("R1").rep(1)
end = rep.phases[0].end.sample / 1000
drag(plot, x_of(plot, end), x_of(plot, end - 0.3))
while window.session.unsaved:
    app.processEvents()
begin = rep.begin / 1000
drag(plot, x_of(plot, begin), x_of(plot, begin - 0.2), let_go=False)
print(window.session.study.trial("T001").marks_of("R1").rep(1).phases[0].end.sample, flush=True)
app.exec()
"""


def test_after_a_kill_in_the_middle_of_a_drag_the_last_finished_edit_is_there(study: Path, qapp: QApplication) -> None:
    child = subprocess.Popen(
        [sys.executable, "-c", _KILLED, str(study), str(Path(__file__).parent)], stdout=subprocess.PIPE, text=True
    )
    assert child.stdout is not None
    finished = int(child.stdout.readline())
    child.send_signal(signal.SIGKILL)
    child.wait()
    child.stdout.close()
    with open_for_command(study, print) as at:
        rep = at.session.study.trial("T001").marks_of("R1").rep(1)
    assert rep.phases[0].end.sample == finished
    assert rep.phases[0].begin.origin is Origin.AUTOMATIC, "the drag that was under way was never finished"


def test_third_levels_run_straight_from_the_traces_into_the_figure(window: MainWindow) -> None:
    """At whatever height the window has, both are drawn in the same row of pixels."""
    for height in range(700, 712):
        window.resize(1440, height)
        QApplication.processEvents()
        figure, area = window.desk.figure, window.desk.plot.movement_area()
        layout, shown = figure.layout_now, figure.figure
        assert area is not None
        assert layout is not None
        assert shown is not None
        assert shown.levels
        plot = window.desk.plot
        band = plot._bands[0]
        for level in shown.levels:
            at = QPointF(0.0, plot._canvas.view.y() + band.y(level))
            there = window.desk.figure.mapFromGlobal(plot.mapToGlobal(at)).y()
            assert layout.band.y(level) == pytest.approx(there, abs=1e-6)
        image = window.grab().toImage()
        seen = [level_rows(image, window, part, len(shown.levels)) for part in (plot, figure)]
        assert seen[0] == seen[1]


def test_the_grid_is_not_as_wide_as_the_settings_need(qtbot: QtBot, study: Path) -> None:
    """What is not shown asks for no room, at twice the text either."""
    font = QApplication.font()
    larger = QFont(font)
    larger.setPointSizeF(2 * font.pointSizeF())
    QApplication.setFont(larger)
    try:
        for window in opened(qtbot, study):
            assert window.grid.width() <= 310
            window.toggle_page(window.settings)
            QApplication.processEvents()
            assert window.settings.width() > 310
            assert window.settings.width() >= window.settings.minimumSizeHint().width()
    finally:
        QApplication.setFont(font)


def level_rows(image: QImage, window: MainWindow, part: QWidget, count: int) -> list[int]:
    """The rows of the window with most pixels in the colour of the levels, in a part of it, level with the movement."""
    area = window.desk.plot.movement_area()
    assert area is not None
    top = window.desk.plot.mapTo(window, QPointF(0.0, area[0].top())).y()
    left = part.mapTo(window, QPoint(0, 0)).x()
    soft = scheme_of(part.palette()).soft.rgb()
    found = {
        y: sum(image.pixel(x, y) == soft for x in range(left, left + part.width()))
        for y in range(round(top), round(top + area[0].height()))
    }
    return sorted(sorted(found, key=lambda y: found[y])[-count:])
