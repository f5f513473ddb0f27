"""Whole files appear whole or not at all, and a refusal is one sentence about the file."""

import errno
from pathlib import Path

import pytest
from faults import FaultySystem

from phasemark.model.errors import Unavailable
from phasemark.store import disk, reasons


def put(monkeypatch: pytest.MonkeyPatch, system: disk.System) -> None:
    monkeypatch.setattr(disk, "system", system)


def test_a_full_disk_at_any_byte_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a table.csv"
    disk.write_text(path, "old")
    for space in range(7):
        put(monkeypatch, FaultySystem(space=space))
        with pytest.raises(Unavailable, match=r"a table\.csv could not be written: there is no space left"):
            disk.write_text(path, "newer ü")
        assert path.read_text() == "old"
        assert [found.name for found in tmp_path.iterdir()] == ["a table.csv"]


@pytest.mark.parametrize("call", ["open", "write", "fsync", "replace"])
def test_any_refused_step_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    path = tmp_path / "x"
    disk.write_text(path, "old")
    put(monkeypatch, FaultySystem([call]))
    with pytest.raises(Unavailable, match="x could not be written: the disk reports a fault"):
        disk.write_text(path, "new")
    assert path.read_text() == "old"
    assert len(list(tmp_path.iterdir())) == 1


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.ENOSPC, "no space left"),
        (errno.EDQUOT, "quota"),
        (errno.EFBIG, "exceed the size"),
        (errno.EACCES, "no permission"),
        (errno.EPERM, "no permission"),
        (errno.EROFS, "file system is read-only"),
        (errno.EISDIR, "is a folder"),
        (errno.ENAMETOOLONG, "too long"),
        (errno.ELOOP, "symbolic links"),
    ],
)
def test_each_reason_is_said_in_plain_words_in_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, words: str
) -> None:
    put(monkeypatch, FaultySystem(["open"], number))
    with pytest.raises(Unavailable, match=words) as caught:
        disk.write_text(tmp_path / "x.csv", "new")
    assert str(caught.value).startswith(str(tmp_path / "x.csv"))
    assert "Errno" not in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_real_folder_in_the_way_is_said(tmp_path: Path) -> None:
    (tmp_path / "x").mkdir()
    with pytest.raises(Unavailable, match="is a folder"):
        disk.write_text(tmp_path / "x", "new")
    with pytest.raises(Unavailable, match="does not exist"):
        disk.write_text(tmp_path / "nowhere" / "x", "new")


def test_a_file_size_limit_is_said(tmp_path: Path) -> None:
    """A real limit of the system, not a fault put in."""
    resource = pytest.importorskip("resource")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, hard))
    try:
        with pytest.raises(Unavailable, match="exceed the size"):
            disk.write_bytes(tmp_path / "x", bytes(2000))
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert list(tmp_path.iterdir()) == []


def test_writes_that_take_one_byte_at_a_time_end_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    put(monkeypatch, FaultySystem(chunk=1))
    disk.write_text(tmp_path / "x", "line\nline\r\n")
    assert (tmp_path / "x").read_bytes() == b"line\nline\r\n"


