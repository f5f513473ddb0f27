"""The project file: whole or not there, damage anywhere is known, the last three are kept."""

import errno
import json
import random
import shutil
from pathlib import Path

import h5py
import numpy as np
import pytest
from faults import FaultySystem
from making_studies import moved, rich_study

from phasemark.model.errors import BadData, Unavailable
from phasemark.store import disk, project
from phasemark.store.ledger_lines import LedgerPosition
from phasemark.store.migration import SCHEMA, NewerSchema
from phasemark.store.project import is_whole, read_project, write_project
from phasemark.store.tables import ResultTable, same_results

POSITION = LedgerPosition(12, 3456, "0123456789abcdef")
RESULTS = ResultTable((("T001", "k"),), {"rms_mV": np.array([0.25, np.nan]), "rep": np.array([1, 2]), "a": ["x", ""]})


def test_study_results_position_and_provenance_come_back(tmp_path: Path) -> None:
    write_project(tmp_path, rich_study(), RESULTS, POSITION)
    again = read_project(tmp_path)
    assert again.study == rich_study()
    assert again.results is not None
    assert same_results(again.results, RESULTS)
    assert again.position == POSITION
    assert again.schema == SCHEMA
    assert {"application", "version", "python", "numpy", "scipy", "h5py", "hdf5", "written_at"} <= set(again.provenance)


def test_any_program_for_hdf5_can_read_it(tmp_path: Path) -> None:
    write_project(tmp_path, rich_study(), RESULTS, POSITION)
    with h5py.File(tmp_path / "project.h5", "r", locking=False) as file:
        assert file.attrs["schema"] == SCHEMA
        assert json.loads(file["settings"][()])["filter"]["highpass_hz"] == 10.5
        assert file["boundaries/columns/sample"].dtype == np.int64
        assert file["results/columns/rms_mV"][0] == 0.25


def test_the_first_lines_can_be_read_without_hdf5(tmp_path: Path) -> None:
    write_project(tmp_path, rich_study(), None, POSITION)
    lines = (tmp_path / "project.h5").read_bytes()[:512].decode("ascii").splitlines()
    assert lines[0].startswith("Phasemark project file")
    assert lines[1] == f"schema {SCHEMA}"


def test_one_changed_byte_anywhere_is_known_as_damage(tmp_path: Path) -> None:
    """200 random bytes and every byte of the first lines, each changed alone."""
    write_project(tmp_path, rich_study(), RESULTS, POSITION)
    path = tmp_path / "project.h5"
    whole = path.read_bytes()
    dice = random.Random(3)
    for place in [*range(512), *(dice.randrange(len(whole)) for _ in range(200))]:
        damaged = bytearray(whole)
        damaged[place] ^= dice.randrange(1, 256)
        path.write_bytes(damaged)
        with pytest.raises(BadData, match=r"project\.h5 is damaged"):
            read_project(tmp_path)
        assert not is_whole(path)


def test_a_file_cut_off_anywhere_is_known_as_damage(tmp_path: Path) -> None:
    write_project(tmp_path, rich_study(), None, POSITION)
    path = tmp_path / "project.h5"
    whole = path.read_bytes()
    for size in [0, 1, 30, 511, 512, 513, len(whole) // 2, len(whole) - 1]:
        path.write_bytes(whole[:size])
        with pytest.raises(BadData, match="damaged"):
            read_project(tmp_path)


def test_a_later_schema_is_refused_in_one_sentence_and_nothing_changes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(project, "SCHEMA", SCHEMA + 1)
    path = tmp_path / "project.h5"
    path.write_bytes(project._encoded(rich_study(), None, POSITION))
    before = path.read_bytes()
    monkeypatch.undo()
    with pytest.raises(
        NewerSchema, match=rf"later version of Phasemark \(schema {SCHEMA + 1}; this one knows up to {SCHEMA}\)"
    ):
        read_project(tmp_path)
    assert path.read_bytes() == before


def test_the_last_three_are_kept_newest_first(tmp_path: Path) -> None:
    studies = [moved(rich_study(), sample) for sample in (560, 570, 580, 590, 595)]
    for number, study in enumerate(studies):
        write_project(tmp_path, study, None, LedgerPosition(number, number, ""))
    names = ("project.h5", "project.h5.1", "project.h5.2", "project.h5.3")
    assert [read_project(tmp_path, name).study for name in names] == studies[:0:-1]
    assert sorted(found.name for found in tmp_path.iterdir()) == sorted(names)


@pytest.mark.parametrize("call", ["write", "fsync", "replace", "link"])
def test_a_failed_write_leaves_the_old_file_and_the_older_ones(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    studies = [moved(rich_study(), sample) for sample in (560, 570, 580, 590, 595)]
    for study in studies[:4]:
        write_project(tmp_path, study, None, POSITION)
    for _ in range(4):  # trying again and again must not push the older ones out
        monkeypatch.setattr(disk, "system", FaultySystem([call], errno.ENOSPC))
        if call == "link":  # a copy stands in for the link
            write_project(tmp_path, studies[3], None, POSITION)
        else:
            with pytest.raises(Unavailable, match=r"project\.h5(\.2)? could not be .*: there is no space"):
                write_project(tmp_path, studies[4], None, POSITION)
    monkeypatch.undo()
    assert read_project(tmp_path).study == studies[3]
    if call in ("write", "fsync"):
        assert [read_project(tmp_path, f"project.h5.{n}").study for n in (1, 2, 3)] == studies[2::-1]


def test_a_full_disk_at_many_places_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_project(tmp_path, rich_study(), None, POSITION)
    size = (tmp_path / "project.h5").stat().st_size
    for space in range(0, size, size // 15):
        monkeypatch.setattr(disk, "system", FaultySystem(space=space))
        with pytest.raises(Unavailable, match="no space"):
            write_project(tmp_path, moved(rich_study(), 590), RESULTS, POSITION)
        assert read_project(tmp_path).study == rich_study()


def test_what_reads_back_otherwise_is_not_put_in_place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_project(tmp_path, rich_study(), None, POSITION)
    other = project._encoded(moved(rich_study(), 590), None, POSITION)
    monkeypatch.setattr(project, "_encoded", lambda *_: other)
    with pytest.raises(Unavailable, match="is not what was written when read again"):
        write_project(tmp_path, rich_study(), None, POSITION)
    monkeypatch.undo()
    assert read_project(tmp_path).study == rich_study()


def test_a_damaged_file_never_becomes_an_older_copy(tmp_path: Path) -> None:
    write_project(tmp_path, rich_study(), None, POSITION)
    write_project(tmp_path, rich_study(), None, POSITION)
    path = tmp_path / "project.h5"
    path.write_bytes(path.read_bytes()[:-5])
    write_project(tmp_path, moved(rich_study(), 590), None, POSITION)
    assert read_project(tmp_path, "project.h5.1").study == rich_study()
    assert len(list(tmp_path.glob("project.damaged-*.h5"))) == 1


def test_ten_saves_do_not_gather_files(tmp_path: Path) -> None:
    for _ in range(10):
        write_project(tmp_path, rich_study(), None, POSITION)
    assert len(list(tmp_path.iterdir())) == 4


def test_a_copied_project_file_is_read_by_its_own_name(tmp_path: Path) -> None:
    write_project(tmp_path, rich_study(), None, POSITION)
    shutil.copy(tmp_path / "project.h5", tmp_path / "mine.h5")
    assert read_project(tmp_path, "mine.h5").study == rich_study()
