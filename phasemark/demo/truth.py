"""What is true of an invented trial: where its phases and thirds begin and end, and the amplitude in each."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby, pairwise

import numpy as np

from phasemark.demo.activation import MUSCLES
from phasemark.demo.bar_path import BarPath, Stretch
from phasemark.demo.efforts import Effort
from phasemark.model.marks import LOWERING
from phasemark.model.recording import Samples, Side

REP = "rep"
WHOLE = "whole"


@dataclass(frozen=True, slots=True)
class TruthRow:
    """One true segment of one muscle: t of its samples is begin_s <= t < end_s; rms_mv is the root of the mean power.

    rep counts the complete repetitions from 1, and is 0 for a phase that the recording cuts off (complete is then
    False). phase is lowering, raising or rep (both with the pause between), in an MVIC trial effort; third is
    whole, lower, middle or upper.
    """

    rep: int
    complete: bool
    phase: str
    third: str
    muscle: str
    side: Side
    begin_s: float
    end_s: float
    rms_mv: float


Span = tuple[str, str, float, float]  # phase, third, begin (s), end (s)


def _phase_spans(stretch: Stretch, length_s: float) -> Iterator[Span]:
    """A phase and its thirds, as far as they lie within the recording; a third never entered is left out."""
    levels = (stretch.low + (stretch.high - stretch.low) * share for share in (1 / 3, 2 / 3))
    lines = sorted(stretch.crossing(level) for level in levels)
    thirds = ("upper", "middle", "lower") if stretch.moving == LOWERING else ("lower", "middle", "upper")
    cut = [min(max(t, 0.0), length_s) for t in (stretch.begin_s, *lines, stretch.end_s)]
    yield stretch.moving.value, WHOLE, cut[0], cut[-1]
    for third, (begin, end) in zip(thirds, pairwise(cut), strict=True):
        if begin < end:
            yield stretch.moving.value, third, begin, end


def _measured(rep: int, complete: bool, span: Span, times: Samples, power: Samples) -> Iterator[TruthRow]:
    phase, third, begin, end = span
    here = slice(*np.searchsorted(times, [begin, end]))
    for row, muscle in enumerate(MUSCLES):
        rms = float(np.sqrt(np.mean(power[row, here])))
        yield TruthRow(rep, complete, phase, third, muscle.name, muscle.side, begin, end, rms)


def task_truth(path: BarPath, times: Samples, activation: Samples) -> tuple[TruthRow, ...]:
    """The true segments of a task trial, from the path of its bar and the amplitude (mV RMS) at times (s)."""
    power = activation**2
    rows: list[TruthRow] = []
    for rep, group in groupby((s for s in path.stretches if s.is_phase), key=lambda s: s.rep):
        phases = list(group)
        for stretch in phases:
            for span in _phase_spans(stretch, path.length_s):
                rows += _measured(rep, rep > 0, span, times, power)
        if rep:
            rows += _measured(rep, True, (REP, WHOLE, phases[0].begin_s, phases[-1].end_s), times, power)
    return tuple(rows)


def effort_truth(
    exercise: str, efforts: tuple[Effort, ...], times: Samples, activation: Samples
) -> tuple[TruthRow, ...]:
    """The plateaus of an MVIC trial, of the muscles it is meant for; rep is the number of the attempt."""
    meant = {muscle.name for muscle in MUSCLES if muscle.effort == exercise}
    power = activation**2
    rows: list[TruthRow] = []
    for number, effort in enumerate(efforts, start=1):
        rows += _measured(number, True, ("effort", WHOLE, effort.begin_s, effort.end_s), times, power)
    return tuple(row for row in rows if row.muscle in meant)
