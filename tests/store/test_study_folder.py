"""Making, opening, saving and closing a study's folder; nothing that was acknowledged is ever lost."""

import errno
import os
import random
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from faults import FaultySystem
from making_studies import gesture, moved, recording, rich_study, trial

from phasemark.model.errors import BadCall, BadData, Unavailable
from phasemark.model.study import Study
from phasemark.model.study_edits import add_trials
from phasemark.store import disk, project
from phasemark.store.check import check
from phasemark.store.folder import StudyFolder
from phasemark.store.ledger import START
from phasemark.store.ledger_lines import Action, Gesture
from phasemark.store.migration import SCHEMA, NewerSchema
from phasemark.store.tables import ResultTable, same_results

RESULTS = ResultTable((("T001", "k"),), {"rms_mV": np.array([0.25, np.nan])})


def empty(name: str = "x") -> Study:
    return Study(name)


def edited_study(path: Path) -> list[Study]:
    """A closed study of rich content; its states from creation on, the last one only in the ledger."""
    states = [rich_study()]
    folder = StudyFolder.create(path, states[0])
    for sample in (560, 570, 580):
        states.append(moved(states[-1], sample))
        folder.append(gesture(f"moved to {sample}", states[-2], states[-1]))
        folder.save(states[-1], RESULTS)
    states.append(moved(states[-1], 590))
    folder.append(gesture("moved to 590", states[-2], states[-1]))
    folder.close()
    return states


def problems_of_files(path: Path) -> list[str]:
    """What the check says, but for the recording that these studies only refer to."""
    return [problem for problem in check(path) if "R0001.h5 is missing" not in problem]


@pytest.mark.parametrize("name", ["Squat heels", "Höhe ß 漢字", "a.b", "P1", "-rf", "x'y\"z", "project.h5"])
def test_a_study_is_a_folder_of_any_name(tmp_path: Path, name: str) -> None:
    with StudyFolder.create(tmp_path / "new" / name, rich_study()) as folder:
        assert folder.read_only == ""
    opened = StudyFolder.open(tmp_path / "new" / name)
    assert opened.study == rich_study()
    assert (opened.results, opened.messages, opened.read_only) == (None, (), "")
    opened.folder.close()


def test_a_study_opens_by_its_project_file_and_by_a_relative_path(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    StudyFolder.create(tmp_path / "study", empty()).close()
    monkeypatch.chdir(tmp_path / "study")
    for path in (tmp_path / "study" / "project.h5", Path("project.h5"), Path()):
        with StudyFolder.open(path).folder as folder:
            assert folder.path.resolve() == tmp_path / "study"


def test_a_new_study_takes_no_occupied_place(tmp_path: Path) -> None:
    StudyFolder.create(tmp_path / "study", empty()).close()
    with pytest.raises(BadCall, match="is a study already"):
        StudyFolder.create(tmp_path / "study", empty())
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "notes.txt").touch()
    with pytest.raises(BadCall, match=r"other holds other files \(notes.txt\)"):
        StudyFolder.create(tmp_path / "other", empty())
    with pytest.raises(BadCall, match=r"notes.txt is a file"):
        StudyFolder.create(tmp_path / "other" / "notes.txt", empty())
    (tmp_path / "empty").mkdir()
    (tmp_path / "empty" / ".DS_Store").touch()
    StudyFolder.create(tmp_path / "empty", empty()).close()


