"""The commands plan and compare, on invented squats, on real knee extensions and flexions, and on the demo.

The knee trials: 'EMG Dataset in Lower Limb', Sanchez O, Sotelo J (2014), UCI Machine Learning Repository, doi
10.24432/C5ZW3P, CC BY 4.0.
"""

import json
from contextlib import redirect_stderr, redirect_stdout
from io import StringIO
from pathlib import Path

import pandas as pd
import pytest
from calling import Call

from phasemark.cli import run
from phasemark.demo.activation import HEEL_EFFECTS

MUSCLES = ("rectus femoris", "biceps femoris", "vastus medialis", "semitendinosus")
LARGER_IS_EXTENDED = {"3N", "4N", "6N"}  # of the healthy people here (the description of the recordings)
HEALTHY = ("1N", "3N", "4N", "6N")  # 2N holds the recordings of 1N once more; 10N has no standing flexion


def _run(*arguments: object) -> str:
    said = StringIO()
    with redirect_stdout(said), redirect_stderr(said):
        code = run([str(argument) for argument in arguments], lambda _: 3)
    assert code == 0, said.getvalue()
    return said.getvalue()


@pytest.fixture
def compared(phasemark: Call, study: Path) -> Path:
    """The marked study with two more participants, who squat with a wide and a narrow stance."""
    columns = study.parent / "columns.json"
    for who, stance, n in (("P02", "wide", 1), ("P02", "narrow", 2), ("P03", "wide", 2), ("P03", "narrow", 1)):
        about = ("--participant", who, "--exercise", "squat", "--factor", f"stance={stance}")
        assert phasemark("add", study, study.parent / f"{n}.txt", *about, "--columns", columns).code == 0
    assert phasemark("mark", study).code == 0
    return study


def test_compare_without_a_plan_is_exploratory_and_writes_its_tables(phasemark: Call, compared: Path) -> None:
    """Two levels are found by themselves; all files are written and named columns filled; exit code 0."""
    out = compared.parent / "out"
    said = phasemark("compare", compared, "--by", "stance", "--to", out)
    assert said.code == 0, said.err
    assert "A narrow, B wide (stance); RMS in mV" in said.out
    assert "Nothing was planned beforehand: this is exploratory." in said.out
    assert "There are only 2 participants" in said.out
    assert "Not significant is not the same as equal" in said.out
    table = pd.read_csv(out / "comparison.csv")
    assert set(table["n"]) == {2}
    assert set(table["planned"]) == {"no"}
    assert set(table["family"]) == {len(table)}
    assert set(table["correction"]) == {"Holm"}
    plain = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    assert plain["planned"] is False
    assert plain["cautions"]


def test_whether_a_finding_stands_is_told_and_written(phasemark: Call, compared: Path) -> None:
    """Under moved boundaries, other thirds, filters and outcome; table, picture and definition are there."""
    out = compared.parent / "varied"
    said = phasemark("compare", compared, "--by", "stance", "--smallest", "0.02", "--robustness", "--to", out)
    assert said.code == 0, said.err
    assert "Does it stand?" in said.out
    assert "A finding stands where" in said.out
    variants = pd.read_csv(out / "robustness.csv")
    assert len(variants) > 20
    assert {"robustness.json", "robustness_findings.csv", "paired-values.svg"} <= {path.name for path in out.iterdir()}
    assert (out / "paired-values.svg").read_text(encoding="utf-8").startswith("<")


def test_a_plan_is_typed_shown_and_carried_out(phasemark: Call, compared: Path) -> None:
    """What the plan lists is the family; its history is listed with the time; the export's settings hold it."""
    typed = ("factor=stance", "a=wide", "b=narrow", "smallest_effect=0.01", "thirds=whole", "phases=against")
    said = phasemark("plan", compared, *typed, "primary.muscle=vastus medialis", "muscles=vastus medialis")
    assert said.code == 0, said.err
    assert "smallest_effect=0.01" in said.out
    assert "R1: plan written" in said.out
    shown = phasemark("compare", compared, "--to", compared.parent / "out")
    assert "Planned on" in shown.out
    assert "* Primary: vastus medialis" in shown.out
    assert len(pd.read_csv(compared.parent / "out" / "comparison.csv")) == 1
    again = phasemark("plan", compared, "smallest_effect=0.02", "--reason", "pilot data")
    assert "plan changed, after results had been shown (pilot data): smallest_effect: 0.01 -> 0.02" in again.out
    assert "read it as exploratory" in phasemark("compare", compared).out
    assert "differs" not in phasemark("compare", compared).out
    other = phasemark("compare", compared, "--smallest", "0.5")
    assert "not the comparison that was planned (smallest_effect: planned 0.02, here 0.5)" in other.out
    assert phasemark("export", compared, "--to", compared.parent / "all").code == 0
    settings = json.loads((compared.parent / "all" / "settings.json").read_text(encoding="utf-8"))
    assert settings["analysis_plan"]["smallest_effect"] == 0.02
    assert phasemark("plan", compared, "--remove").out.splitlines()[0].startswith("No analysis plan")
    assert phasemark("check", compared).code == 0


