"""Mean EMG curves over 0-100 % of each phase: of each participant over reps, and over participants.

For pictures and for measures of repeatability; amplitudes are computed on the original samples (measure).
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import groupby
from math import isfinite, nan

import numpy as np
from numpy.typing import NDArray

from phasemark.model.clock import Rate, first_sample
from phasemark.model.marks import RAISING, Marks, Phase
from phasemark.model.plan import EXERCISE, AgainstLoad
from phasemark.model.recording import EmgChannel, Samples, Side, Treatment
from phasemark.model.settings import EnvelopeKind
from phasemark.model.study import Trial
from phasemark.results.comparison.cells import MILLIVOLTS, PERCENT
from phasemark.results.comparison.levels import level_of, paired_phase, tasks
from phasemark.results.numbers import Numbers
from phasemark.results.standing import standing
from phasemark.results.study_conditions import natural_key
from phasemark.signal.amplitude import enough
from phasemark.signal.curves import POINTS, ensemble, over_range, over_time


class Over(StrEnum):
    """What 0-100 % are of."""

    TIME = "time"
    RANGE = "range of motion"


@dataclass(frozen=True, slots=True, eq=False)
class RepCurve:
    """The envelope (mV) of one channel (its place) through one phase of one rep, shape (101,), nan where missing."""

    rep: int
    channel: int
    phase: str
    over: Over
    values: Samples


@dataclass(frozen=True, slots=True)
class CurveKey:
    """Whose curve of what: level is that of the factor compared; phase the word, against how it goes with the load."""

    participant: str
    level: str
    muscle: str
    side: Side
    phase: str
    against: AgainstLoad
    over: Over


@dataclass(frozen=True, slots=True, eq=False)
class MeanCurve:
    """Mean and SD (n - 1) at 0, 1, ... 100 %, and how many curves each point rests on; shapes (101,).

    SD is nan under two curves. reps and trials: how many there are in all. The mean over reps is that over the reps of
    each trial and then over trials equally, as in tables; SD, variance ratio and coefficient of variation are those of
    all reps.
    """

    mean: Samples
    sd: Samples
    n: NDArray[np.int64]
    reps: int
    trials: int
    variance_ratio: float
    variation_percent: float


@dataclass(frozen=True, slots=True)
class PeopleKey:
    """A curve over participants: as CurveKey, of nobody."""

    level: str
    muscle: str
    side: Side
    phase: str
    against: AgainstLoad
    over: Over


@dataclass(frozen=True, slots=True, eq=False)
class PeopleCurve:
    """Mean and SD between participants of their mean curves, and how many have a value at each point; shapes (101,)."""

    mean: Samples
    sd: Samples
    n: NDArray[np.int64]
    participants: int


@dataclass(frozen=True, slots=True)
class StudyCurves:
    """All curves of a study: of each participant, over participants; the unit of each muscle.

    A muscle is in percent of the reference where everybody who has curves of it has a reference, else in mV. said:
    sentences that a reader must know. left_out: how many curves of counted reps had under 90 % of their points.
    """

    of: Mapping[CurveKey, MeanCurve]
    people: Mapping[PeopleKey, PeopleCurve]
    units: Mapping[str, str]
    said: tuple[str, ...] = ()
    left_out: int = 0

    def unit(self, muscle: str) -> str:
        """The unit of a muscle's curves."""
        return self.units.get(muscle, MILLIVOLTS)


def phase_curve(values: Samples, heights: Samples | None, *, rising: bool, over: Over) -> Samples:
    """The envelope of a phase at 0, 1, ... 100 % of its time or of its range of motion, shape (101,).

    values and heights (None without a movement trace) have shape (samples,) at the same times.
    """
    if over is Over.TIME:
        return over_time(values)
    if heights is None:
        return np.full(POINTS, nan)
    return over_range(values, heights, rising=rising)


