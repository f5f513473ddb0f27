"""Invented people taken through the whole chain, and each number of their exports beside what it should be.

The truth is the expectation of the same statistic: the RMS of a segment, sqrt(mean(a^2)) for the known amplitude a,
its mean amplitude, sqrt(2/pi) mean(a) for Gaussian EMG, times the share that the filters' own response leaves of the
muscle's known spectrum. The marks are the true ones, so that nothing of finding phases is in it.
"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from math import ceil, isfinite, pi, sqrt

import numpy as np

from phasemark.demo import Disturbance, TrialPlan, invent_trial, plan_study
from phasemark.demo.activation import MUSCLES, body_of
from phasemark.demo.efforts import draw_efforts, effort_activation
from phasemark.demo.invent import EMG_RATE, InventedTrial, _happening
from phasemark.demo.shaped_noise import emg_noise, spectrum_shape
from phasemark.model.clock import nearest_sample
from phasemark.model.intervals import Interval, Purpose
from phasemark.model.mark_edits import add_rep
from phasemark.model.marks import LOWERING, RAISING, Boundary, Decision, Marks, Phase
from phasemark.model.recording import EmgChannel, Samples
from phasemark.model.settings import BaselineSettings, FilterSettings, Settings
from phasemark.model.study import Kind, RecordingRef, Study, Trial
from phasemark.results.facts import TrialFacts, noise_rms, trial_facts
from phasemark.results.measure import condition_trial, measure_trial
from phasemark.results.numbers import Numbers
from phasemark.results.rows import segment_rows
from phasemark.results.value_cells import Row
from phasemark.signal.attempts import highest_window
from phasemark.signal.baseline import error_without_noise
from phasemark.signal.conditioning import condition
from phasemark.signal.response import response

WITHIN = 1.96  # errors, 95 % of a Gaussian variable
HERE = Decision("R1", "2026-01-31T12:00:00.000Z", "the true plateau")
Disturbed = bool | Collection[Disturbance]


@dataclass(frozen=True)
class Held:
    """One number of a segment: its value, its stated sampling error and its truth, all in one unit."""

    participant: str
    phase: str
    third: str
    muscle: str
    measure: str
    value: float
    error: float
    truth: float

    @property
    def inside(self) -> bool:
        """Whether the truth lies within 1.96 stated errors of the value."""
        return abs(self.value - self.truth) <= WITHIN * self.error

    @property
    def deviation(self) -> float:
        """How many stated errors the value lies over its truth."""
        return (self.value - self.truth) / self.error


def settings_with(filters: FilterSettings, *, subtract: bool = False) -> Settings:
    """Settings of a study with these filters, the noise taken off or not; all else the defaults."""
    return Settings(filter=filters, baseline=BaselineSettings(subtract))


@cache
def passed(filters: FilterSettings) -> dict[str, float]:
    """By muscle, the share of RMS that filters leave of its spectrum, from their response alone."""
    frequencies = np.arange(0.0, float(EMG_RATE) / 2, 0.1)
    gains = 10 ** (response(filters, EMG_RATE, frequencies) / 10)
    powers = {muscle.name: spectrum_shape(frequencies, *muscle.corners_hz) ** 2 for muscle in MUSCLES}
    return {name: float(np.sqrt((power * gains).sum() / power.sum())) for name, power in powers.items()}


def _sample(time_s: float) -> int:
    return ceil(time_s * float(EMG_RATE) - 1e-6)


def true_marks(invented: InventedTrial, length: int) -> Marks:
    """The complete reps of an invented trial where they truly are."""
    spans = {
        (row.rep, row.phase, row.third): (_sample(row.begin_s), _sample(row.end_s))
        for row in invented.truth
        if row.complete
    }
    marks = Marks("R1", length, phase_rule="the truth", thirds_rule="rep")
    for rep in sorted({key[0] for key in spans}):
        phases = [_phase(spans, rep, name) for name in (LOWERING, RAISING)]
        marks = add_rep(marks, tuple(sorted(phases, key=lambda phase: phase.begin.sample)))
    return marks


def _phase(spans: dict[tuple[int, str, str], tuple[int, int]], rep: int, name: str) -> Phase:
    begin, end = spans[rep, name, "whole"]
    lines = sorted({edge for third in ("lower", "middle", "upper") for edge in spans[rep, name, third]} - {begin, end})
    return Phase(name, Boundary(begin), Boundary(end), (Boundary(lines[0]), Boundary(lines[1])))


def _trial(number: int, plan: TrialPlan, invented: InventedTrial) -> Trial:
    recording = invented.recording
    lengths = tuple(len(values) for values in recording.emg_values)
    heights = tuple(len(values) for values in recording.movement_values)
    ref = RecordingRef(f"R{number}", f"recordings/R{number}.h5", 1, f"{number:064d}", lengths, heights)
    trial = Trial(
        f"T{number:03d}", invented.participant, ref, recording.emg, recording.movement, plan.kind, plan.exercise
    )
    if plan.kind is Kind.TASK:
        return trial.with_marks(true_marks(invented, trial.length))
    return trial


def best_plateau(plan: TrialPlan) -> tuple[int, int]:
    """Samples of the plateau of the effort that reaches the true maximum, 0.1 s shorter at either end."""
    efforts, _ = draw_efforts(plan, plan.stream())
    best = max(efforts, key=lambda effort: effort.share)
    return tuple(nearest_sample(at, EMG_RATE) for at in (best.begin_s + 0.1, best.end_s - 0.1))  # type: ignore[return-value]


def calm_stretch(invented: InventedTrial) -> tuple[int, int]:
    """Samples of the longest stretch of a trial without a swing of a cable, which last 0.9 s; all of it without any."""
    length = len(invented.recording.emg_values[0])
    swings = {_sample(at) for c in invented.contaminations if c.disturbance is Disturbance.ARTEFACT for at in c.times_s}
    edges = [0, *(edge for at in sorted(swings) for edge in (at, min(at + _sample(0.9), length))), length]
    return max(zip(edges[::2], edges[1::2], strict=True), key=lambda calm: calm[1] - calm[0])


@dataclass(frozen=True)
class Person:
    """One invented participant's study, measured, with what was planned for each trial."""

    numbers: Numbers
    plans: dict[str, TrialPlan]


