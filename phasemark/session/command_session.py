"""A session for one command: opened, waited on, and closed with everything on the disk."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from enum import Enum
from pathlib import Path
from typing import Any, TypeVar

from phasemark.model.errors import BadCall, PhasemarkError, Unavailable
from phasemark.model.study import Study
from phasemark.model.study_edits import with_rater
from phasemark.session.opening import open_session
from phasemark.session.session import Session
from phasemark.session.waiting import Mailbox, Outcome
from phasemark.store.folder import StudyFolder
from phasemark.worker import Worker

T = TypeVar("T")


class Need(Enum):
    """What a command needs a study for."""

    READ = "read"
    WRITE = "write"
    WRITE_IF_POSSIBLE = "write if possible"


class At:
    """An open session of a command, with a way to wait for work."""

    def __init__(self, session: Session, mailbox: Mailbox) -> None:
        self.session = session
        self._mailbox = mailbox

    def wait(self, start: Callable[..., object], progressed: Callable[[float], None]) -> Any:
        """Start work that takes done, failed and progressed, and give what it comes to."""
        outcome: Outcome[Any] = Outcome()
        start(done=outcome.done, failed=outcome.failed, progressed=progressed)
        return outcome.wait(self._mailbox)


def new_study(path: Path) -> Path:
    """Make an empty study; its name is that of its folder."""
    folder = StudyFolder.create(path, Study(path.resolve().name))
    folder.close()
    return folder.path


@contextmanager
def open_for_command(
    study: str | Path, tell: Callable[[str], None], *, need: Need = Need.WRITE, rater: str = "", new_rater: bool = False
) -> Iterator[At]:
    """Open a study for the time of a command; tell gets what opening it has to say.

    Raises:
        Unavailable: it must be written and cannot be (locked, read-only), and why; or what the command did could not
            be written.
        BadCall: the study has no such rater.
    """
    mailbox = Mailbox()
    session, messages = open_session(Path(study), Worker(mailbox.deliver), write=need is not Need.READ)
    try:
        if need is Need.WRITE and session.read_only:
            raise Unavailable(session.read_only)
        for message in (*messages, *([session.read_only] if need is Need.WRITE_IF_POSSIBLE else [])):
            if message:
                tell(message)
        _choose_rater(session, rater, new_rater)
        yield At(session, mailbox)
    except BaseException:
        with suppress(PhasemarkError):  # the first problem is the one to tell
            session.close()
        raise
    session.close()


def _choose_rater(session: Session, rater: str, new_rater: bool) -> None:
    if rater and new_rater:
        session.edit(f"rater {rater}", with_rater(session.study, rater))
    if rater and rater not in session.study.raters:
        raise BadCall(f"There is no rater {rater!r} in this study; its raters are {', '.join(session.study.raters)}.")
    session.rater = rater or session.rater
