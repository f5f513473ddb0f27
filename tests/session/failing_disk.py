"""A disk that says no to chosen calls, put in place of the system's by the tests."""

import errno
import os
from collections.abc import Callable
from pathlib import Path

from phasemark.store.disk import System


class FailingSystem(System):
    """Refuses calls for which refuse(call, path) is true; counts the syncs it is asked for."""

    def __init__(self, refuse: Callable[[str, Path], bool], number: int = errno.ENOSPC) -> None:
        self._refuse, self._number = refuse, number
        self._paths: dict[int, Path] = {}
        self.asked: list[tuple[str, str]] = []

    def _ask(self, call: str, path: Path) -> None:
        self.asked.append((call, path.name))
        if self._refuse(call, path):
            raise OSError(self._number, os.strerror(self._number))

    def open(self, path: Path, flags: int) -> int:
        self._ask("open", path)
        descriptor = super().open(path, flags)
        self._paths[descriptor] = path
        return descriptor

    def write(self, descriptor: int, data: memoryview) -> int:
        self._ask("write", self._paths.get(descriptor, Path("unknown")))
        return super().write(descriptor, data)

    def fsync(self, descriptor: int) -> None:
        self._ask("fsync", self._paths.get(descriptor, Path("unknown")))
        super().fsync(descriptor)

    def replace(self, source: Path, target: Path) -> None:
        self._ask("replace", target)
        super().replace(source, target)

    def make_folder(self, path: Path) -> None:
        self._ask("make_folder", path)
        super().make_folder(path)
