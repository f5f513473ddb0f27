"""The files of an export as a reader of them meets them."""

import csv
import io
import json
from dataclasses import replace
from decimal import Decimal

import pandas as pd
from one_trial import EMG, WHY, Measured, marked, measured, noise, phase, trial

from phasemark.model.codec import from_plain
from phasemark.model.mark_edits import Address, add_rep, check_rep, exclude_rep, move_boundary, with_rep
from phasemark.model.marks import BURST, LOWERING, ChannelExclusion, Marks, Place
from phasemark.model.recording import Side, Treatment
from phasemark.model.settings import CountedReps, CountRule, Settings
from phasemark.model.study import Exercise, Kind, Load, Study
from phasemark.results.exports import export_texts
from phasemark.results.measure import RULES_VERSION, TrialResults, condition_trial, measure_trial, results_key
from phasemark.results.numbers import Numbers


def _texts(one: Measured) -> dict[str, str]:
    return export_texts(one.numbers, {"numpy": "2"})


def _frame(text: str) -> pd.DataFrame:
    return pd.read_csv(io.StringIO(text), keep_default_na=False)


def _hard_study() -> Measured:
    """Codes, names and reasons that are hard on files and spreadsheets."""
    formula = replace(WHY, reason='=cmd|" /C calc"!A0')
    first = trial("T001", participant="P1", exercise='+squat, "deep"', factors=(("=1+1", "-2"), ("phase", "Ü\nx")))
    first = first.with_marks(exclude_rep(first.marks[0], 2, formula))
    second = trial("T002", participant="p1", exercise='+squat, "deep"', load=Load(Decimal("60.5"), "kg"))
    third = trial("T003", participant="..\\x", kind=Kind.WARM_UP, exercise="@home")
    return measured(first, second, third)


def test_one_file_for_each_participant_under_names_apart() -> None:
    texts = _texts(_hard_study())
    names = ("P1", "p1_2", "__x")
    assert set(texts) == {
        *("segments.csv", "marks.csv", "quality.csv", "references.csv", "attempts.csv", "settings.json"),
        *(f"{kind}_{name}.csv" for kind in ("segments", "summary") for name in names),
    }
    own = [_frame(texts[f"segments_{name}.csv"])["participant"].unique().tolist() for name in names]
    assert own == [["P1"], ["p1"], ["..\\x"]]
    lines = sum(len(_frame(texts[f"segments_{name}.csv"])) for name in names)
    assert len(_frame(texts["segments.csv"])) == lines > 0


def test_no_cell_of_any_export_begins_as_a_formula() -> None:
    """Names of exercises, factors, participants and reasons; what is a number stays one."""
    for name, text in _texts(_hard_study()).items():
        if name.endswith(".csv"):
            for row in csv.reader(io.StringIO(text, newline="")):
                for cell in row:
                    assert not cell.startswith(("=", "+", "@", "-")) or float(cell) < 0, name
            assert "\r" not in text


def test_typed_texts_come_back_with_csv_and_pandas() -> None:
    """Equal but for the guarding apostrophe; a factor called like a column gets a column of its own."""
    text = _texts(_hard_study())["segments.csv"]
    frame = _frame(text)
    assert list(frame.columns[-2:]) == ["'=1+1", "factor_phase"]
    assert frame["exercise"].unique().tolist() == ['\'+squat, "deep"', "'@home"]
    assert frame["factor_phase"].unique().tolist() == ["Ü\nx", ""]
    assert '\'=cmd|" /C calc"!A0' in frame["reason"].unique()
    assert next(csv.DictReader(io.StringIO(text, newline="")))["'=1+1"] == "'-2"
    assert frame["load"].unique().tolist() == ["", "60.5 kg"]


def test_a_factor_has_one_column_name_in_all_tables() -> None:
    """Whichever of the tables has a column of that name, and beside a factor that has the longer name already."""
    factors = (("boundary", "d"), ("cadence", "c"), ("factor_rep", "x"), ("n_reps", "e"), ("order", "b"), ("rep", "a"))
    texts = _texts(measured(trial("T001", factors=factors)))
    wanted = {"factor_boundary": "d", "cadence": "c", "factor_rep": "x", "factor_n_reps": "e", "factor_order": "b"}
    for name, text in texts.items():
        if name.startswith(("segments", "summary", "marks")):
            first = _frame(text).iloc[0]
            assert {column: first[column] for column in wanted} == wanted, name
            assert first["factor_factor_rep"] == "a"


