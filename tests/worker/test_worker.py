"""Work off the caller's thread: what is delivered, in which order, on which thread, and what is not."""

import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phasemark.model.errors import BadData, Cancelled, Unavailable
from phasemark.session.waiting import Mailbox
from phasemark.worker import READ_AHEAD, Job, Progress, Worker

PATIENCE_S = 10.0


class AtOnce(Executor):
    """An executor that runs work where it is handed over, so that tests need no waiting."""

    def submit(self, fn: Callable[..., object], /, *args: object, **kwargs: object) -> "Future[object]":  # type: ignore[override]
        future: Future[object] = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except BaseException as problem:  # noqa: BLE001  a future carries whatever was raised
            future.set_exception(problem)
        return future


class Told:
    """What callbacks were called with, and on which thread."""

    def __init__(self) -> None:
        self.results: list[object] = []
        self.problems: list[BaseException] = []
        self.shares: list[float] = []
        self.threads: set[int] = set()

    def done(self, result: object) -> None:
        self.threads.add(threading.get_ident())
        self.results.append(result)

    def failed(self, problem: BaseException) -> None:
        self.threads.add(threading.get_ident())
        self.problems.append(problem)

    def progressed(self, share: float) -> None:
        self.threads.add(threading.get_ident())
        self.shares.append(share)

    @property
    def over(self) -> bool:
        return bool(self.results or self.problems)

    @property
    def back(self) -> dict[str, Callable[..., None]]:
        return {"done": self.done, "failed": self.failed, "progressed": self.progressed}


@pytest.fixture
def mailbox() -> Mailbox:
    return Mailbox()


@pytest.fixture
def worker(mailbox: Mailbox) -> Iterator[Worker]:
    made = Worker(mailbox.deliver)
    yield made
    made.close()


def _settle(worker: Worker, mailbox: Mailbox) -> None:
    """Run all that was delivered until nothing more can come."""
    ends = []
    for executor in (worker.disk, worker.compute, worker.compute, worker.ledger):
        executor.submit(lambda: mailbox.deliver(lambda: ends.append(1)))
    mailbox.run_until(lambda: len(ends) == 4)


def _wait(told: Told, mailbox: Mailbox) -> None:
    timer = threading.Timer(PATIENCE_S, lambda: mailbox.deliver(lambda: told.problems.append(TimeoutError())))
    timer.daemon = True
    timer.start()
    mailbox.run_until(lambda: told.over)
    timer.cancel()
    timer.join()


def test_result_arrives_on_the_callers_thread_and_work_runs_on_another(worker: Worker, mailbox: Mailbox) -> None:
    told = Told()

    def work(progress: Progress) -> int:
        progress(0.5)
        return threading.get_ident()

    job = worker.run("thinking", work, on=worker.compute, **told.back)
    _wait(told, mailbox)
    assert told.threads == {threading.get_ident()}
    assert told.results != [threading.get_ident()]
    assert (told.shares, job.share, job.finished) == ([0.5], 0.5, True)


def test_failure_arrives_as_what_was_raised(worker: Worker, mailbox: Mailbox) -> None:
    told = Told()

    def work(_: Progress) -> None:
        raise ZeroDivisionError("by zero")

    worker.run("dividing", work, on=worker.disk, **told.back)
    _wait(told, mailbox)
    assert not told.results
    assert isinstance(told.problems[0], ZeroDivisionError)


def test_cancelled_work_stops_at_its_next_word_of_progress(worker: Worker, mailbox: Mailbox) -> None:
    told, begun, go = Told(), threading.Event(), threading.Event()
    reached = []

    def work(progress: Progress) -> None:
        begun.set()
        go.wait(PATIENCE_S)
        progress(0.5)
        reached.append("past the stop")

    job = worker.run("reading", work, on=worker.disk, **told.back)
    begun.wait(PATIENCE_S)
    job.cancel()
    go.set()
    _wait(told, mailbox)
    assert isinstance(told.problems[0], Cancelled)
    assert str(told.problems[0]) == "Stopped: reading."
    assert (reached, told.shares) == ([], [])