def curves_of_trial(
    trial: Trial, marks: Marks, envelopes: Sequence[Samples], heights_at: Callable[[Samples], Samples] | None
) -> tuple[RepCurve, ...]:
    """The curves of every rep, phase and channel of a trial, over time and over the range of motion.

    envelopes: values (mV) of each channel at its own rate. heights_at gives the height (larger is raised) of the
    movement at places on the recording's clock; None without a movement trace: then there are curves over time only.
    """
    return tuple(
        curve
        for rep in marks.reps
        for phase in rep.phases
        for curve in _curves_of_phase(trial, rep.id, phase, envelopes, heights_at)
    )


def _curves_of_phase(
    trial: Trial,
    rep: int,
    phase: Phase,
    envelopes: Sequence[Samples],
    heights_at: Callable[[Samples], Samples] | None,
) -> Iterable[RepCurve]:
    known: dict[Rate, Samples | None] = {}
    for channel, emg in enumerate(trial.emg):
        rate = emg.rate
        begin, end = (first_sample(edge.sample, trial.clock, rate) for edge in (phase.begin, phase.end))
        values = envelopes[channel][begin:end]
        if rate not in known:
            places = np.multiply(np.arange(begin, end), float(trial.clock / rate), dtype=np.float64)
            known[rate] = None if heights_at is None else heights_at(places)
        heights = known[rate]
        for over in Over:
            if over is Over.TIME or heights is not None:
                cut = None if heights is None else heights[: len(values)]
                curve = phase_curve(values, cut, rising=phase.name == RAISING, over=over)
                yield RepCurve(rep, channel, phase.name, over, curve)


@dataclass(frozen=True, slots=True, eq=False)
class _Counted:
    """The curve of a counted rep, of which it is, and what turns it from mV into percent (nan: nothing known)."""

    key: CurveKey
    trial: str
    values: Samples
    reference: float


def study_curves(
    numbers: Numbers,
    curves: Mapping[str, Sequence[RepCurve]],
    *,
    factor: str = EXERCISE,
    sides: Mapping[tuple[str, Side], Side] | None = None,
) -> StudyCurves:
    """Mean curves of every participant and level of a factor over counted reps, then over participants.

    curves: those of each trial, by its id (`curves_of_trial`). sides: the side that each muscle and side goes under, as
    a comparison has it (`comparison.reading.sides_of`); None: its own. Curves that have under 90 % of their points are
    in no mean, as segments that have under 90 % of their samples. Where the study subtracts the baseline noise, its
    power is taken off the envelopes as it is off the values.
    """
    counted: list[_Counted] = []
    left_out = 0
    for trial in tasks(numbers.study):
        for one in _counted(numbers, trial, curves.get(trial.id, ()), factor, sides or {}):
            if not enough(int(np.count_nonzero(np.isfinite(one.values))), POINTS):
                left_out += 1
            else:
                counted.append(one)
    units, said = _units(counted)
    of = {
        key: _mean_curve([(one.trial, _in_unit(one, units[key.muscle])) for one in group])
        for key, group in _grouped(counted).items()
    }
    return StudyCurves(of, over_people(of), units, said, left_out)


def _counted(
    numbers: Numbers, trial: Trial, curves: Sequence[RepCurve], factor: str, sides: Mapping[tuple[str, Side], Side]
) -> Iterable[_Counted]:
    study, level = numbers.study, level_of(trial, factor)
    marks = trial.marks_of(numbers.rater)
    places, reps = marks.numbers(), {rep.id: rep for rep in marks.reps}
    if not level:
        return
    for channel, group in groupby(sorted(curves, key=lambda c: c.channel), key=lambda c: c.channel):
        emg = trial.emg[channel]
        noise, reference = _scale(numbers, trial, emg)
        for curve in group:
            phase, rep = paired_phase(study, trial, curve.phase), reps.get(curve.rep)
            if phase is None or rep is None:
                continue
            if standing(trial, rep, emg, study.settings.counted, places).counted:
                side = sides.get((emg.muscle, emg.side), emg.side)
                key = CurveKey(trial.participant, level, emg.muscle, side, curve.phase, phase, curve.over)
                yield _Counted(key, trial.id, _less_noise(curve.values, noise), reference)


