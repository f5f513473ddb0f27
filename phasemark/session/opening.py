"""Opening a study: its files become one live session."""

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from phasemark.model.errors import BadData
from phasemark.model.study import Study
from phasemark.session.kept import Kept, kept_in
from phasemark.session.session import Session
from phasemark.store.folder import StudyFolder
from phasemark.worker import Deliver, Progress, Worker, do_apart

Opened = tuple[Session, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class _Files:
    """What the files of a study hold: all that a session is made from."""

    folder: StudyFolder
    study: Study
    kept: Kept = field(default_factory=Kept)
    messages: tuple[str, ...] = ()


def open_session(path: Path, worker: Worker, *, write: bool = True) -> Opened:
    """Open a study by its folder or its project file; with what there is to say about it.

    A study that cannot be written opens read-only; the session's read_only then says why.

    Raises:
        Unavailable: there is none of that name.
        BadData: it is no study, or damaged beyond what its files can replace.
    """
    return _session(_read(path, write=write), worker)


def create_session(path: Path, worker: Worker) -> Session:
    """Make an empty study, named after its folder, and open it."""
    return _session(_make(path), worker)[0]


class Opening:
    """A study on its way in: its files are read or made on the disk's thread, then it is handed over.

    done gets the session, made on the caller's thread and so belonging to it, and what there is to say; failed gets
    what open_session or create_session would have raised. Neither is called after abandon.
    """

    def __init__(
        self,
        title: str,
        fetch: Callable[[], _Files],
        deliver: Deliver,
        *,
        done: Callable[[Session, tuple[str, ...]], None],
        failed: Callable[[BaseException], None],
    ) -> None:
        """Use opening or making."""
        self._fetch, self._done, self._failed = fetch, done, failed
        self._files: _Files | None = None
        self._worker = Worker(deliver)
        self._worker.run(title, self._get, on=self._worker.disk, done=self._arrived, failed=self._refused)

    def abandon(self, ended: Callable[[BaseException | None], None]) -> None:
        """Hand nothing over; ended is called on the caller's thread once the study is let go of again."""
        self._worker.stop()

        def let_go() -> None:
            self._worker.close()
            if self._files is not None:
                self._files.folder.close()

        do_apart(self._worker.deliver, let_go, ended)

    def _get(self, _: Progress) -> _Files:
        self._files = self._fetch()
        return self._files

    def _arrived(self, files: _Files) -> None:
        self._files = None
        self._done(*_session(files, self._worker))

    def _refused(self, problem: BaseException) -> None:
        self._worker.close(wait=False)
        self._failed(problem)


def opening(
    path: Path,
    deliver: Deliver,
    *,
    done: Callable[[Session, tuple[str, ...]], None],
    failed: Callable[[BaseException], None],
) -> Opening:
    """Open a study as open_session does, without waiting for the disk."""
    return Opening("opening", partial(_read, path), deliver, done=done, failed=failed)


def making(
    path: Path,
    deliver: Deliver,
    *,
    done: Callable[[Session, tuple[str, ...]], None],
    failed: Callable[[BaseException], None],
) -> Opening:
    """Make a study as create_session does, without waiting for the disk."""
    return Opening("making the study", partial(_make, path), deliver, done=done, failed=failed)


def _read(path: Path, *, write: bool = True) -> _Files:
    opened = StudyFolder.open(path, write=write)
    messages = opened.messages
    kept = Kept()
    try:
        kept = kept_in(opened.results)
    except BadData as problem:
        messages = (*messages, str(problem))
    return _Files(opened.folder, opened.study, kept, messages)


def _make(path: Path) -> _Files:
    study = Study(path.resolve().name)
    return _Files(StudyFolder.create(path, study), study)


def _session(files: _Files, worker: Worker) -> Opened:
    return Session(files.folder, files.study, files.kept, worker), files.messages
