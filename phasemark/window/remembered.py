"""What the program remembers between sittings and is no part of a study: studies opened before, column mappings."""

import json
import threading
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

from PySide6.QtCore import QStandardPaths

from phasemark.model.errors import PhasemarkError
from phasemark.session.kept_mappings import KeptMappings
from phasemark.store import disk
from phasemark.worker import Deliver, Progress, Worker

_MOST = 8


@dataclass(frozen=True, slots=True)
class Remembered:
    """recent: folders of studies, the latest first; mappings: those used last, by layout.

    reading: which amplitude was read and in what, in words.
    """

    recent: tuple[Path, ...] = ()
    mappings: KeptMappings = field(default_factory=KeptMappings)
    reading: tuple[str, str] = ("", "")

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
        measure, unit = plain.get("reading", ("", ""))
        return Remembered(recent, KeptMappings.from_json(plain["mappings"]), (str(measure), str(unit)))
    except (OSError, ValueError, KeyError, TypeError):
        return Remembered()


def save_remembered(remembered: Remembered) -> None:
    """Write it down; a disk that says no costs only the memory."""
    plain: dict[str, object] = {
        "recent": [str(path) for path in remembered.recent],
        "mappings": remembered.mappings.to_json(),
    }
    plain["reading"] = list(remembered.reading)
    try:
        disk.make_folder(_file().parent)
        disk.write_text(_file(), json.dumps(plain, ensure_ascii=False, indent=1))
    except PhasemarkError:
        return


class Memory:
    """What is remembered, read and written by the disk's thread of a worker; value is what is known of it by now.

    known is told once, when it was read for the first time.
    """

    def __init__(self, worker: Worker, known: Callable[[Remembered], None] = lambda _: None) -> None:
        self.value = Remembered()
        self._told = False
        self._first_known = known
        self._worker = worker
        self._kept: Remembered | None = None  # used by the disk's thread alone
        self.change(lambda kept: kept)

    def change(self, edit: Callable[[Remembered], Remembered]) -> None:
        """Remember something more; value follows as soon as the disk has been asked."""

        def write(_: Progress) -> Remembered:
            before = load_remembered() if self._kept is None else self._kept
            self._kept = edit(before)
            if self._kept != before:
                save_remembered(self._kept)
            return self._kept

        self._worker.run("remembering", write, on=self._worker.disk, done=self._know)

    def finish(self) -> None:
        """Wait until all is written, and end the worker; on a thread that may wait."""
        self._worker.disk.submit(lambda: None).result()
        self._worker.close()

    def _know(self, kept: Remembered) -> None:
        self.value = kept
        if not self._told:
            self._told = True
            self._first_known(kept)

    def look_for_recent(self, deliver: Deliver, found: Callable[[tuple[Path, ...]], None]) -> None:
        """Find out which of the studies opened before are there; found may come late, or never.

        A drive that does not answer holds up a thread that nobody waits for.
        """

        def look(recent: tuple[Path, ...]) -> None:
            there = tuple(path for path in recent if _is_there(path))
            deliver(lambda: found(there))

        def start(kept: Remembered) -> None:
            threading.Thread(target=look, args=(kept.recent,), daemon=True, name="studies opened before").start()

        self._worker.run("what is remembered", lambda _: self._kept or Remembered(), on=self._worker.disk, done=start)


def _is_there(path: Path) -> bool:
    try:
        return path.exists()
    except OSError:
        return False
