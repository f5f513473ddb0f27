"""Every command as a user calls it: what it does, what it says, its exit code."""

import json
from pathlib import Path
from xml.etree import ElementTree

import pandas as pd
import pytest
from calling import ABOUT, Call

from phasemark.cli import run
from phasemark.model.errors import BadCall
from phasemark.session.descriptions import parse_load

COMMANDS = ("new", "add", "settings", "mark", "exclude", "remove", "measure", "export", "demo", "check")


def _segments(folder: Path) -> pd.DataFrame:
    return pd.read_csv(folder / "segments.csv", keep_default_na=False)


def test_no_command_opens_the_window(capsys: pytest.CaptureFixture[str]) -> None:
    opened: list[str | None] = []

    def window(study: str | None) -> int:
        opened.append(study)
        return 0

    assert run([], window) == 0
    assert opened == [None]


@pytest.mark.parametrize("command", COMMANDS)
def test_help_tells_what_a_command_does_and_what_each_argument_is(phasemark: Call, command: str) -> None:
    said = phasemark(command, "--help")
    assert (said.code, said.err) == (0, "")
    assert f"usage: phasemark {command}" in said.out
    described = said.out.split("positional arguments:" if "positional arguments:" in said.out else "options:")[1]
    for line in described.splitlines():
        if line.startswith("  ") and not line.startswith("   ") and len(line.split()) == 1:
            raise AssertionError(f"{command}: {line.strip()} has no help")


def test_help_lists_all_commands_and_the_exit_codes(phasemark: Call) -> None:
    said = phasemark("--help")
    assert said.code == 0
    for command in COMMANDS:
        assert f"\n    {command} " in said.out
    assert "0 done, 1 the data say no, 2 the call is wrong, 3 unforeseen" in " ".join(said.out.split())
    assert phasemark("--version").out.startswith("phasemark ")


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (("ad", "x"), "invalid choice"),
        (("new",), "the following arguments are required: STUDY"),
        (("add", "s"), "the following arguments are required: FILE, --participant"),
        (("exclude", "s", "--trial", "T001"), "one of the arguments --reason --take-back is required"),
        (("export", "s"), "the following arguments are required: --to"),
        (("add", "s", "f", "--participant", "P", "--kind", "jump"), "invalid choice: 'jump'"),
        (("exclude", "s", "--trial", "T", "--rep", "two", "--reason", "x"), "invalid int value: 'two'"),
    ],
)
def test_wrong_call_is_one_sentence_and_code_2(phasemark: Call, call: tuple[str, ...], sentence: str) -> None:
    said = phasemark(*call)
    assert (said.code, said.out) == (2, "")
    assert sentence in said.sentence
    assert "--help'" in said.sentence


def test_new_study_is_empty_and_sound(phasemark: Call, tmp_path: Path) -> None:
    said = phasemark("new", tmp_path / "Höhe 1")
    assert (said.code, said.err) == (0, "")
    assert said.out == f"New study in {tmp_path / 'Höhe 1'}; add recordings with 'phasemark add'.\n"
    assert phasemark("check", tmp_path / "Höhe 1").out == "Sound.\n"
    assert phasemark("mark", tmp_path / "Höhe 1").out.startswith("There is nothing to mark")
    assert phasemark("measure", tmp_path / "Höhe 1").out.startswith("Nothing is marked yet")


def test_what_is_said_of_a_recording_is_kept_and_exported(phasemark: Call, study: Path) -> None:
    """Every description of a trial, by the project file's path in place of the folder's."""
    file, columns = study.parent / "1.txt", study.parent / "columns.json"
    more = ("--session", "day 2", "--set", "4", "--order", "7", "--load", "62,5kg", "--factor", "stance=wide")
    said = phasemark("add", study / "project.h5", file, *ABOUT, *more, "--factor", "cadence=", "--columns", columns)
    assert said.out == "T003: 1.txt, participant P01, 2 EMG at 1000 Hz, bar height at 100 Hz, 12.30 s\n"
    assert phasemark("mark", study).out == "T003: 3 repetitions (P01, squat)\n"
    assert phasemark("export", study, "--to", study.parent / "out").code == 0
    row = _segments(study.parent / "out").query("trial == 'T003'").iloc[0]
    wanted = {"session": "day 2", "set": 4, "order": "7", "load": "62.5 kg", "stance": "wide", "cadence": ""}
    assert {name: row[name] for name in wanted} == wanted


@pytest.mark.parametrize(
    ("text", "load"),
    [
        ("60 kg", "60 kg"),
        ("60kg", "60 kg"),
        ("62,50 %1RM", "62.50 %1RM"),
        ("70%1RM", "70 %1RM"),
        ("5", "5"),
        (" ", None),
    ],
)
def test_loads_are_read_as_people_write_them(text: str, load: str | None) -> None:
    found = parse_load(text)
    assert (found and found.text) == load


@pytest.mark.parametrize("text", ["heavy", "kg 60", "-5 kg", "nan kg", "1e5 kg"])
def test_load_without_a_number_is_refused(text: str) -> None:
    with pytest.raises(BadCall, match="such as '60 kg'"):
        parse_load(text)


def test_settings_are_shown_as_they_can_be_given_and_changed(phasemark: Call, study: Path) -> None:
    """Each line of the list is accepted as it stands, which then changes nothing."""
    shown = phasemark("settings", study)
    assert shown.code == 0
    lines = shown.out.splitlines()
    assert "filter.lowpass_hz=450.0" in lines
    assert "against_load[squat]=raising" in lines
    assert phasemark("settings", study, *[line for line in lines if "fixed_levels" not in line]).out == shown.out
    changed = phasemark("settings", study, "filter.lowpass_hz=400", "counted=2,3", "filter[rectus femoris].order=2")
    assert changed.err == ""
    assert {"filter.lowpass_hz=400.0", "counted=2, 3", "filter[rectus femoris].order=2"} <= set(
        changed.out.splitlines()
    )
    assert phasemark("settings", study).out == changed.out


