"""Which other analyses a finding is held against: marks, thirds, windows, cut-offs, outcome, noise, exclusions."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

from phasemark.model.errors import BadCall, BadData
from phasemark.model.marks import Marks
from phasemark.model.normalisation import Approach, ReferenceRule
from phasemark.model.plan import AnalysisPlan, Outcome
from phasemark.model.recording import EmgChannel, Treatment
from phasemark.model.settings import CountedReps, CountRule, FilterSettings, Settings
from phasemark.model.study import Kind, Study, Trial
from phasemark.results.comparison.cells import PERCENT
from phasemark.results.comparison.levels import level_of
from phasemark.results.comparison.reading import unit_of
from phasemark.results.numbers import Numbers
from phasemark.results.segments import WHOLE
from phasemark.signal.butterworth import fitting_lowpass
from phasemark.signal.conditioning import check_settings

HIGHPASS_HZ = (10.0, 20.0, 30.0)
LOWPASS_HZ = (400.0, 450.0, 500.0)
WINDOWS_S = (0.25, 0.5, 1.0)
PLATEAUS_S = (0.5, 1.0, 2.0)


class Group(StrEnum):
    """What differs from the analysis as planned."""

    PLANNED = "as planned"
    BOUNDARIES = "boundaries"
    RATER = "rater"
    THIRDS = "thirds"
    WINDOW = "reference"
    FILTER = "filter"
    OUTCOME = "outcome"
    BASELINE = "baseline noise"
    EXCLUSIONS = "exclusions"


class TakenIn(StrEnum):
    """What was left out and a variant takes in."""

    REPS = "excluded repetitions"
    CHANNELS = "excluded channels"
    TRIALS = "excluded trials"
    INCOMPLETE = "incomplete repetitions"


@dataclass(frozen=True, slots=True)
class Variant:
    """One analysis: its settings and outcome, the name of the marks (empty: as they are), and what it takes in."""

    group: Group
    name: str
    settings: Settings
    outcome: Outcome
    marks: str = ""
    taken_in: frozenset[TakenIn] = frozenset()


@dataclass(frozen=True, slots=True)
class OtherMarks:
    """Another set of marks that a caller hands in trial by trial: its key, what it is, and how it is called."""

    key: str
    group: Group
    name: str


@dataclass(frozen=True, slots=True)
class Variants:
    """All analyses, the planned one first; said: what was not varied, and why."""

    all: tuple[Variant, ...]
    said: tuple[str, ...] = ()


def variants_of(
    numbers: Numbers, plan: AnalysisPlan, others: Mapping[str, OtherMarks], groups: frozenset[Group] = frozenset(Group)
) -> Variants:
    """The analyses that differ from a plan in one thing each, of the groups asked for.

    Only what can differ is listed: no baseline without a baseline, no excluded trials where none is, no cut-off that
    a recording's rate cannot hold. others are the marks that can be handed in for single trials. Moved boundaries are
    not among them (boundaries.moved).
    """
    settings, said = numbers.study.settings, list[str]()
    plain = Variant(Group.PLANNED, str(Group.PLANNED), settings, plan.outcome)
    found = [plain]
    found += [
        replace(plain, group=other.group, name=other.name, marks=other.key)
        for other in others.values()
        if other.group is not Group.THIRDS or any(third != WHOLE for third in plan.thirds)
    ]
    if unit_of(numbers, plan).name == PERCENT:
        found += _windows(plain, said)
    found += _filters(plain, _channels(numbers.study, plan), said)
    found += _outcomes(plain, _channels(numbers.study, plan))
    found += _baselines(plain, numbers)
    found += _exclusions(plain, numbers, plan)
    return Variants(tuple(v for v in found if v.group is Group.PLANNED or v.group in groups), tuple(said))


def _channels(study: Study, plan: AnalysisPlan) -> tuple[EmgChannel, ...]:
    """The channels of the plan's muscles in all trials that values or references come from."""
    there = (trial for trial in study.trials if trial.kind not in (Kind.WARM_UP, Kind.OTHER))
    return tuple(dict.fromkeys(c for trial in there for c in trial.emg if c.muscle in plan.muscles))


def _windows(plain: Variant, said: list[str]) -> Iterator[Variant]:
    rules = plain.settings.normalisation
    if rules.approach in (Approach.TASK_PEAK, Approach.TASK_MEAN):
        said.append("The reference is the task's own and has no window of its own that could be varied.")
        return
    plateau = rules.rule is ReferenceRule.PLATEAU
    for length in PLATEAUS_S if plateau else WINDOWS_S:
        if length != (rules.plateau_s if plateau else rules.window_s):
            other = replace(rules, plateau_s=length) if plateau else replace(rules, window_s=length)
            name = f"reference {'plateau' if plateau else 'window'} {1000 * length:g} ms"
            yield replace(plain, group=Group.WINDOW, name=name, settings=replace(plain.settings, normalisation=other))


