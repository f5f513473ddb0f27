"""Isometric exercises by command: no marks, one stretch measured by rule or by hand, and what is said where none is."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from calling import Call, Said

RATE = 1000


def _write(path: Path, levels: list[tuple[float, float]], seed: int) -> Path:
    """Two EMG columns (mV) of these (level, seconds) one after the other, and a height that rests."""
    draw = np.random.default_rng(seed)
    level = np.concatenate([np.full(round(RATE * s), value) for value, s in levels])
    emg = draw.normal(0, 1, (2, len(level))) * level
    path.write_text("\n".join("\t".join(f"{value:.6f}" for value in (*pair, 1.0)) for pair in emg.T) + "\n")
    return path


@pytest.fixture
def planks(study: Path, phasemark: Call) -> Path:
    """The marked study with a plank of 8 s (T003) and one of 2 s (T004)."""
    folder = study.parent
    files = [
        _write(folder / "long.txt", [(0.01, 4), (0.5, 8), (0.01, 4)], 1),
        _write(folder / "short.txt", [(0.01, 4), (0.5, 2), (0.01, 4)], 2),
    ]
    about = ("--participant", "P01", "--exercise", "plank", "--columns", folder / "columns.json")
    assert phasemark("add", study, *files, *about).code == 0
    assert phasemark("settings", study, "isometric[plank]=yes").code == 0
    return study


def _segments(phasemark: Call, study: Path, name: str) -> tuple[Said, pd.DataFrame]:
    said = phasemark("export", study, "--to", study.parent / name)
    return said, pd.read_csv(study.parent / name / "segments.csv", low_memory=False)


def test_marking_leaves_holds_alone_and_export_does_not_ask_for_marks(planks: Path, phasemark: Call) -> None:
    assert "nothing to mark" in phasemark("mark", planks).out
    assert phasemark("mark", planks, "--again").out.count("T003") == 0
    said, _ = _segments(phasemark, planks, "out")
    assert "no marks" not in said.err


def test_the_middle_of_a_hold_is_measured_by_rule_and_a_hold_too_short_is_said(planks: Path, phasemark: Call) -> None:
    said, rows = _segments(phasemark, planks, "rule")
    assert said.code == 1
    assert "Trial T004 (P01, plank) is not held for 3 s; place the stretch by hand" in said.err
    found = rows.query("exercise == 'plank'")
    assert found["trial"].tolist() == ["T003", "T003"]
    assert set(zip(found["phase"], found["third"], found["counted"], found["rep_id"], strict=True)) == {
        ("hold", "whole", "yes", 0)
    }
    assert found["begin_s"].to_numpy() == pytest.approx(6.5, abs=0.3)
    assert (found["end_s"] - found["begin_s"]).to_numpy() == pytest.approx(3.0)
    assert found["rms_sampling_error_mV"].gt(0).all()
    said_again, again = _segments(phasemark, planks, "again")  # from results that are current
    assert said_again.err.count("T004") == said.err.count("T004") == 1
    pd.testing.assert_frame_equal(rows, again)
    summary = pd.read_csv(planks.parent / "rule" / "summary_P01.csv").query("exercise == 'plank'")
    assert summary["n_reps"].tolist() == [1, 1]
    assert summary["rms_mV_mean"].to_numpy() == pytest.approx(found["rms_mV"].to_numpy())


def test_another_length_and_a_place_by_hand_are_measured_again(planks: Path, phasemark: Call) -> None:
    assert phasemark("measure", planks).code == 1
    assert phasemark("settings", planks, "hold.window_s=1.5").code == 0
    assert phasemark("measure", planks).out == "Measured 2 trials.\n"
    place = ("interval", planks, "--trial", "T004", "--purpose", "hold")
    assert phasemark(*place, "--begin", "4.2", "--end", "5.2", "--muscle", "rectus femoris").code == 0
    assert phasemark("measure", planks).out == "Measured 1 trial.\n"
    assert phasemark("measure", planks).out == "All results are current.\n"
    said, rows = _segments(phasemark, planks, "hand")
    assert said.code == 0, said.err
    found = rows.query("trial == 'T004'").set_index("muscle")
    assert (found.loc["rectus femoris", "begin_s"], found.loc["rectus femoris", "end_s"]) == (4.2, 5.2)
    assert found["origin"].to_dict() == {"vastus medialis": "automatic", "rectus femoris": "hand"}
    assert found.loc["vastus medialis", "end_s"] - found.loc["vastus medialis", "begin_s"] == pytest.approx(1.5)
    values = np.loadtxt(planks.parent / "short.txt", delimiter="\t")[4200:5200, 1]
    assert found.loc["rectus femoris", "rms_mV"] == pytest.approx(np.sqrt(np.mean(values**2)), rel=0.15)
    assert phasemark(*place, "--muscle", "rectus femoris", "--take-away").code == 0
    assert _segments(phasemark, planks, "rule")[1].query("trial == 'T004'")["origin"].eq("automatic").all()


def test_an_excluded_hold_is_listed_and_in_no_mean(planks: Path, phasemark: Call) -> None:
    assert phasemark("exclude", planks, "--trial", "T003", "--reason", "slipped").code == 0
    rows = _segments(phasemark, planks, "out")[1].query("trial == 'T003'")
    assert set(zip(rows["counted"], rows["excluded"], rows["reason"], strict=True)) == {("no", "yes", "slipped")}
    summary = pd.read_csv(planks.parent / "out" / "summary_P01.csv").query("exercise == 'plank'")
    assert summary["n_reps"].tolist() == [0, 0]
    assert summary["n_excluded_reps"].tolist() == [1, 1]


def test_an_exercise_that_is_no_hold_any_more_is_marked_and_measured_by_its_reps(study: Path, phasemark: Call) -> None:
    """The squats of the study as a hold and as squats again: the same rows as before."""
    _, before = _segments(phasemark, study, "before")
    assert phasemark("settings", study, "isometric[squat]=yes", "hold.window_s=0.5").code == 0
    held = _segments(phasemark, study, "held")[1]
    assert set(held["phase"]) <= {"hold"}
    assert phasemark("settings", study, "isometric[squat]=no").code == 0
    pd.testing.assert_frame_equal(_segments(phasemark, study, "after")[1], before)
