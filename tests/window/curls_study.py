"""A small study on disk for tests of the window: two participants, slow repetitions of an elbow angle."""

from fractions import Fraction
from pathlib import Path

import numpy as np

from phasemark.model.recording import EmgChannel, MovementTrace, Recording, Side, Source
from phasemark.session.command_session import new_study, open_for_command
from phasemark.session.importing import Arrival, Description, add_recordings
from phasemark.session.marking import mark, to_mark

REPS, REP_S, REST_S, RATE, ANGLE_RATE = 3, 3.0, 1.0, 1000, 100


def angle(times: np.ndarray) -> np.ndarray:
    """Raising and lowering as raised cosines of 90 degrees with rests between them."""
    within = np.mod(times, REP_S + REST_S) - REST_S
    moving = (within > 0) & (times < REPS * (REP_S + REST_S))
    return 45.0 * np.where(moving, 1 - np.cos(2 * np.pi * within / REP_S), 0.0)


def recording(seed: int) -> Recording:
    """Noise whose amplitude follows the angle, beside the angle itself."""
    draw = np.random.default_rng(seed)
    duration = REPS * (REP_S + REST_S) + REST_S
    times, angle_times = np.arange(int(duration * RATE)) / RATE, np.arange(int(duration * ANGLE_RATE)) / ANGLE_RATE
    level = 0.01 + angle(times) / 900
    return Recording(
        tuple(EmgChannel(m, Fraction(RATE), Side.RIGHT) for m in ("biceps brachii", "triceps brachii")),
        (level * draw.normal(size=len(times)), 0.3 * level * draw.normal(size=len(times))),
        (MovementTrace("elbow angle", Fraction(ANGLE_RATE), "deg"),),
        (angle(angle_times),),
        Source(f"made {seed}", "invented"),
    )


def make_study(folder: Path) -> Path:
    """Write the study, marked."""
    new_study(folder)
    with open_for_command(folder, print) as at:
        arrivals = [
            Arrival(Description(person, exercise="curl"), recording=recording(seed))
            for seed, person in enumerate(("P01", "P02"))
        ]
        at.wait(lambda **back: add_recordings(at.session, arrivals, **back), lambda _: None)
        at.wait(lambda **back: mark(at.session, to_mark(at.session, again=False), **back), lambda _: None)
    return folder
