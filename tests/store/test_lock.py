"""One writer at a time: the second opener reads only and is told who writes."""

import errno
import getpass
import json
import os
import signal
import socket
import subprocess
import sys
from pathlib import Path

import pytest
from faults import FaultySystem

from phasemark.model.errors import Unavailable
from phasemark.model.study import Study
from phasemark.store import disk
from phasemark.store.folder import StudyFolder
from phasemark.store.lock import Held, StudyLock

HOLD = """
import sys, time
from pathlib import Path
from phasemark.store.folder import StudyFolder
opened = StudyFolder.open(Path(sys.argv[1]))
print(opened.read_only, flush=True)
time.sleep(60)
"""


def holder_of(folder: Path) -> subprocess.Popen[str]:
    """Another process that has opened the study for writing."""
    process = subprocess.Popen([sys.executable, "-c", HOLD, str(folder)], stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    assert process.stdout.readline() == "\n"
    return process


def test_a_second_process_gets_the_study_read_only_until_the_first_is_gone(tmp_path: Path) -> None:
    StudyFolder.create(tmp_path / "study", Study("x")).close()
    process = holder_of(tmp_path / "study")
    try:
        opened = StudyFolder.open(tmp_path / "study")
        assert f"on {socket.gethostname()} (process {process.pid}) since 20" in opened.read_only
        assert opened.study == Study("x")
        assert opened.messages == ()
        opened.folder.close()
    finally:
        process.send_signal(signal.SIGKILL)
        process.communicate()
    with StudyFolder.open(tmp_path / "study").folder as folder:
        assert folder.read_only == ""


def test_the_same_process_cannot_write_twice_either(tmp_path: Path) -> None:
    with StudyFolder.create(tmp_path / "study", Study("x")):
        assert f"process {os.getpid()}" in StudyFolder.open(tmp_path / "study").read_only
    assert StudyFolder.open(tmp_path / "study").read_only == ""


def test_the_note_names_no_login(tmp_path: Path) -> None:
    lock = StudyLock(tmp_path)
    lock.acquire()
    note = json.loads((tmp_path / "project.lock.holder.json").read_text())
    assert set(note) == {"host", "process", "since"}
    assert getpass.getuser() not in (note["since"], str(note["process"]))
    lock.release()
    assert not (tmp_path / "project.lock.holder.json").exists()
    lock.release()


@pytest.mark.parametrize("note", [None, "", "{}", "[1]", '{"host": "x"}'])
def test_a_missing_or_broken_note_is_no_obstacle(tmp_path: Path, note: str | None) -> None:
    first, second = StudyLock(tmp_path), StudyLock(tmp_path)
    first.acquire()
    path = tmp_path / "project.lock.holder.json"
    path.unlink()
    if note is not None:
        path.write_text(note)
    with pytest.raises(Held, match="is open in another window or command, so it is read-only here"):
        second.acquire()
    first.release()


@pytest.mark.parametrize(
    ("number", "words"), [(errno.EROFS, "the file system is read-only"), (errno.EACCES, "there is no permission")]
)
def test_a_folder_that_cannot_be_written_opens_read_only_and_says_why(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, words: str
) -> None:
    StudyFolder.create(tmp_path / "study", Study("x")).close()
    monkeypatch.setattr(disk, "system", FaultySystem(["open"], number))
    opened = StudyFolder.open(tmp_path / "study")
    assert words in opened.read_only
    assert opened.study == Study("x")
    with pytest.raises(Unavailable, match=words):
        opened.folder.save(opened.study, None)


def test_a_lock_that_cannot_leave_its_note_is_free_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(disk, "system", FaultySystem(["write"], errno.ENOSPC))
    with pytest.raises(Unavailable, match="no space"):
        StudyLock(tmp_path).acquire()
    monkeypatch.undo()
    lock = StudyLock(tmp_path)
    lock.acquire()
    lock.release()


def test_colleagues_may_lock_a_shared_study_in_turn(tmp_path: Path) -> None:
    (tmp_path / "project.lock").touch()
    (tmp_path / "project.lock").chmod(0o664)
    lock = StudyLock(tmp_path)
    lock.acquire()
    lock.release()
    assert (tmp_path / "project.lock").stat().st_mode & 0o777 == 0o664
