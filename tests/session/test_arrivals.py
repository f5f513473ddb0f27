"""A draft of recordings to be added: files of one layout share a mapping, rows are read, what is open is said."""

from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from phasemark.formats.mapping import EmgColumn, Mapping, MovementColumn
from phasemark.model.errors import BadCall, BadData
from phasemark.model.recording import Up
from phasemark.model.study import Exercise, Kind, Load, Study
from phasemark.session.arrivals import KEPT, NOTHING, TITLES, ArrivalsDraft, FileDraft
from phasemark.session.command_session import new_study, open_for_command
from phasemark.session.descriptions import factor_field, parse_load, read_row, row_problem
from phasemark.session.glance import look, sketch_of, sketches
from phasemark.session.importing import Description, add_recordings
from phasemark.session.kept_mappings import KeptMappings
from phasemark.session.mapping_files import read_mapping, write_mapping

STUDY = Study("heels", exercises=(Exercise("squat"),))
TITLED = "time (s);RF (mV);Bar height (cm)"
MAPPING = Mapping((EmgColumn(2, "RF", unit="mV"),), (MovementColumn(3, "angle", "deg", Up.SMALLER),), Fraction(1000))


def save(folder: Path, name: str, title: str = TITLED, columns: int = 3) -> Path:
    rows = [";".join(f"{row * (column + 1) / 1000:.3f}" for column in range(columns)) for row in range(50)]
    path = folder / name
    path.write_text("\n".join([*([title] if title else []), *rows]) + "\n", encoding="utf-8")
    return path


def draft_of(*paths: Path, kept: KeptMappings | None = None) -> ArrivalsDraft:
    draft = ArrivalsDraft(STUDY, kept)
    for file in draft.add_files(paths):
        draft.looked(file, look(file.path))
    return draft


def test_files_with_complete_titles_and_plain_names_need_nothing_more(tmp_path: Path) -> None:
    draft = draft_of(save(tmp_path, "P01_squat_set1.txt"), save(tmp_path, "P02_squat_60kg.txt"))
    assert draft.open_sentence() == ""
    first, second = draft.arrivals()
    assert first.description == Description("P01", exercise="squat", set=1)
    assert second.description == Description("P02", exercise="squat", load=Load(Decimal(60), "kg"))
    assert first.mapping is not None
    assert [part.muscle for part in first.mapping.emg] == ["RF"]
    assert not draft.touched


def test_one_mapping_for_all_files_of_a_layout_and_one_alone(tmp_path: Path) -> None:
    """A file that is described by itself no longer follows, and the others stay as they are."""
    names = [save(tmp_path, f"P0{n}.txt", title="") for n in (1, 2, 3)]
    draft = draft_of(*names, save(tmp_path, "P04.txt", title="", columns=4))
    first, second, third, other = draft.files
    assert draft.origin(first) == NOTHING
    draft.use_mapping(first, MAPPING)
    assert draft.plan(second) == draft.plan(first) != draft.plan(other)
    assert draft.alike(first) == [first, second, third]
    draft.set_alone(third, True)
    draft.use_mapping(third, Mapping((), (MovementColumn(3, "angle", "deg", Up.LARGER),), Fraction(1000)))
    assert draft.plan(third) != draft.plan(first) == draft.plan(second)
    draft.set_alone(third, False)
    assert draft.plan(third) == draft.plan(first)


def test_a_mapping_is_kept_for_the_next_files_with_the_same_columns(tmp_path: Path) -> None:
    draft = draft_of(save(tmp_path, "P01.txt", title=""))
    draft.use_mapping(draft.files[0], MAPPING)
    kept = KeptMappings.from_json(draft.kept().to_json())
    later = draft_of(save(tmp_path, "P02.txt", title=""), save(tmp_path, "P03.txt"), kept=kept)
    assert [later.origin(file) for file in later.files] == [KEPT, TITLES]
    assert later.plan(later.files[0]) == draft.plan(draft.files[0])


def test_kept_mappings_that_cannot_be_understood_are_left_out() -> None:
    good = KeptMappings().with_mapping(("a",), MAPPING)
    assert KeptMappings.from_json("not JSON") == KeptMappings.from_json("") == KeptMappings()
    assert KeptMappings.from_json(good.to_json()[:-1] + ', {"titles": ["b"], "mapping": {}}, 3]') == good


def test_a_mapping_file_holds_what_was_written(tmp_path: Path) -> None:
    write_mapping(tmp_path / "map.json", MAPPING)
    assert read_mapping(tmp_path / "map.json") == MAPPING


def test_a_mapping_that_does_not_fit_is_refused_and_changes_nothing(tmp_path: Path) -> None:
    draft = draft_of(save(tmp_path, "P01.txt"))
    before = draft.plan(draft.files[0])
    with pytest.raises(BadData, match="no column 9"):
        draft.use_mapping(draft.files[0], Mapping((EmgColumn(9, "x", unit="mV"),), (), Fraction(1)))
    assert draft.plan(draft.files[0]) == before


def test_what_is_open_is_one_sentence_with_file_and_place(tmp_path: Path) -> None:
    draft = draft_of(save(tmp_path, "P01.txt", title="time (s);RF (mV);BF"))
    assert "Choose files" in ArrivalsDraft(STUDY).open_sentence()
    assert draft.open_sentence() == "P01.txt: A task recording needs its exercise; give its name."
    with pytest.raises(BadCall, match="needs its exercise"):
        draft.arrivals()
    draft.failed(draft.files[0], "P01.txt is empty.")
    assert draft.open_sentence() == "P01.txt is empty."
    draft.add_files([save(tmp_path, "P02.txt")])
    draft.remove(draft.files[0])
    assert draft.open_sentence() == "P02.txt, is being looked at."