def test_a_file_and_its_folder_are_synced_around_the_replace(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    system = FaultySystem()
    put(monkeypatch, system)
    disk.write_text(tmp_path / "x", "text")
    assert system.calls == ["open", "write", "fsync", "replace", "fsync"]


def test_a_check_that_fails_keeps_the_old_file(tmp_path: Path) -> None:
    path = tmp_path / "x"
    disk.write_text(path, "old")

    def check(unfinished: Path) -> None:
        assert unfinished.read_text() == "new"
        raise Unavailable("not as meant")

    with pytest.raises(Unavailable, match="not as meant"):
        disk.write_bytes(path, b"new", check)
    assert path.read_text() == "old"


class BusyOnWindows(FaultySystem):
    """Refuses to replace a number of times as Windows does while another program has the file open."""

    def __init__(self, times: int) -> None:
        super().__init__()
        self.times = times

    def replace(self, source: Path, target: Path) -> None:
        if self.times:
            self.times -= 1
            problem = PermissionError(errno.EACCES, "used by another process")
            problem.winerror = 32
            raise problem
        super().replace(source, target)


def test_a_busy_file_is_tried_again_and_then_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(disk, "_REPLACE_PAUSE_S", 0.0)
    put(monkeypatch, BusyOnWindows(3))
    disk.write_text(tmp_path / "x.csv", "new")
    assert (tmp_path / "x.csv").read_text() == "new"
    put(monkeypatch, BusyOnWindows(1000))
    with pytest.raises(Unavailable, match=r"x\.csv could not be written: another program has it open; close it"):
        disk.write_text(tmp_path / "x.csv", "newer")
    assert (tmp_path / "x.csv").read_text() == "new"


def test_a_refused_permission_elsewhere_is_not_taken_for_a_busy_file() -> None:
    assert not reasons.busy(PermissionError(errno.EACCES, "no"))


@pytest.mark.parametrize("call", ["write", "fsync"])
def test_after_one_failed_append_nothing_is_ever_appended_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    file = disk.Appender(tmp_path / "log", 0)
    file.append(b"one\n")
    put(monkeypatch, FaultySystem([call]))
    with pytest.raises(Unavailable, match="log could not be written: the disk reports a fault"):
        file.append(b"two\n")
    put(monkeypatch, disk.System())
    with pytest.raises(Unavailable, match="log could not be written"):
        file.append(b"three\n")
    assert b"three" not in (tmp_path / "log").read_bytes()
    assert file.failure
    file.close()


def test_a_file_that_another_program_has_changed_is_not_appended_to(tmp_path: Path) -> None:
    path = tmp_path / "log"
    for change in (lambda: path.write_bytes(b"other"), lambda: disk.write_bytes(path, b"one\n"), path.unlink):
        path.unlink(missing_ok=True)
        file = disk.Appender(path, 0)
        file.append(b"one\n")
        change()
        with pytest.raises(Unavailable):
            file.append(b"two\n")
        file.close()


def test_a_kept_file_survives_its_replacement_with_and_without_links(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for system in (disk.System(), FaultySystem(["link"], errno.EPERM)):
        put(monkeypatch, system)
        disk.write_text(tmp_path / "x", "old")
        disk.keep_as(tmp_path / "x", tmp_path / "x.1")
        disk.write_text(tmp_path / "x", "new")
        assert (tmp_path / "x.1").read_text() == "old"
        assert sorted(found.name for found in tmp_path.iterdir()) == ["x", "x.1"]


def test_names_that_are_no_unicode_are_written_with_escapes(tmp_path: Path) -> None:
    disk.write_text(tmp_path / "x", "a\udcff")
    assert (tmp_path / "x").read_bytes() == b"a\\udcff"


def test_leftovers_of_killed_writers_are_removed_and_other_files_stay(tmp_path: Path) -> None:
    (tmp_path / "project.h5.77.unfinished").write_text("half")
    (tmp_path / "notes.txt").write_text("mine")
    disk.remove_unfinished(tmp_path)
    assert [found.name for found in tmp_path.iterdir()] == ["notes.txt"]


def test_missing_files_have_no_size_and_cannot_be_read(tmp_path: Path) -> None:
    assert disk.size_of(tmp_path / "x") is None
    for read in (disk.read_bytes, disk.sha256_of, disk.open_for_reading):
        with pytest.raises(Unavailable, match="x could not be read: it does not exist"):
            read(tmp_path / "x")


def test_folders_are_made_with_those_above_and_refusals_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    disk.make_folder(tmp_path / "a" / "b")
    disk.make_folder(tmp_path / "a" / "b")
    assert (tmp_path / "a" / "b").is_dir()
    put(monkeypatch, FaultySystem(["make_folder"], errno.EROFS))
    with pytest.raises(Unavailable, match="c could not be made: the file system is read-only"):
        disk.make_folder(tmp_path / "c")
