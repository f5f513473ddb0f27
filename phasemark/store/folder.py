"""The folder of a study: create, open, append to its ledger, save its project file, close."""

from pathlib import Path
from types import TracebackType
from typing import NamedTuple, Self

from phasemark.model.errors import Unavailable
from phasemark.model.recording import Recording
from phasemark.model.study import RecordingRef, Study
from phasemark.store import recordings
from phasemark.store.creating import write_new_study
from phasemark.store.ledger import Ledger
from phasemark.store.ledger_lines import Gesture, LedgerPosition
from phasemark.store.lock import Held, StudyLock
from phasemark.store.mending import left_as_they_are, mended
from phasemark.store.opening import Loaded, load
from phasemark.store.places import inside, study_folder
from phasemark.store.project import write_project
from phasemark.store.recordings import StoredRecording
from phasemark.store.tables import ResultTable


class StudyFolder:
    """A study's folder, open. append belongs to one thread; save and the recordings may belong to another."""

    def __init__(
        self,
        path: Path,
        lock: StudyLock | None,
        ledger: Ledger | None,
        read_only: str,
        recording_ids: tuple[str, ...] = (),
    ) -> None:
        """Use create or open."""
        self.path = path
        self._lock = lock
        self._ledger = ledger
        self._read_only = read_only
        self._recordings = recording_ids
        self._known: dict[str, tuple[int, int]] = {}

    @classmethod
    def create(cls, path: Path, study: Study) -> "StudyFolder":
        """Make the folder of a new study and open it.

        Raises:
            BadCall: there is a study already, or the folder holds other files.
            Unavailable: the disk says no.
        """
        lock, position = write_new_study(path, study)
        try:
            return cls(path, lock, Ledger(path, position), "")
        except Unavailable:
            lock.release()
            raise

    @classmethod
    def open(cls, path: Path, *, write: bool = True) -> "Opened":
        """Open a study by its folder or its project file.

        It is opened read-only, and says why, where it is open elsewhere, where the folder cannot be written,
        where its ledger is damaged, and where `write` is False. A damaged or missing project file is rebuilt
        from the newest older copy and the ledger; a gesture at the ledger's end that was never finished is cut
        off. What is moved aside is kept under another name and said.

        Raises:
            Unavailable: there is nothing of that name, or it cannot be read.
            BadData: it is no study, of a later schema, or damaged beyond what its files can replace.
        """
        folder = study_folder(path)
        lock = StudyLock(folder)
        reason, held = _locked(folder, lock) if write else (f"{folder} was opened for reading only.", False)
        try:
            loaded = load(folder)
            reason = reason or loaded.damage
            if not reason:
                messages, ledger, reason = _ready(folder, loaded)
                if ledger is not None:
                    ids = tuple(trial.recording.id for trial in loaded.study.trials)
                    return Opened(loaded.study, loaded.results, cls(folder, lock, ledger, "", ids), messages, "")
        except BaseException:
            lock.release()
            raise
        lock.release()
        messages = left_as_they_are(folder, loaded, held=held)
        return Opened(loaded.study, loaded.results, cls(folder, None, None, reason), messages, reason)

    @property
    def read_only(self) -> str:
        """Why nothing can be written, as a sentence; '' while it can."""
        failure = self._ledger.failure if self._ledger is not None else ""
        return self._read_only or failure

    def position(self) -> LedgerPosition:
        """The position after the last gesture on the disk; raises Unavailable where the study cannot be written."""
        return self._writable().position

    def append(self, gesture: Gesture) -> LedgerPosition:
        """Append a gesture to the ledger; it is on the disk when this returns the position after it.

        Raises:
            Unavailable: the study is read-only, or the disk says no, from when on the study is read-only.
        """
        return self._writable().append(gesture)

    def save(self, study: Study, results: ResultTable | None, position: LedgerPosition | None = None) -> None:
        """Write the project file.

        Args:
            study: the study after all gestures up to the position.
            results: what was measured.
            position: what append returned for the study's last gesture; by default that of the last append.

        Raises:
            Unavailable: read-only, or the disk says no; the old project file stays.
        """
        ledger = self._writable()
        write_project(self.path, study, results, ledger.position if position is None else position)

    def _writable(self) -> Ledger:
        if self._ledger is None or self.read_only:
            raise Unavailable(self.read_only or f"{self.path} is closed.")
        return self._ledger

    def new_recording_id(self) -> str:
        """An id that no file in the folder has, and none of the study's recordings, missing ones included."""
        return recordings.new_recording_id(self.path, self._recordings)

    def write_recording(self, recording: Recording, recording_id: str) -> RecordingRef:
        """Write a recording into the folder; as `recordings.write_recording`."""
        self._writable()
        return recordings.write_recording(self.path, recording, recording_id)

    def read_recording(self, ref: RecordingRef) -> StoredRecording:
        """Read a recording; as `recordings.read_recording`.

        Its SHA-256 is compared at the first reading, and again when size or time of the file have changed.
        """
        before = self._state(ref)
        stored = recordings.read_recording(self.path, ref, whole=before is None or self._known.get(ref.id) != before)
        if before is not None:
            self._known[ref.id] = before
        return stored

    def relocate(self, ref: RecordingRef, file: Path) -> None:
        """Put a missing or changed recording back from another file; as `recordings.relocate`."""
        self._writable()
        recordings.relocate(self.path, ref, file)

    def _state(self, ref: RecordingRef) -> tuple[int, int] | None:
        path = inside(self.path, ref.path)
        try:
            state = path.stat()
        except OSError:
            return None
        return state.st_size, state.st_mtime_ns

    def close(self) -> None:
        """Let go of the study; closing twice is fine."""
        ledger, lock = self._ledger, self._lock
        self._ledger = self._lock = None
        if ledger is not None:
            ledger.close()
        if lock is not None:
            lock.release()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self.close()


def _locked(folder: Path, lock: StudyLock) -> tuple[str, bool]:
    """Why the lock cannot be had ('' if it is), and whether someone else holds it."""
    try:
        lock.acquire()
    except Held as problem:
        return str(problem), True
    except Unavailable as problem:
        return f"{folder} is read-only: {problem}", False
    return "", False


def _ready(folder: Path, loaded: Loaded) -> tuple[tuple[str, ...], Ledger | None, str]:
    """What was mended, and the ledger ready for appending, or None and why not."""
    try:
        return mended(folder, loaded), Ledger(folder, loaded.position), ""
    except Unavailable as problem:
        return (), None, f"{folder} is read-only: {problem}"


class Opened(NamedTuple):
    """An open study: its value, its results, its folder, what there is to say, why it is read-only ('' if not)."""

    study: Study
    results: ResultTable | None
    folder: StudyFolder
    messages: tuple[str, ...]
    read_only: str
