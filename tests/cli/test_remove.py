"""`phasemark remove`: a trial goes out of the study and of every export; its recording stays."""

import json
from pathlib import Path

import pytest
from calling import ABOUT, Call


def trials_exported(phasemark: Call, study: Path, to: Path) -> set[str]:
    assert phasemark("export", study, "--to", to).code == 0
    lines = (to / "marks.csv").read_text(encoding="utf-8").splitlines()
    column = lines[0].split(",").index("trial")
    return {line.split(",")[column] for line in lines[1:]}


def test_a_removed_trial_is_in_no_export_and_its_recording_stays(phasemark: Call, study: Path, tmp_path: Path) -> None:
    said = phasemark("remove", study, "--trial", "t002", "--reason", "another person's file")
    assert (said.code, said.err) == (0, "")
    assert said.out == "Removed T002; its recording stays in recordings/R0002.h5.\n"
    assert (study / "recordings" / "R0002.h5").is_file()
    assert trials_exported(phasemark, study, tmp_path / "out") == {"T001"}
    lines = map(json.loads, (study / "ledger.jsonl").read_text(encoding="utf-8").splitlines())
    last = [line for line in lines if line["action"] == "edit"][-1]
    assert last["what"] == "removed trial T002: another person's file"
    assert phasemark("check", study).code == 0


def test_the_id_of_a_removed_trial_is_not_given_again(phasemark: Call, study: Path) -> None:
    phasemark("remove", study, "--trial", "T002", "--reason", "mistake")
    added = phasemark("add", study, study.parent / "1.txt", *ABOUT, "--columns", study.parent / "columns.json")
    assert added.out.startswith("T003: 1.txt")


@pytest.mark.parametrize(
    ("trial", "reason", "sentence"),
    [("T009", "mistake", "There is no trial 'T009'"), ("T001", " ", "needs its reason")],
)
def test_what_cannot_be_removed_is_said(phasemark: Call, study: Path, trial: str, reason: str, sentence: str) -> None:
    said = phasemark("remove", study, "--trial", trial, "--reason", reason)
    assert said.code == 2
    assert sentence in said.sentence
    assert trials_exported(phasemark, study, study.parent / "out") == {"T001", "T002"}
