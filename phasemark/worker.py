"""Work off the caller's thread: one thread for the disk (all h5py), one for the ledger, others that compute.

Threads are enough, because numpy, scipy and h5py let go of the interpreter while they work. Functions given
to the worker take values that nobody changes. What comes back is handed to deliver(callable), which runs it on
the session's own thread: an event of the window, a queue in the commands.
"""

import threading
from collections.abc import Callable, Sequence
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from itertools import count
from typing import Any, Generic, Protocol, TypeVar

from phasemark.model.errors import Cancelled, PhasemarkError

T = TypeVar("T")
Item = TypeVar("Item")
Read = TypeVar("Read")
Deliver = Callable[[Callable[[], None]], None]

# How many recordings may be in memory at a time while a study is worked through.
READ_AHEAD = 3


class Progress(Protocol):
    """Told how far a piece of work is, 0 to 1; raises Cancelled when the user has stopped it."""

    def __call__(self, share: float) -> None:
        """Say how far it is."""


@dataclass(eq=False)
class Job(Generic[T]):
    """One piece of work under way.

    Its callbacks run on the session's thread: done or failed, once; failed also where done was refused (a
    PhasemarkError); neither for work that was superseded or whose worker has been stopped.
    """

    title: str
    done: Callable[[T], None]
    failed: Callable[[BaseException], None]
    progressed: Callable[[float], None]
    finished: bool = False
    share: float = 0.0
    _cancelled: threading.Event = field(default_factory=threading.Event)

    def cancel(self) -> None:
        """Ask the work to stop; it ends with failed(Cancelled) unless it is done before."""
        self._cancelled.set()

    @property
    def cancelled(self) -> bool:
        """Whether it was asked to stop."""
        return self._cancelled.is_set()

    def check(self) -> None:
        """Raise Cancelled if it was asked to stop."""
        if self.cancelled:
            raise Cancelled(f"Stopped: {self.title}.")


class JobChain:
    """Jobs one after the other that are stopped as one."""

    def __init__(self) -> None:
        self._job: Job[Any] | JobChain | None = None
        self._cancelled = False

    def go_on_with(self, job: "Job[Any] | JobChain") -> None:
        """Have this job (or chain of jobs) be the one under way; it is stopped at once where the chain was."""
        self._job = job
        if self._cancelled:
            job.cancel()

    def cancel(self) -> None:
        """Ask the job under way to stop, and each that would follow it."""
        self._cancelled = True
        if self._job is not None:
            self._job.cancel()


def do_apart(deliver: Deliver, work: Callable[[], None], ended: Callable[[BaseException | None], None]) -> None:
    """Do a last piece of work, such as waiting for a worker's threads, on a thread that ends with it.

    ended is then called through deliver, with what was raised or None.
    """

    def run() -> None:
        problem: BaseException | None = None
        try:
            work()
        except BaseException as raised:  # noqa: BLE001  handed on whole to whoever waits
            problem = raised
        deliver(lambda: ended(problem))

    threading.Thread(target=run, name="last work").start()


def _ignore(_: object) -> None:
    """Nobody asked to be told."""


