"""Every change of a file or folder the program makes: writing, syncing, replacing, removing.

Whole files are written beside their place, synced, checked, and put in place by one atomic replace. All calls
of the operating system that change anything pass through `system`, so that tests can put faults there.
Refusals become `Unavailable`: one sentence that names the file and the reason.
"""

import errno
import hashlib
import io
import os
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO, cast

from phasemark.model.errors import Unavailable
from phasemark.store.reasons import busy, sentence

UNFINISHED = ".unfinished"
_BINARY = getattr(os, "O_BINARY", 0)
_REPLACE_TRIES = 20
_REPLACE_PAUSE_S = 0.05


class System:
    """The calls that change files, as the operating system offers them."""

    def open(self, path: Path, flags: int) -> int:
        """A descriptor of the file, open for writing."""
        return os.open(path, flags | _BINARY, 0o666)

    def write(self, descriptor: int, data: memoryview) -> int:
        """Bytes written, which may be fewer than given."""
        return os.write(descriptor, data)

    def truncate(self, descriptor: int, size: int) -> None:
        """The file cut (or grown) to a size (bytes)."""
        os.ftruncate(descriptor, size)

    def fsync(self, descriptor: int) -> None:
        """What was written is on the disk itself when this returns."""
        if sys.platform == "darwin":  # fsync alone leaves data in the drive's cache there
            import fcntl

            fcntl.fcntl(descriptor, fcntl.F_FULLFSYNC)
        else:
            os.fsync(descriptor)

    def replace(self, source: Path, target: Path) -> None:
        """A file moved onto another in one step."""
        os.replace(source, target)  # noqa: PTH105  the seam names the call of the operating system

    def link(self, source: Path, target: Path) -> None:
        """A second name for a file."""
        os.link(source, target)

    def remove(self, path: Path) -> None:
        """A file removed."""
        path.unlink()

    def remove_folder(self, path: Path) -> None:
        """An empty folder removed."""
        path.rmdir()

    def make_folder(self, path: Path) -> None:
        """A folder made, with those above it."""
        path.mkdir(parents=True, exist_ok=True)


system = System()


@contextmanager
def _in_plain_words(path: Path, action: str) -> Iterator[None]:
    """Refusals of the operating system inside become one sentence about the file."""
    try:
        yield
    except Unavailable:
        raise
    except OSError as problem:
        raise Unavailable(sentence(path, action, problem)) from problem


def _write_all(descriptor: int, data: bytes | memoryview) -> None:
    rest = memoryview(data).cast("B")
    while rest:
        rest = rest[system.write(descriptor, rest) :]


class _Sink(io.RawIOBase):
    """A new file open for writing that remembers the first refusal and goes on as if all were well.

    HDF5 cannot close a file whose writing fails; so it is let finish, and the refusal is raised afterwards.
    """

    def __init__(self, descriptor: int) -> None:
        super().__init__()
        self._descriptor = descriptor
        self.failure: OSError | None = None

    def readable(self) -> bool:
        return True

    def writable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return True

    def readinto(self, buffer: memoryview) -> int:  # type: ignore[override]  # HDF5 hands over memoryviews only
        data = os.read(self._descriptor, len(buffer))
        buffer[: len(data)] = data
        return len(data)

    def write(self, data: bytes | memoryview) -> int:  # type: ignore[override]  # as above
        size = memoryview(data).nbytes
        if self.failure is None:
            try:
                _write_all(self._descriptor, data)
            except OSError as problem:
                self.failure = problem
        return size

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        return os.lseek(self._descriptor, offset, whence)

    def tell(self) -> int:
        return os.lseek(self._descriptor, 0, os.SEEK_CUR)

    def truncate(self, size: int | None = None) -> int:
        size = self.tell() if size is None else size
        if self.failure is None:
            try:
                system.truncate(self._descriptor, size)
            except OSError as problem:
                self.failure = problem
        return size