def _scale(numbers: Numbers, trial: Trial, emg: EmgChannel) -> tuple[float, float]:
    """The noise (mV; nan: nothing is taken off) and the reference (mV; nan: none) that an envelope is set against.

    An envelope of mean amplitude (low-passed, or recorded already rectified) belongs to the reference's mean
    amplitude, one of RMS to its RMS.
    """
    settings = numbers.study.settings
    rms = settings.envelope.kind is EnvelopeKind.MOVING_RMS and emg.treatment is not Treatment.RECTIFIED
    normaliser, noise = numbers.normaliser(trial, emg), numbers.baseline(trial, emg)
    taken = nan if noise is None or not settings.baseline.subtract else noise.rms if rms else noise.mean_amplitude
    reference = nan if normaliser is None else normaliser.rms if rms else normaliser.mean_amplitude
    return taken, reference if reference > 0 else nan


def _less_noise(values: Samples, noise: float) -> Samples:
    """An envelope without the power of the noise (signal.baseline.without_noise, for many)."""
    return values if not isfinite(noise) else np.sqrt(np.maximum(values * values - noise * noise, 0.0))


def _units(counted: Sequence[_Counted]) -> tuple[dict[str, str], tuple[str, ...]]:
    """The unit of each muscle, and what to say where only some have a reference."""
    lacking: dict[str, set[str]] = {}
    everybody: dict[str, set[str]] = {}
    for one in counted:
        everybody.setdefault(one.key.muscle, set()).add(one.key.participant)
        if not isfinite(one.reference):
            lacking.setdefault(one.key.muscle, set()).add(one.key.participant)
    said = tuple(
        f"Curves of {muscle} are in mV, since not all have a reference ({', '.join(sorted(who, key=natural_key))})."
        for muscle, who in lacking.items()
        if who != everybody[muscle]
    )
    return {muscle: MILLIVOLTS if muscle in lacking else PERCENT for muscle in everybody}, said


def _in_unit(one: _Counted, unit: str) -> Samples:
    return one.values if unit == MILLIVOLTS else 100 * one.values / one.reference


def _grouped(counted: Iterable[_Counted]) -> dict[CurveKey, list[_Counted]]:
    found: dict[CurveKey, list[_Counted]] = {}
    for one in counted:
        found.setdefault(one.key, []).append(one)
    return found


def _mean_curve(held: Sequence[tuple[str, Samples]]) -> MeanCurve:
    per_trial: dict[str, list[Samples]] = {}
    for trial, values in held:
        per_trial.setdefault(trial, []).append(values)
    everything = [values for _, values in held]
    _, sd, n = _at_each_point(everything)
    means = [_at_each_point(values)[0] for values in per_trial.values()]
    repeat = ensemble(everything)
    return MeanCurve(
        _at_each_point(means)[0], sd, n, len(held), len(per_trial), repeat.variance_ratio, repeat.variation_percent
    )


def _at_each_point(curves: Sequence[Samples]) -> tuple[Samples, Samples, NDArray[np.int64]]:
    """Mean, SD (n - 1) and number of the curves that are there at each point."""
    held = np.array(curves)
    there = np.isfinite(held)
    n = np.count_nonzero(there, axis=0)
    mean = np.where(n > 0, np.where(there, held, 0.0).sum(axis=0) / np.maximum(n, 1), nan)
    squares = (np.where(there, held - mean, 0.0) ** 2).sum(axis=0)
    return mean, np.where(n > 1, np.sqrt(squares / np.maximum(n - 1, 1)), nan), n


def over_people(of: Mapping[CurveKey, MeanCurve]) -> dict[PeopleKey, PeopleCurve]:
    """Mean and SD between participants of their mean curves."""
    groups: dict[PeopleKey, list[Samples]] = {}
    for key, curve in of.items():
        people = PeopleKey(key.level, key.muscle, key.side, key.phase, key.against, key.over)
        groups.setdefault(people, []).append(curve.mean)
    return {key: PeopleCurve(*_at_each_point(means), len(means)) for key, means in groups.items()}
