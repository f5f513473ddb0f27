"""From a committed setting to repainted traces, on the demo study: the real window, offscreen, at 1600x1000.

    python tests/benchmarks/bench_setting_change.py STUDY [turns]

STUDY is a study's folder (phasemark demo --to FOLDER --no-window writes one); it is copied first. Each setting is
changed there and back with the settings page open; a change ends when the traces of the trial in view have been
painted with it. No median may be over 200 ms: then the exit code is 1.
"""

import os
import shutil
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QEvent, QObject, QStandardPaths
from PySide6.QtWidgets import QApplication, QWidget

from phasemark.window.actions import ActionName
from phasemark.window.main_window import MainWindow

MOST_MS = 200.0
PATIENCE_S = 60.0
CHANGES = {
    "filter.highpass_hz": ("30", "20"),
    "filter.lowpass_hz": ("400", "450"),
    "filter.notch_hz": ("50", "off"),
    "filter.ecg_template": ("yes", "no"),
    "envelope.window_s": ("0.05", "0.1"),
    "phases.movement_lowpass_hz": ("4", "6"),
}


class Paints(QObject):
    """When a widget was painted last."""

    def __init__(self, target: QWidget) -> None:
        super().__init__(target)
        self.at = 0.0
        target.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() is QEvent.Type.Paint:
            self.at = time.perf_counter()
        return False


def _until(reached: object) -> None:
    end = time.perf_counter() + PATIENCE_S
    while not reached():  # type: ignore[operator]
        QApplication.processEvents()
        assert time.perf_counter() < end, "it never ended"


def changed_ms(window: MainWindow, paints: Paints, key: str, value: str) -> float:
    """Milliseconds from a committed setting until the traces are painted with it."""
    before = window.desk.signals
    begun = time.perf_counter()
    window.settings.changed.emit(key, value)
    _until(lambda: window.desk.signals is not before)
    there = time.perf_counter()
    _until(lambda: paints.at > there)
    return 1000 * (paints.at - begun)


def rest() -> None:
    """Let what follows a change (what the filters took out, errors of the rep) come to an end."""
    end = time.perf_counter() + 0.5
    _until(lambda: time.perf_counter() > end)


def main() -> int:
    QStandardPaths.setTestModeEnabled(True)
    app = QApplication([])
    turns = int(sys.argv[2]) if len(sys.argv) > 2 else 5
    slow = []
    with tempfile.TemporaryDirectory() as folder:
        study = Path(shutil.copytree(sys.argv[1], Path(folder) / "study"))
        window = MainWindow()
        window.resize(1600, 1000)
        window.show()
        window.open_study(study)
        _until(lambda: window.desk.signals is not None)
        window.action(ActionName.SETTINGS).trigger()
        window.settings.show_field("filter.highpass_hz")
        paints = Paints(window.desk.plot._canvas.view.viewport())
        rest()
        assert window.session is not None
        trial = window.session.study.trial(window.desk.trial_id)
        print(f"{len(trial.emg)} muscles, {float(trial.length / trial.clock):.1f} s at {float(trial.emg[0].rate):g} Hz")
        for key, values in CHANGES.items():
            took = []
            for _ in range(turns):
                for value in values:
                    window.session.cache.forget()
                    took.append(changed_ms(window, paints, key, value))
                    rest()
            print(f"{key:<28} median {median(took):5.0f} ms   longest {max(took):5.0f} ms")
            if median(took) > MOST_MS:
                slow.append(key)
        window.close()
    app.processEvents()
    print(f"over {MOST_MS:.0f} ms: {', '.join(slow) or 'none'}")
    return 1 if slow else 0


if __name__ == "__main__":
    sys.exit(main())