class Worker:
    """Executors, and the way back to the session's thread. Jobs of one slot supersede each other."""

    def __init__(
        self,
        deliver: Deliver,
        *,
        disk: Executor | None = None,
        ledger: Executor | None = None,
        compute: Executor | None = None,
    ) -> None:
        self.deliver = deliver
        self.disk = disk or ThreadPoolExecutor(1, thread_name_prefix="disk")
        self.ledger = ledger or ThreadPoolExecutor(1, thread_name_prefix="ledger")
        self.compute = compute or ThreadPoolExecutor(2, thread_name_prefix="compute")
        self._slots: dict[str, Job[object]] = {}
        self._under_way: set[Job[object]] = set()
        self._stopped = False

    def stop(self) -> None:
        """Ask every job to stop; from now on nothing of any job is delivered, neither done nor failed."""
        self._stopped = True
        for job in self._under_way:
            job.cancel()

    def close(self, *, wait: bool = True) -> None:
        """Stop every job and wait for the threads; without waiting they end by themselves after what they do now."""
        self.stop()
        for executor in (self.disk, self.compute, self.ledger):
            executor.shutdown(wait=wait, cancel_futures=False)

    def run(
        self,
        title: str,
        work: Callable[[Progress], T],
        *,
        on: Executor,
        done: Callable[[T], None] = _ignore,
        failed: Callable[[BaseException], None] = _ignore,
        progressed: Callable[[float], None] = _ignore,
        slot: str = "",
    ) -> Job[T]:
        """Do one piece of work on an executor.

        A job with a slot cancels the one before it in the same slot, whose result is then ignored even if it
        arrives: only the newest of a slot is ever delivered.
        """
        job = Job(title, done, failed, progressed)
        self._begin(job, slot)
        future = on.submit(self._guarded, job, work)
        future.add_done_callback(lambda ended: self.deliver(lambda: self._settle(job, ended, slot)))
        return job

    def run_each(
        self,
        title: str,
        items: Sequence[Item],
        read: Callable[[Item], Read],
        compute: Callable[[Item, Read], T],
        *,
        done: Callable[[list[T]], None] = _ignore,
        failed: Callable[[BaseException], None] = _ignore,
        progressed: Callable[[float], None] = _ignore,
    ) -> Job[list[T]]:
        """Read items one after the other on the disk thread and compute each on another, results in order.

        Reading runs ahead by a few items at most. The first failure stops the rest.
        """
        job: Job[list[T]] = Job(title, done, failed, progressed)
        self._begin(job, "")
        room = threading.Semaphore(READ_AHEAD)
        ended = count(1)

        def one(item: Item, data: Read) -> T:
            try:
                job.check()
                return compute(item, data)
            except BaseException:
                job.cancel()
                raise
            finally:
                room.release()
                self._report(job, next(ended) / len(items))

        def walk(_: Progress) -> list[Future[T]]:
            waiting: list[Future[T]] = []
            try:
                for item in items:
                    room.acquire()
                    if job.cancelled:
                        break
                    waiting.append(self.compute.submit(one, item, read(item)))
            except BaseException:
                job.cancel()
                raise
            return waiting

        self.disk.submit(self._guarded, job, walk).add_done_callback(lambda read: self._deliver_when_all(job, read))
        return job

    def _deliver_when_all(self, job: Job[list[T]], reading: "Future[list[Future[T]]]") -> None:
        problem = reading.exception()
        parts = [] if problem else reading.result()
        left = len(parts)
        lock = threading.Lock()
        outcome: Future[list[T]] = Future()

        def settle() -> None:
            errors = [problem] if problem else [e for e in (f.exception() for f in parts) if e]
            real = [e for e in errors if not isinstance(e, Cancelled)] or errors
            if real:
                outcome.set_exception(real[0])
            elif job.cancelled:
                outcome.set_exception(Cancelled(f"Stopped: {job.title}."))
            else:
                outcome.set_result([f.result() for f in parts])
            self.deliver(lambda: self._settle(job, outcome, ""))

        def one_ended(_: Future[T]) -> None:
            nonlocal left
            with lock:
                left -= 1
                last = left == 0
            if last:
                settle()

        if not parts:
            settle()
        for part in parts:
            part.add_done_callback(one_ended)

    def supersede(self, slot: str) -> None:
        """Give up what is under way in a slot; it is never delivered."""
        job = self._slots.pop(slot, None)
        if job is not None:
            job.cancel()

    def _begin(self, job: Job[T], slot: str) -> None:
        self._under_way.add(job)  # type: ignore[arg-type]  # jobs of any result
        if slot:
            self.supersede(slot)
            self._slots[slot] = job  # type: ignore[assignment]  # as above

    def _guarded(self, job: Job[T], work: Callable[[Progress], Read]) -> Read:
        job.check()

        def progress(share: float) -> None:
            job.check()
            self._report(job, share)

        return work(progress)

    def _report(self, job: Job[T], share: float) -> None:
        def tell() -> None:
            if not job.finished and not job.cancelled and not self._stopped:
                job.share = share
                job.progressed(share)

        self.deliver(tell)

    def _settle(self, job: Job[T], ended: "Future[T]", slot: str) -> None:
        job.finished = True
        self._under_way.discard(job)
        if self._stopped:
            return
        if slot:
            if self._slots.get(slot) is not job:
                return
            del self._slots[slot]
        problem = ended.exception()
        if problem is None:
            try:
                job.done(ended.result())
            except PhasemarkError as refused:  # what was done could not be kept, such as in a study now read-only
                job.failed(refused)
        else:
            job.failed(problem)
