"""End to end: real knee extensions and flexions from their text files to segments, against phases checked by eye.

'EMG Dataset in Lower Limb', Sanchez O, Sotelo J (2014), UCI Machine Learning Repository, doi 10.24432/C5ZW3P,
CC BY 4.0.
"""

import csv
import json
from contextlib import redirect_stderr, redirect_stdout
from io import StringIO
from itertools import pairwise
from math import pi, sqrt, tan
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from numpy.typing import NDArray
from scipy.signal import butter, sosfiltfilt

from phasemark.cli import run

pytestmark = pytest.mark.slow  # kept out of the fast loop

MUSCLES = ("rectus femoris", "biceps femoris", "vastus medialis", "semitendinosus")
# Whose angle grows when the knee is extended (the description of the recordings); the others' shrinks.
LARGER_IS_EXTENDED = {"3N", "4N", "6N", "7N", "1A", "8A", "9A"}
TWICE = "2N"  # the recordings of 1N under another number
BEGIN_IN_MID_MOVEMENT = {"1Asen", "4Asen", "5Apie", "9Asen"}

Phase = tuple[str, float, float]


def _run(*arguments: object) -> None:
    said = StringIO()
    with redirect_stdout(said), redirect_stderr(said):
        code = run([str(argument) for argument in arguments], lambda _: 3)
    assert code == 0, said.getvalue()


def _mapping(folder: Path, up: str) -> Path:
    emg = [{"column": n, "muscle": m, "unit": "mV"} for n, m in enumerate(MUSCLES, 1)]
    movement = {"column": 5, "kind": "knee angle", "unit": "deg", "up": up}
    path = folder / f"{up}.json"
    path.write_text(json.dumps({"version": 1, "rate_hz": 1000, "emg": emg, "movement": movement, "time": None}))
    return path


def _up(trial: str) -> str:
    """Seated, the foot is raised by extending the knee; standing, by flexing it."""
    extending_raises = trial.endswith("sen")
    return "larger" if (trial[:2] in LARGER_IS_EXTENDED) == extending_raises else "smaller"


def _files(open_data: Path) -> list[Path]:
    found = sorted((open_data / "knee_emg").glob("*.txt"))
    return [path for path in found if path.stem[-3:] in ("sen", "pie") and path.stem[:2] != TWICE]


@pytest.fixture(scope="module")
def exports(open_data: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """All trials taken from text to exports by the commands alone."""
    folder = tmp_path_factory.mktemp("knee")
    _run("new", folder / "study")
    for path in _files(open_data):
        about = ("--participant", path.stem[:-3], "--exercise", path.stem[-3:])
        _run("add", folder / "study", path, *about, "--columns", _mapping(folder, _up(path.stem)))
    _run("mark", folder / "study")
    _run("measure", folder / "study")
    _run("export", folder / "study", "--to", folder / "exports")
    _run("check", folder / "study")
    return folder / "exports"


def _by_eye(open_data: Path) -> dict[str, list[tuple[Phase, Phase]]]:
    """Complete repetitions as found by eye, for each trial: a raising and the lowering after it."""
    phases: dict[str, list[Phase]] = {}
    with (open_data / "knee_emg" / "phases_checked_by_eye.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            phases.setdefault(row["trial"], []).append((row["phase"], float(row["begin_s"]), float(row["end_s"])))
    reps = {}
    for trial, found in phases.items():
        whole = found[1:] if trial in BEGIN_IN_MID_MOVEMENT and found[0][0] == "raising" and found[0][1] == 0 else found
        reps[trial] = [(a, b) for a, b in pairwise(whole) if (a[0], b[0]) == ("raising", "lowering")]
    return reps


def _marked(exports: Path) -> dict[str, list[tuple[Phase, Phase]]]:
    """Complete repetitions in marks.csv, for each trial."""
    marks = pd.read_csv(exports / "marks.csv")
    marks = marks[(marks["complete"] == "yes") & marks["boundary"].isin(["begin", "end"])]
    reps: dict[str, list[tuple[Phase, Phase]]] = {}
    for (participant, exercise, _), rows in marks.groupby(["participant", "exercise", "rep"]):
        phases = [
            (name, *rows.loc[rows["phase"] == name, "time_s"].sort_values()) for name in dict.fromkeys(rows["phase"])
        ]
        reps.setdefault(f"{participant}{exercise}", []).append((phases[0], phases[1]))
    return reps


def test_every_complete_repetition_is_found_and_no_other(exports: Path, open_data: Path) -> None:
    """As many as by eye, each overlapping its own; boundaries within 0.05 s (median) and 0.20 s (90th percentile)."""
    eye, marked = _by_eye(open_data), _marked(exports)
    trials = [path.stem for path in _files(open_data)]
    distances = []
    for trial in trials:
        assert len(marked[trial]) == len(eye[trial]), trial
        for found, seen in zip(marked[trial], eye[trial], strict=True):
            for (name, begin, end), (seen_name, seen_begin, seen_end) in zip(found, seen, strict=True):
                assert name == seen_name, trial
                assert begin < seen_end, trial
                assert seen_begin < end, trial
                distances += [abs(begin - seen_begin), abs(end - seen_end)]
    median, ninetieth = np.quantile(distances, [0.5, 0.9])
    print(
        f"{sum(map(len, eye.values()))} repetitions by eye; boundaries: median {median:.3f} s, 90 % {ninetieth:.3f} s"
    )
    assert median <= 0.05
    assert ninetieth <= 0.20


def _band_passed(raw: NDArray[np.float64]) -> NDArray[np.float64]:
    """20 to 450 Hz at 1000 Hz, each twice second order, -3 dB of the double pass at the cut-off."""
    shift = (sqrt(2) - 1) ** 0.25
    values = raw - raw.mean()
    for kind, cutoff, factor in (("highpass", 20, shift), ("lowpass", 450, 1 / shift)):
        warped = np.arctan(tan(pi * cutoff / 1000) * factor) / pi * 2
        values = sosfiltfilt(butter(2, warped, kind, output="sos"), values)
    return values


@pytest.mark.parametrize("trial", ["5Asen", "9Apie", "3Nsen"])
def test_values_are_those_of_plain_scipy(exports: Path, open_data: Path, trial: str) -> None:
    """Per-segment RMS and mean amplitude of segments.csv from the text file, scipy, and a slice."""
    rows = pd.read_csv(exports / f"segments_{trial[:-3]}.csv")
    rows = rows[rows["exercise"] == trial[-3:]]
    lines = (open_data / "knee_emg" / f"{trial}.txt").read_bytes().split(b"\r\n")
    first = next(n for n, line in enumerate(lines) if line.count(b"\t") >= 4)
    raw = np.array([line.split(b"\t")[:4] for line in lines[first:] if line.strip()], dtype=np.float64)
    filtered = {muscle: _band_passed(raw[:, n]) for n, muscle in enumerate(MUSCLES)}
    rows = rows[rows["phase"] != "rep without pause"]  # the one segment that is in two pieces
    assert len(rows) > 40
    for row in rows.itertuples():
        piece = filtered[row.muscle][round(row.begin_s * 1000) : round(row.end_s * 1000)]
        assert row.samples == row.valid_samples == len(piece)
        assert row.rms_mV == pytest.approx(np.sqrt(np.mean(piece**2)), rel=1e-9)
        assert row.mean_amplitude_mV == pytest.approx(np.mean(np.abs(piece)), rel=1e-9)
