"""What was dropped on a window: files, those in a folder, or a study."""

from pathlib import Path

from PySide6.QtCore import QMimeData
from PySide6.QtGui import QDropEvent

from phasemark.store.places import PROJECT, is_study


def local_paths(dropped: QMimeData) -> tuple[Path, ...]:
    """Paths of the local files and folders in what is dragged or dropped."""
    return tuple(Path(url.toLocalFile()) for url in dropped.urls() if url.isLocalFile())


def dropped_study(event: QDropEvent) -> Path | None:
    """The study that was dropped, if it was nothing but one: its folder or its project file."""
    paths = local_paths(event.mimeData())
    if len(paths) != 1:
        return None
    folder = paths[0].parent if paths[0].name == PROJECT else paths[0]
    return folder if is_study(folder) else None


def dropped_files(event: QDropEvent) -> tuple[Path, ...]:
    """The files that were dropped, in order; a folder stands for the files in it, not for those in its folders."""
    files: list[Path] = []
    for path in local_paths(event.mimeData()):
        files += _files_in(path) if path.is_dir() else [path]
    return tuple(dict.fromkeys(files))


def _files_in(folder: Path) -> list[Path]:
    """Files by name; hidden ones are none of the user's."""
    return sorted(path for path in folder.iterdir() if path.is_file() and not path.name.startswith("."))
