"""A command's way to wait: what comes back from workers is run on the command's own thread."""

import queue
from collections.abc import Callable
from typing import Generic, TypeVar

T = TypeVar("T")


class Mailbox:
    """Collects callables from other threads and runs them on the thread that waits."""

    def __init__(self) -> None:
        self._queue: queue.SimpleQueue[Callable[[], None]] = queue.SimpleQueue()

    def deliver(self, call: Callable[[], None]) -> None:
        """Have a callable run by the waiting thread."""
        self._queue.put(call)

    def run_until(self, reached: Callable[[], bool]) -> None:
        """Run what arrives until something is reached."""
        while not reached():
            self._queue.get()()


class Outcome(Generic[T]):
    """What a piece of work comes to: pass done and failed to it, then wait."""

    def __init__(self) -> None:
        self._result: list[T] = []
        self._problem: BaseException | None = None

    def done(self, result: T) -> None:
        """It came to a result."""
        self._result.append(result)

    def failed(self, problem: BaseException) -> None:
        """It came to nothing."""
        self._problem = problem

    def wait(self, mailbox: Mailbox) -> T:
        """The result, or the problem raised here."""
        mailbox.run_until(lambda: bool(self._result) or self._problem is not None)
        if self._problem is not None:
            raise self._problem
        return self._result[0]