def test_work_cancelled_before_it_begins_never_runs(worker: Worker, mailbox: Mailbox) -> None:
    told, go = Told(), threading.Event()
    ran = []
    worker.run("first", lambda _: go.wait(PATIENCE_S), on=worker.disk)
    worker.run("second", ran.append, on=worker.disk, **told.back).cancel()
    go.set()
    _wait(told, mailbox)
    assert isinstance(told.problems[0], Cancelled)
    assert not ran


def test_newest_of_a_slot_alone_is_delivered(worker: Worker, mailbox: Mailbox) -> None:
    """Ten are asked for while the first still works; the first is done all the same, and nobody hears of it."""
    go = threading.Event()
    all_told = [Told() for _ in range(10)]
    jobs = [
        worker.run(f"{n}", lambda _, n=n: go.wait(PATIENCE_S) and n, on=worker.disk, slot="view", **told.back)
        for n, told in enumerate(all_told)
    ]
    go.set()
    _wait(all_told[-1], mailbox)
    _settle(worker, mailbox)
    assert [told.results for told in all_told] == [[]] * 9 + [[9]]
    assert not any(told.problems for told in all_told)
    assert [job.cancelled for job in jobs] == [True] * 9 + [False]


def test_slots_do_not_disturb_each_other_nor_jobs_without_one(worker: Worker, mailbox: Mailbox) -> None:
    all_told = [Told() for _ in range(4)]
    for told, slot in zip(all_told, ("a", "b", "", ""), strict=True):
        worker.run(slot, lambda _, s=slot: s, on=worker.compute, slot=slot, **told.back)
    _settle(worker, mailbox)
    assert [told.results for told in all_told] == [["a"], ["b"], [""], [""]]


def test_slot_given_up_is_never_delivered(worker: Worker, mailbox: Mailbox) -> None:
    told, go = Told(), threading.Event()
    worker.run("view", lambda _: go.wait(PATIENCE_S), on=worker.disk, slot="view", **told.back)
    worker.supersede("view")
    worker.supersede("view")
    go.set()
    _settle(worker, mailbox)
    assert not told.over


def test_done_that_is_refused_is_told_as_a_failure(worker: Worker, mailbox: Mailbox) -> None:
    """Such as a result for a study that has become read-only meanwhile."""
    told = Told()

    def refuse(_: object) -> None:
        raise Unavailable("The study is read-only.")

    worker.run("adding", lambda _: 1, on=worker.disk, done=refuse, failed=told.failed)
    _wait(told, mailbox)
    assert str(told.problems[0]) == "The study is read-only."


def test_results_of_many_come_in_order_whoever_is_first(worker: Worker, mailbox: Mailbox) -> None:
    """Later ones are faster here; progress goes up to 1."""
    told = Told()

    def compute(item: int, data: str) -> str:
        time.sleep(0.02 if item % 2 == 0 else 0)
        return f"{item}{data}"

    worker.run_each("many", range(8), lambda n: "abcdefgh"[n], compute, **told.back)
    _wait(told, mailbox)
    assert told.results == [[f"{n}{c}" for n, c in enumerate("abcdefgh")]]
    assert sorted(told.shares) == [n / 8 for n in range(1, 9)]
    assert told.threads == {threading.get_ident()}


def test_none_of_many_is_done_at_once(worker: Worker, mailbox: Mailbox) -> None:
    told = Told()
    worker.run_each("nothing", [], str, lambda item, data: (item, data), **told.back)
    _wait(told, mailbox)
    assert told.results == [[]]


def test_reading_runs_ahead_by_a_few_items_only(worker: Worker, mailbox: Mailbox) -> None:
    """No more recordings than that are held in memory at a time."""
    told, lock = Told(), threading.Lock()
    held, most = 0, 0

    def read(item: int) -> int:
        nonlocal held, most
        with lock:
            held += 1
            most = max(most, held)
        return item

    def compute(item: int, _: int) -> int:
        nonlocal held
        time.sleep(0.002)
        with lock:
            held -= 1
        return item

    worker.run_each("many", range(30), read, compute, **told.back)
    _wait(told, mailbox)
    assert told.results == [list(range(30))]
    assert 1 < most <= READ_AHEAD + 1


