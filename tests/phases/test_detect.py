"""Turning points and phases against closed forms and a published recording, and traces that hold no movement."""

from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from synthetic import Case, Script, clean, cosine, jerk, recorded

from phasemark.model.marks import LOWERING, RAISING
from phasemark.model.recording import MovementTrace, Samples
from phasemark.model.settings import PhaseSettings
from phasemark.phases.detect import find_phases
from phasemark.phases.movement import filtered_movement

RATE = Fraction(1000)


def found(values: Samples, rate: Fraction = RATE, settings: PhaseSettings | None = None) -> list[tuple]:
    """Phases as (word, begin s, end s) with the trace's own rate as clock."""
    settings = settings or PhaseSettings()
    movement = filtered_movement(np.asarray(values, float), MovementTrace("h", rate), rate, len(values), settings)
    return [(p.name, p.begin.sample / float(rate), p.end.sample / float(rate)) for p in find_phases(movement, settings)]


def test_raised_cosine_turns_at_half_its_period() -> None:
    """Raised cosine of period 4 s (closed form): phases meet at 2, 4 and 6 s."""
    t = np.arange(8000) / 1000
    phases = found(25 * (1 - np.cos(2 * np.pi * t / 4)))
    assert [name for name, _, _ in phases] == [RAISING, LOWERING, RAISING, LOWERING]
    assert [end for _, _, end in phases[:3]] == pytest.approx([2, 4, 6], abs=0.0015)


@pytest.mark.parametrize(("shape", "lag"), [(cosine, 0.015922), (jerk, 0.059434)])
def test_speed_rule_lag_beside_pauses(shape: object, lag: float) -> None:
    """Beside real pauses a phase begins and ends late and early by the closed-form share of its duration.

    5 % of the peak speed: raised cosine 1.5922 %, minimum jerk 5.9434 % of the duration. The tolerance is what
    a 6 Hz low-pass spreads the raised cosine's corner by.
    """
    values = clean(Script().hold(2).rep(2, 2, 50, pause=1, shape=shape).hold(2), 1000)
    expected = [2 + 2 * lag, 4 - 2 * lag, 5 + 2 * lag, 7 - 2 * lag]
    assert [t for _, begin, end in found(values) for t in (begin, end)] == pytest.approx(expected, abs=0.035)


def test_a_pause_shorter_than_the_setting_is_none() -> None:
    """Both phases meet at the turning point within a pause of 0.1 s; from 0.5 s on they are parted."""
    short = found(clean(Script().hold(1).rep(1, 1, 50, pause=0.05, shape=cosine).hold(1), 1000))
    assert short[0][2] == short[1][1] == pytest.approx(2.025, abs=0.03)
    long = found(clean(Script().hold(1).rep(1, 1, 50, pause=0.5).hold(1), 1000))
    assert long[1][1] - long[0][2] == pytest.approx(0.5 + 2 * 0.0594, abs=0.02)


@pytest.mark.parametrize("column", [1, 2])
@pytest.mark.parametrize("cutoff", [6.0, 8.0])
def test_hand_turned_bar(open_data: Path, column: int, cutoff: float) -> None:
    """Pezzack, Norman and Winter 1977 (J Biomech 10:377-382): three turning points, on the raw and the noisy angle.

    Times: 0.948, 1.778 and 2.091 s within 0.012 s (raw extremes and zero crossings of the raw derivative).
    """
    values = np.loadtxt(open_data / "epos" / "epos.txt")[:, column]
    rate = Fraction(10000, 201)
    settings = PhaseSettings(movement_lowpass_hz=cutoff)
    clock = Fraction(2000)
    movement = filtered_movement(values, MovementTrace("angle", rate, "rad"), clock, 5708, settings)
    phases = find_phases(movement, settings)
    assert [p.name for p in phases] == [RAISING, LOWERING, RAISING, LOWERING]
    assert all(a.end == b.begin for a, b in pairwise(phases))
    turns = [p.end.sample / 2000 for p in phases[:-1]]
    assert turns == pytest.approx([0.948, 1.778, 2.091], abs=0.012)


NOISE = np.random.default_rng(1).normal(0, 1, 6000)


@pytest.mark.parametrize(
    "values",
    [
        np.ones(500),
        np.full(500, np.nan),
        np.array([]),
        np.array([1.0]),
        np.arange(5.0),
        NOISE,
        NOISE + np.linspace(0, 5, 6000),
        np.round(NOISE),
    ],
    ids=["still", "missing", "empty", "one", "five", "noise", "noise and drift", "chatter"],
)
def test_no_movement_no_phases(values: Samples) -> None:
    """Rest, noise, chatter and traces too short to tell hold no phase."""
    assert found(values, Fraction(100)) == []


def test_a_single_step_is_one_phase() -> None:
    """A trace that only goes up once has one phase, and no rep that is complete."""
    case = recorded(Script().hold(2).move(1, 50).hold(2).rep(1, 1, 1), np.random.default_rng(0))
    phases = found(case.values, Fraction(100))
    assert [name for name, _, _ in phases] == [RAISING]


def two_reps(gap: tuple[float, float]) -> Case:
    """Two reps (raising 2-3 and 5-6 s, lowering 3-4 and 6-7 s) with a gap in the trace."""
    case = recorded(Script().hold(2).rep(1, 1, 50).hold(1).rep(1, 1, 50).hold(2), np.random.default_rng(0))
    case.values[round(gap[0] * 100) : round(gap[1] * 100)] = np.nan
    return case


@pytest.mark.parametrize(
    ("gap", "complete", "why"),
    [
        ((2.5, 3.5), 1, "cut off by a gap"),
        ((3.3, 3.7), 2, "missing in the lowering and bridged"),
        ((3.45, 3.55), 2, "missing in the lowering and bridged"),
        ((3.2, 3.95), 1, "only one phase"),
    ],
)
def test_gaps(gap: tuple[float, float], complete: int, why: str) -> None:
    """A gap that may hide a turning point makes no rep; one that is gone through is bridged; both are said."""
    marks = two_reps(gap).marks()
    assert sum(rep.complete for rep in marks.reps) == complete
    assert any(why in text for rep in marks.reps for text in rep.doubts)


def test_a_gap_between_reps_is_no_doubt() -> None:
    """A gap while nothing moves takes no rep away."""
    marks = two_reps((4.2, 4.8)).marks()
    assert [rep.complete for rep in marks.reps] == [True, True]


def test_a_gap_within_a_pause() -> None:
    """A short gap in a level pause leaves the rep complete and raises its doubt; a long one parts it."""
    for gap, complete in ((0.8, 1), (1.6, 0)):
        case = recorded(Script().hold(2).rep(1, 1, 50, pause=2.4).hold(2), np.random.default_rng(0))
        case.values[340 : 340 + round(gap * 100)] = np.nan
        marks = case.marks()
        assert sum(rep.complete for rep in marks.reps) == complete
        assert all(rep.doubt >= 0.5 for rep in marks.reps)


def test_values_of_a_slow_sensor_in_sparse_rows() -> None:
    """A 50 Hz trace written in every 20th of 1000 rows is bridged and gives both reps."""
    slow = clean(Script().hold(2).rep(1, 1, 50).hold(1).rep(1, 1, 50).hold(2), 50)
    rows = np.full(20 * len(slow), np.nan)
    rows[::20] = slow
    assert [name for name, _, _ in found(rows)] == [RAISING, LOWERING] * 2
