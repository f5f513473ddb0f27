"""When what is written, and what happens where the disk says no."""

import threading
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from failing_disk import FailingSystem
from small_study import Open, arrival, killed, renamed

from phasemark.model.errors import Unavailable
from phasemark.session import saving
from phasemark.session.measuring import measure, stale_trials
from phasemark.store import disk
from phasemark.store.project import read_project

PATIENCE_S = 10.0


def _until(at: Open, reached: Callable[[], bool]) -> None:
    """Run what is delivered until something is reached, not for ever."""
    end = time.monotonic() + PATIENCE_S
    while not reached():
        assert time.monotonic() < end
        done: list[int] = []
        at.mailbox.deliver(lambda done=done: done.append(1))  # type: ignore[misc]
        at.mailbox.run_until(lambda done=done: bool(done))  # type: ignore[misc]
        time.sleep(0.005)


def _on_disk(at: Open) -> str:
    return read_project(at.session.path).study.name


def test_project_file_is_written_after_some_quiet(at: Open, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not at once, and once for a burst of edits."""
    monkeypatch.setattr(saving, "QUIET_S", 0.15)
    written = _count_writes(monkeypatch)
    for number in range(5):
        at.session.edit("renamed", renamed(at.study, f"name {number}"))
    at.synced()
    assert _on_disk(at) == "study"
    _until(at, lambda: _on_disk(at) == "name 4")
    assert written() == 1


def _count_writes(monkeypatch: pytest.MonkeyPatch) -> Callable[[], int]:
    system = FailingSystem(lambda call, path: False)
    monkeypatch.setattr(disk, "system", system)
    return lambda: sum(call == ("replace", "project.h5") for call in system.asked)


def test_project_file_is_written_at_once_after_200_ledger_lines(at: Open, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(saving, "QUIET_S", 3600.0)
    for number in range(saving.LINES_BEFORE_SAVING - 1):
        at.session.edit("renamed", renamed(at.study, f"name {number}"))
    time.sleep(0.05)
    at.synced()
    assert _on_disk(at) == "study"
    at.session.edit("renamed", renamed(at.study, "the 200th"))
    _until(at, lambda: _on_disk(at) == "the 200th")


def test_an_edit_counts_as_saved_when_its_line_is_synced(at: Open, tmp_path: Path) -> None:
    at.session.edit("renamed", renamed(at.study, "b"))
    assert at.session.unsaved == 1
    at.synced()
    assert at.session.unsaved == 0
    copy = killed(at.session.path, tmp_path / "copy")
    assert '"b"' in (copy / "ledger.jsonl").read_text("utf-8").splitlines()[-1]


def test_failed_sync_makes_the_study_read_only_and_is_said_once(at: Open, monkeypatch: pytest.MonkeyPatch) -> None:
    """Three edits are under way when the disk fails; it is never tried again, and closing says it as well."""
    told: list[str] = []
    at.session.told.append(told.append)
    # The ledger was opened before this disk took the place of the other, so its name is not known to it.
    system = FailingSystem(lambda call, path: (call, path.name) == ("fsync", "unknown"))
    monkeypatch.setattr(disk, "system", system)
    go = threading.Event()
    at.session.worker.ledger.submit(go.wait, PATIENCE_S)
    for name in "abc":
        at.session.edit("renamed", renamed(at.study, name))
    go.set()
    at.synced()
    assert len(told) == 1
    assert told[0].startswith("An edit could not be written, and nothing can be changed any more: ")
    assert "ledger.jsonl could not be written: there is no space left on the disk" in told[0]
    assert system.asked.count(("fsync", "unknown")) == 1
    with pytest.raises(Unavailable, match="no space left"):
        at.session.edit("renamed", renamed(at.study, "d"))
    with pytest.raises(Unavailable, match="An edit could not be written"):
        at.session.close()
    assert len(told) == 1


def test_study_is_let_go_of_when_closing_fails(
    at: Open, folder: Path, opened: Callable[..., Open], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The edits are in the ledger, so that nothing is lost; the old project file stays whole."""
    with monkeypatch.context() as patch:
        patch.setattr(disk, "system", FailingSystem(lambda call, path: call == "open" and "project.h5" in path.name))
        at.session.edit("renamed", renamed(at.study, "b"))
        with pytest.raises(Unavailable, match=r"project\.h5 could not be written: there is no space left"):
            at.session.close()
    assert read_project(folder).study.name == "study"
    again = opened(folder)
    assert (again.study.name, again.session.read_only, again.messages) == ("b", "", ())


def test_failed_writing_in_the_background_is_said_and_made_good_on_closing(
    at: Open, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(saving, "QUIET_S", 0.01)
    told: list[str] = []
    at.session.told.append(told.append)
    with monkeypatch.context() as patch:
        patch.setattr(disk, "system", FailingSystem(lambda call, path: call == "open" and "project.h5" in path.name))
        at.session.edit("renamed", renamed(at.study, "b"))
        _until(at, lambda: bool(told))
        with pytest.raises(Unavailable):
            at.session.save()
    assert "project.h5 could not be written" in told[0]
    at.session.close()
    assert read_project(folder).study.name == "b"


def test_closing_in_the_middle_of_work_drops_it_and_keeps_the_edits(at: Open, folder: Path) -> None:
    """Measuring is stopped; its result finds the study closed and is not delivered."""
    at.session.edit("renamed", renamed(at.study, "b"))
    heard: list[object] = []
    measure(at.session, stale_trials(at.session) * 200, done=heard.append, failed=heard.append)
    at.session.close()
    finished: list[int] = []
    at.mailbox.deliver(lambda: finished.append(1))
    at.mailbox.run_until(lambda: bool(finished))
    assert not heard
    assert read_project(folder).study.name == "b"


def test_gesture_of_many_lines_cut_in_the_middle_is_dropped_whole(
    folder: Path, opened: Callable[..., Open], tmp_path: Path
) -> None:
    """Killed while the marks of a whole study were being written: none of them, or all."""
    at = opened(folder)
    before = at.study
    trials = (replace(before.trials[0], set=7), replace(before.trials[1], set=8))
    at.session.edit("two at once", replace(before, trials=trials))
    at.synced()
    whole = (folder / "ledger.jsonl").read_bytes()
    for name, end in (("half", whole.rindex(b"\n", 0, len(whole) - 1) + 1), ("torn", len(whole) - 5)):
        copy = killed(folder, tmp_path / name)
        (copy / "ledger.jsonl").write_bytes(whole[:end])
        again = opened(copy)
        assert again.study == before
        assert "never finished" in again.messages[0]
        assert again.session.edit("renamed", renamed(again.study, "goes on"))


def test_recording_added_and_undone_is_there_again_after_redo(at: Open, folder: Path) -> None:
    """Its file stays in the folder, and its id is not given to another."""
    at.add(arrival(5))
    assert [t.id for t in at.study.trials] == ["T001", "T002", "T003"]
    at.session.undo()
    at.add(arrival(6))
    assert at.study.trials[-1].recording.id == "R0004"
    at.session.undo()
    at.session.close()
    assert {p.name for p in (folder / "recordings").iterdir()} == {f"R000{n}.h5" for n in (1, 2, 3, 4)}
