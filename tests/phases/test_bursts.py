"""Bursts of an envelope where there is no movement trace."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from phasemark.model.mark_edits import Address, delete_rep, move_boundary
from phasemark.model.marks import BURST, Marks, Origin, Place
from phasemark.model.recording import Samples
from phasemark.model.settings import PhaseSettings, ThirdsRule
from phasemark.phases.bursts import find_bursts, mark_bursts

RATE = Fraction(1000)
SETTINGS = PhaseSettings()


def envelope(bursts: list[tuple[float, float]], seed: int = 0, height: float = 10.0, window: int = 25) -> Samples:
    """Moving RMS (centred, full windows) of noise of SD 1 that rises to `height` in each burst (s); 12 s."""
    rng = np.random.default_rng(seed)
    sd = np.ones(12000)
    for begin, end in bursts:
        sd[round(begin * 1000) : round(end * 1000)] = height
    squares = np.concatenate(([0.0], np.cumsum(rng.normal(0, sd) ** 2)))
    rms = np.sqrt((squares[window:] - squares[:-window]) / window)
    return np.concatenate((np.full(window // 2, np.nan), rms, np.full(window - 1 - window // 2, np.nan)))


@pytest.mark.parametrize("window", [25, 50, 100])
def test_onsets_keep_to_published_accuracy(window: int) -> None:
    """Bonato, D'Alessio and Knaflitz 1998 (IEEE TBME 45:287-299): bias under 10 ms and SD under 15 ms at 20 dB.

    One hundred bursts of noise that begin at known samples, through a moving RMS.
    """
    errors = []
    for seed in range(100):
        ((begin, end),) = find_bursts(envelope([(5, 7)], seed, window=window), RATE, window_s=window / 1000)
        errors += [begin - 5000, 7000 - end]
    assert abs(np.mean(errors)) < 10
    assert np.std(errors) < 15


def test_bursts_are_reps_of_one_phase() -> None:
    """Each burst is a complete rep of one phase called a burst, without lines, on the recording's clock."""
    values = envelope([(2, 3), (5, 6), (8, 9.5)], window=100)
    marks = mark_bursts(values, RATE, Fraction(2000), 24000, SETTINGS, Marks("R1", 24000))
    assert [[p.name for p in rep.phases] for rep in marks.reps] == [[BURST]] * 3
    assert all(rep.complete and rep.phases[0].lines is None for rep in marks.reps)
    assert [rep.begin / 2000 for rep in marks.reps] == pytest.approx([2, 5, 8], abs=0.06)
    assert "bursts of the EMG envelope" in marks.phase_rule


def test_bursts_of_a_muscle_at_rest_are_doubted() -> None:
    """Noise over its quietest stretch is no contraction: every burst in it says how little it stands out."""
    noises = [envelope([], seed, window=100) for seed in range(5)]
    marks = [mark_bursts(noise, RATE, RATE, 12000, SETTINGS, Marks("R1", 12000)) for noise in noises]
    reps = [rep for one in marks for rep in one.reps]
    assert len(reps) > 5
    for rep in reps:
        assert rep.doubt >= 0.5
        assert len(rep.doubts) == 1
        assert rep.doubts[0].startswith("peak of the envelope only 1.")


def test_bursts_that_stand_out_are_not_doubted() -> None:
    """From four times the baseline on, on a clock of another rate."""
    values = envelope([(2, 3), (5, 6), (8, 9.5)], window=100, height=4.0)
    marks = mark_bursts(values, RATE, Fraction(2000), 24000, SETTINGS, Marks("R1", 24000))
    assert [(rep.doubt, rep.doubts) for rep in marks.reps] == [(0.0, ())] * 3


def test_small_bursts_and_short_breaks() -> None:
    """What stays under a quarter of the usual height is no burst; a break of 0.1 s does not part one."""
    values = envelope([(2, 3), (3.2, 4), (6, 7), (9, 10)], window=100)
    values[7500:7700] += 1.2
    assert len(find_bursts(values, RATE)) == 3


def test_rest_and_missing_samples_hold_no_burst() -> None:
    """A missing envelope has no burst, and a gap parts what lies on both sides of it."""
    assert find_bursts(np.full(1000, np.nan), RATE) == ()
    assert find_bursts(np.array([]), RATE) == ()
    values = envelope([(2, 4), (7, 8)], window=100)
    values[2900:3050] = np.nan
    assert len(find_bursts(values, RATE)) == 3


def test_thirds_of_time_and_marking_again() -> None:
    """Thirds of time are placed when asked for; a hand-placed end and a deleted burst stay when marked again."""
    values = envelope([(2, 3), (5, 6), (8, 9.5)], window=100)
    timed = replace(SETTINGS, thirds=ThirdsRule.TIME)
    marks = mark_bursts(values, RATE, RATE, 12000, timed, Marks("R1", 12000))
    assert all(rep.phases[0].lines is not None for rep in marks.reps)
    marks = delete_rep(move_boundary(marks, Address(1, 0, Place.END), 3200), 2)
    after = mark_bursts(values, RATE, RATE, 12000, timed, marks)
    assert [rep.id for rep in after.reps] == [1, 3]
    assert (after.rep(1).end, after.rep(1).phases[0].end.origin) == (3200, Origin.HAND)