def test_the_same_file_is_taken_once(tmp_path: Path) -> None:
    path = save(tmp_path, "P01.txt")
    draft = draft_of(path)
    assert draft.add_files([path, tmp_path / "." / "P01.txt"]) == []


@pytest.mark.parametrize(
    ("row", "field", "words"),
    [
        ({}, "participant", "needs its participant"),
        ({"participant": "P1"}, "exercise", "needs its exercise"),
        ({"participant": "P1", "kind": "dance"}, "kind", "The kind is one of task"),
        ({"participant": "P1", "kind": "mvic", "set": "two"}, "set", "The set is a whole number"),
        ({"participant": "P1", "exercise": "squat", "set": "0"}, "set", "Sets are numbered from 1"),
        ({"participant": "P1", "exercise": "squat", "order": "1.5"}, "order", "The order is a whole number"),
        ({"participant": "P1", "exercise": "squat", "load": "heavy"}, "load", "A load is a number and its unit"),
    ],
)
def test_what_is_wrong_with_a_row_is_said_at_its_field(row: dict[str, str], field: str, words: str) -> None:
    problem = row_problem(row)
    assert problem is not None
    assert problem.field == field
    assert words in problem.words


def test_a_whole_row() -> None:
    row = {"participant": " P1 ", "kind": "MVIC", "session": "2", "set": "3", "order": "7", "load": "72,5 kg",
           factor_field("stance"): "wide", factor_field("group"): ""}  # fmt: skip
    load = Load(Decimal("72.5"), "kg")
    assert read_row(row) == Description("P1", Kind.MVIC, "", "2", 3, 7, load, (("stance", "wide"),))
    assert parse_load("70 %1RM") == Load(Decimal(70), "%1RM")


def test_factors_are_columns_of_every_row_and_each_name_is_taken_once(tmp_path: Path) -> None:
    draft = draft_of(save(tmp_path, "P01_squat.txt"))
    assert draft.add_factor("stance") == ""
    assert "already" in draft.add_factor("Stance")
    assert "already" in draft.add_factor("load")
    assert "needs a name" in draft.add_factor("  ")
    draft.write(draft.files[0], factor_field("stance"), "wide ")
    assert draft.arrivals()[0].description.factors == (("stance", "wide"),)
    assert draft.known(factor_field("stance")) == ("wide",)


def test_a_set_that_is_there_already_is_noted_and_does_not_stop(tmp_path: Path) -> None:
    draft = draft_of(save(tmp_path, "P01_squat_set1.txt"), save(tmp_path, "P01_squat_set1_again.txt"))
    assert list(draft.notes().values()) == ["this set is there already (P01_squat_set1.txt)"]
    assert len(draft.arrivals()) == 2


def test_exercises_offered_are_those_of_the_study_and_those_just_written(tmp_path: Path) -> None:
    draft = draft_of(save(tmp_path, "P01.txt"))
    draft.write(draft.files[0], "exercise", "lunge")
    assert draft.known("exercise") == ("squat", "lunge")


def test_a_proposal_that_was_written_over_is_none_any_more(tmp_path: Path) -> None:
    file: FileDraft = draft_of(save(tmp_path, "P01_squat.txt")).files[0]
    draft = ArrivalsDraft(STUDY)
    draft.files.append(file)
    assert "participant" in file.proposed
    draft.write(file, "participant", "P09")
    assert "participant" not in file.proposed
    assert draft.touched


def test_a_sketch_holds_the_extremes_and_ends_with_the_values() -> None:
    values = np.full(1000, np.nan)
    values[:400] = np.linspace(-1, 3, 400)
    drawn = sketch_of(values)
    assert drawn is not None
    assert (drawn.lowest, drawn.highest) == (-1, 3)
    assert not np.isnan(drawn.lows).any(), "a trace that ends early fills its sketch"
    assert np.nanmax(drawn.highs) == 3
    assert sketch_of(np.full(5, np.nan)) is None


def test_sketches_of_a_file_leave_columns_of_text_out(tmp_path: Path) -> None:
    path = tmp_path / "a.txt"
    path.write_text("".join(f"10:00:{n % 60:02d};{n}\n" for n in range(60)), encoding="utf-8")
    shares: list[float] = []
    drawn = sketches(path, shares.append)
    assert list(drawn) == [2]
    assert drawn[2].highest == 59
    assert shares[-1] == pytest.approx(1)


def test_what_was_described_is_what_the_study_gets(tmp_path: Path) -> None:
    """From files through the draft into a study: rates, units, the way that is up, and the next set numbers."""
    draft = draft_of(*(save(tmp_path, f"P01_squat_{n}.txt") for n in (1, 2)))
    with open_for_command(new_study(tmp_path / "study"), print) as at:
        trials = at.wait(lambda **back: add_recordings(at.session, draft.arrivals(), **back), lambda _: None)
    assert [(trial.participant, trial.exercise, trial.set) for trial in trials] == [
        ("P01", "squat", 1),
        ("P01", "squat", 2),
    ]
    assert trials[0].clock == 1000
    assert (trials[0].emg[0].unit, trials[0].movement[0].up) == ("mV", Up.LARGER)
