"""Looks into files on the disk thread and brings what was seen back to the dialog."""

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from phasemark.formats.preview import Preview
from phasemark.model.errors import Cancelled, PhasemarkError
from phasemark.session.glance import Sketches, look, sketches
from phasemark.worker import Progress, Worker

T = TypeVar("T")
_SKETCH_SLOT = "sketching a file about to be added"


class Looking:
    """Jobs of one dialog; after close nothing of them comes back."""

    def __init__(self, worker: Worker, said: Callable[[object], None]) -> None:
        self._worker = worker
        self._said = said
        self._slots: set[str] = set()

    def look(self, path: Path, seen: Callable[[Preview], None], failed: Callable[[str], None]) -> None:
        """The first rows of a file; or the sentence why it cannot be used."""
        self._run(f"looking at {path}", lambda _: look(path), seen, failed)

    def sketch(self, path: Path, seen: Callable[[Sketches], None], failed: Callable[[str], None]) -> None:
        """Sketches of a file's columns; those asked for before are given up."""
        self._run(_SKETCH_SLOT, lambda progress: sketches(path, progress), seen, failed)

    def do(self, title: str, work: Callable[[], T], done: Callable[[T], None], failed: Callable[[str], None]) -> None:
        """Some other short work with a file."""
        self._run(title, lambda _: work(), done, failed)

    def _run(
        self, slot: str, work: Callable[[Progress], T], done: Callable[[T], None], failed: Callable[[str], None]
    ) -> None:
        def refused(problem: BaseException) -> None:
            if isinstance(problem, PhasemarkError):
                if not isinstance(problem, Cancelled):
                    failed(str(problem))
                return
            failed(f"Something unforeseen went wrong: {problem}")
            self._said(problem)

        self._slots.add(slot)
        self._worker.run(slot, work, on=self._worker.disk, done=done, failed=refused, slot=slot)

    def close(self) -> None:
        """Give up all that is under way."""
        for slot in self._slots:
            self._worker.supersede(slot)
        self._slots.clear()
