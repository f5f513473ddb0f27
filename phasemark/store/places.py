"""Where the files of a study are, and which names of files are safe on every system."""

import re
from datetime import UTC, datetime
from pathlib import Path, PurePosixPath

from phasemark.model.errors import BadCall, BadData, Unavailable
from phasemark.store.reasons import sentence

PROJECT = "project.h5"
LEDGER = "ledger.jsonl"
LOCK = "project.lock"
HOLDER = "project.lock.holder.json"
RECORDINGS = "recordings"
OLDER = tuple(f"{PROJECT}.{age}" for age in (1, 2, 3))

_SAFE = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,63}")
# Names that Windows keeps for devices, whatever their ending.
_DEVICES = {"con", "prn", "aux", "nul", *(f"{kind}{n}" for kind in ("com", "lpt") for n in range(10))}


def utc_now() -> str:
    """The time now as UTC in ISO 8601 ('2026-01-31T12:00:00.000Z')."""
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def study_folder(path: Path) -> Path:
    """The folder of a study, given the folder or its project file.

    Raises:
        Unavailable: there is nothing of that name.
        BadData: what is there is no study.
    """
    try:
        folder = path.parent if path.name == PROJECT and not path.is_dir() else path
        if not folder.exists():
            raise Unavailable(f"{path} does not exist; make a study there with 'phasemark new'.")
        if not folder.is_dir():
            raise BadData(f"{path} is not a study; a study is a folder that holds {PROJECT}.")
        if not is_study(folder):
            raise BadData(f"{folder} is not a study: it holds no {PROJECT}.")
    except Unavailable:
        raise
    except OSError as problem:
        raise Unavailable(sentence(path, "read", problem)) from problem
    return folder


def is_study(folder: Path) -> bool:
    """Whether a folder holds anything a study can be read from."""
    return any((folder / name).is_file() for name in (PROJECT, *OLDER, LEDGER))


def study_files(folder: Path) -> tuple[Path, ...]:
    """The files of a study that are there, its lock and its recordings included."""
    names = {PROJECT, *OLDER, LEDGER, LOCK, HOLDER}
    return (
        *(path for path in folder.glob("*") if path.name in names and path.is_file()),
        *(path for path in (folder / RECORDINGS).glob("*") if path.is_file()),
    )


def recording_path(recording_id: str) -> str:
    """The path of a recording relative to its study's folder; BadCall where the id is no safe name."""
    if not _SAFE.fullmatch(recording_id) or recording_id.lower() in _DEVICES:
        raise BadCall(f"{recording_id!r} cannot name a recording; use letters, digits, - and _ (such as R0001).")
    return f"{RECORDINGS}/{recording_id}.h5"


def inside(folder: Path, path: str) -> Path:
    r"""The place of a file named by a path relative to the study's folder.

    The path is written with '/' on every system. One that is absolute, names a drive ('C:x') or a device
    ('CON'), goes up ('..\') or through a link out of the folder is refused.

    Raises:
        BadData: the path leaves the study's folder.
    """
    parts = PurePosixPath(path).parts
    unsafe = not parts or set(path) & set('\\:\0<>|"?*') or "/".join(parts) != path
    devices = {part.split(".")[0].strip().lower() for part in parts} & _DEVICES
    if unsafe or devices or parts[0] == "/" or ".." in parts:
        raise BadData(f"The path {path!r} leaves the study's folder {folder}, so it is not opened.")
    place = folder.joinpath(*parts)
    if not place.resolve().is_relative_to(folder.resolve()):
        raise BadData(f"The path {path!r} leaves the study's folder {folder}, so it is not opened.")
    return place


def aside(path: Path, why: str) -> Path:
    """A free name beside a file, to keep it under for a reason ('project.damaged-20260131T120000Z.h5')."""
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
    stem, ending = path.name.split(".", 1)
    place, count = path.with_name(f"{stem}.{why}-{stamp}.{ending}"), 1
    while place.exists():
        count += 1
        place = path.with_name(f"{stem}.{why}-{stamp}-{count}.{ending}")
    return place
