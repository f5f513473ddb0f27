"""A writer killed anywhere: what it had acknowledged is there, and the study opens and is sound."""

import os
import random
import shutil
import subprocess
import sys
import time
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

pytestmark = pytest.mark.slow  # kept out of the fast loop


class Photographing(FaultySystem):
    """Copies the study's folder as a writer killed at each call would leave it; within a write, half-written."""

    def __init__(self, folder: Path, copies: Path) -> None:
        super().__init__()
        self.folder, self.copies = folder, copies
        self.acknowledged: list[int] = []
        self.done = 0

    def _ask(self, call: str) -> None:
        super()._ask(call)
        shutil.copytree(self.folder, self.copies / str(len(self.acknowledged)))
        self.acknowledged.append(self.done)

    def write(self, descriptor: int, data: memoryview) -> int:
        half = os.write(descriptor, data[: len(data) // 2])
        return half + super().write(descriptor, data[half:])


def states(ref_study: Study) -> list[Study]:
    """A study and what it becomes, one gesture after another; the second gesture has many lines."""
    many = moved(moved(moved(ref_study, 560), 570, rater="R2"), 560, trial_id="T001", rater="R2")
    return [ref_study, many, moved(many, 575), moved(many, 580)]


def test_killed_at_every_call_of_the_system_nothing_acknowledged_is_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, copies = tmp_path / "study", tmp_path / "killed"
    with StudyFolder.create(path, Study("x")) as folder:
        ref = folder.write_recording(recording(), "R0001")
        folder.append(gesture("imported", Study("x"), rich_study(ref)))
    steps = states(rich_study(ref))
    system = Photographing(path, copies)
    monkeypatch.setattr(disk, "system", system)
    with StudyFolder.open(path).folder as folder:
        for before, after in pairwise(steps):
            folder.append(gesture("moved", before, after))
            system.done += 1
            folder.save(after, None)
        folder.write_recording(recording(), folder.new_recording_id())
    monkeypatch.undo()
    assert len(system.acknowledged) > 80
    for number, acknowledged in enumerate(system.acknowledged):
        opened = StudyFolder.open(copies / str(number))
        assert opened.read_only == ""
        assert steps.index(opened.study) in (acknowledged, acknowledged + 1)
        opened.folder.append(Gesture("goes on"))
        opened.folder.close()
        assert check(copies / str(number)) == ()
        assert not list((copies / str(number)).rglob("*.unfinished"))


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
