"""What the program remembers between sittings and is no part of a study: studies opened before, column mappings."""

import json
from dataclasses import dataclass, field, replace
from pathlib import Path

from PySide6.QtCore import QStandardPaths

from phasemark.model.errors import PhasemarkError
from phasemark.session.kept_mappings import KeptMappings
from phasemark.store import disk

_MOST = 8


@dataclass(frozen=True, slots=True)
class Remembered:
    """recent: folders of studies, the latest first; mappings: those used last, by layout."""

    recent: tuple[Path, ...] = ()
    mappings: KeptMappings = field(default_factory=KeptMappings)

    def with_recent(self, path: Path) -> "Remembered":
        """The same with a study opened just now."""
        return replace(self, recent=(path, *(p for p in self.recent if p != path))[:_MOST])


def _file() -> Path:
    place = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.AppConfigLocation)
    return Path(place) / "remembered.json"


def load_remembered() -> Remembered:
    """What was remembered; nothing where there is no file or it cannot be understood."""
    try:
        plain = json.loads(_file().read_text(encoding="utf-8"))
        recent = tuple(Path(text) for text in plain["recent"])
        return Remembered(recent, KeptMappings.from_json(plain["mappings"]))
    except (OSError, ValueError, KeyError, TypeError):
        return Remembered()


def save_remembered(remembered: Remembered) -> None:
    """Write it down; a disk that says no costs only the memory."""
    plain = {"recent": [str(path) for path in remembered.recent], "mappings": remembered.mappings.to_json()}
    try:
        disk.make_folder(_file().parent)
        disk.write_text(_file(), json.dumps(plain, ensure_ascii=False, indent=1))
    except PhasemarkError:
        return
