"""The check finds what is unsound, names it, and is silent about a sound study."""

from dataclasses import replace
from pathlib import Path

import pytest
from making_studies import gesture, moved, recording, rich_study, trial

from phasemark.model.errors import BadData, Unavailable
from phasemark.model.study import Study
from phasemark.model.study_edits import add_trials, with_trial
from phasemark.store.check import check
from phasemark.store.folder import StudyFolder
from phasemark.store.ledger_lines import LedgerPosition
from phasemark.store.project import write_project


@pytest.fixture
def study(tmp_path: Path) -> Path:
    """A study with one recording, saved three times, two gestures after the last save."""
    path = tmp_path / "study"
    folder = StudyFolder.create(path, Study("x"))
    ref = folder.write_recording(recording(), "R0001")
    states = [Study("x"), rich_study(ref)]
    folder.append(gesture("imported", *states))
    for sample in (560, 570, 580, 590):
        if sample < 580:
            folder.save(states[-1], None)
        states.append(moved(states[-1], sample))
        folder.append(gesture("moved", states[-2], states[-1]))
    folder.close()
    return path


def test_a_sound_study_has_no_problems_open_or_closed(study: Path) -> None:
    assert check(study) == check(study / "project.h5") == ()
    with StudyFolder.open(study).folder:
        assert check(study) == ()


def test_what_is_no_study_is_refused(tmp_path: Path) -> None:
    with pytest.raises(Unavailable):
        check(tmp_path / "nowhere")
    with pytest.raises(BadData):
        check(tmp_path)


def test_each_damaged_or_missing_file_is_named(study: Path) -> None:
    for name, words in (
        ("project.h5", "is damaged"),
        ("project.h5.1", "is damaged"),
        ("recordings/R0001.h5", "its content is not what was imported"),
    ):
        whole = (study / name).read_bytes()
        (study / name).write_bytes(whole[:-1] + bytes([whole[-1] ^ 1]))
        (problem,) = check(study)
        assert str(study / name) in problem
        assert words in problem
        (study / name).write_bytes(whole)
    for name in ("project.h5", "ledger.jsonl", "recordings/R0001.h5"):
        whole = (study / name).read_bytes()
        (study / name).unlink()
        (problem,) = check(study)
        assert name.split("/")[-1] in problem
        (study / name).write_bytes(whole)
    assert check(study) == ()


def test_a_bad_line_before_the_last_save_is_found_too(study: Path) -> None:
    lines = (study / "ledger.jsonl").read_bytes().splitlines(keepends=True)
    lines[2] = lines[2].replace(b":", b";", 1)
    (study / "ledger.jsonl").write_bytes(b"".join(lines))
    (problem,) = check(study)
    assert "ledger.jsonl, line 3, is damaged" in problem
    assert StudyFolder.open(study, write=False).study  # opening reads only the tail


def test_a_torn_tail_is_said(study: Path) -> None:
    with (study / "ledger.jsonl").open("ab") as file:
        file.write(b'{"sequence"')
    (problem,) = check(study)
    assert "ends in a gesture that was never finished" in problem


def test_a_project_file_that_the_ledger_does_not_lead_to_is_said(study: Path) -> None:
    opened = StudyFolder.open(study)
    opened.folder.save(moved(opened.study, 555, rater="R2"), None)
    opened.folder.close()
    assert check(study) == (f"{study / 'project.h5'} is not what ledger.jsonl leads to.",)


def test_a_place_in_the_ledger_that_is_not_there_is_said(study: Path) -> None:
    opened = StudyFolder.open(study, write=False)
    write_project(study, opened.study, None, LedgerPosition(3, 99, "0" * 16))
    (problem,) = check(study)
    assert "names a place in ledger.jsonl that is not there" in problem


def test_a_path_that_leaves_the_folder_is_said(study: Path) -> None:
    opened = StudyFolder.open(study)
    first = opened.study.trials[0]
    worse = with_trial(opened.study, replace(first, recording=replace(first.recording, path="../R0001.h5")))
    opened.folder.append(gesture("pointed elsewhere", opened.study, worse))
    opened.folder.close()
    (problem,) = check(study)
    assert "leaves the study's folder" in problem


def test_recordings_of_trials_that_only_the_ledger_knows_are_checked(study: Path) -> None:
    opened = StudyFolder.open(study)
    ref = replace(opened.study.trials[0].recording, id="R0002", path="recordings/R0002.h5")
    opened.folder.append(gesture("imported", opened.study, add_trials(opened.study, (trial("T9", ref),))))
    opened.folder.close()
    (problem,) = check(study)
    assert "R0002.h5 is missing" in problem
    (study / "project.h5").write_bytes(b"damaged")
    assert len(check(study)) == 2
