"""Studies come in and go out through one door, off the window's thread, while the window stays live."""

from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtCore import QEventLoop, QObject, Signal

from phasemark.model.errors import Cancelled
from phasemark.session.opening import Opening, making, opening
from phasemark.session.session import Session
from phasemark.store.places import PROJECT
from phasemark.worker import Deliver, do_apart

Came = Callable[[Session, tuple[str, ...]], None]
Refused = Callable[[BaseException], None]


class StudyDoor(QObject):
    """One study comes in at a time, and is opened only after those before have gone out: it may be the same.

    waiting says which one is on its way in, '' where none is.
    """

    came = Signal(object, object)  # the session, and the sentences there are to say about it
    refused = Signal(object)  # why a study could not be opened
    failed = Signal(object)  # what went wrong as one was let go of
    changed = Signal()  # waiting, or whether all is at rest

    def __init__(self, deliver: Deliver, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._deliver = deliver
        self._opening: Opening | None = None
        self._begin: Callable[[], Opening] | None = None
        self._leaving = 0
        self._problems: list[BaseException] = []
        self.waiting = ""

    @property
    def at_rest(self) -> bool:
        """Whether nothing is on its way in or out."""
        return not self.waiting and self._leaving == 0

    def open(self, path: Path) -> None:
        """Open a study in place of whatever was on its way in; came or refused tells of it."""
        name = path.parent.name if path.name == PROJECT else path.name
        self._want(name, partial(opening, path), self.came.emit, self.refused.emit)

    def make(self, folder: Path, made: Callable[[], None], refused: Refused) -> None:
        """Make a study; made is called and then came, or refused."""

        def came(session: Session, said: tuple[str, ...]) -> None:
            made()
            self.came.emit(session, said)

        self._want(folder.name, partial(making, folder), came, refused)

    def _want(self, name: str, start: Callable[..., Opening], came: Came, refused: Refused) -> None:
        self.abandon()
        self.waiting = name or "the study"

        def done(session: Session, said: tuple[str, ...]) -> None:
            self._nothing_waits()
            came(session, said)

        def failed(problem: BaseException) -> None:
            self._nothing_waits()
            refused(problem)

        self._begin = lambda: start(self._deliver, done=done, failed=failed)
        self._go_on()

    def _nothing_waits(self) -> None:
        self._opening, self._begin, self.waiting = None, None, ""
        self.changed.emit()

    def _go_on(self) -> None:
        """Begin with the one that waits, once all others have gone out."""
        if self._begin is not None and self._leaving == 0:
            begin, self._begin = self._begin, None
            self._opening = begin()
        self.changed.emit()

    def cancel(self) -> None:
        """Give up what is on its way in, and say so."""
        name = self.waiting
        if name:
            self.abandon()
            self.refused.emit(Cancelled(f"Stopped: opening {name}."))

    def abandon(self) -> None:
        """Give up what is on its way in, and say nothing of it."""
        one = self._opening
        if one is not None:
            self._leaving += 1
            one.abandon(self._gone)
        if self.waiting:
            self._nothing_waits()

    def let_go(self, session: Session) -> None:
        """Close a study that the window has let go of; failed tells what could not be written."""
        self._leaving += 1
        session.close_apart(self._gone)
        self.changed.emit()

    def see_off(self, work: Callable[[], None]) -> None:
        """Do a last piece of work, such as waiting for threads, as part of going out."""
        self._leaving += 1
        do_apart(self._deliver, work, self._gone)
        self.changed.emit()

    def _gone(self, problem: BaseException | None) -> None:
        self._leaving -= 1
        if problem is not None:
            self._problems.append(problem)
            self.failed.emit(problem)
        self._go_on()

    def wait_until_at_rest(self) -> tuple[BaseException, ...]:
        """Come back when nothing is on its way any more, with what went wrong; the window's events go on meanwhile."""
        loop = QEventLoop()
        self._problems.clear()

        def look() -> None:
            if self.at_rest:
                loop.quit()

        self.changed.connect(look)
        if not self.at_rest:
            loop.exec()
        self.changed.disconnect(look)
        return tuple(self._problems)
