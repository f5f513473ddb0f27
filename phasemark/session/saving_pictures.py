"""Saving pictures that somebody has painted: whole files, off the caller's thread, said in the ledger."""

from collections.abc import Callable, Mapping
from pathlib import Path

from phasemark.session.session import Session
from phasemark.store import disk
from phasemark.worker import Job, Progress


def save_pictures(
    session: Session,
    files: Mapping[Path, bytes],
    *,
    done: Callable[[tuple[Path, ...]], None],
    failed: Callable[[BaseException], None],
) -> Job[tuple[Path, ...]]:
    """Write pictures to files of these names; done gets them. failed gets Unavailable where the disk says no."""

    def on_disk(progress: Progress) -> tuple[Path, ...]:
        for number, (path, data) in enumerate(files.items()):
            progress(number / len(files))
            disk.make_folder(path.parent)
            disk.write_bytes(path, data)
        return tuple(files)

    def said(paths: tuple[Path, ...]) -> None:
        names = ", ".join(path.name for path in paths)
        session.note(f"saved the picture{'' if len(paths) == 1 else 's'} {names}")
        done(paths)

    return session.worker.run("saving pictures", on_disk, on=session.worker.disk, done=said, failed=failed)
