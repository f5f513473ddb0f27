"""Marking and measuring the demo study against a plain script of the same scipy calls, in one process.

    python tests/benchmarks/bench_mark_measure.py [runs]

Both read the same recordings from the same files. The plain script filters each movement trace and each muscle with
scipy, finds turning points with find_peaks and takes RMS and mean amplitude of as many segments by slices.
"""

import sys
import tempfile
import time
from pathlib import Path

import h5py
import numpy as np
from scipy.signal import butter, find_peaks, sosfiltfilt

from phasemark.model.marks import Marks
from phasemark.model.study import Study
from phasemark.results.segments import segments
from phasemark.session.command_session import At, open_for_command
from phasemark.session.demo_study import write_demo
from phasemark.session.marking import mark, to_mark
from phasemark.session.measuring import measure


def ours(at: At) -> float:
    """Seconds to mark and measure the whole study again."""
    session = at.session
    begin = time.perf_counter()
    at.wait(lambda **back: mark(session, to_mark(session, again=True), **back), lambda _: None)
    marked = [trial for trial in session.study.trials if trial.marks_of(session.rater).reps]
    at.wait(lambda **back: measure(session, marked, **back), lambda _: None)
    return time.perf_counter() - begin


def read(folder: Path, path: str, channels: int) -> tuple[list[np.ndarray], np.ndarray | None]:
    """Values of one recording, without a look at its checksum."""
    with h5py.File(folder / path, "r") as file:
        emg = [file["emg"][str(place)]["values"][()] for place in range(channels)]
        return emg, file["movement"]["0"]["values"][()] if len(file["movement"]) else None


def stretches(marks: Marks, thirds_rule: str) -> list[tuple[int, int]]:
    """Segments in samples; the same that are measured by ours."""
    return [(s.begin, s.end) for rep in marks.reps for s in segments(rep, thirds_rule, pause_in_rep=True)]


def plain(folder: Path, study: Study, rater: str) -> float:
    """Seconds of the same scipy and numpy calls, each recording read once to mark and once to measure."""
    begin = time.perf_counter()
    trials = [trial for trial in study.trials if trial.kind.holds_reps]
    for trial in trials:
        _, height = read(folder, trial.recording.path, 0)
        rate = float(trial.movement[0].rate)
        smooth = sosfiltfilt(butter(2, 7.43, fs=rate, output="sos"), height)
        np.gradient(smooth, 1 / rate)
        span = np.subtract(*np.percentile(smooth, [95, 5]))
        find_peaks(smooth, prominence=0.3 * span)
        find_peaks(-smooth, prominence=0.3 * span)
    for trial in trials:
        emg, _ = read(folder, trial.recording.path, len(trial.emg))
        rate = float(trial.clock)
        high, low = (butter(2, f, kind, fs=rate, output="sos") for f, kind in ((16.05, "high"), (520.0, "low")))
        where = stretches(trial.marks_of(rater), "rep")
        for values in emg:
            filtered = sosfiltfilt(low, sosfiltfilt(high, values - values.mean()))
            for first, last in where:
                part = filtered[first:last]
                if last > first:
                    np.sqrt(np.mean(part * part))
                    np.mean(np.abs(part))
    return time.perf_counter() - begin


def main() -> None:
    """Write the demo study, time both in turn, print medians and their ratio."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    with tempfile.TemporaryDirectory() as place:
        made = write_demo(Path(place) / "demo", 1, print, lambda _: lambda _: None)
        with open_for_command(made.study, print) as at:
            study, rater = at.session.study, at.session.rater
            pairs = [(ours(at), plain(made.study, study, rater)) for _ in range(runs + 1)]
        mine, other = (float(np.median([pair[side] for pair in pairs[1:]])) for side in (0, 1))
        ratio = float(np.median([a / b for a, b in pairs[1:]]))
        print(f"mark and measure {mine:.2f} s, plain script {other:.2f} s, ratio {ratio:.2f} (medians of {runs} runs)")


if __name__ == "__main__":
    main()
