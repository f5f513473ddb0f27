"""A disk that refuses: put in place of `disk.system` by the tests."""

import errno
import os
from collections.abc import Iterable
from pathlib import Path

from phasemark.store.disk import System


def refusal(number: int) -> OSError:
    """What the operating system raises for an error number."""
    return OSError(number, os.strerror(number))


class FaultySystem(System):
    """Refuses the named calls, or writes after a number of bytes; counts what is asked of it."""

    def __init__(
        self, refused: Iterable[str] = (), number: int = errno.EIO, space: int | None = None, chunk: int = 1 << 30
    ) -> None:
        self.refused, self.number, self.space, self.chunk = set(refused), number, space, chunk
        self.calls: list[str] = []

    def _ask(self, call: str) -> None:
        self.calls.append(call)
        if call in self.refused:
            raise refusal(self.number)

    def open(self, path: Path, flags: int) -> int:
        self._ask("open")
        return super().open(path, flags)

    def write(self, descriptor: int, data: memoryview) -> int:
        self._ask("write")
        data = data[: self.chunk]
        if self.space is not None:
            if not self.space:
                raise refusal(errno.ENOSPC)
            data = data[: self.space]
            self.space -= len(data)
        return super().write(descriptor, data)

    def truncate(self, descriptor: int, size: int) -> None:
        self._ask("truncate")
        super().truncate(descriptor, size)

    def fsync(self, descriptor: int) -> None:
        self._ask("fsync")
        super().fsync(descriptor)

    def replace(self, source: Path, target: Path) -> None:
        self._ask("replace")
        super().replace(source, target)

    def link(self, source: Path, target: Path) -> None:
        self._ask("link")
        super().link(source, target)

    def remove(self, path: Path) -> None:
        self._ask("remove")
        super().remove(path)

    def make_folder(self, path: Path) -> None:
        self._ask("make_folder")
        super().make_folder(path)
