"""A small trial with marks and noise, of which the tests of results change one thing at a time."""

from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from phasemark.model.mark_edits import add_rep
from phasemark.model.marks import LOWERING, RAISING, Boundary, Decision, Marks, Phase
from phasemark.model.recording import EmgChannel, MovementTrace, Side
from phasemark.model.settings import Settings
from phasemark.model.study import RecordingRef, Study, Trial
from phasemark.results.measure import TrialResults, condition_trial, measure_trial
from phasemark.results.numbers import Numbers
from phasemark.results.rows import factor_columns, segment_rows
from phasemark.results.value_cells import Row

WHY = Decision("R1", "2026-01-31T12:00:00.000Z", "electrode came off")
EMG = (EmgChannel("vastus medialis", Fraction(2000), Side.LEFT), EmgChannel("rectus femoris", Fraction(1500)))
MOVEMENT = (MovementTrace("bar height", Fraction(100), "m"),)
SECONDS = 14
Values = tuple[NDArray[np.float64], ...]


def noise(seed: int = 0) -> Values:
    """EMG values (mV) of both channels, each at its own rate; the second one ends half a second early."""
    draw = np.random.default_rng(seed)
    return draw.normal(0, 0.2, 2000 * SECONDS), draw.normal(0, 0.1, 1500 * SECONDS - 750)


def phase(name: str, begin: int, end: int, *, lines: tuple[int, int] | None = None) -> Phase:
    """A phase with lines at thirds of its time, or where said."""
    third = (end - begin) // 3
    one, two = lines or (begin + third, begin + 2 * third)
    return Phase(name, Boundary(begin), Boundary(end), (Boundary(one), Boundary(two)))


def marked(trial: Trial, reps: int = 3, rater: str = "R1", late: int = 0) -> Trial:
    """The trial with complete reps of a pause each, from 1 s on at odd samples, and an incomplete one at the end."""
    marks = Marks(rater, trial.length, phase_rule="turning points", thirds_rule="rep")
    for index in range(reps):
        begin = 2001 + 4001 * index + late
        down, up = phase(LOWERING, begin, begin + 1507), phase(RAISING, begin + 1999, begin + 3607)
        marks = add_rep(marks, (down, up))
    last = 2001 + 4001 * reps + late
    return trial.with_marks(add_rep(marks, (phase(LOWERING, last, last + 1003),), complete=False))


def trial(trial_id: str = "T001", values: Values | None = None, **facts: object) -> Trial:
    """A marked task trial of 14 s: EMG at 2000 and 1500 Hz, movement at 100 Hz."""
    lengths = tuple(len(v) for v in values or noise())
    ref = RecordingRef("R0001", "recordings/R0001.h5", 1, "0" * 64, lengths, (100 * SECONDS,))
    made = Trial(trial_id, "P01", ref, EMG, MOVEMENT, exercise="squat")
    return marked(replace(made, **facts))  # type: ignore[arg-type]  # facts are fields of a trial


@dataclass(frozen=True)
class Measured:
    """A study with results for all of its trials."""

    study: Study
    results: dict[str, TrialResults]

    @property
    def numbers(self) -> Numbers:
        """All that its tables are made from."""
        return Numbers(self.study, "R1", self.results)

    @property
    def rows(self) -> list[Row]:
        """The rows of its segments."""
        factors = factor_columns(self.study, ())
        return [row for t in self.study.trials for row in segment_rows(self.numbers, t, factors)]


def measured(*trials: Trial, settings: Settings | None = None) -> Measured:
    """Trials as a study, measured; the n-th one's EMG is drawn from seed n."""
    study = Study("squats", trials, settings=settings or Settings())
    results = {}
    for seed, one in enumerate(trials):
        conditioned = condition_trial(one, noise(seed)[: len(one.emg)], study.settings)
        results[one.id] = measure_trial(one, one.marks_of("R1"), conditioned, study.settings)
    return Measured(study, results)
