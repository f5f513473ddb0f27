"""Longest stall of the window's thread while a study is imported, marked, measured, saved, exported, closed, opened.

    python tests/benchmarks/bench_stalls.py [--why] [runs]

The real window, offscreen, beats once a millisecond; the longest time between two beats in each piece of work is its
stall. Texts of invented recordings are imported: many short ones, and one of more than 50 MB. No stall may be over
100 ms in every run: then the exit code is 1. --why shows what each thread was doing while a beat was late.
"""

import faulthandler
import os
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
from PySide6.QtCore import QStandardPaths, Qt, QTimer
from PySide6.QtWidgets import QApplication

from phasemark.demo import InventedTrial, invent
from phasemark.formats.mapping_json import parse_mapping
from phasemark.model.study import Kind
from phasemark.session.importing import Arrival, Description
from phasemark.window.adding.add_dialog import AddRecordingsDialog
from phasemark.window.app import put_window_first
from phasemark.window.main_window import MainWindow
from phasemark.window.new_study_dialog import NewStudyDialog

MOST_MS = 100.0
LATE_S = 0.03
PATIENCE_S = 600.0
MANY, MUSCLES, LONG_ROWS, RATE = 24, 16, 420_000, 2000
TITLES = tuple(f"muscle {number + 1} (mV)" for number in range(MUSCLES))
MAPPING = parse_mapping(
    {
        "version": 1,
        "rate_hz": RATE,
        "emg": [{"column": n + 1, "muscle": f"muscle {n + 1}", "unit": "mV"} for n in range(MUSCLES)],
        "movement": [{"column": MUSCLES + 1, "kind": "bar height", "unit": "m"}],
    }
)


class Beat:
    """Beats once a millisecond on the window's thread and keeps the longest time between two beats."""

    def __init__(self, why: bool) -> None:
        self.longest_s = 0.0
        self.last = time.perf_counter()
        self.late: Counter[str] = Counter()
        self._timer = QTimer()
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.timeout.connect(self._beat)
        self._timer.start(1)
        self._going = True
        if why:
            threading.Thread(target=self._watch, daemon=True).start()

    def _beat(self) -> None:
        now = time.perf_counter()
        self.longest_s = max(self.longest_s, now - self.last)
        self.last = now

    def _watch(self) -> None:
        # Frames looked at from another thread would keep painters alive; this one only reads.
        with tempfile.TemporaryFile("w+") as file:
            while self._going:
                time.sleep(0.004)
                if time.perf_counter() - self.last > LATE_S:
                    file.seek(0)
                    file.truncate()
                    faulthandler.dump_traceback(file, all_threads=True)
                    file.seek(0)
                    self.late.update(_busy_threads(file.read()))

    def stop(self) -> None:
        self._going = False
        self._timer.stop()


def _busy_threads(dump: str) -> Iterator[str]:
    """The innermost calls of each thread that does something, in one line."""
    for thread in dump.split("\n\n"):
        calls = [
            line.split("/")[-1].replace('", line ', ":") for line in thread.splitlines() if line.startswith("  File")
        ]
        if calls and not calls[0].startswith(("thread.py", "threading.py", "bench_stalls.py:7")):
            yield " < ".join(calls[:8])


class Bench:
    """Runs pieces of work one after the other and keeps the stall of each (ms)."""

    def __init__(self, why: bool) -> None:
        self.beat = Beat(why)
        self.stalls: dict[str, float] = {}
        self._why = why

    def piece(self, name: str, start: Callable[[], object], ended: Callable[[], bool]) -> None:
        """Start something and let the window go on until it has ended, and a moment more."""
        self.beat.last, self.beat.longest_s = time.perf_counter(), 0.0
        self.beat.late.clear()
        begin = time.perf_counter()
        start()
        _until(ended)
        took = time.perf_counter() - begin
        _until(lambda: time.perf_counter() > begin + took + 0.2)
        self.stalls[name] = 1000 * self.beat.longest_s
        print(f"  {name:<44}{self.stalls[name]:7.0f} ms   of {took:6.2f} s", flush=True)
        if self._why:
            for trace, count in self.beat.late.most_common(6):
                print(f"      {count:4d} x {trace}")


def _until(reached: Callable[[], bool]) -> None:
    end = time.perf_counter() + PATIENCE_S
    while not reached():
        QApplication.processEvents()
        time.sleep(0)  # as the event loop does, give others their turn
        assert time.perf_counter() < end, "it never ended"


def write_texts(folder: Path) -> tuple[list[Path], Path]:
    """Many recordings of 20 s, and one of more than 50 MB."""
    many = [_write_text(folder / f"P{n:02d}_squat.txt", 20 * RATE, n) for n in range(1, MANY + 1)]
    long = _write_text(folder / "P99_squat.txt", LONG_ROWS, 99)
    assert long.stat().st_size > 50e6
    return many, long


