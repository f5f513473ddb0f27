"""A study small enough to be written, killed and opened again many times: short invented squats."""

import shutil
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np

from phasemark.model.recording import EmgChannel, MovementTrace, Recording, Side, Source
from phasemark.model.study import Study, Trial
from phasemark.session.importing import Arrival, Description, add_recordings
from phasemark.session.marking import Marked, mark, to_mark
from phasemark.session.opening import create_session, open_session
from phasemark.session.session import Session
from phasemark.session.trial_signals import TrialSignals, compute_signals
from phasemark.session.waiting import Mailbox, Outcome
from phasemark.worker import Worker

EMG = (
    EmgChannel("vastus medialis", Fraction(2000), Side.LEFT),
    EmgChannel("rectus femoris", Fraction(1000), unit="uV"),
)
REP_S = 3.0


def recording(reps: int = 3, seed: int = 0, emg: tuple[EmgChannel, ...] = EMG, movement: bool = True) -> Recording:
    """Squats that go down and up by a raised cosine without a pause, with rests of 1 s at both ends."""
    draw = np.random.default_rng(seed)
    length_s = 2 + reps * REP_S
    values = tuple(draw.normal(0, 0.3, round(length_s * c.rate)) for c in emg)
    times = np.arange(round(length_s * 50)) / 50
    inside = (times >= 1) & (times < 1 + reps * REP_S)
    height = np.where(inside, 0.5 + 0.5 * np.cos(2 * np.pi * (times - 1) / REP_S), 1.0)
    traces = (MovementTrace("bar height", Fraction(50), "m"),) if movement else ()
    return Recording(emg, values, traces, (height,) if movement else (), Source(f"invented {seed}.txt", "invented"))


def arrival(seed: int = 0, participant: str = "P01", made: Recording | None = None, **facts: Any) -> Arrival:
    """An invented recording about to be added."""
    return Arrival(Description(participant, exercise="squat", **facts), recording=made or recording(seed=seed))


@dataclass
class Open:
    """A session with the mailbox that its workers deliver to."""

    session: Session
    mailbox: Mailbox
    messages: tuple[str, ...] = ()

    @property
    def study(self) -> Study:
        return self.session.study

    def wait(self, start: Callable[..., object]) -> Any:
        """Start work that takes done and failed, and give what it comes to."""
        outcome: Outcome[Any] = Outcome()
        start(done=outcome.done, failed=outcome.failed)
        return outcome.wait(self.mailbox)

    def add(self, *arrivals: Arrival) -> tuple[Trial, ...]:
        added: tuple[Trial, ...] = self.wait(lambda **back: add_recordings(self.session, arrivals, **back))
        return added

    def mark(self, *, again: bool = False) -> tuple[str, ...]:
        trials = to_mark(self.session, again=again)
        marked: Marked = self.wait(lambda **back: mark(self.session, trials, **back))
        assert marked.problems == ()
        return marked.trials

    def signals(self, trial_id: str = "T001") -> TrialSignals:
        trial = self.study.trial(trial_id)
        return compute_signals(trial, self.session.folder.read_recording(trial.recording), self.study.settings)

    def synced(self) -> None:
        """Wait until every edit is on the disk, and run what is delivered."""
        self.session.worker.ledger.submit(lambda: None).result()
        self.mailbox.run_until(lambda: self.session.unsaved == 0)


def new(path: Path) -> Open:
    """An empty study in a new folder."""
    mailbox = Mailbox()
    return Open(create_session(path, Worker(mailbox.deliver)), mailbox)


def reopened(path: Path, *, write: bool = True) -> Open:
    """A study opened from its folder."""
    mailbox = Mailbox()
    session, messages = open_session(path, Worker(mailbox.deliver), write=write)
    return Open(session, mailbox, messages)


def killed(path: Path, to: Path) -> Path:
    """What a kill at this moment would leave of a study: its files as they are now."""
    (to / "recordings").mkdir(parents=True)
    for file in path.iterdir():
        if file.is_file() and file.suffix != ".lock":
            shutil.copyfile(file, to / file.name)
    return to


def renamed(study: Study, name: str) -> Study:
    """The study under another name, the smallest edit there is."""
    return replace(study, name=name)