def test_wrong_calls_are_refused_in_one_sentence(phasemark: Call, compared: Path) -> None:
    """An unknown level, one level alone, a factor nobody has, a plan that lacks something."""
    for arguments, words in (
        (("compare", compared, "--a", "squat", "--b", "lunge"), "No task trial has the exercise 'lunge'"),
        (("compare", compared), "Say which two to compare, as --a and --b; of exercise there are squat."),
        (("compare", compared, "--by", "mood"), "of mood there are none yet"),
        (("plan", compared, "a=squat"), "A new plan also needs b, primary.muscle, smallest_effect"),
        (("plan", compared, "squat"), "A plan is given as KEY=VALUE"),
        (("plan", compared, "a=squat", "--remove"), "not both"),
    ):
        said = phasemark(*arguments)
        assert said.code == 2
        assert words in said.sentence


def _mapping(folder: Path, up: str) -> Path:
    emg = [{"column": n, "muscle": m, "unit": "mV"} for n, m in enumerate(MUSCLES, 1)]
    movement = {"column": 5, "kind": "knee angle", "unit": "deg", "up": up}
    path = folder / f"{up}.json"
    path.write_text(json.dumps({"version": 1, "rate_hz": 1000, "emg": emg, "movement": movement, "time": None}))
    return path


@pytest.mark.slow
def test_extension_asks_more_of_the_extensor_and_flexion_of_the_flexors(open_data: Path, tmp_path: Path) -> None:
    """Seated extension against standing flexion over the healthy people: the raising phase, in every person.

    Known anatomy, no source: vastus medialis extends the knee, biceps femoris and semitendinosus flex it.
    """
    study, out = tmp_path / "knee", tmp_path / "out"
    _run("new", study)
    for who in (*HEALTHY, "10N"):
        for exercise in ("sen", "pie"):
            file = open_data / "knee_emg" / f"{who}{exercise}.txt"
            if file.exists():
                # Seated, the foot is raised by extending the knee; standing, by flexing it.
                up = "larger" if (who in LARGER_IS_EXTENDED) == (exercise == "sen") else "smaller"
                about = ("--participant", who, "--exercise", exercise, "--columns", _mapping(tmp_path, up))
                _run("add", study, file, *about)
    _run("mark", study)
    said = _run("compare", study, "--a", "sen", "--b", "pie", "--to", out)
    assert "There are only 4 participants" in said
    assert "left out: 10N" in said
    assert "The range of motion differs clearly" in said
    assert "in mV: no muscle has a reference" in said
    table = pd.read_csv(out / "comparison.csv")
    whole = table[(table["third"] == "whole") & (table["phase"] == "against the load")].set_index("muscle")
    assert set(whole["n"]) == {4}
    for muscle, more in (
        ("vastus medialis", "n_more_in_a"),
        ("biceps femoris", "n_more_in_b"),
        ("semitendinosus", "n_more_in_b"),
    ):
        assert whole.loc[muscle, more] == 4, muscle
        print(muscle, f"{whole.loc[muscle, 'geometric_mean_ratio_percent']:+.0f} %", whole.loc[muscle, "verdict"])
    values = pd.read_csv(out / "comparison_values.csv")
    assert set(values["participant"]) == {*HEALTHY, "10N"}


@pytest.mark.slow
def test_the_demo_effect_is_found_where_it_was_put_and_not_elsewhere(tmp_path: Path) -> None:
    """The planned comparison of the demo study: more, less and similar exactly where the invention says so."""
    _run("demo", "--to", tmp_path / "demo", "--no-window")
    study, out = tmp_path / "demo" / "study", tmp_path / "out"
    typed = ("a=squat heels raised", "b=squat heels flat", "primary.muscle=vastus medialis", "primary.third=lower")
    _run("plan", study, *typed, "smallest_effect=2", "thirds=lower,middle,upper")
    said = _run("compare", study, "--to", out)
    assert "more in squat heels raised" in said
    table = pd.read_csv(out / "comparison.csv")
    assert len(table) == 4 * 2 * 3
    phases = {"against the load": "raising", "with the load": "lowering"}
    for row in table.itertuples():
        ratio = HEEL_EFFECTS.get((row.muscle, phases[row.phase], row.third), 1.0)
        found = row.verdict
        place = (row.muscle, row.phase, row.third, ratio, found)
        if ratio == 1:
            assert found in ("similar", "not settled"), place
        else:
            assert f"more in squat heels {'raised' if ratio > 1 else 'flat'}" in found, place
            assert row.geometric_mean_ratio_percent_low < 100 * (ratio - 1) < row.geometric_mean_ratio_percent_high, (
                place
            )