def _fill_and_sync(path: Path, fill: Callable[[BinaryIO], None]) -> None:
    descriptor = system.open(path, os.O_RDWR | os.O_CREAT | os.O_TRUNC)
    try:
        sink = _Sink(descriptor)
        try:
            fill(cast(BinaryIO, sink))
        finally:
            if sink.failure is not None:
                raise sink.failure
        system.fsync(descriptor)
    finally:
        os.close(descriptor)


def _replace(source: Path, target: Path) -> None:
    for attempt in range(_REPLACE_TRIES):
        try:
            return system.replace(source, target)
        except OSError as problem:
            if not busy(problem) or attempt == _REPLACE_TRIES - 1:
                raise
        time.sleep(_REPLACE_PAUSE_S)
    return None


def sync_folder(folder: Path) -> None:
    """The names in a folder are on the disk when this returns (Windows does that by itself)."""
    if os.name == "nt":
        return
    with _in_plain_words(folder, "written"):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            system.fsync(descriptor)
        except OSError as problem:
            if problem.errno not in (errno.EINVAL, errno.ENOTSUP):  # some network drives cannot sync a folder
                raise
        finally:
            os.close(descriptor)


def replace_file(path: Path, fill: Callable[[BinaryIO], None], check: Callable[[Path], None] | None = None) -> None:
    """Write a whole file: beside its place, synced, checked, then put in place in one step.

    Args:
        path: where the file belongs; what was there stays until the new one is whole.
        fill: writes the content into the open file (seekable, readable).
        check: reads the new file again before it takes its place, and raises where it is not as meant.

    Raises:
        Unavailable: the disk says no; the old file is as it was.
    """
    unfinished = path.with_name(f"{path.name}.{os.getpid()}{UNFINISHED}")
    with _in_plain_words(path, "written"):
        try:
            _fill_and_sync(unfinished, fill)
            if check is not None:
                check(unfinished)
            _replace(unfinished, path)
        finally:
            with suppress(OSError):
                unfinished.unlink()
    sync_folder(path.parent)


def write_bytes(path: Path, data: bytes, check: Callable[[Path], None] | None = None) -> None:
    """Write a whole file of bytes; as `replace_file`."""

    def fill(file: BinaryIO) -> None:
        file.write(data)

    replace_file(path, fill, check)


def write_text(path: Path, text: str) -> None:
    """Write a whole text file in UTF-8, line ends as they are in the text; as `replace_file`."""
    write_bytes(path, text.encode("utf-8", "backslashreplace"))


def write_together(texts: Mapping[Path, str], before_each: Callable[[int], None]) -> None:
    """Write whole text files in UTF-8, none of which takes its place before all of them are written and synced.

    before_each is told how many are written; what it raises stops the writing, and then nothing of it is left.

    Raises:
        Unavailable: the disk says no.
    """
    unfinished = {path: path.with_name(f"{path.name}.{os.getpid()}{UNFINISHED}") for path in texts}
    try:
        for number, (path, text) in enumerate(texts.items()):
            before_each(number)
            data = text.encode("utf-8", "backslashreplace")
            with _in_plain_words(path, "written"):
                _fill_and_sync(unfinished[path], lambda file, data=data: _put(file, data))  # type: ignore[misc]
        for path, place in unfinished.items():
            with _in_plain_words(path, "written"):
                _replace(place, path)
    finally:
        for place in unfinished.values():
            with suppress(OSError):
                place.unlink()
    for folder in {path.parent for path in texts}:
        sync_folder(folder)


def _put(file: BinaryIO, data: bytes) -> None:
    file.write(data)


def copy_file(source: Path, target: Path, check: Callable[[Path], None] | None = None) -> None:
    """Copy a whole file; as `replace_file`."""

    def fill(file: BinaryIO) -> None:
        with open_for_reading(source) as original:
            while piece := original.read(1 << 20):
                file.write(piece)

    replace_file(target, fill, check)


