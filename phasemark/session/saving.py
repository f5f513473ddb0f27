"""When what is written: each edit to the ledger at once, the project file after quiet, and all on closing."""

import threading
from collections.abc import Callable
from concurrent.futures import Future

from phasemark.model.errors import PhasemarkError, Unavailable
from phasemark.model.study import Study
from phasemark.session.kept import Kept, result_table
from phasemark.store.folder import StudyFolder
from phasemark.store.ledger_lines import Gesture, LedgerPosition
from phasemark.worker import Worker

QUIET_S = 2.0
LINES_BEFORE_SAVING = 200


class Saving:
    """Keeps the study's files up with its value. snapshot gives the value; tell says what went wrong.

    An edit counts as saved when its line in the ledger is synced. A sync that failed is never tried again: the
    folder is read-only from then on, which is said once.
    """

    def __init__(
        self,
        folder: StudyFolder,
        worker: Worker,
        snapshot: Callable[[], tuple[Study, Kept]],
        tell: Callable[[str], None],
    ) -> None:
        self._folder, self._worker, self._snapshot, self._tell = folder, worker, snapshot, tell
        self._timer: threading.Timer | None = None
        self._lines = 0
        self._dirty = False
        self._ended = False
        self._writing: Future[None] | None = None
        self._failure = ""
        self.unsynced = 0

    def record(self, gesture: Gesture) -> None:
        """Append one gesture to the ledger, on the ledger's thread."""
        self.unsynced += 1
        self._lines += len(gesture.changes)
        self._worker.ledger.submit(self._folder.append, gesture).add_done_callback(self._synced)
        self.save_soon()

    def _synced(self, written: "Future[LedgerPosition]") -> None:
        problem = written.exception()
        if problem is not None and not self._failure:
            self._failure = f"An edit could not be written, and nothing can be changed any more: {problem}"
            self._worker.deliver(lambda: self._tell(self._failure))
        self._worker.deliver(self._after_sync)

    def _after_sync(self) -> None:
        self.unsynced -= 1

    def save_soon(self) -> None:
        """Write the project file after some quiet, or now where enough has gathered."""
        if self._folder.read_only:
            return
        self._dirty = True
        if self._timer is not None:
            self._timer.cancel()
        wait = 0.0 if self._lines >= LINES_BEFORE_SAVING else QUIET_S
        self._timer = threading.Timer(wait, lambda: self._worker.deliver(self._save_in_background))
        self._timer.daemon = True
        self._timer.start()

    def _save_in_background(self) -> None:
        if self._dirty and not self._ended:
            self._write(*self._snapshot()).add_done_callback(
                lambda ended: self._worker.deliver(lambda: self._after_save(ended))
            )

    def _write(self, study: Study, kept: Kept) -> "Future[None]":
        self._dirty, self._lines = False, 0
        synced = self._worker.ledger.submit(self._folder.position)

        def write() -> None:
            # The position is that of the study written: later gestures queue behind it on the ledger's thread.
            self._folder.save(study, result_table(kept), synced.result())

        self._writing = self._worker.disk.submit(write)
        return self._writing

    def _after_save(self, ended: "Future[None]") -> None:
        problem = ended.exception()
        if problem is None:
            return
        self._dirty = True
        if not isinstance(problem, PhasemarkError):
            raise problem
        if not self._failure:
            self._tell(str(problem))

    def save_and_wait(self) -> None:
        """Write the project file and wait for it; raises what went wrong."""
        if self._timer is not None:
            self._timer.cancel()
        if not self._folder.read_only:
            self._write_now(*self._snapshot())

    def _write_now(self, study: Study, kept: Kept) -> None:
        try:
            self._write(study, kept).result()
        except PhasemarkError:
            self._dirty = True
            raise

    def ending(self) -> Callable[[], None]:
        """Take nothing more; what is given waits for the last sync and then writes the project file if need be.

        It may be called on any thread, once, and raises Unavailable where an edit could not be written to the ledger,
        now or before, or the project file could not.
        """
        if self._timer is not None:
            self._timer.cancel()
        self._ended = True
        study, kept = self._snapshot()

        def end() -> None:
            self._worker.ledger.submit(lambda: None).result()
            if self._failure:
                raise Unavailable(self._failure)
            if self._is_dirty() and not self._folder.read_only:
                self._write_now(study, kept)

        return end

    def _is_dirty(self) -> bool:
        """Whether anything is newer than the project file, after a writing under way has ended."""
        return self._dirty or (self._writing is not None and self._writing.exception() is not None)