@pytest.mark.parametrize("call", ["open", "write", "fsync", "replace", "make_folder"])
def test_a_study_that_could_not_be_made_can_be_made_later(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    monkeypatch.setattr(disk, "system", FaultySystem([call], errno.ENOSPC))
    with pytest.raises(Unavailable, match="no space"):
        StudyFolder.create(tmp_path / "study", empty())
    monkeypatch.undo()
    StudyFolder.create(tmp_path / "study", empty()).close()


def test_what_is_no_study_is_said(tmp_path: Path) -> None:
    (tmp_path / "file.txt").touch()
    (tmp_path / "folder").mkdir()
    with pytest.raises(Unavailable, match="nowhere does not exist"):
        StudyFolder.open(tmp_path / "nowhere")
    with pytest.raises(BadData, match=r"file\.txt is not a study"):
        StudyFolder.open(tmp_path / "file.txt")
    with pytest.raises(BadData, match=r"folder is not a study: it holds no project\.h5"):
        StudyFolder.open(tmp_path / "folder")
    with pytest.raises(BadData, match="is not a study"):
        StudyFolder.open(tmp_path / "folder" / "project.h5")


def test_edits_after_the_last_save_come_from_the_ledger(tmp_path: Path) -> None:
    states = edited_study(tmp_path / "study")
    opened = StudyFolder.open(tmp_path / "study")
    assert opened.study == states[-1]
    assert opened.messages == ()
    assert opened.results is not None
    assert same_results(opened.results, RESULTS)
    opened.folder.close()


def test_a_save_may_lag_behind_the_ledger(tmp_path: Path) -> None:
    """A save of the study as of one gesture while later ones are already appended."""
    first, second, third = rich_study(), moved(rich_study(), 560), moved(rich_study(), 570)
    folder = StudyFolder.create(tmp_path / "study", first)
    position = folder.append(gesture("one", first, second))
    folder.append(gesture("two", second, third))
    folder.save(second, None, position)
    folder.close()
    assert problems_of_files(tmp_path / "study") == []
    assert StudyFolder.open(tmp_path / "study", write=False).study == third


def test_events_change_nothing_and_are_kept(tmp_path: Path) -> None:
    folder = StudyFolder.create(tmp_path / "study", empty())
    before = folder.position()
    after = folder.append(Gesture("exported to a folder", action=Action.EVENT))
    assert after.sequence == before.sequence + 1
    folder.close()
    assert StudyFolder.open(tmp_path / "study", write=False).study == empty()


def test_reading_only_changes_no_byte_and_refuses_to_write(tmp_path: Path) -> None:
    edited_study(tmp_path / "study")
    (tmp_path / "study" / "project.lock").unlink()
    before = {path: path.read_bytes() for path in (tmp_path / "study").rglob("*") if path.is_file()}
    opened = StudyFolder.open(tmp_path / "study", write=False)
    assert "opened for reading only" in opened.read_only
    for refused in (
        lambda: opened.folder.append(Gesture("x")),
        lambda: opened.folder.save(opened.study, None),
        lambda: opened.folder.write_recording(recording(), "R0001"),
        opened.folder.position,
    ):
        with pytest.raises(Unavailable, match="opened for reading only"):
            refused()
    opened.folder.close()
    assert {path: path.read_bytes() for path in (tmp_path / "study").rglob("*") if path.is_file()} == before


def test_a_torn_last_gesture_is_cut_off_kept_and_said(tmp_path: Path) -> None:
    states = edited_study(tmp_path / "study")
    ledger = tmp_path / "study" / "ledger.jsonl"
    ledger.write_bytes(ledger.read_bytes()[:-20])
    reader = StudyFolder.open(tmp_path / "study", write=False)
    assert reader.study == states[-2]
    assert "ends in a gesture that was never finished" in reader.messages[0]
    opened = StudyFolder.open(tmp_path / "study")
    assert opened.study == states[-2]
    (kept,) = (tmp_path / "study").glob("ledger.torn-*.jsonl")
    assert f"ended in a gesture that was never finished; it is left out and kept as {kept.name}" in opened.messages[0]
    opened.folder.append(gesture("moved again", states[-2], states[-1]))
    opened.folder.close()
    assert StudyFolder.open(tmp_path / "study", write=False).study == states[-1]


def test_a_damaged_middle_makes_the_study_read_only_with_all_before_it(tmp_path: Path) -> None:
    folder = StudyFolder.create(tmp_path / "study", rich_study())
    states, positions = [rich_study()], [folder.position()]
    for sample in (560, 570, 580):
        states.append(moved(states[-1], sample))
        positions.append(folder.append(gesture("moved", states[-2], states[-1])))
    folder.close()
    ledger = tmp_path / "study" / "ledger.jsonl"
    damaged = bytearray(ledger.read_bytes())
    damaged[positions[1].offset + 40] ^= 1
    ledger.write_bytes(damaged)
    opened = StudyFolder.open(tmp_path / "study")
    assert opened.study == states[1]
    assert f"ledger.jsonl, line {positions[1].sequence + 1}, is damaged" in opened.read_only
    assert ledger.read_bytes() == damaged
    with pytest.raises(Unavailable, match="is damaged"):
        opened.folder.append(Gesture("x"))


def test_a_missing_ledger_makes_the_study_read_only(tmp_path: Path) -> None:
    states = edited_study(tmp_path / "study")
    (tmp_path / "study" / "ledger.jsonl").unlink()
    opened = StudyFolder.open(tmp_path / "study")
    assert opened.study == states[-2]
    assert "ledger.jsonl is missing; put it back" in opened.read_only


def test_a_damaged_project_file_is_rebuilt_without_loss(tmp_path: Path) -> None:
    """One random byte at a time; the damaged file is kept, the next opening is as if nothing had been."""
    dice = random.Random(11)
    for number in range(8):
        path = tmp_path / f"study {number}"
        states = edited_study(path)
        damaged = bytearray((path / "project.h5").read_bytes())
        damaged[dice.randrange(len(damaged))] ^= dice.randrange(1, 256)
        (path / "project.h5").write_bytes(damaged)
        assert StudyFolder.open(path, write=False).study == states[-1]
        opened = StudyFolder.open(path)
        assert opened.study == states[-1]
        assert opened.results is not None
        (said,) = opened.messages
        assert "project.h5 is damaged" in said
        assert "project.h5 was rebuilt from project.h5.1 and ledger.jsonl" in said
        (kept,) = path.glob("project.damaged-*.h5")
        assert kept.name in said
        assert kept.read_bytes() == damaged
        opened.folder.close()
        again = StudyFolder.open(path)
        assert (again.study, again.messages) == (states[-1], ())
        again.folder.close()
        assert problems_of_files(path) == []


@pytest.mark.parametrize(
    ("lost", "source"),
    [(1, "project.h5.1"), (2, "project.h5.2"), (3, "project.h5.3"), (4, "ledger.jsonl")],
)
@pytest.mark.parametrize("missing", [True, False])
def test_the_study_survives_as_long_as_any_copy_or_the_ledger_does(
    tmp_path: Path, lost: int, source: str, missing: bool
) -> None:
    states = edited_study(tmp_path / "study")
    for name in ("project.h5", "project.h5.1", "project.h5.2", "project.h5.3")[:lost]:
        if missing:
            (tmp_path / "study" / name).unlink()
        else:
            (tmp_path / "study" / name).write_bytes(b"damaged")
    opened = StudyFolder.open(tmp_path / "study")
    assert opened.study == states[-1]
    assert f"rebuilt from {source}" in opened.messages[0]
    assert ("is missing" in opened.messages[0]) == missing
    opened.folder.close()


def test_with_nothing_whole_left_the_study_is_refused_and_left_alone(tmp_path: Path) -> None:
    edited_study(tmp_path / "study")
    for path in (tmp_path / "study").glob("project.h5*"):
        path.write_bytes(b"damaged")
    (tmp_path / "study" / "ledger.jsonl").write_bytes(b"damaged")
    with pytest.raises(BadData, match=r"project\.h5 is damaged .* use a backup"):
        StudyFolder.open(tmp_path / "study")
    assert (tmp_path / "study" / "project.h5").read_bytes() == b"damaged"


def test_an_older_copy_with_a_damaged_ledger_shows_what_it_can(tmp_path: Path) -> None:
    edited_study(tmp_path / "study")
    (tmp_path / "study" / "project.h5").write_bytes(b"damaged")
    ledger = tmp_path / "study" / "ledger.jsonl"
    lines = ledger.read_bytes().splitlines(keepends=True)
    ledger.write_bytes(b"".join([*lines[:-2], b"damaged\n", lines[-1]]))
    opened = StudyFolder.open(tmp_path / "study")
    assert "is damaged; what was done after it is not shown" in opened.read_only
    assert "what is shown comes from project.h5.1" in opened.messages[0]
    assert opened.study == moved(rich_study(), 570)


def test_a_later_schema_opens_nothing_and_changes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    edited_study(tmp_path / "study")
    monkeypatch.setattr(project, "SCHEMA", SCHEMA + 1)
    path = tmp_path / "study" / "project.h5"
    path.write_bytes(project._encoded(rich_study(), None, START))
    before = path.read_bytes()
    monkeypatch.undo()
    with pytest.raises(NewerSchema, match="later version of Phasemark"):
        StudyFolder.open(tmp_path / "study")
    assert path.read_bytes() == before
    assert not list(path.parent.glob("*.damaged-*"))


def test_a_whole_file_that_is_not_understood_is_not_taken_for_a_damaged_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    edited_study(tmp_path / "study")
    path = tmp_path / "study" / "project.h5"
    made = project.study_content
    monkeypatch.setattr(
        project, "study_content", lambda s: replace(made(s), texts={**made(s).texts, "settings": {"new": 1}})
    )
    path.write_bytes(project._encoded(rich_study(), None, START))
    before = path.read_bytes()
    with pytest.raises(BadData, match=r"project\.h5 is whole but holds what this version .* does not know"):
        StudyFolder.open(tmp_path / "study")
    assert path.read_bytes() == before


def test_a_failed_sync_makes_the_study_read_only_until_opened_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, second = rich_study(), moved(rich_study(), 560)
    folder = StudyFolder.create(tmp_path / "study", first)
    monkeypatch.setattr(disk, "system", FaultySystem(["fsync"]))
    with pytest.raises(Unavailable):
        folder.append(gesture("one", first, second))
    monkeypatch.undo()
    assert "disk reports a fault" in folder.read_only
    with pytest.raises(Unavailable, match="disk reports a fault"):
        folder.save(second, None)
    folder.close()
    opened = StudyFolder.open(tmp_path / "study")
    assert opened.read_only == ""
    assert opened.study in (first, second)  # the line may have reached the disk, though nobody was told so
    opened.folder.close()


def test_a_failed_save_is_said_and_the_next_one_works(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = StudyFolder.create(tmp_path / "study", rich_study())
    monkeypatch.setattr(disk, "system", FaultySystem(space=1000))
    with pytest.raises(Unavailable, match="no space left"):
        folder.save(rich_study(), None)
    monkeypatch.undo()
    assert folder.read_only == ""
    folder.save(rich_study(), None)
    folder.close()


def test_mending_that_fails_opens_read_only(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    states = edited_study(tmp_path / "study")
    (tmp_path / "study" / "project.h5").write_bytes(b"damaged")
    monkeypatch.setattr(disk, "system", FaultySystem(space=500))
    opened = StudyFolder.open(tmp_path / "study")
    assert "no space left" in opened.read_only
    assert opened.study == states[-1]
    monkeypatch.undo()
    with StudyFolder.open(tmp_path / "study").folder as folder:
        assert folder.read_only == ""


def test_recordings_are_compared_whole_once_and_again_when_their_file_changes(tmp_path: Path) -> None:
    folder = StudyFolder.create(tmp_path / "study", empty())
    ref = folder.write_recording(recording(), folder.new_recording_id())
    assert folder.read_recording(ref).emg_values[0].shape == (4000,)
    path = tmp_path / "study" / ref.path
    whole, state = path.read_bytes(), path.stat()
    damaged = whole[:-1] + b"\x01"
    path.write_bytes(damaged)
    os.utime(path, ns=(state.st_atime_ns, state.st_mtime_ns))
    folder.read_recording(ref)  # same size and time: taken for the same file
    os.utime(path, ns=(state.st_atime_ns, state.st_mtime_ns + 10**9))
    with pytest.raises(BadData, match="its content is not what was imported"):
        folder.read_recording(ref)
    (tmp_path / "copy.h5").write_bytes(whole)
    folder.relocate(ref, tmp_path / "copy.h5")
    folder.read_recording(ref)
    folder.close()
    folder.close()


def test_an_id_of_a_missing_recording_is_not_given_again(tmp_path: Path) -> None:
    folder = StudyFolder.create(tmp_path / "study", empty())
    ref = folder.write_recording(recording(), "R0005")
    folder.append(gesture("imported", empty(), add_trials(empty(), (trial("T1", ref),))))
    folder.close()
    (tmp_path / "study" / ref.path).unlink()
    with StudyFolder.open(tmp_path / "study").folder as again:
        assert again.new_recording_id() == "R0006"
        with pytest.raises(Unavailable, match="is missing"):
            again.read_recording(ref)


def test_leftovers_of_a_killed_writer_are_cleared(tmp_path: Path) -> None:
    StudyFolder.create(tmp_path / "study", empty()).close()
    left = tmp_path / "study" / "recordings" / "R0001.h5.99.unfinished"
    left.write_bytes(b"half")
    with StudyFolder.open(tmp_path / "study").folder:
        assert not left.exists()