def keep_as(path: Path, target: Path) -> None:
    """Give a file that is about to be replaced a second name (a copy where the file system has no links)."""
    unfinished = target.with_name(f"{target.name}.{os.getpid()}{UNFINISHED}")
    try:
        with suppress(FileNotFoundError):
            unfinished.unlink()
        system.link(path, unfinished)
    except OSError:
        copy_file(path, target)
    else:
        rename(unfinished, target)


def rename(path: Path, target: Path) -> None:
    """Move a file onto another name of the same folder in one step."""
    with _in_plain_words(path, "renamed"):
        _replace(path, target)
    sync_folder(target.parent)


def remove(path: Path) -> None:
    """Remove a file that may have gone already."""
    with _in_plain_words(path, "removed"), suppress(FileNotFoundError):
        system.remove(path)


def remove_unfinished(folder: Path) -> None:
    """Remove what writers that were killed have left in a folder; what cannot be removed stays."""
    for path in folder.glob(f"*{UNFINISHED}"):
        with suppress(OSError):
            system.remove(path)


def remove_empty_folder(path: Path) -> None:
    """Remove a folder that may have gone already; one that holds anything stays."""
    with suppress(OSError):
        system.remove_folder(path)


def make_folder(path: Path) -> None:
    """Make a folder, with those above it; one that exists is fine."""
    if path.is_dir():
        return
    with _in_plain_words(path, "made"):
        system.make_folder(path)
    sync_folder(path.parent)


def assert_writable(path: Path) -> None:
    """Open a file for writing (making it if needed) and change nothing; Unavailable where that is refused."""
    with _in_plain_words(path, "written"):
        os.close(system.open(path, os.O_RDWR | os.O_CREAT))


def cut(path: Path, size: int) -> None:
    """Cut a file to a size (bytes) and sync it."""
    with _in_plain_words(path, "written"):
        descriptor = system.open(path, os.O_RDWR)
        try:
            system.truncate(descriptor, size)
            system.fsync(descriptor)
        finally:
            os.close(descriptor)


class Appender:
    """A file that only grows. After one refusal it is never written again.

    A failed sync may have lost what was written while later ones succeed, so trying again would lie.
    """

    def __init__(self, path: Path, size: int) -> None:
        """Open a file that must have the stated size (bytes)."""
        self._path = path
        self._size = size
        self.failure = ""
        with _in_plain_words(path, "written"):
            self._descriptor = system.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT)

    def append(self, data: bytes) -> None:
        """Add bytes and sync them; they are on the disk when this returns.

        Raises:
            Unavailable: refused now or before; or another program has changed the file.
        """
        if self.failure:
            raise Unavailable(self.failure)
        try:
            with _in_plain_words(self._path, "written"):
                self._assert_untouched()
                _write_all(self._descriptor, data)
                system.fsync(self._descriptor)
        except Unavailable as problem:
            self.failure = str(problem)
            raise
        self._size += len(data)

    def _assert_untouched(self) -> None:
        state, named = os.fstat(self._descriptor), self._path.stat()
        if state.st_size != self._size or not os.path.samestat(state, named):
            raise Unavailable(f"{self._path} was changed by another program; close the study and open it again.")

    def close(self) -> None:
        """Let go of the file."""
        os.close(self._descriptor)


def open_for_reading(path: Path) -> BinaryIO:
    """The file open for reading; Unavailable where that is refused."""
    with _in_plain_words(path, "read"):
        return path.open("rb")


def read_bytes(path: Path, begin: int = 0) -> bytes:
    """The bytes of a file from a place on; Unavailable where reading is refused."""
    with _in_plain_words(path, "read"), path.open("rb") as file:
        file.seek(begin)
        return file.read()


def size_of(path: Path) -> int | None:
    """Size (bytes) of a file; None where there is no file of that name."""
    with _in_plain_words(path, "read"):
        return path.stat().st_size if path.is_file() else None


def sha256_of(path: Path) -> str:
    """SHA-256 of a file's bytes in hexadecimal; Unavailable where reading is refused."""
    with _in_plain_words(path, "read"), path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
