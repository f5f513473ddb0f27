"""Invented people who do two exercises, in memory: noise whose amplitude is known in each phase and third."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

import numpy as np

from phasemark.model.mark_edits import add_rep
from phasemark.model.marks import LOWERING, RAISING, Boundary, Decision, Marks, Phase
from phasemark.model.normalisation import Approach
from phasemark.model.plan import AgainstLoad, AnalysisPlan, Outcome
from phasemark.model.recording import EmgChannel, Samples
from phasemark.model.settings import Settings
from phasemark.model.study import Exercise, Kind, RecordingRef, Study, Trial
from phasemark.results.facts import ChannelFacts, TrialFacts, facts_under
from phasemark.results.holds import is_hold, measure_hold
from phasemark.results.measure import TrialResults, condition_trial, measure_rep, measure_trial
from phasemark.results.numbers import Numbers
from phasemark.results.robustness.frame import Draws, frame_of
from phasemark.results.robustness.people import Gathering
from phasemark.results.robustness.report import Robustness, robustness_of
from phasemark.results.robustness.trial_values import needs_signals, trial_values
from phasemark.results.robustness.variants import Group, OtherMarks, variants_of
from phasemark.signal.conditioning import Conditioned

RATE = Fraction(2000)
A, B = "squat, heels raised", "squat"
WHEN = Decision("R1", "2026-01-31T12:00:00.000Z", "by plan")
MUSCLES = ("vastus medialis", "biceps femoris", "soleus", "gluteus maximus")
PHASE_S, PAUSE_S, REST_S, MVIC_S = 1.2, 0.3, 0.5, 3.0


@dataclass(frozen=True)
class Lifts:
    """How many of what, and the true amplitude of a muscle on an exercise (share of the reference) in a phase."""

    people: int = 7
    sets: int = 1
    reps: int = 2
    muscles: Sequence[str] = MUSCLES[:2]
    level: Callable[[str, str, str], float] = lambda exercise, muscle, phase: 0.4
    between: float = 0.01
    settings: Settings = field(default_factory=Settings)
    seed: int = 0
    quiet: bool = False


@dataclass(frozen=True)
class Made:
    """A study measured, with the values that its recordings would hold."""

    numbers: Numbers
    values: Mapping[str, tuple[Samples, ...]]


def marks_of(length: int, reps: int, rater: str = "R1", late: int = 0) -> Marks:
    """Reps of a lowering, a pause and a raising phase, in thirds of time that are called by height."""
    marks, phase, pause = Marks(rater, length, thirds_rule="rep"), int(PHASE_S * RATE), int(PAUSE_S * RATE)
    rest = int(REST_S * RATE)
    for rep in range(reps):
        begin = rest + rep * (2 * phase + pause + rest) + late
        again = begin + phase + pause
        marks = add_rep(marks, (_phase(LOWERING, begin, phase), _phase(RAISING, again, phase)))
    return marks


def _phase(name: str, begin: int, length: int) -> Phase:
    third = length // 3
    lines = (Boundary(begin + third), Boundary(begin + 2 * third))
    return Phase(name, Boundary(begin), Boundary(begin + length), lines)


def _values(lifts: Lifts, marks: Marks, exercise: str, bias: float, draw: np.random.Generator) -> tuple[Samples, ...]:
    found = []
    for muscle in lifts.muscles:
        shape = np.full(marks.length, 0.05)
        for rep in marks.reps:
            for own in rep.phases:
                level = lifts.level(exercise, muscle, own.name) + (bias if exercise == A else 0.0)
                shape[own.begin.sample : own.end.sample] = level
        found.append(shape * draw.normal(0, 1, marks.length))
    return tuple(found)


def made(lifts: Lifts) -> Made:
    """The study: of everybody an MVIC of amplitude 1 in each muscle and sets of both exercises; all measured."""
    draw = np.random.default_rng(lifts.seed)
    emg = tuple(EmgChannel(muscle, RATE) for muscle in lifts.muscles)
    length = int((REST_S + lifts.reps * (2 * PHASE_S + PAUSE_S + REST_S)) * RATE)
    trials: list[Trial] = []
    values: dict[str, tuple[Samples, ...]] = {}

    def add(who: str, kind: Kind, exercise: str, own: tuple[Samples, ...], marks: Marks | None) -> None:
        name = f"T{len(trials) + 1:03d}"
        ref = RecordingRef(name, f"recordings/{name}.h5", 1, f"{len(trials):064d}", tuple(map(len, own)), ())
        trial = Trial(name, who, ref, emg, kind=kind, exercise=exercise)
        trials.append(trial if marks is None else trial.with_marks(marks))
        values[name] = own

    for person in range(lifts.people):
        who, bias = f"P{person + 1:02d}", draw.normal(0, lifts.between)
        if lifts.quiet:
            add(who, Kind.QUIET, "", tuple(draw.normal(0, 0.03, int(MVIC_S * RATE)) for _ in emg), None)
        add(who, Kind.MVIC, "MVIC", tuple(draw.normal(0, 1, int(MVIC_S * RATE)) for _ in emg), None)
        for exercise in (A, B):
            for _ in range(lifts.sets):
                marks = marks_of(length, lifts.reps)
                add(who, Kind.TASK, exercise, _values(lifts, marks, exercise, bias, draw), marks)
    study = Study("lifts", tuple(trials), (Exercise(A), Exercise(B)), settings=lifts.settings)
    return measured(study, values)


def measured(study: Study, values: Mapping[str, tuple[Samples, ...]]) -> Made:
    """A study of which every trial has been measured under its settings, without the checks of signal quality."""
    facts, results = {}, {}
    for trial in study.trials:
        conditioned = condition_trial(trial, values[trial.id], study.settings)
        nothing = TrialFacts(trial.id, "", (ChannelFacts(),) * len(trial.emg))
        facts[trial.id] = facts_under(nothing, trial, dict(enumerate(conditioned)), study.settings)
        if trial.kind is Kind.TASK:
            results[trial.id] = _results(study, trial, conditioned)
    return Made(Numbers(study, "R1", results, facts), values)


def _results(study: Study, trial: Trial, conditioned: tuple[Conditioned, ...]) -> TrialResults:
    marks, settings = trial.marks_of("R1"), study.settings
    if is_hold(study, trial):
        return measure_hold(trial, marks, conditioned, settings)
    if settings.normalisation.approach is Approach.TASK_PEAK:  # whose peaks are among the further values
        return measure_trial(trial, marks, conditioned, settings)
    values = [v for rep in marks.reps for v in measure_rep(trial, rep, marks.thirds_rule, conditioned, settings)]
    return TrialResults(trial.id, "R1", "", tuple(values))


def plan(lifts: Lifts, smallest: float = 5.0, **changed: object) -> AnalysisPlan:
    """Both exercises compared in all phases and thirds, the first muscle against the load as the primary."""
    whole = AnalysisPlan(
        "exercise", A, B, Outcome.RMS, tuple(lifts.muscles), tuple(AgainstLoad), ("whole", "lower", "middle", "upper"),
        lifts.muscles[0], AgainstLoad.AGAINST, "whole", smallest, WHEN,
    )  # fmt: skip
    return replace(whole, **changed)  # type: ignore[arg-type]  # fields of a plan


@dataclass(frozen=True)
class Varying:
    """What is varied, and the other marks by key and trial."""

    groups: frozenset[Group] = frozenset(Group)
    draws: Draws = Draws(20)  # noqa: RUF009  frozen
    others: Mapping[str, OtherMarks] = field(default_factory=dict)
    marks: Mapping[str, Mapping[str, Marks]] = field(default_factory=dict)


def varied(made_of: Made, own_plan: AnalysisPlan, how: Varying | None = None, *, back: bool = False) -> Robustness:
    """The plan under its variants, trial by trial, in the order of the study or the other way round."""
    by = how or Varying()
    numbers = made_of.numbers
    variants = variants_of(numbers, own_plan, by.others, by.groups)
    frame = frame_of(numbers, own_plan, variants, draws=by.draws, groups=by.groups)
    gathering = Gathering(frame)
    trials = numbers.study.trials
    for trial in reversed(trials) if back else trials:
        others = {key: own[trial.id] for key, own in by.marks.items() if trial.id in own}
        values = made_of.values[trial.id] if needs_signals(frame, trial) else ()
        gathering.add(trial, trial_values(frame, trial, values, others), others)
    return robustness_of(frame, gathering.people())