def measured_person(
    plans: Sequence[TrialPlan], disturbed: Disturbed, settings: Settings, *, plateau: bool = False
) -> Person:
    """One participant's trials through the whole chain; with plateau the reference is over the true best plateau.

    The baseline is over a calm stretch of the quiet trial, as a person would place it where a cable swings in it.
    """
    invented = [invent_trial(plan, disturbed) for plan in plans]
    trials = [_trial(number, plan, one) for number, (plan, one) in enumerate(zip(plans, invented, strict=True), 1)]
    trials = [
        replace(trial, intervals=(Interval(Purpose.BASELINE, *calm_stretch(one), HERE),))
        if trial.kind is Kind.QUIET
        else trial
        for trial, one in zip(trials, invented, strict=True)
    ]
    if plateau:
        trials = [
            replace(trial, intervals=(Interval(Purpose.PLATEAU, *best_plateau(plan), HERE),))
            if plan.kind is Kind.MVIC
            else trial
            for trial, plan in zip(trials, plans, strict=True)
        ]
    study = Study("invented", tuple(trials), settings=settings)
    facts: dict[str, TrialFacts] = {}
    results = {}
    for trial, one in sorted(zip(trials, invented, strict=True), key=lambda pair: pair[0].kind is not Kind.QUIET):
        recording = one.recording
        conditioned = condition_trial(trial, recording.emg_values, settings)
        values = (recording.emg_values, recording.movement_values)
        facts[trial.id] = trial_facts(trial, values, conditioned, settings, noise_rms(study, facts, trial))
        if trial.kind is Kind.TASK:
            results[trial.id] = measure_trial(trial, trial.marks_of("R1"), conditioned, settings)
    return Person(Numbers(study, "R1", results, facts), {t.id: p for t, p in zip(trials, plans, strict=True)})


def plans_of(seed: int, number: int, tasks: int = 4) -> tuple[TrialPlan, ...]:
    """The plans of one participant's quiet and MVIC trials and of the first so many task trials."""
    own = [plan for plan in plan_study(seed, number) if plan.participant.number == number]
    return tuple(plan for plan in own if plan.kind is not Kind.TASK or (plan.order or 0) <= tasks)


def true_plateaus(plans: Iterable[TrialPlan], filters: FilterSettings) -> dict[tuple[str, str], float]:
    """By muscle and measure, the expected amplitude (mV) over the true best plateau."""
    shares = passed(filters)
    found: dict[tuple[str, str], float] = {}
    for plan in plans:
        if plan.kind is not Kind.MVIC:
            continue
        begin, end = best_plateau(plan)
        for muscle, level in zip(MUSCLES, _happening(plan, plan.stream()).activation, strict=True):
            if muscle.effort == plan.exercise:
                found |= _expected(muscle.name, level[begin:end], shares)
    return found