def _filters(plain: Variant, channels: tuple[EmgChannel, ...], said: list[str]) -> Iterator[Variant]:
    raw = [channel for channel in channels if channel.treatment is Treatment.RAW]
    if not raw:
        return
    own = plain.settings.filter
    for name, field, planned, cutoffs in (
        ("high-pass", "highpass_hz", own.highpass_hz, HIGHPASS_HZ),
        ("low-pass", "lowpass_hz", own.lowpass_hz, _lowpasses(raw, own)),
    ):
        for hz in cutoffs:
            if hz == planned:
                continue
            try:
                settings = with_cutoff(plain.settings, field, hz)
                check_settings(settings, raw)
            except (BadCall, BadData) as why:
                said.append(f"A {name} at {hz:g} Hz is left out: {why}")
                continue
            yield replace(plain, group=Group.FILTER, name=f"{name} {hz:g} Hz", settings=settings)


def _lowpasses(raw: list[EmgChannel], own: FilterSettings) -> tuple[float, ...]:
    """The usual cut-offs that the slowest channel can hold; where it holds none, four fifths of the one planned."""
    slowest = min(channel.rate for channel in raw)
    fitting = tuple(hz for hz in LOWPASS_HZ if hz < slowest / 2)
    if any(hz != own.lowpass_hz for hz in fitting):
        return fitting
    return (float(round(0.8 * (own.lowpass_hz or fitting_lowpass(slowest)))),)


def with_cutoff(settings: Settings, field: str, hz: float) -> Settings:
    """Settings with one cut-off replaced, also in the filters that single muscles have of their own."""
    change = {field: hz}
    muscles = tuple(replace(own, filter=replace(own.filter, **change)) for own in settings.muscle_filters)  # type: ignore[arg-type]
    return replace(settings, filter=replace(settings.filter, **change), muscle_filters=muscles)  # type: ignore[arg-type]


def _outcomes(plain: Variant, channels: tuple[EmgChannel, ...]) -> Iterator[Variant]:
    other = Outcome.MEAN_AMPLITUDE if plain.outcome is Outcome.RMS else Outcome.RMS
    if other is Outcome.MEAN_AMPLITUDE or all(channel.treatment is Treatment.RAW for channel in channels):
        yield replace(plain, group=Group.OUTCOME, name=str(other), outcome=other)


def _baselines(plain: Variant, numbers: Numbers) -> Iterator[Variant]:
    if any(channel.noise is not None for facts in numbers.facts.values() for channel in facts.channels):
        subtract = not plain.settings.baseline.subtract
        settings = replace(plain.settings, baseline=replace(plain.settings.baseline, subtract=subtract))
        name = "baseline noise subtracted" if subtract else "baseline noise not subtracted"
        yield replace(plain, group=Group.BASELINE, name=name, settings=settings)


def _exclusions(plain: Variant, numbers: Numbers, plan: AnalysisPlan) -> Iterator[Variant]:
    """What was left out taken in: kind by kind, then all of it."""
    study = numbers.study
    own = [t for t in study.trials if t.kind is not Kind.TASK or level_of(t, plan.factor) in (plan.a, plan.b)]
    there = frozenset(kind for trial in own for kind in _left_out(trial, trial.marks_of(numbers.rater)))
    every = replace(plain.settings, counted=CountedReps())
    counts_all = plain.settings.counted.rule is CountRule.ALL
    for kind in TakenIn:
        if kind in there:
            settings = every if kind is TakenIn.INCOMPLETE else plain.settings
            name = f"{kind} taken in"
            yield replace(plain, group=Group.EXCLUSIONS, name=name, settings=settings, taken_in=frozenset({kind}))
    if not counts_all:
        yield replace(plain, group=Group.EXCLUSIONS, name="all complete repetitions counted", settings=every)
    if len(there) + (not counts_all) > 1:
        yield replace(
            plain, group=Group.EXCLUSIONS, name="all that was left out taken in", settings=every, taken_in=there
        )


def _left_out(trial: Trial, marks: Marks) -> Iterator[TakenIn]:
    if trial.excluded is not None:
        yield TakenIn.TRIALS
    if trial.excluded_channels or any(rep.excluded_channels for rep in marks.reps):
        yield TakenIn.CHANNELS
    if any(rep.excluded is not None for rep in marks.reps):
        yield TakenIn.REPS
    if trial.kind is Kind.TASK and any(not rep.complete for rep in marks.reps):
        yield TakenIn.INCOMPLETE


def with_taken_in(trial: Trial, marks: Marks, kinds: frozenset[TakenIn]) -> Trial:
    """A trial with these marks, in which what was left out in some ways is not."""
    reps = marks.reps
    if TakenIn.REPS in kinds:
        reps = tuple(replace(rep, excluded=None) for rep in reps)
    if TakenIn.CHANNELS in kinds:
        reps = tuple(replace(rep, excluded_channels=()) for rep in reps)
        trial = replace(trial, excluded_channels=())
    if TakenIn.INCOMPLETE in kinds:
        reps = tuple(replace(rep, complete=True) for rep in reps)
    if TakenIn.TRIALS in kinds:
        trial = replace(trial, excluded=None)
    return trial.with_marks(replace(marks, reps=reps))
