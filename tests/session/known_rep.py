"""A trial whose envelopes are known functions of time, and the figure's inputs made from it without any file."""

from collections.abc import Sequence
from fractions import Fraction

import numpy as np

from phasemark.model.marks import LOWERING, RAISING, Boundary, Marks, Origin, Phase, Rep
from phasemark.model.recording import EmgChannel, MovementTrace, Samples, Side, Up
from phasemark.model.settings import Settings
from phasemark.model.study import RecordingRef, Trial
from phasemark.phases.movement import filtered_movement
from phasemark.phases.thirds import place_all_thirds
from phasemark.results.measure import condition_trial
from phasemark.session.trial_signals import TrialSignals
from phasemark.signal.pyramid import build

RATES = (Fraction(2000), Fraction("1111.11"))
SECONDS = 8
EMG = (EmgChannel("soleus", RATES[0], Side.LEFT), EmgChannel("gluteus medius", RATES[1]))


def height(times: Samples) -> Samples:
    """1 until 1 s, down to 0 at 4 s and up to 1 at 7 s, as raised cosines."""
    inside = (times >= 1) & (times < 7)
    return np.where(inside, 0.5 + 0.5 * np.cos(2 * np.pi * (times - 1) / 6), 1.0)


def known(
    up: Up = Up.LARGER, movement: bool = True, envelopes: Sequence[Samples] | None = None
) -> tuple[Trial, TrialSignals, Settings]:
    """Noise beside a height of 0 to 1 m (or its opposite, in cm, where smaller is raised)."""
    draw = np.random.default_rng(7)
    counts = [int(SECONDS * rate) for rate in RATES]
    values = [draw.normal(0, 0.1, count) for count in counts]
    trace = MovementTrace("bar height", Fraction(100), "m") if up is Up.LARGER else MovementTrace(
        "depth", Fraction(100), "cm", Up.SMALLER)  # fmt: skip
    place = height(np.arange(SECONDS * 100) / 100)
    place = place if up is Up.LARGER else 100 - 100 * place
    traces = (trace,) if movement else ()
    ref = RecordingRef("R1", "", 0, "", tuple(counts), (len(place),) * len(traces))
    trial, settings = Trial("T1", "P1", ref, EMG, traces), Settings()
    moved = filtered_movement(place, trace, trial.clock, trial.length, settings.phases) if movement else None
    drawn = envelopes or [ramp(rate) for rate in RATES]
    signals = TrialSignals(
        trial, tuple(build(v) for v in values), (build(place),) * len(traces), condition_trial(trial, values, settings),
        tuple(build(v) for v in drawn), moved, None if moved is None else build(moved.position),
    )  # fmt: skip
    return trial, signals, settings


def ramp(rate: Fraction) -> Samples:
    """An envelope (mV) of a hundredth of the time in seconds."""
    return np.arange(int(SECONDS * rate)) / float(rate) / 100


def marked(signals: TrialSignals, settings: Settings, *, phases: int = 2) -> Marks:
    """One rep: lowering from 1 to 4 s, raising from 4 to 7 s, with its thirds."""
    both = (Phase(LOWERING, Boundary(2000), Boundary(8000)), Phase(RAISING, Boundary(8000), Boundary(14000)))
    rep = Rep(1, both[:phases], complete=phases == 2)
    return place_all_thirds(Marks("R1", signals.trial.length, (rep,), 2), signals.movement, settings.phases)


def by_hand(phase: Phase, first: int) -> Phase:
    """The phase with its first third line placed by hand."""
    assert phase.lines is not None
    return Phase(phase.name, phase.begin, phase.end, (Boundary(first, Origin.HAND), phase.lines[1]))
