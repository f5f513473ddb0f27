"""Slips that are no errors but would cost a person the finding: each is said, and nothing is refused."""

from pathlib import Path

import numpy as np
import pytest
from calling import ABOUT, Call


def test_same_file_added_twice_is_said_whatever_it_is_called(phasemark: Call, study: Path) -> None:
    """By its bytes, within one call and over several; another file is not."""
    folder = study.parent
    (folder / "copy.txt").write_bytes((folder / "1.txt").read_bytes())
    (folder / "other.txt").write_bytes((folder / "1.txt").read_bytes() + b"\n")
    files = [folder / name for name in ("copy.txt", "1.txt", "other.txt")]
    said = phasemark("add", study, *files, *ABOUT, "--columns", folder / "columns.json")
    assert said.code == 0
    lines = [line for line in said.err.splitlines() if "added before" in line]
    assert lines == [
        "copy.txt: the same file was added before, as T001",
        "1.txt: the same file was added before, as T001, T003",
    ]


def test_unknown_kind_is_said_with_those_there_are(phasemark: Call, study: Path) -> None:
    said = phasemark("add", study, "1.txt", *ABOUT, "--kind", "mvc")
    assert said.code == 2
    assert "'mvc'" in said.sentence
    assert "<" not in said.sentence
    assert all(kind in said.sentence for kind in ("task", "mvic", "quiet", "reference", "warm-up", "other"))


@pytest.mark.parametrize("place", ["movement trace", "muscle"])
def test_trial_without_repetitions_is_said(phasemark: Call, tmp_path: Path, place: str) -> None:
    """A trace that rests, and without one a muscle that was not connected; the sentence names what to look at."""
    draw = np.random.default_rng(1).normal(0, 0.00001, 5000)
    (tmp_path / "rest.txt").write_text("\n".join(f"0.2\t{1 + a:.6f}" for a in draw))
    emg = '"emg": [{"column": 1, "muscle": "soleus", "unit": "mV"}]'
    movement = ', "movement": [{"column": 2, "unit": "m", "up": "larger"}]' if place == "movement trace" else ""
    (tmp_path / "map.json").write_text(f'{{"version": 1, "rate_hz": 1000, {emg}{movement}}}')
    phasemark("new", tmp_path / "s")
    phasemark("add", tmp_path / "s", tmp_path / "rest.txt", *ABOUT, "--columns", tmp_path / "map.json")
    said = phasemark("mark", tmp_path / "s")
    assert (said.code, said.out) == (0, "T001: 0 repetitions (P01, squat)\n")
    assert f"T001: nothing was found that could be a repetition; look at its first {place}" in said.sentence


def test_settings_of_a_muscle_or_exercise_that_no_trial_has_are_said(phasemark: Call, study: Path) -> None:
    """A slip in a name would change nothing without a word; a name that is there is not mentioned."""
    said = phasemark("settings", study, "filter[vastus medials].order=2")
    assert said.code == 0
    assert "No trial has the muscle 'vastus medials'" in said.sentence
    assert "there are vastus medialis, rectus femoris" in said.sentence
    said = phasemark("settings", study, "against_load[sqat]=lowering")
    assert "No trial has the exercise 'sqat', so this changes nothing yet (there are squat)." in said.sentence
    assert phasemark("settings", study, "filter[vastus medialis].order=2", "against_load[squat]=lowering").err == ""


@pytest.mark.parametrize("value", ["0", "-1", "2,0", "", "two"])
def test_numbers_of_counted_repetitions_that_cannot_be_are_refused_with_those_that_can(
    phasemark: Call, study: Path, value: str
) -> None:
    said = phasemark("settings", study, f"counted={value}")
    assert said.code == 2
    assert said.sentence.startswith("counted is 'all', 'all but first and last', or numbers of repetitions")
