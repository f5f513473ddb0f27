"""A writer killed anywhere: what it had acknowledged is there, and the study opens and is sound."""

import os
import random
import signal
import subprocess
import sys
import time
import warnings
from itertools import pairwise
from pathlib import Path

import pytest
from faults import FaultySystem
from making_studies import gesture, moved, recording, rich_study

from phasemark.model.study import Study
from phasemark.store import disk
from phasemark.store.check import check
from phasemark.store.folder import StudyFolder
from phasemark.store.ledger_lines import Gesture

needs_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="kills forked writers")


class Killing(FaultySystem):
    """Ends the process at its n-th call; a write is cut in its middle."""

    def __init__(self, at: int) -> None:
        super().__init__()
        self.at = at

    def _ask(self, call: str) -> None:
        super()._ask(call)
        if len(self.calls) == self.at and call != "write":
            os.kill(os.getpid(), signal.SIGKILL)

    def write(self, descriptor: int, data: memoryview) -> int:
        if len(self.calls) + 1 == self.at:
            os.write(descriptor, data[: len(data) // 2])
            os.kill(os.getpid(), signal.SIGKILL)
        return super().write(descriptor, data)


def states(ref_study: Study) -> list[Study]:
    """A study and what it becomes, one gesture after another; the second gesture has many lines."""
    many = moved(moved(moved(ref_study, 560), 570, rater="R2"), 560, trial_id="T001", rater="R2")
    return [ref_study, many, moved(many, 575), moved(many, 580), moved(many, 585)]


def work(path: Path, acknowledge: int) -> None:
    """Append, save and import; each append that returned is acknowledged by a byte."""
    opened = StudyFolder.open(path)
    steps = states(opened.study)
    for before, after in pairwise(steps):
        opened.folder.append(gesture("moved", before, after))
        os.write(acknowledge, b"+")
        opened.folder.save(after, None)
    opened.folder.write_recording(recording(), opened.folder.new_recording_id())
    os.write(acknowledge, b"r")
    opened.folder.close()


def killed_at(path: Path, call: int) -> bytes:
    """What a forked writer had acknowledged when it was killed at its n-th call."""
    ours, theirs = os.pipe()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # forking beside threads that the child never uses
        child = os.fork()
    if child == 0:
        try:
            os.close(ours)
            disk.system = Killing(call)
            work(path, theirs)
        finally:
            os._exit(0)
    os.close(theirs)
    with os.fdopen(ours, "rb") as pipe:
        acknowledged = pipe.read()
    os.waitpid(child, 0)
    return acknowledged


@needs_fork
def test_killed_at_every_call_of_the_system_nothing_acknowledged_is_lost(tmp_path: Path) -> None:
    call, finished = 0, False
    while not finished:
        call += 1
        path = tmp_path / f"study {call}"
        folder = StudyFolder.create(path, Study("x"))
        ref = folder.write_recording(recording(), "R0001")
        folder.append(gesture("imported", Study("x"), rich_study(ref)))
        folder.close()
        acknowledged = killed_at(path, call)
        finished = acknowledged == b"++++r"
        opened = StudyFolder.open(path)
        assert opened.read_only == ""
        reached = states(rich_study(ref)).index(opened.study)
        assert reached in (acknowledged.count(b"+"), acknowledged.count(b"+") + 1)
        opened.folder.append(Gesture("goes on"))
        opened.folder.close()
        assert check(path) == ()
        assert not list(path.rglob("*.unfinished"))
    assert call > 50


WRITER = """
import sys
from pathlib import Path
sys.path.insert(0, sys.argv[2])
from making_studies import gesture, moved
from phasemark.store.folder import StudyFolder
opened = StudyFolder.open(Path(sys.argv[1]))
study, number = opened.study, int(sys.argv[3])
print("ready", flush=True)
while True:
    number += 1
    after = moved(moved(study, 560 + number % 30), 560 + number % 30, rater="R2")
    opened.folder.append(gesture(f"{number}", study, after))
    print(number, flush=True)
    study = after
    if number % 7 == 0:
        opened.folder.save(study, None)
"""


def test_killed_at_any_moment_nothing_acknowledged_is_lost(tmp_path: Path) -> None:
    """A process of its own, killed from outside again and again while it appends and saves one study."""
    path = tmp_path / "study"
    StudyFolder.create(path, rich_study()).close()
    dice, number = random.Random(2), 0
    for _ in range(6):
        command = [sys.executable, "-c", WRITER, str(path), str(Path(__file__).parent), str(number)]
        writer = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        assert writer.stdout is not None
        assert writer.stdout.readline() == "ready\n"
        time.sleep(dice.uniform(0.0, 0.15))
        writer.kill()
        lines = writer.communicate()[0].splitlines()
        acknowledged = int(lines[-1]) if lines else number
        opened = StudyFolder.open(path)
        assert opened.read_only == ""
        place = opened.study.trial("T001").marks_of("R2").rep(1).end
        ended = [n for n in (acknowledged, acknowledged + 1) if place == 560 + n % 30 or n == 0]
        assert ended
        assert opened.study == moved(opened.study, place)
        number = ended[-1]
        opened.folder.close()
    assert number > 0
