"""Who does what in the invented study, and in which trial which disturbance lies. Everything here is made up.

Rules that hang on the number of a participant repeat after twelve, so that a study of any size can be asked for.
Every trial draws from a random stream of its own: its numbers do not depend on which trials were made before it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

import numpy as np

from phasemark.model.study import Kind, Load

DEMO_NAME = "Squat heels"
FLAT = "squat heels flat"
RAISED = "squat heels raised"
SETS = 2
TASK_REPS = 8
TOUCH_AND_GO = "touch-and-go"
PAUSED = "paused"
_TABLE = 12
_TRAITS = 0


class Disturbance(StrEnum):
    """What can lie over an EMG signal without coming from the muscle."""

    NOISE = "electrode noise"
    OFFSET = "offset"
    DRIFT = "drift"
    HUM = "power-line interference"
    ARTEFACT = "movement artefact"
    HEART = "ECG contamination"
    DROPOUT = "dropout"


@dataclass(frozen=True, slots=True)
class Contamination:
    """One disturbance of one channel: its size in mV (a dropout has its length in s), and when where it is short.

    The size is the RMS of noise and hum, the value of an offset, the highest deviation of the others.
    """

    disturbance: Disturbance
    muscle: str
    size: float
    times_s: tuple[float, ...] = ()


class Upset(StrEnum):
    """What is unusual about the movement of a task trial."""

    FALSE_START = "false start"
    REDUCED = "reduced range"
    SLOW = "one slow repetition"
    FAST = "one fast repetition"
    OPENS_MOVING = "begins in mid-movement"
    CLOSES_MOVING = "ends in mid-movement"


@dataclass(frozen=True, slots=True)
class Participant:
    """One invented participant: code, place in the plan, style of turning around, load, units of the recordings."""

    number: int
    turnaround: str
    experience: str
    load: Load
    emg_unit: str
    height_unit: str
    flat_first: bool

    @property
    def code(self) -> str:
        """The participant's code ('P01')."""
        return f"P{self.number:02d}"

    @property
    def row(self) -> int:
        """Place in the table of twelve, from 1."""
        return (self.number - 1) % _TABLE + 1


@dataclass(frozen=True, slots=True)
class TrialPlan:
    """What is to be recorded: who, what, in which place, and what is unusual about it."""

    seed: int
    participant: Participant
    kind: Kind
    exercise: str
    set: int = 1
    order: int | None = None
    attempts: int = 0
    upsets: tuple[Upset, ...] = ()

    def stream(self, purpose: int = 0) -> np.random.Generator:
        """The trial's own stream of random numbers; another purpose has another stream."""
        words = [self.seed, self.participant.number, *self.exercise.encode(), self.set, purpose]
        return np.random.default_rng(words)


def traits_stream(seed: int, participant: Participant) -> np.random.Generator:
    """The stream for what is the same in all trials of a participant."""
    return np.random.default_rng([seed, participant.number, _TRAITS])


# Which of a participant's four task trials (by order) has which upset, by the row of the table.
_UPSETS: dict[tuple[int, int], tuple[Upset, ...]] = {
    (1, 2): (Upset.REDUCED,),
    (2, 1): (Upset.FALSE_START,),
    (3, 3): (Upset.OPENS_MOVING,),
    (4, 2): (Upset.SLOW, Upset.FALSE_START),
    (5, 4): (Upset.CLOSES_MOVING,),
    (6, 1): (Upset.FAST,),
    (6, 3): (Upset.REDUCED,),
    (8, 4): (Upset.OPENS_MOVING, Upset.CLOSES_MOVING),
    (9, 2): (Upset.SLOW, Upset.FAST),
    (10, 1): (Upset.FALSE_START, Upset.REDUCED),
    (11, 3): (Upset.CLOSES_MOVING,),
    (12, 4): (Upset.REDUCED, Upset.SLOW),
}
_MVIC = ("MVIC knee extension", "MVIC knee flexion", "MVIC trunk extension")


def _participant(number: int) -> Participant:
    row = (number - 1) % _TABLE + 1
    return Participant(
        number=number,
        turnaround=TOUCH_AND_GO if row in (1, 2, 5, 6, 9, 10) else PAUSED,
        experience="trained" if row in (1, 3, 4, 6, 7, 10, 12) else "novice",
        load=Load(Decimal(40) + Decimal("2.5") * (number * 7 % 17), "kg"),
        emg_unit="uV" if row == 5 else "mV",
        height_unit="cm" if row == 7 else "m",
        flat_first=number % 2 == 1,
    )


def _attempts(row: int) -> int:
    return 1 if row == 7 else 3 if row % 4 == 0 else 2


def _plan_participant(seed: int, person: Participant) -> Iterator[TrialPlan]:
    yield TrialPlan(seed, person, Kind.QUIET, "quiet lying")
    for effort in _MVIC:
        yield TrialPlan(seed, person, Kind.MVIC, effort, attempts=_attempts(person.row))
    exercises = (FLAT, RAISED) if person.flat_first else (RAISED, FLAT)
    for order in range(1, 2 * SETS + 1):
        exercise, set_number = exercises[(order - 1) // SETS], (order - 1) % SETS + 1
        upsets = _UPSETS.get((person.row, order), ())
        yield TrialPlan(seed, person, Kind.TASK, exercise, set_number, order, upsets=upsets)


def plan_study(seed: int, participants: int) -> tuple[TrialPlan, ...]:
    """The trials of the whole study, participant by participant as they would be recorded."""
    people = (_participant(number) for number in range(1, participants + 1))
    return tuple(plan for person in people for plan in _plan_participant(seed, person))