def test_failure_of_one_stops_the_rest_and_is_what_is_told(worker: Worker, mailbox: Mailbox) -> None:
    told = Told()
    computed = []

    def compute(item: int, _: int) -> int:
        if item == 3:
            raise BadData("The fourth is damaged.")
        computed.append(item)
        time.sleep(0.01)
        return item

    worker.run_each("many", range(200), lambda n: n, compute, **told.back)
    _wait(told, mailbox)
    assert [str(problem) for problem in told.problems] == ["The fourth is damaged."]
    assert len(computed) < 20


def test_reading_that_fails_while_others_compute_neither_hangs_nor_hides(worker: Worker, mailbox: Mailbox) -> None:
    """The sentence is that of the reading, and the threads are free again afterwards."""
    told, again, go = Told(), Told(), threading.Event()

    def read(item: int) -> int:
        if item == READ_AHEAD - 1:
            go.set()
            raise Unavailable("The third is missing.")
        return item

    worker.run_each("many", range(50), read, lambda item, _: go.wait(PATIENCE_S) and item, **told.back)
    _wait(told, mailbox)
    assert [str(problem) for problem in told.problems] == ["The third is missing."]
    worker.run_each("again", range(5), lambda n: n, lambda item, _: item, **again.back)
    _wait(again, mailbox)
    assert again.results == [[0, 1, 2, 3, 4]]
    assert not told.results


def test_many_cancelled_in_the_middle_end_as_stopped(worker: Worker, mailbox: Mailbox) -> None:
    told = Told()
    jobs: list[Job[list[int]]] = []

    def compute(item: int, _: int) -> int:
        if item == 5:
            jobs[0].cancel()
        return item

    read: list[int] = []
    ready = threading.Event()

    def reading(item: int) -> int:
        ready.wait(PATIENCE_S)
        read.append(item)
        return item

    jobs.append(worker.run_each("many", range(500), reading, compute, **told.back))
    ready.set()
    _wait(told, mailbox)
    assert isinstance(told.problems[0], Cancelled)
    assert len(read) < 5 + 2 * READ_AHEAD + 4


def test_closing_stops_what_is_under_way_and_delivers_nothing_more(mailbox: Mailbox) -> None:
    """Jobs without a slot and jobs of many are stopped too; their callbacks would find the study closed."""
    worker, begun, told = Worker(mailbox.deliver), threading.Event(), Told()
    reached = []

    def endless(progress: Progress) -> None:
        begun.set()
        while True:
            progress(0.1)
            time.sleep(0.001)

    worker.run("long", endless, on=worker.compute, **told.back)
    worker.run_each("many", range(10**6), lambda n: n, lambda n, _: reached.append(n), **told.back)
    begun.wait(PATIENCE_S)
    started = time.monotonic()
    worker.close()
    assert time.monotonic() - started < PATIENCE_S / 2
    after = len(reached)
    finished: list[int] = []
    mailbox.deliver(lambda: finished.append(1))
    mailbox.run_until(lambda: bool(finished))
    assert not told.over
    assert len(reached) == after


@given(st.lists(st.integers(), max_size=12), st.integers(0, 14))
def test_with_executors_that_run_at_once_it_is_a_plain_loop(items: list[int], bad: int) -> None:
    """The same contract without threads: results in order, or the failure of the one that failed."""
    told = Told()
    worker = Worker(lambda call: call(), disk=AtOnce(), ledger=AtOnce(), compute=AtOnce())

    def compute(item: int, data: int) -> int:
        if data == bad:
            raise BadData("bad")
        return item * 2

    places = iter(range(len(items)))
    worker.run_each("many", items, lambda _: next(places), compute, **told.back)
    if bad < len(items):
        assert [str(problem) for problem in told.problems] == ["bad"]
    else:
        assert told.results == [[item * 2 for item in items]]