def expected_highest(plans: Iterable[TrialPlan], settings: Settings, draws: int) -> dict[tuple[str, str], float]:
    """By muscle and measure, the mean of the highest window (mV) of the same efforts over so many draws of noise."""
    found: dict[tuple[str, str], float] = {}
    for plan in plans:
        if plan.kind is not Kind.MVIC:
            continue
        draw = plan.stream()
        efforts, length_s = draw_efforts(plan, draw)
        times = np.arange(round(length_s * EMG_RATE)) / float(EMG_RATE)
        levels = effort_activation(plan, body_of(plan.seed, plan.participant), efforts, times, draw)
        own = np.random.default_rng([plan.seed, plan.participant.number, 77])
        for muscle, level in zip(MUSCLES, levels, strict=True):
            if muscle.effort != plan.exercise:
                continue
            channel = EmgChannel(muscle.name, EMG_RATE)
            attempts = [
                highest_window(
                    condition(level * emg_noise(len(level), 2000.0, muscle.corners_hz, own), channel, settings.filter),
                    settings.normalisation.window_s,
                )
                for _ in range(draws)
            ]
            found[muscle.name, "rms"] = float(np.mean([a.rms for a in attempts]))
            found[muscle.name, "mean_amplitude"] = float(np.mean([a.mean_amplitude for a in attempts]))
    return found


def _expected(muscle: str, level: Samples, shares: dict[str, float]) -> dict[tuple[str, str], float]:
    return {
        (muscle, "rms"): sqrt(float(np.mean(level**2))) * shares[muscle],
        (muscle, "mean_amplitude"): sqrt(2 / pi) * float(np.mean(level)) * shares[muscle],
    }


def numbers_with_truth(person: Person, references: dict[tuple[str, str], float]) -> list[Held]:
    """Every number with a sampling error in the exported rows of a person, with its truth.

    references: the expected reference (mV) by muscle and measure.
    """
    numbers = person.numbers
    held: list[Held] = []
    filters = numbers.study.settings.filter
    for trial in numbers.study.trials:
        if trial.id not in numbers.results:
            continue
        activation = _happening(person.plans[trial.id], person.plans[trial.id].stream()).activation
        by_muscle = dict(zip((muscle.name for muscle in MUSCLES), activation, strict=True))
        marks = {rep.id: rep for rep in trial.marks_of("R1").reps}
        for row in segment_rows(numbers, trial, {}):
            level = by_muscle[str(row["muscle"])]
            if row["phase"] == "rep without pause":
                pieces = [(p.begin.sample, p.end.sample) for p in marks[int(str(row["rep_id"]))].phases]
                inside = np.concatenate([level[begin:end] for begin, end in pieces])
            else:
                begin, end = (nearest_sample(float(str(row[name])), EMG_RATE) for name in ("begin_s", "end_s"))
                inside = level[begin:end]
            expected = _expected(str(row["muscle"]), inside, passed(filters))
            held += _of_row(row, expected, references, subtract=numbers.study.settings.baseline.subtract)
    return [one for one in held if isfinite(one.value) and isfinite(one.error)]


def _of_row(
    row: Row, expected: dict[tuple[str, str], float], references: dict[tuple[str, str], float], *, subtract: bool
) -> Iterable[Held]:
    muscle = str(row["muscle"])
    about = (str(row["participant"]), str(row["phase"]), str(row["third"]), muscle)
    for measure in ("rms", "mean_amplitude"):
        truth = expected[muscle, measure]
        value, error = float(row[f"{measure}_mV"]), float(row[f"{measure}_sampling_error_mV"])  # type: ignore[arg-type]
        less, noise = row[f"{measure}_less_noise_mV"], row["noise_rms_mV"]
        if subtract and isinstance(less, float) and isfinite(less) and isinstance(noise, float):
            error = less * error_without_noise(value, error / value, noise) if value else error
            value = less
        yield Held(*about, f"{measure}_mV", value, error, truth)
        percent, percent_error = row[f"{measure}_percent"], row[f"{measure}_percent_sampling_error"]
        yield Held(
            *about,
            f"{measure}_percent",
            float(percent),  # type: ignore[arg-type]
            float(percent_error),  # type: ignore[arg-type]
            100 * truth / references[muscle, measure],
        )
