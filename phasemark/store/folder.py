"""The folder of a study: create, open, append to its ledger, save its project file, close."""

from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Self

from phasemark.model.errors import BadCall, Unavailable
from phasemark.model.recording import Recording
from phasemark.model.study import RecordingRef, Study
from phasemark.store import disk, recordings
from phasemark.store.ledger import START, Ledger, cut_torn
from phasemark.store.ledger_lines import Gesture, LedgerPosition, encode
from phasemark.store.lock import Held, StudyLock
from phasemark.store.opening import Loaded, load
from phasemark.store.places import HOLDER, LEDGER, LOCK, PROJECT, RECORDINGS, inside, is_study, study_folder
from phasemark.store.project import set_aside, write_project
from phasemark.store.recordings import StoredRecording
from phasemark.store.replay import founding, normal
from phasemark.store.tables import ResultTable

_OF_NO_ACCOUNT = {LOCK, HOLDER, "Thumbs.db", "desktop.ini"}


class StudyFolder:
    """A study's folder, open. append belongs to one thread at a time, and so do the others among themselves."""

    def __init__(self, path: Path, lock: StudyLock | None, ledger: Ledger | None, read_only: str) -> None:
        """Use create_study or open_study."""
        self.path = path
        self._lock = lock
        self._ledger = ledger
        self._read_only = read_only
        self._known: dict[str, tuple[int, int]] = {}

    @property
    def read_only(self) -> str:
        """Why nothing can be written, as a sentence; '' while it can."""
        failure = self._ledger.failure if self._ledger is not None else ""
        return self._read_only or failure

    @property
    def position(self) -> LedgerPosition | None:
        """The position after the last gesture on the disk; None where the study is read-only from the start."""
        return self._ledger.position if self._ledger is not None else None

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

    def new_recording_id(self, taken: int = 0) -> str:
        """An id for one more recording, `taken` further ones being spoken for."""
        return recordings.new_recording_id(self.path, taken)

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


@dataclass(frozen=True, slots=True)
class Opened:
    """An open study: its value, its results, its folder, what there is to say, why it is read-only ('' if not)."""

    study: Study
    results: ResultTable | None
    folder: StudyFolder
    messages: tuple[str, ...] = ()
    read_only: str = ""


def create_study(path: Path, study: Study) -> Opened:
    """Make the folder of a new study.

    Raises:
        BadCall: there is a study already, or the folder holds other files.
        Unavailable: the disk says no.
    """
    _refuse_occupied(path)
    disk.make_folder(path)
    lock = StudyLock(path)
    lock.acquire()
    try:
        study = normal(study)
        disk.make_folder(path / RECORDINGS)
        data, position = encode(founding(study), START)
        disk.write_bytes(path / LEDGER, data)
        write_project(path, study, None, position)
        folder = StudyFolder(path, lock, Ledger(path, position), "")
    except BaseException:
        lock.release()
        raise
    return Opened(study, None, folder)


def _refuse_occupied(path: Path) -> None:
    if path.exists() and not path.is_dir():
        raise BadCall(f"{path} is a file; name a folder that is new or empty.")
    if not path.exists():
        return
    if is_study(path):
        raise BadCall(f"{path} is a study already; open it, or name another folder.")
    for found in path.iterdir():
        if found.name in _OF_NO_ACCOUNT or found.name.startswith(".") or found.name.endswith(disk.UNFINISHED):
            continue
        if found.name == RECORDINGS and found.is_dir() and not any(found.iterdir()):
            continue
        raise BadCall(f"{path} holds other files ({found.name}); name a folder that is new or empty.")


def open_study(path: Path, *, write: bool = True) -> Opened:
    """Open a study by its folder or its project file.

    It is opened read-only, and says why, where it is open elsewhere, where the folder cannot be written,
    where its ledger is damaged, and where `write` is False. A damaged or missing project file is rebuilt from
    the newest older copy and the ledger; a gesture at the ledger's end that was never finished is cut off.
    What is moved aside is kept under another name and said.

    Raises:
        Unavailable: there is nothing of that name, or it cannot be read.
        BadData: it is no study, of a later schema, or damaged beyond what its files can replace.
    """
    folder = study_folder(path)
    lock, reason, held = (None, f"{folder} was opened for reading only.", False) if not write else _locked(folder)
    try:
        loaded = load(folder)
        if loaded.damage and not reason:
            reason = loaded.damage
        if reason:
            return _reading_only(folder, lock, loaded, reason, quiet=held)
        return _writing(folder, lock, loaded)
    except BaseException:
        if lock is not None:
            lock.release()
        raise


def _locked(folder: Path) -> tuple[StudyLock | None, str, bool]:
    """The lock, or why there is none and whether someone else holds it."""
    lock = StudyLock(folder)
    try:
        lock.acquire()
    except Unavailable as problem:
        held = isinstance(problem, Held)
        return None, str(problem) if held else f"{folder} is read-only: {problem}", held
    return lock, "", False


def _reading_only(folder: Path, lock: StudyLock | None, loaded: Loaded, reason: str, *, quiet: bool) -> Opened:
    messages = []
    if loaded.rebuilt_from:
        messages.append(f"{loaded.why}; what is shown comes from {loaded.rebuilt_from}.")
    if loaded.tail.torn and not quiet:  # with a writer at work the last gesture may be on its way
        messages.append(f"{folder / LEDGER} ends in a gesture that was never finished; it is left out.")
    if lock is not None:
        lock.release()
    return Opened(loaded.study, loaded.results, StudyFolder(folder, None, None, reason), tuple(messages), reason)


def _writing(folder: Path, lock: StudyLock | None, loaded: Loaded) -> Opened:
    try:
        messages = _mended(folder, loaded)
        ledger = Ledger(folder, loaded.position)
    except Unavailable as problem:
        return _reading_only(folder, lock, loaded, f"{folder} is read-only: {problem}", quiet=False)
    return Opened(loaded.study, loaded.results, StudyFolder(folder, lock, ledger, ""), tuple(messages))


def _mended(folder: Path, loaded: Loaded) -> list[str]:
    """What was mended in the folder, as sentences."""
    for place in (folder, folder / RECORDINGS):
        disk.remove_unfinished(place)
    messages = []
    if loaded.tail.torn:
        kept = cut_torn(folder, loaded.tail)
        messages.append(
            f"{folder / LEDGER} ended in a gesture that was never finished; it is left out and kept as {kept.name}."
        )
    if loaded.rebuilt_from:
        kept_project = set_aside(folder)
        write_project(folder, loaded.study, loaded.results, loaded.position)
        said = f"{loaded.why}; {PROJECT} was rebuilt from {loaded.rebuilt_from}"
        said += f" and {LEDGER}" if loaded.rebuilt_from != LEDGER else " (without results: measure again)"
        messages.append(said + (f", and the damaged file is kept as {kept_project.name}." if kept_project else "."))
    return messages
