"""Recordings come back bit for bit; missing, changed and damaged ones are one clear sentence each."""

import errno
from contextlib import suppress
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import h5py
import numpy as np
import pytest
from faults import FaultySystem
from making_studies import recording

from phasemark.model.errors import BadCall, BadData, PhasemarkError, Unavailable
from phasemark.model.recording import EmgChannel, Recording
from phasemark.signal.pyramid import build
from phasemark.store import disk
from phasemark.store.migration import NewerSchema
from phasemark.store.places import inside
from phasemark.store.recordings import as_imported, new_recording_id, read_recording, relocate, write_recording


def test_values_come_back_bit_for_bit_with_their_pyramids(tmp_path: Path) -> None:
    original = recording(70_000)
    ref = write_recording(tmp_path, original, "R0001")
    stored = read_recording(tmp_path, ref)
    for values, pyramids, given in (
        (stored.emg_values, stored.emg_pyramids, original.emg_values),
        (stored.movement_values, stored.movement_pyramids, original.movement_values),
    ):
        for one, pyramid, other in zip(values, pyramids, given, strict=True):
            assert one.tobytes() == other.tobytes()
            assert not one.flags.writeable
            built = build(other)
            assert pyramid.gaps == built.gaps
            assert len(pyramid.levels) == len(built.levels)
            for level, again in zip(built.levels, pyramid.levels, strict=True):
                assert [side.tobytes() for side in level] == [side.tobytes() for side in again]


def test_the_reference_says_where_how_large_and_how_long(tmp_path: Path) -> None:
    original = recording()
    ref = write_recording(tmp_path, original, "R0001")
    assert (ref.id, ref.path) == ("R0001", "recordings/R0001.h5")
    assert ref.size == (tmp_path / ref.path).stat().st_size
    assert (ref.emg_samples, ref.movement_samples) == ((4000, 4300), (200,))
    assert (ref.source, ref.notes) == (original.source, original.notes)


def test_the_file_tells_by_itself_what_was_imported(tmp_path: Path) -> None:
    original = recording()
    ref = write_recording(tmp_path, original, "R0001")
    again = as_imported(tmp_path / ref.path)
    for field in ("emg", "movement", "source", "notes"):
        assert getattr(again, field) == getattr(original, field)
    with h5py.File(tmp_path / ref.path, "r", locking=False) as file:
        assert dict(file["emg/1"].attrs) == {"name": "biceps femoris (right)", "unit": "counts", "rate_hz": "1111.11"}


@pytest.mark.parametrize("samples", [1, 63, 64, 65, 257 * 64])
def test_short_channels_and_recordings_without_movement_come_back(tmp_path: Path, samples: int) -> None:
    values = np.arange(samples, dtype=np.float64)
    ref = write_recording(tmp_path, Recording((EmgChannel("m", Fraction(1000)),), (values,)), "R0001")
    stored = read_recording(tmp_path, ref)
    assert np.array_equal(stored.emg_values[0], values)
    assert stored.movement_values == ()


def test_a_recording_is_never_written_over(tmp_path: Path) -> None:
    ref = write_recording(tmp_path, recording(), "R0001")
    with pytest.raises(Unavailable, match="exists already"):
        write_recording(tmp_path, recording(2000), "R0001")
    read_recording(tmp_path, ref)


def test_a_missing_a_changed_and_a_damaged_file_are_each_said(tmp_path: Path) -> None:
    ref = write_recording(tmp_path, recording(), "R0001")
    path = tmp_path / ref.path
    whole = path.read_bytes()
    path.write_bytes(whole + b"x")
    with pytest.raises(BadData, match=r"R0001\.h5 has changed: it has \d+ bytes, not \d+"):
        read_recording(tmp_path, ref, whole=False)
    path.write_bytes(whole[:-1] + b"\x01")
    with pytest.raises(BadData, match=r"R0001\.h5 has changed: its content is not what was imported"):
        read_recording(tmp_path, ref)
    path.write_bytes(bytes(len(whole)))
    with pytest.raises(BadData, match=r"R0001\.h5 is damaged"):
        read_recording(tmp_path, ref, whole=False)
    path.unlink()
    with pytest.raises(Unavailable, match=r"R0001\.h5 is missing; put it back, or locate it"):
        read_recording(tmp_path, ref)


def test_bytes_damaged_anywhere_never_end_in_anything_but_a_sentence(tmp_path: Path) -> None:
    """Also without comparing the hash, when only the size was looked at."""
    ref = write_recording(tmp_path, recording(), "R0001")
    path = tmp_path / ref.path
    whole = path.read_bytes()
    dice = np.random.default_rng(8)
    places = [*range(0, 2048, 16), *dice.integers(0, len(whole), 100).tolist()]
    for place in places:
        damaged = bytearray(whole)
        damaged[place : place + 4] = dice.bytes(4)
        path.write_bytes(damaged[: len(whole)])
        with pytest.raises(BadData, match="has changed"):
            read_recording(tmp_path, ref)
        with suppress(PhasemarkError):
            read_recording(tmp_path, ref, whole=False)


