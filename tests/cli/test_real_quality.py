"""Signal quality of real recordings by command: the known artefact with its place, quiet muscles named as quiet.

'EMG Dataset in Lower Limb', Sanchez O, Sotelo J (2014), UCI Machine Learning Repository, doi 10.24432/C5ZW3P,
CC BY 4.0.
"""

import json
import re
from contextlib import redirect_stderr, redirect_stdout
from io import StringIO
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from phasemark.cli import run

MUSCLES = ("rectus femoris", "biceps femoris", "vastus medialis", "semitendinosus")
TRIALS = ("6Nsen", "6Npie", "3Nsen", "9Asen", "5Apie", "1Asen")
# In a seated knee extension the hamstrings rest, in a standing flexion the quadriceps do; named in the order of TRIALS.
QUIET = {("6Nsen", "semitendinosus"), ("6Npie", "vastus medialis"), ("3Nsen", "semitendinosus"),
         ("9Asen", "semitendinosus"), ("5Apie", "rectus femoris"), ("5Apie", "vastus medialis")}  # fmt: skip
WORKING = {"sen": {"rectus femoris", "vastus medialis"}, "pie": {"biceps femoris", "semitendinosus"}}


def _said(*arguments: object) -> str:
    out, err = StringIO(), StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        code = run([str(argument) for argument in arguments], lambda _: 3)
    assert code == 0, err.getvalue()
    return out.getvalue()


@pytest.fixture(scope="module")
def study(open_data: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Six trials of four muscles, added by the commands and not marked."""
    folder = tmp_path_factory.mktemp("real quality")
    emg = [{"column": n, "muscle": m, "unit": "mV"} for n, m in enumerate(MUSCLES, 1)]
    movement = {"column": 5, "kind": "knee angle", "unit": "deg", "up": "larger"}
    mapping = folder / "columns.json"
    mapping.write_text(json.dumps({"version": 1, "rate_hz": 1000, "emg": emg, "movement": movement, "time": None}))
    _said("new", folder / "study")
    for name in TRIALS:
        about = ("--participant", name[:2], "--exercise", name[2:], "--columns", mapping)
        _said("add", folder / "study", open_data / "knee_emg" / f"{name}.txt", *about)
    return folder / "study"


@pytest.fixture(scope="module")
def lines(study: Path) -> list[str]:
    return _said("quality", study).splitlines()


def _about(lines: list[str], trial: str, muscle: str) -> list[str]:
    where = f"({trial[:2]}, {trial[2:]}), {muscle}, "
    return [line.split(where, 1)[1] for line in lines if where in line]


def test_the_known_artefact_is_named_with_its_place(lines: list[str], open_data: Path) -> None:
    """The description of the data knows one at the start of 6Nsen, in semitendinosus; the file has its swing there."""
    (said,) = [line for line in _about(lines, "6Nsen", "semitendinosus") if line.startswith("movement artefact: ")]
    assert "a movement artefact, in 1 place" in said
    begin, end = (float(s) for s in re.findall(r" At ([\d.]+)-([\d.]+) s\.", said)[0])
    assert begin == 0
    assert end <= 1
    text = (open_data / "knee_emg" / "6Nsen.txt").read_text(encoding="latin-1").replace("\r", "")
    cells = [row.split("\t")[3] for row in text.split("\n\n", 1)[1].splitlines() if row.count("\t") > 3]
    column = np.array([float(cell) for cell in cells if cell.strip()])
    column -= np.median(column)
    assert begin <= np.abs(column).argmax() / 1000 < end


def test_muscles_at_rest_are_said_to_be_quiet_and_those_that_work_are_not(lines: list[str]) -> None:
    quiet = {
        (trial, muscle)
        for trial in TRIALS
        for muscle in MUSCLES
        if any("the muscle is quiet, hardly above the baseline" in said for said in _about(lines, trial, muscle))
    }
    assert quiet >= QUIET
    assert not {(trial, muscle) for trial, muscle in quiet if muscle in WORKING[trial[2:]]}


def test_one_trial_or_every_check_can_be_asked_for(study: Path, lines: list[str]) -> None:
    one = _said("quality", study, "--trial", "T001").splitlines()
    assert one == [line for line in lines if line.startswith("T001 ")]
    everything = _said("quality", study, "--trial", "T001", "--all").splitlines()
    assert set(one) < set(everything)
    assert any("rectus femoris, signal-to-noise" in line for line in everything)


def test_accepting_the_artefact_is_said_and_exported(study: Path, tmp_path: Path) -> None:
    about = ("accept", study, "--trial", "T001", "--check", "movement artefact", "--muscle", "semitendinosus")
    _said(*about, "--reason", "before the first repetition")
    found = _about(_said("quality", study).splitlines(), "6Nsen", "semitendinosus")
    assert any(line.endswith(" Accepted by R1: before the first repetition.") for line in found)
    _said("export", study, "--to", tmp_path / "out")
    table = pd.read_csv(tmp_path / "out" / "quality.csv")
    row = table.query("trial == 'T001' and muscle == 'semitendinosus' and check == 'movement artefact'").iloc[0]
    assert (row["flagged"], row["accepted"], row["reason"]) == ("yes", "yes", "before the first repetition")
    assert str(row["places_s"]).startswith("0-")
    _said(*about, "--take-back")