def test_rows_are_tidy() -> None:
    """One row per participant, trial, rep, phase, third and muscle with its side; the columns asked for are there."""
    frame = _frame(_texts(_hard_study())["segments.csv"])
    key = ["participant", "session", "exercise", "set", "trial", "rep_id", "phase", "third", "muscle", "side"]
    assert not frame.duplicated(key).any()
    asked = "participant session exercise set trial rep counted phase against_load third muscle side begin_s end_s "
    asked += "rms_mV mean_amplitude_mV thirds_rule phase_rule excluded reason"
    assert set(asked.split()) <= set(frame.columns)
    assert set(frame["phase"]) == {"lowering", "raising", "pause", "rep", "rep without pause"}
    assert set(frame["third"]) == {"upper", "middle", "lower", "whole"}
    assert set(frame["counted"]) == {"yes", "no"}


def test_what_does_not_count_is_there_with_its_reason() -> None:
    """Incomplete, excluded, a channel excluded in a rep, and a rep that the rule leaves out."""
    one = trial()
    gone = ChannelExclusion("vastus medialis", Side.LEFT, replace(WHY, reason="loose"))
    marks = exclude_rep(one.marks[0], 1, WHY)
    marks = with_rep(marks, replace(marks.rep(2), excluded_channels=(gone,)))
    frame = _frame(
        _texts(measured(one.with_marks(marks), settings=Settings(counted=CountedReps(CountRule.LISTED, (1, 2)))))[
            "segments.csv"
        ]
    )
    found = frame.drop_duplicates(["rep_id", "muscle"]).set_index(["rep_id", "muscle"])
    columns = ["rep", "complete", "counted", "excluded", "reason"]
    assert found[columns].to_dict("index") == {
        (1, "vastus medialis"): dict(zip(columns, ("1", "yes", "no", "yes", "electrode came off"), strict=True)),
        (1, "rectus femoris"): dict(zip(columns, ("1", "yes", "no", "yes", "electrode came off"), strict=True)),
        (2, "vastus medialis"): dict(zip(columns, ("2", "yes", "no", "yes", "loose"), strict=True)),
        (2, "rectus femoris"): dict(zip(columns, ("2", "yes", "yes", "no", ""), strict=True)),
        **{
            (3, m.muscle): dict(
                zip(columns, ("3", "yes", "no", "no", "not among the counted repetitions (1, 2)"), strict=True)
            )
            for m in EMG
        },
        **{
            (4, m.muscle): dict(zip(columns, ("", "no", "no", "no", "incomplete repetition"), strict=True)) for m in EMG
        },
    }


def test_missing_values_are_empty_and_say_why() -> None:
    """A third never entered, and a channel that was recorded already rectified."""
    one = trial(emg=(EMG[0], replace(EMG[1], treatment=Treatment.RECTIFIED)))
    marks = add_rep(Marks("R1", one.length), (phase(LOWERING, 2001, 4001, lines=(2601, 2601)),), complete=False)
    frame = _frame(_texts(measured(one.with_marks(marks)))["segments.csv"]).set_index(["muscle", "third"])
    assert frame.loc[("vastus medialis", "middle"), ["rms_mV", "mean_amplitude_mV", "note"]].tolist() == [
        *("", ""),
        "never entered",
    ]
    assert frame.loc[("rectus femoris", "upper"), ["rms_mV", "note"]].tolist() == ["", "already rectified: no RMS"]
    assert float(frame.loc[("rectus femoris", "upper"), "mean_amplitude_mV"]) > 0
    assert frame.loc[("vastus medialis", "upper"), "note"] == ""


def test_begin_and_end_find_the_samples_again() -> None:
    """Times of the segments are those of the boundaries in marks.csv, and lead to the samples they count."""
    texts = _texts(measured(trial()))
    segments, marks = _frame(texts["segments.csv"]), _frame(texts["marks.csv"])
    assert set(segments["begin_s"]) | set(segments["end_s"]) == set(marks["time_s"])
    first = segments[(segments["muscle"] == "vastus medialis") & (segments["phase"] != "rep without pause")]
    assert ((first["end_s"] * 2000).round() - (first["begin_s"] * 2000).round() == first["samples"]).all()
    assert (marks["time_s"] * marks["clock_hz"]).round().astype(int).tolist() == marks["sample"].tolist()


def test_marks_have_every_boundary_before_anything_is_measured() -> None:
    """By every rater, with who placed it; a hand-moved one says so, and so do the segments it bounds."""
    one = marked(trial(), reps=1, rater="R2")
    moved = check_rep(move_boundary(one.marks_of("R1"), Address(1, 0, Place.SECOND_LINE), 3300), 1, WHY)
    study = Study("s", (one.with_marks(moved),), raters=("R1", "R2"))
    texts = export_texts(Numbers(study, "R1", {}), {})
    assert texts["segments.csv"].count("\n") == 1
    frame = _frame(texts["marks.csv"])
    assert frame.groupby("rater").size().to_dict() == {"R1": 3 * 8 + 4, "R2": 8 + 4}
    hand = frame[frame["origin"] == "hand"]
    assert hand[["rater", "rep", "phase", "boundary", "sample", "checked"]].values.tolist() == [
        ["R1", "1", "lowering", "second third line", 3300, "yes"]
    ]
    segments = _frame(_texts(measured(study.trials[0]))["segments.csv"])
    by_hand = segments[segments["origin"] == "hand"][["rep_id", "phase", "third"]].drop_duplicates()
    assert by_hand.values.tolist() == [[1, "lowering", "middle"], [1, "lowering", "lower"]]


