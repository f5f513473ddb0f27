"""The project file: small, columnar, whole or not there. Written beside its place, read again, put in place.

The first 512 bytes (HDF5 leaves them alone) say in plain text what the file is, its schema, and the SHA-256
of all that follows, so that damage anywhere is known before HDF5 reads a byte.
"""

import hashlib
import io
import platform
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, cast
from zlib import crc32

import h5py
import numpy as np
import scipy

import phasemark
from phasemark.model.errors import BadData, PhasemarkError, Unavailable
from phasemark.model.study import Study
from phasemark.store import disk, hdf5
from phasemark.store.content import Content, results_content, results_of, study_content, study_of
from phasemark.store.ledger_lines import LedgerPosition
from phasemark.store.migration import CONTENT_STEPS, SCHEMA, migrated, refuse_newer
from phasemark.store.places import OLDER, PROJECT, aside, utc_now
from phasemark.store.tables import ResultTable, same_results

_HEADER = 512
_TITLE = "Phasemark project file (HDF5 from byte 512 on)"


@dataclass(frozen=True, slots=True)
class Project:
    """What a project file holds; position is the place in the ledger that its study has reached."""

    study: Study
    results: ResultTable | None
    position: LedgerPosition
    provenance: dict[str, str]
    schema: int = SCHEMA


class NotUnderstood(BadData):
    """The file is whole, and yet holds what this version of the program does not know; no copy stands in for it."""


def write_project(folder: Path, study: Study, results: ResultTable | None, position: LedgerPosition) -> None:
    """Write the project file of a study, keeping the last three.

    Raises:
        Unavailable: the disk says no, or what was read again is not what was written; the old file stays.
    """
    data = _encoded(study, results, position)

    def check(path: Path) -> None:
        again = _read(path)
        if again.study != study or again.position != position or not _same(again.results, results):
            raise Unavailable(f"{path.name} is not what was written when read again; the old {PROJECT} stays.")
        _keep_older(folder)

    disk.write_bytes(folder / PROJECT, data, check)


def _same(one: ResultTable | None, other: ResultTable | None) -> bool:
    return one is other if one is None or other is None else same_results(one, other)


def provenance() -> dict[str, str]:
    """Which program and libraries write, and when (UTC)."""
    return {
        "application": "Phasemark",
        "version": phasemark.__version__,
        "python": platform.python_version(),
        "numpy": np.__version__,
        "scipy": scipy.__version__,
        "h5py": h5py.__version__,
        "hdf5": h5py.version.hdf5_version,
        "written_at": utc_now(),
    }


def _encoded(study: Study, results: ResultTable | None, position: LedgerPosition) -> bytes:
    made, measured = study_content(study), results_content(results)
    texts = {
        **made.texts,
        "ledger": {"sequence": position.sequence, "offset": position.offset, "check": position.check},
        "provenance": provenance(),
    }
    buffer = io.BytesIO()
    with hdf5.writing(buffer, _HEADER) as file:
        file.attrs["schema"] = SCHEMA
        for name, plain in texts.items():
            hdf5.put_json(file, name, plain)
        for name, table in (made.tables | dict(measured.tables)).items():  # type: ignore[operator]
            hdf5.put_table(file, name, table)
    data = buffer.getbuffer()
    data[:_HEADER] = _header(SCHEMA, hashlib.sha256(data[_HEADER:]).hexdigest())
    return bytes(data)


def _header(schema: int, sha256: str) -> bytes:
    body = f"{_TITLE}\nschema {schema}\nsha256 {sha256}\n".encode("ascii")
    return (body + f"header {crc32(body):08x}\n".encode("ascii")).ljust(_HEADER)


def _schema_in(data: bytes, name: str) -> int:
    """The schema that an undamaged project file states; BadData where the file is damaged."""
    lines = data[:_HEADER].rstrip().split(b"\n")
    fields = dict(line.split(b" ", 1) for line in lines[1:] if b" " in line)
    if lines[0] != _TITLE.encode("ascii") or not fields.get(b"schema", b"").isdigit():
        raise BadData(f"{name} is damaged or no project file of Phasemark.")
    schema, sha256 = int(fields[b"schema"]), fields.get(b"sha256", b"").decode("ascii", "ignore")
    if data[:_HEADER] != _header(schema, sha256):
        raise BadData(f"{name} is damaged (its first lines).")
    refuse_newer(schema, name)
    if hashlib.sha256(data[_HEADER:]).hexdigest() != sha256:
        raise BadData(f"{name} is damaged (its checksum does not fit).")
    return schema


def read_project(folder: Path, name: str = PROJECT) -> Project:
    """Read the project file of a study, or one of its older copies.

    Raises:
        Unavailable: it is missing or cannot be read.
        NewerSchema: a later version of the program wrote it.
        NotUnderstood: it is whole and yet cannot be read.
        BadData: it is damaged.
    """
    return _read(folder / name)


def _read(path: Path) -> Project:
    data = disk.read_bytes(path)
    schema = _schema_in(data, str(path))
    with hdf5.reading(cast(BinaryIO, io.BytesIO(data)), str(path)) as file:
        texts = {key: hdf5.get_json(file, key) for key in file if isinstance(file[key], h5py.Dataset)}
        tables = {key: hdf5.get_table(file[key]) for key in file if isinstance(file[key], h5py.Group)}
    content = migrated(Content(texts, tables), schema, CONTENT_STEPS, str(path))
    try:
        position = LedgerPosition(**content.texts["ledger"])
        return Project(study_of(content), results_of(content), position, content.texts["provenance"], schema)
    except (PhasemarkError, KeyError, TypeError) as problem:
        raise NotUnderstood(
            f"{path} is whole but holds what this version of Phasemark does not know ({problem}); nothing was changed."
        ) from problem


def is_whole(path: Path) -> bool:
    """Whether a project file is there and undamaged (its checksum only)."""
    if disk.size_of(path) is None:
        return False
    try:
        _schema_in(disk.read_bytes(path), path.name)
    except BadData:
        return False
    return True


def set_aside(folder: Path) -> Path | None:
    """Move a damaged project file out of the way and say where to; None where there is none."""
    path = folder / PROJECT
    if disk.size_of(path) is None:
        return None
    place = aside(path, "damaged")
    disk.rename(path, place)
    return place


def _keep_older(folder: Path) -> None:
    """The project file under the name of the newest older copy, the others one step older."""
    if disk.size_of(folder / PROJECT) is None:
        return
    if not is_whole(folder / PROJECT):
        set_aside(folder)
        return
    if _same_file(folder / PROJECT, folder / OLDER[0]):  # a write failed after it was kept
        return
    for newer, older in ((OLDER[1], OLDER[2]), (OLDER[0], OLDER[1])):
        if disk.size_of(folder / newer) is not None:
            disk.rename(folder / newer, folder / older)
    disk.keep_as(folder / PROJECT, folder / OLDER[0])


def _same_file(one: Path, other: Path) -> bool:
    return disk.size_of(other) is not None and one.samefile(other)