@pytest.mark.parametrize(
    "path",
    [
        "../outside.h5", "recordings/../../outside.h5", "/etc/passwd", "..\\outside.h5", "C:outside.h5", "C:/x.h5",
        "\\\\server\\x.h5", "recordings\\R0001.h5", "", ".", "recordings/CON.h5", "nul", "recordings/./R0001.h5",
        "recordings//R0001.h5", "a\0b", "recordings/R0001.h5/", "recordings/aux .h5", "COM1/x.h5",
    ],
)  # fmt: skip
def test_a_path_that_leaves_the_folder_is_refused(tmp_path: Path, path: str) -> None:
    ref = write_recording(tmp_path / "study", recording(), "R0001")
    (tmp_path / "outside.h5").write_bytes((tmp_path / "study" / ref.path).read_bytes())
    with pytest.raises(BadData, match="leaves the study's folder"):
        read_recording(tmp_path / "study", replace(ref, path=path))


def test_a_link_out_of_the_folder_is_refused(tmp_path: Path) -> None:
    ref = write_recording(tmp_path / "study", recording(), "R0001")
    path = tmp_path / "study" / ref.path
    path.rename(tmp_path / "elsewhere.h5")
    path.symlink_to(tmp_path / "elsewhere.h5")
    with pytest.raises(BadData, match="leaves the study's folder"):
        read_recording(tmp_path / "study", ref)


def test_a_study_reached_through_a_link_is_no_reason_to_refuse(tmp_path: Path) -> None:
    ref = write_recording(tmp_path / "study", recording(), "R0001")
    (tmp_path / "link").symlink_to(tmp_path / "study")
    assert inside(tmp_path / "link", ref.path).is_file()


@pytest.mark.parametrize("name", ["", "CON", "con", "lpt1", "a/b", "..", "a.b", "ü", "x" * 65, "-x", "a\0", " "])
def test_ids_that_are_no_safe_name_of_a_file_are_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(BadCall, match="cannot name a recording"):
        write_recording(tmp_path, recording(), name)


def test_new_ids_avoid_all_files_and_all_ids_in_use(tmp_path: Path) -> None:
    assert new_recording_id(tmp_path) == "R0001"
    write_recording(tmp_path, recording(100), "R0004")
    (tmp_path / "recordings" / "r0006.changed-20260131T120000Z.h5").touch()
    assert new_recording_id(tmp_path) == "R0007"
    assert new_recording_id(tmp_path, ["R0011", "X9"]) == "R0012"


def test_a_full_disk_at_many_places_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    original = recording()
    size = write_recording(tmp_path, original, "R0001").size
    for space in range(0, size, size // 20):
        monkeypatch.setattr(disk, "system", FaultySystem(space=space))
        with pytest.raises(Unavailable, match=r"R0002\.h5 could not be written: there is no space left"):
            write_recording(tmp_path, original, "R0002")
        assert [found.name for found in (tmp_path / "recordings").iterdir()] == ["R0001.h5"]


def test_a_real_full_disk_ends_in_a_sentence(tmp_path: Path) -> None:
    """A limit of the system on the size of files, as a full disk for HDF5 in its middle."""
    resource = pytest.importorskip("resource")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (30_000, hard))
    try:
        with pytest.raises(Unavailable, match=r"R0001\.h5 could not be written: it would exceed the size"):
            write_recording(tmp_path, recording(), "R0001")
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert list((tmp_path / "recordings").iterdir()) == []


def test_a_missing_recording_is_located_again(tmp_path: Path) -> None:
    ref = write_recording(tmp_path / "study", recording(), "R0001")
    path = tmp_path / "study" / ref.path
    path.rename(tmp_path / "found again.h5")
    relocate(tmp_path / "study", ref, tmp_path / "found again.h5")
    read_recording(tmp_path / "study", ref)
    relocate(tmp_path / "study", ref, tmp_path / "found again.h5")
    assert [found.name for found in path.parent.iterdir()] == ["R0001.h5"]


def test_a_changed_recording_is_kept_beside_the_one_put_back(tmp_path: Path) -> None:
    ref = write_recording(tmp_path / "study", recording(), "R0001")
    path = tmp_path / "study" / ref.path
    (tmp_path / "copy.h5").write_bytes(path.read_bytes())
    path.write_bytes(b"changed")
    relocate(tmp_path / "study", ref, tmp_path / "copy.h5")
    read_recording(tmp_path / "study", ref)
    assert [kept.read_bytes() for kept in path.parent.glob("R0001.changed-*.h5")] == [b"changed"]


def test_another_recording_is_not_taken_for_a_missing_one(tmp_path: Path) -> None:
    ref = write_recording(tmp_path / "study", recording(), "R0001")
    (tmp_path / "study" / ref.path).unlink()
    (tmp_path / "other.h5").write_bytes(b"other")
    with pytest.raises(BadData, match=r"other\.h5 is not the recording R0001"):
        relocate(tmp_path / "study", ref, tmp_path / "other.h5")


def test_lengths_that_the_study_does_not_know_are_damage(tmp_path: Path) -> None:
    ref = write_recording(tmp_path, recording(), "R0001")
    with pytest.raises(BadData, match="other lengths"):
        read_recording(tmp_path, replace(ref, emg_samples=(4000, 4301)))


def test_a_recording_of_a_later_schema_is_refused(tmp_path: Path) -> None:
    ref = write_recording(tmp_path, recording(), "R0001")
    with h5py.File(tmp_path / ref.path, "r+", locking=False) as file:
        file.attrs["schema"] = 9
    with pytest.raises(NewerSchema, match="later version of Phasemark"):
        read_recording(tmp_path, replace(ref, size=(tmp_path / ref.path).stat().st_size), whole=False)


def test_no_permission_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(disk, "system", FaultySystem(["open"], errno.EACCES))
    with pytest.raises(Unavailable, match="there is no permission for it"):
        write_recording(tmp_path, recording(), "R0001")