def test_a_recording_without_emg_has_marks_and_no_segments() -> None:
    """Clock and times are those of its movement trace."""
    base = replace(trial(), emg=(), marks=(), recording=replace(trial().recording, emg_samples=()))
    one = base.with_marks(
        add_rep(Marks("R1", base.length, phase_rule="x", thirds_rule="none"), (phase(LOWERING, 100, 250),))
    )
    results = TrialResults("T001", "R1", results_key(one, one.marks[0], Settings()), ())
    texts = export_texts(Numbers(Study("s", (one,)), "R1", {"T001": results}), {})
    assert _frame(texts["marks.csv"])["time_s"].tolist() == [1.0, 1.5, 2.0, 2.5]
    assert set(_frame(texts["marks.csv"])["clock_hz"]) == {100.0}
    assert texts["segments.csv"].count("\n") == texts["segments_P01.csv"].count("\n") == 1
    assert texts["summary_P01.csv"].count("\n") == 1


def test_against_load_is_what_the_exercise_says_and_nothing_for_a_burst() -> None:
    """Lowering is against the load in a pull-down; a burst is neither."""
    one = trial(exercise="pull-down")
    burst = add_rep(one.marks_of("R1"), (phase(BURST, 26000, 27000),), complete=False)
    made = measured(one.with_marks(burst))
    study = replace(made.study, exercises=(Exercise("pull-down", None, "lowering"),))
    frame = _frame(export_texts(Numbers(study, "R1", made.results), {})["segments.csv"])
    loaded = frame.drop_duplicates("phase").set_index("phase")["against_load"].to_dict()
    assert loaded == {
        "lowering": "yes",
        "raising": "no",
        "pause": "",
        "rep": "",
        "rep without pause": "",
        "burst": "",
    }
    assert set(frame[frame["phase"] == "burst"]["third"]) == {"first", "second", "last", "whole"}


def test_settings_json_holds_all_that_made_the_numbers() -> None:
    """Program and rules, settings, exercises and trials; the settings in it are those of the study again."""
    settings = Settings(counted=CountedReps(CountRule.LISTED, (2, 3)), pause_in_rep=False)
    made = measured(trial(load=Load(Decimal(60), "kg")), trial("T002", exercise="lunge"), settings=settings)
    study = replace(made.study, exercises=(Exercise("squat", "lowering"),))
    plain = json.loads(export_texts(Numbers(study, "R1", made.results), {"numpy": "2"})["settings.json"])
    assert from_plain(plain["settings"], Settings) == settings
    assert from_plain(plain["exercises"], tuple[Exercise, ...]) == (Exercise("lunge"), Exercise("squat", "lowering"))
    assert plain["program"] == {**plain["program"], "name": "phasemark", "rules_version": RULES_VERSION, "numpy": "2"}
    assert (plain["study"], plain["rater"], plain["raters"]) == ("squats", "R1", ["R1"])
    described = plain["trials"][0]
    assert described["recording"]["sha256"] == "0" * 64
    assert [channel["rate"] for channel in described["emg"]] == ["2000", "1500"]
    assert described["movement"][0]["up"] == "larger"
    assert described["marks"] == [{"rater": "R1", "reps": 4, "phase_rule": "turning points", "thirds_rule": "rep"}]


def test_values_are_those_of_the_rater_asked_for() -> None:
    """Segments and summaries by one rater; marks.csv by all."""
    one = marked(trial(), reps=1, rater="R2", late=5)
    marks = one.marks_of("R2")
    results = measure_trial(one, marks, condition_trial(one, noise(), Settings()), Settings())
    texts = export_texts(Numbers(Study("s", (one,), raters=("R1", "R2")), "R2", {"T001": results}), {})
    segments = _frame(texts["segments.csv"])
    assert set(segments["rater"]) == {"R2"}
    assert segments["begin_s"].min() == 2006 / 2000
    assert set(_frame(texts["summary_P01.csv"])["n_reps"]) == {1}
    assert json.loads(texts["settings.json"])["rater"] == "R2"
    assert set(_frame(texts["marks.csv"])["rater"]) == {"R1", "R2"}
