"""Any trace at all gives sound marks, which marking again leaves as they are."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from synthetic import Case

from phasemark.model.marks import LOWERING, Marks
from phasemark.model.recording import MovementTrace, Samples, Up
from phasemark.model.settings import PhaseSettings, ThirdsRule
from phasemark.phases.bursts import mark_bursts
from phasemark.phases.marking import mark_trial

KINDS = ("walk", "noise", "coarse walk", "repeated", "sine", "square")


def trace(kind: str, samples: int, seed: int, missing: float) -> Samples:
    """An unlikely trace: random, periodic or in steps, with a share of its samples missing and one infinite."""
    rng = np.random.default_rng(seed)
    walk = np.cumsum(rng.normal(0, 1, samples))
    values = {
        "walk": walk,
        "noise": rng.normal(0, 1, samples),
        "coarse walk": np.round(walk / 3),
        "repeated": np.repeat(rng.normal(0, 1, samples // 7 + 1), 7)[:samples],
        "sine": np.sin(np.arange(samples) / rng.uniform(1, 40)),
        "square": np.where(rng.random(samples) < 0.5, 0.0, 50.0),
    }[kind].astype(float)
    values[rng.random(samples) < missing] = np.nan
    if samples and missing:
        values[rng.integers(samples)] = np.inf
    return values


@settings(max_examples=150, deadline=None)
@given(
    kind=st.sampled_from(KINDS),
    samples=st.integers(0, 400),
    seed=st.integers(0, 10_000),
    missing=st.sampled_from([0.0, 0.0, 0.02, 0.3]),
    rate=st.sampled_from([5, 25, 100, 1000]),
    low_pass=st.sampled_from([None, 2.0, 6.0]),
    pause_s=st.sampled_from([0.0, 0.2, 1.0]),
    thirds=st.sampled_from([rule for rule in ThirdsRule if rule is not ThirdsRule.FIXED]),
    up=st.sampled_from(Up),
)
def test_marks_of_any_trace(  # noqa: PLR0917 - hypothesis names them
    kind: str,
    samples: int,
    seed: int,
    missing: float,
    rate: int,
    low_pass: float | None,
    pause_s: float,
    thirds: ThirdsRule,
    up: Up,
) -> None:
    """No trace breaks the marks' invariants, doubts stay in 0 to 1, and the second marking is the first."""
    rules = replace(PhaseSettings(), movement_lowpass_hz=low_pass, pause_s=pause_s, thirds=thirds)
    values = trace(kind, samples, seed, missing)
    case = Case(values, MovementTrace("h", Fraction(rate), "", up), [], LOWERING, Fraction(1000), rules)
    movement, marks = case.movement(), case.marks()
    assert mark_trial(movement, rules, LOWERING, marks) == marks
    assert all(0 <= rep.doubt <= 1 for rep in marks.reps)
    envelope = np.where(np.isfinite(values), np.abs(values), np.nan)
    empty = Marks("R1", movement.length)
    bursts = mark_bursts(envelope, Fraction(rate), Fraction(1000), movement.length, rules, empty, window_s=0.1)
    assert all(rep.complete and len(rep.phases) == 1 for rep in bursts.reps)


@pytest.mark.parametrize("length", [0, 1, 2, 3, 9, 10, 11])
def test_very_short_traces(length: int) -> None:
    """A trace of a few samples has no marks and no error."""
    case = Case(np.arange(float(length)), MovementTrace("h", Fraction(100)), [], LOWERING, Fraction(1000))
    assert sum(rep.complete for rep in case.marks().reps) == 0
