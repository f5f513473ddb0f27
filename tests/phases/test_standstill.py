"""A pause is a standstill: slow movements that turn at once have none, and holds have one from 0.2 s."""

import numpy as np
import pytest
from synthetic import Case, Script, Shape, cosine, jerk, recorded

from phasemark.model.marks import Marks, Rep
from phasemark.model.settings import PhaseSettings
from phasemark.phases.marking import mark_trial

SEEDS = range(3)


def turning(seed: int, seconds: float, hold: float, shape: Shape, back: float = 0.0) -> Case:
    """Four reps whose phases last so long, held so long where they turn; noise of 0.1 % of the range."""
    script = Script().hold(2)
    for _ in range(4):
        script.rep(seconds, back or seconds, 50, pause=hold, shape=shape).hold(1.5)
    return recorded(script, np.random.default_rng([seed, 7]), noise=0.05)


def turns(cases: list[Case]) -> tuple[list[bool], list[float]]:
    """Whether each rep has a pause, and the errors (s) of the two boundaries at its turn."""
    paused: list[bool] = []
    errors: list[float] = []
    for case in cases:
        reps: tuple[Rep, ...] = case.marks().reps
        assert len(reps) == 4
        for rep, one, two in zip(reps, case.phases[::2], case.phases[1::2], strict=True):
            end, begin = rep.phases[0].end.sample, rep.phases[1].begin.sample
            paused.append(end != begin)
            errors += [abs(end / float(case.clock) - one.end), abs(begin / float(case.clock) - two.begin)]
    return paused, errors


@pytest.mark.parametrize("shape", [jerk, cosine], ids=["minimum jerk", "raised cosine"])
@pytest.mark.parametrize("seconds", [1, 2, 3, 4])
def test_a_slow_turn_is_no_pause(seconds: float, shape: Shape) -> None:
    """Touch and go with phases of 1 to 4 s: both meet at the turning point, as a person would put it.

    A minimum-jerk movement is slower than 5 % of its peak for 5.94 % of its duration at either end: phases of 4 s
    for 0.48 s around their turn.
    """
    paused, errors = turns([turning(seed, seconds, 0, shape) for seed in SEEDS])
    assert not any(paused)
    assert np.median(errors) < 0.02 * seconds


@pytest.mark.parametrize(("down", "up"), [(4, 1), (1, 4), (3, 2)])
def test_a_turn_between_uneven_phases_is_no_pause(down: float, up: float) -> None:
    """A tempo of 4-0-1-0 and the like: each side is judged by its own phase."""
    paused, errors = turns([turning(seed, down, 0, jerk, up) for seed in SEEDS])
    assert not any(paused)
    assert np.median(errors) < 0.06


@pytest.mark.parametrize("shape", [jerk, cosine], ids=["minimum jerk", "raised cosine"])
@pytest.mark.parametrize("hold", [0.1, 0.15])
@pytest.mark.parametrize("seconds", [1, 2, 3])
def test_a_hold_shorter_than_a_pause_is_none(seconds: float, hold: float, shape: Shape) -> None:
    """Standing still for 0.1 or 0.15 s parts no phases: at most one turn in six is taken for a pause by noise."""
    paused, _ = turns([turning(seed, seconds, hold, shape) for seed in SEEDS])
    assert sum(paused) <= len(paused) / 6


@pytest.mark.parametrize("shape", [jerk, cosine], ids=["minimum jerk", "raised cosine"])
@pytest.mark.parametrize("hold", [0.3, 0.5, 1.0])
@pytest.mark.parametrize("seconds", [1, 2, 3, 4])
def test_a_hold_is_a_pause_with_edges_by_the_speed_rule(seconds: float, hold: float, shape: Shape) -> None:
    """From 0.3 s of standstill on the phases are parted, and begin and end at 5 % of their peak speed.

    Slow raised cosines leave a hold so abruptly that noise hides it: up to a third of their shortest holds are lost.
    """
    paused, errors = turns([turning(seed, seconds, hold, shape) for seed in SEEDS])
    abrupt = shape is cosine and hold == 0.3 and seconds >= 3
    assert sum(paused) >= len(paused) * (2 / 3 if abrupt else 1)
    assert np.median(errors) < 0.02


@pytest.mark.parametrize("share", [0.02, 0.05, 0.10])
def test_whether_there_is_a_pause_does_not_hang_on_the_speed_share(share: float) -> None:
    """A share of 2 to 10 % moves the edges of a pause; it makes no pause of a turn and takes none from a hold."""
    settings = PhaseSettings(speed_share=share)
    for hold, expected in ((0.0, False), (0.5, True)):
        case = turning(0, 2, hold, jerk)
        movement = case.movement()
        marks = mark_trial(movement, settings, case.first_phase, Marks("R1", movement.length))
        assert [rep.phases[0].end != rep.phases[1].begin for rep in marks.reps] == [expected] * 4
    assert "pauses from 0.2 s of standstill" in marks.phase_rule
