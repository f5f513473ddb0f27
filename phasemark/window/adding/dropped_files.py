"""What was dropped on a window: files, those in a folder, or a study."""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QMimeData

from phasemark.model.errors import Unavailable
from phasemark.store.places import PROJECT, is_study
from phasemark.store.reasons import sentence


def local_paths(dropped: QMimeData) -> tuple[Path, ...]:
    """Paths of the local files and folders in what is dragged or dropped."""
    return tuple(Path(url.toLocalFile()) for url in dropped.urls() if url.isLocalFile())


def study_among(paths: Sequence[Path]) -> Path | None:
    """The study that the paths are, if they are nothing but one: its folder or its project file. Asks the disk."""
    if len(paths) != 1:
        return None
    folder = paths[0].parent if paths[0].name == PROJECT else paths[0]
    return folder if is_study(folder) else None


def study_or_files(paths: Sequence[Path]) -> Path | tuple[Path, ...]:
    """The study that the paths are, or else the files among them."""
    return study_among(paths) or files_among(paths)


def files_among(paths: Sequence[Path]) -> tuple[Path, ...]:
    """The files, in order; a folder stands for the files in it, not for those in its folders. Asks the disk."""
    files: list[Path] = []
    for path in paths:
        files += _files_in(path) if path.is_dir() else [path]
    return tuple(dict.fromkeys(files))


def _files_in(folder: Path) -> list[Path]:
    """Files by name; hidden ones are none of the user's."""
    try:
        return sorted(path for path in folder.iterdir() if path.is_file() and not path.name.startswith("."))
    except OSError as problem:
        raise Unavailable(sentence(folder, "read", problem)) from problem
