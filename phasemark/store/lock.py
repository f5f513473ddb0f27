"""One writer: a lock beside the project file, with a note of who holds it."""

import os
import socket
from contextlib import suppress
from pathlib import Path

from filelock import BaseFileLock, FileLock, Timeout

from phasemark.model.errors import BadData, Unavailable
from phasemark.store import disk, plain_json
from phasemark.store.places import HOLDER, LOCK, utc_now
from phasemark.store.reasons import sentence


class Held(Unavailable):
    """Another window or command has the study open for writing."""


class StudyLock:
    """The lock of a study, held from acquire to release; the system frees it when the process ends."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._lock: BaseFileLock | None = None

    def acquire(self) -> None:
        """Take the lock and leave a note (computer, process, since when; no login name).

        Raises:
            Held: someone else has it; the sentence says who.
            Unavailable: the folder cannot be written.
        """
        path = self._folder / LOCK
        disk.assert_writable(path)
        # Its permissions are left as they are, so that colleagues may lock it in turn. Not bound to a thread: a
        # study may be closed by another thread than the one that opened it.
        lock = FileLock(path, timeout=0, mode=path.stat().st_mode & 0o777, thread_local=False)
        try:
            lock.acquire()
        except Timeout:
            raise Held(f"{self._folder} is open {_holder(self._folder)}, so it is read-only here.") from None
        except (OSError, NotImplementedError) as problem:
            reason = problem if isinstance(problem, OSError) else OSError(str(problem))
            raise Unavailable(sentence(path, "locked", reason)) from problem
        note = {"host": socket.gethostname(), "process": os.getpid(), "since": utc_now()}
        try:
            disk.write_bytes(self._folder / HOLDER, plain_json.dump(note))
        except Unavailable:
            lock.release()
            raise
        self._lock = lock

    def release(self) -> None:
        """Give the lock back, and the note with it; one that is not held is left alone."""
        if self._lock is None:
            return
        with suppress(Unavailable):  # a note that stays behind says nothing once the lock is free
            disk.remove(self._folder / HOLDER)
        self._lock.release()
        self._lock = None


def _holder(folder: Path) -> str:
    try:
        note = plain_json.load(disk.read_bytes(folder / HOLDER))
        return f"on {note['host']} (process {note['process']}) since {note['since']}"
    except (BadData, Unavailable, KeyError, TypeError):
        return "in another window or command"
