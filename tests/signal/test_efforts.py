"""Several maximum contractions in one recording are told apart, and none is cut."""

from fractions import Fraction

import numpy as np
import pytest

from phasemark.model.recording import EmgChannel
from phasemark.model.settings import FilterSettings
from phasemark.signal.attempts import highest_window
from phasemark.signal.conditioning import Conditioned, condition
from phasemark.signal.efforts import efforts, within

RATE = 1000


def recorded(*levels_and_seconds: tuple[float, float]) -> Conditioned:
    draw = np.random.default_rng(4)
    values = np.concatenate([level * draw.normal(size=round(RATE * s)) for level, s in levels_and_seconds])
    return condition(values, EmgChannel("m", Fraction(RATE)), FilterSettings())


def test_three_efforts_with_rests_are_three_attempts() -> None:
    channel = recorded((0.01, 2), (0.8, 3), (0.01, 5), (1.0, 3), (0.01, 5), (0.9, 3), (0.01, 2))
    found = efforts(channel, 0.5)
    assert [begin // RATE for begin, _ in found] == [0, 7, 15]
    assert found[-1][1] == len(channel.values)
    highest = [highest_window(within(channel, stretch), 0.5) for stretch in found]
    assert [round(a.rms, 1) for a in highest] == [0.8, 1.0, 0.9]
    assert not any(a.at_edge for a in highest)


def test_a_dip_within_an_effort_does_not_part_it() -> None:
    assert len(efforts(recorded((0.01, 1), (1, 1.5), (0.1, 0.4), (1, 1.5), (0.01, 1)), 0.5)) == 1


def test_a_much_weaker_effort_is_none_of_its_own() -> None:
    """Under half of the highest, as a warm-up contraction is; it stays in the stretch of its neighbour."""
    assert len(efforts(recorded((0.01, 1), (0.3, 2), (0.01, 3), (1, 3), (0.01, 1)), 0.5)) == 1


@pytest.mark.parametrize("seconds", [0.1, 0.4])
def test_a_recording_shorter_than_the_window_is_one_stretch(seconds: float) -> None:
    channel = recorded((1, seconds))
    assert efforts(channel, 0.5) == ((0, len(channel.values)),)
