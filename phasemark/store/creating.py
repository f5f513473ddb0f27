"""The files of a new study."""

from pathlib import Path

from phasemark.model.errors import BadCall, Unavailable
from phasemark.model.study import Study
from phasemark.store import disk
from phasemark.store.ledger import START
from phasemark.store.ledger_lines import LedgerPosition, encode
from phasemark.store.lock import StudyLock
from phasemark.store.places import HOLDER, LEDGER, LOCK, RECORDINGS, is_study
from phasemark.store.project import write_project
from phasemark.store.reasons import sentence
from phasemark.store.replay import founding, normal

# Left by systems and by makers that were stopped; a folder with nothing else counts as empty.
_OF_NO_ACCOUNT = {LOCK, HOLDER, "Thumbs.db", "desktop.ini"}


def write_new_study(path: Path, study: Study) -> tuple[StudyLock, LedgerPosition]:
    """Make the folder of a new study; its lock, which is held, and the end of its ledger.

    The ledger begins with all parts of the study as it was made, so that it leads to the whole study by itself.

    Raises:
        BadCall: there is a study already, or the folder holds other files.
        Unavailable: the disk says no.
    """
    try:
        _refuse_occupied(path)
    except OSError as problem:
        raise Unavailable(sentence(path, "read", problem)) from problem
    disk.make_folder(path)
    lock = StudyLock(path)
    lock.acquire()
    try:
        study = normal(study)
        disk.make_folder(path / RECORDINGS)
        data, position = encode(founding(study), START)
        disk.write_bytes(path / LEDGER, data)
        write_project(path, study, None, position)
    except BaseException:
        lock.release()
        raise
    return lock, position


def _refuse_occupied(path: Path) -> None:
    if not path.exists():
        return
    if not path.is_dir():
        raise BadCall(f"{path} is a file; name a folder that is new or empty.")
    if is_study(path):
        raise BadCall(f"{path} is a study already; open it, or name another folder.")
    for found in path.iterdir():
        if not _of_no_account(found):
            raise BadCall(f"{path} holds other files ({found.name}); name a folder that is new or empty.")


def _of_no_account(found: Path) -> bool:
    if found.name == RECORDINGS and found.is_dir():
        return not any(found.iterdir())
    return found.name in _OF_NO_ACCOUNT or found.name.startswith(".") or found.name.endswith(disk.UNFINISHED)