def _write_text(path: Path, rows: int, seed: int) -> Path:
    draw = np.random.default_rng(seed)
    times = np.arange(rows) / RATE
    height = 0.6 + 0.3 * np.cos(2 * np.pi * times / 4)
    block = draw.normal(0, 0.2, (4000, MUSCLES))  # again and again: what is in it does not count here
    with path.open("w", encoding="utf-8") as file:
        file.write("\t".join((*TITLES, "bar height (m)")) + "\n")
        lines = ["\t".join(f"{value:.5f}" for value in row) for row in block]
        file.writelines(f"{lines[n % 4000]}\t{height[n]:.5f}\n" for n in range(rows))
    return path


def _arrivals(files: list[Path]) -> tuple[Arrival, ...]:
    return tuple(Arrival(Description(file.stem.split("_")[0], exercise="squat"), file, MAPPING) for file in files)


def _invented() -> tuple[Arrival, ...]:
    def about(trial: InventedTrial) -> Description:
        return Description(trial.participant, trial.kind, trial.exercise, set=trial.set, load=trial.load)

    return tuple(Arrival(about(trial), recording=trial.recording) for trial in invent(1) if trial.kind is Kind.TASK)


def run(why: bool, place: Path, many: list[Path], long: Path) -> dict[str, float]:
    """All pieces of work once, on a study of its own."""
    bench = Bench(why)
    window = MainWindow()
    window.resize(1600, 1000)
    window.show()
    _until(window.isVisible)
    commands, study = window.commands, place / "Squats"

    def idle() -> bool:
        return window.door.at_rest and not window.work.busy

    def make() -> None:
        commands.ask_new_study()
        dialog = commands.dialog
        assert isinstance(dialog, NewStudyDialog)
        dialog.place.setText(str(place))
        dialog.name.setText("Squats")
        dialog.create_study.click()

    def looked() -> bool:
        dialog = commands.dialog
        return isinstance(dialog, AddRecordingsDialog) and not any(file.waiting for file in dialog.draft.files)

    def cancel_adding() -> None:
        assert isinstance(commands.dialog, AddRecordingsDialog)
        commands.dialog.done(0)

    def open_session() -> object:
        return window.session

    bench.piece("nothing at all", lambda: None, lambda: True)
    bench.piece("make a study", make, lambda: open_session() is not None and idle())
    bench.piece("look at the files to add", lambda: commands.add_files([*many, long]), looked)
    cancel_adding()
    bench.piece(f"import {MANY} files", lambda: commands.add_recordings(_arrivals(many)), idle)
    bench.piece("import one file of more than 50 MB", lambda: commands.add_recordings(_arrivals([long])), idle)
    invented = _invented()
    bench.piece(f"import {len(invented)} recordings in memory", lambda: commands.add_recordings(invented), idle)
    session = window.session
    assert session is not None
    trials = session.study.trials
    bench.piece(f"mark {len(trials)} trials", commands.mark_unmarked, idle)
    bench.piece("measure", commands.measure_study, idle)
    bench.piece("save", session._saving.save_soon, lambda: time.perf_counter() > bench.beat.last + 3 or _saved(window))
    bench.piece("export", lambda: commands.export_to(place / "out"), idle)
    for trial in (trials[1], trials[MANY]):
        size = "the long trial" if trial is trials[MANY] else "another trial"
        bench.piece(
            f"show {size}", lambda t=trial: window.show_trial(t.id), lambda: window.desk.signals is not None and idle()
        )
    bench.piece("close", window.close_study, idle)
    bench.piece("open", lambda: window.open_study(study), lambda: window.desk.signals is not None)
    commands.mark_all_again()
    bench.piece("close the window while all is marked again", window.close, lambda: not window.isVisible())
    bench.beat.stop()
    window.deleteLater()
    return bench.stalls


def _saved(window: MainWindow) -> bool:
    session = window.session
    return session is None or (not session._saving._dirty and session._saving._writing is not None)


def main() -> int:
    """Run all, print the stall of each piece in its best run, and say whether any is over the limit."""
    arguments = [argument for argument in sys.argv[1:] if argument != "--why"]
    runs = int(arguments[0]) if arguments else 1
    QStandardPaths.setTestModeEnabled(True)
    app = QApplication([])
    app.setQuitOnLastWindowClosed(False)
    put_window_first()
    stalls: list[dict[str, float]] = []
    with tempfile.TemporaryDirectory() as folder:
        many, long = write_texts(Path(folder))
        for number in range(runs):
            print(f"run {number + 1}: longest stall of the window's thread")
            (Path(folder) / str(number)).mkdir()
            stalls.append(run("--why" in sys.argv, Path(folder) / str(number), many, long))
    least = {name: min(one[name] for one in stalls) for name in stalls[0]}
    over = [name for name, stall in least.items() if stall > MOST_MS]
    print(f"over {MOST_MS:.0f} ms in every run: {', '.join(over) or 'none'}")
    return 1 if over else 0


if __name__ == "__main__":
    sys.exit(main())