def test_change_of_the_rules_of_phases_says_that_marks_are_older(phasemark: Call, study: Path) -> None:
    said = phasemark("settings", study, "phases.thirds=trial")
    assert said.code == 0
    assert said.sentence.startswith("The marks were made by the earlier settings")
    assert phasemark("mark", study).out.startswith("There is nothing to mark")
    again = phasemark("mark", study, "--again")
    assert again.out == "T001: 3 repetitions (P01, squat)\nT002: 3 repetitions (P01, squat)\n"
    phasemark("export", study, "--to", study.parent / "out")
    assert set(_segments(study.parent / "out")["thirds_rule"]) == {"trial"}


def test_measuring_is_done_once_and_again_after_a_change(phasemark: Call, study: Path) -> None:
    assert phasemark("measure", study).out == "Measured 2 trials.\n"
    assert phasemark("measure", study).out == "All results are current.\n"
    phasemark("settings", study, "filter.highpass_hz=30")
    assert phasemark("measure", study).out == "Measured 2 trials.\n"


def test_exclusions_are_listed_and_not_in_the_means_and_can_be_taken_back(phasemark: Call, study: Path) -> None:
    one = ("exclude", study, "--trial", "t001")
    assert phasemark(*one, "--rep", "2", "--reason", "slipped").out == "Done.\n"
    assert phasemark(*one, "--muscle", "Rectus femoris", "--side", "left", "--reason", "loose").code == 0
    assert phasemark("exclude", study, "--trial", "T002", "--reason", "wrong load").code == 0
    out = study.parent / "out"
    phasemark("export", study, "--to", out)
    rows = _segments(out)
    assert set(rows.query("trial == 'T002'")["reason"]) == {"wrong load"}
    counted = rows[rows["counted"] == "yes"]
    assert {(t, r, m) for t, r, m in zip(counted["trial"], counted["rep"], counted["muscle"], strict=True)} == {
        ("T001", 1, "vastus medialis"),
        ("T001", 3, "vastus medialis"),
    }
    summary = pd.read_csv(out / "summary_P01.csv").set_index("muscle")
    assert set(summary.loc["vastus medialis", "n_reps"]) == {2}
    assert set(summary.loc["rectus femoris", "n_reps"]) == {0}
    assert phasemark(*one, "--rep", "2", "--take-back").out == "Done.\n"
    assert phasemark(*one, "--rep", "2", "--take-back").out == "Nothing changed.\n"


def test_second_rater_marks_and_exports_marks_of_his_own(phasemark: Call, study: Path) -> None:
    assert phasemark("mark", study, "--rater", "R2").out.count("repetitions") == 2
    phasemark("exclude", study, "--trial", "T001", "--rep", "1", "--reason", "x", "--rater", "R2")
    phasemark("export", study, "--to", study.parent / "out", "--rater", "R2")
    rows = _segments(study.parent / "out")
    assert set(rows["rater"]) == {"R2"}
    assert set(rows[rows["excluded"] == "yes"]["rep"]) == {1}
    phasemark("export", study, "--to", study.parent / "out")
    assert set(_segments(study.parent / "out")["excluded"]) == {"no"}
    assert json.loads((study.parent / "out" / "settings.json").read_text("utf-8"))["raters"] == ["R1", "R2"]


def test_export_with_curves_has_their_tables_and_pictures(phasemark: Call, study: Path) -> None:
    """Every percent of every phase of both muscles, over time and over the range of motion."""
    out = study.parent / "out"
    assert phasemark("export", study, "--to", out, "--curves").code == 0
    curves = pd.read_csv(out / "curves.csv")
    assert set(curves.groupby(["participant", "muscle", "phase", "over"])["percent"].apply(tuple)) == {
        tuple(range(101))
    }
    assert set(curves["over"]) == {"time", "range of motion"}
    assert len(pd.read_csv(out / "repeatability.csv")) == len(curves) // 101
    for name in ("curves_over_time.svg", "curves_over_range.svg"):
        assert ElementTree.parse(out / name).getroot().get("width") == "174mm"


def test_export_before_marking_has_all_files_and_says_that_marks_are_missing(phasemark: Call, tmp_path: Path) -> None:
    phasemark("new", tmp_path / "s")
    said = phasemark("export", tmp_path / "s", "--to", tmp_path / "a" / "b")
    assert said.out == f"Wrote 6 files to {tmp_path / 'a' / 'b'}.\n"
    assert {p.name for p in (tmp_path / "a" / "b").iterdir()} == {
        *("segments.csv", "marks.csv", "quality.csv", "references.csv", "attempts.csv", "settings.json"),
    }


def test_unmarked_trials_are_a_warning_of_an_export(phasemark: Call, study: Path) -> None:
    phasemark("add", study, study.parent / "1.txt", *ABOUT, "--columns", study.parent / "columns.json")
    said = phasemark("export", study, "--to", study.parent / "out")
    assert said.code == 0
    assert said.sentence.startswith("1 trials have no marks")


def test_exports_are_the_same_to_the_byte_when_repeated(phasemark: Call, study: Path) -> None:
    for name in ("one", "two"):
        phasemark("export", study, "--to", study.parent / name)
    for path in (study.parent / "one").iterdir():
        assert path.read_bytes() == (study.parent / "two" / path.name).read_bytes()
        assert b"\r" not in path.read_bytes()
