"""What is compared with what: levels of a factor, and phases paired by their direction against the load."""

from collections.abc import Iterable

from phasemark.model.marks import BURST, LOWERING, RAISING
from phasemark.model.plan import EXERCISE, AgainstLoad
from phasemark.model.study import Kind, Study, Trial
from phasemark.results.segments import HOLD, REP
from phasemark.results.study_conditions import LOAD, SESSION, natural_key, part_of


def level_of(trial: Trial, factor: str) -> str:
    """A trial's level of a factor: 'exercise', 'session', 'load', or one the study names; empty where it has none."""
    return trial.exercise if factor == EXERCISE else part_of(trial, factor)


def tasks(study: Study) -> tuple[Trial, ...]:
    """The trials that a comparison is made from: those of the task that nobody excluded."""
    return tuple(trial for trial in study.trials if trial.kind is Kind.TASK and trial.excluded is None)


def levels(study: Study, factor: str) -> tuple[str, ...]:
    """All levels of a factor among the task trials: exercises as they first appear, others sorted naturally."""
    found = dict.fromkeys(level for trial in tasks(study) if (level := level_of(trial, factor)))
    return tuple(found) if factor == EXERCISE else tuple(sorted(found, key=natural_key))


def factors(study: Study) -> tuple[str, ...]:
    """The factors that have two levels or more among the task trials, the exercise first."""
    names = (EXERCISE, SESSION, LOAD, *(name for name in study.factor_names() if name not in (SESSION, LOAD)))
    return tuple(name for name in names if len(levels(study, name)) > 1)


def between_people(study: Study, factor: str) -> bool:
    """Whether a factor tells participants apart and never trials of one participant, as a group does."""
    seen: dict[str, set[str]] = {}
    for trial in tasks(study):
        seen.setdefault(trial.participant, set()).add(level_of(trial, factor))
    return all(len(found) == 1 for found in seen.values()) and len(set().union(*seen.values(), set())) > 1


def muscles(trials: Iterable[Trial]) -> tuple[str, ...]:
    """All muscles of trials, in the order of their channels."""
    return tuple(dict.fromkeys(channel.muscle for trial in trials for channel in trial.emg))


def paired_phase(study: Study, trial: Trial, phase: str) -> AgainstLoad | None:
    """The phase of a segment by its direction against the load of the trial's exercise; None for pauses and the like.

    A burst (where there is no movement trace) and an isometric hold stand for the whole repetition.
    """
    if phase in (REP, BURST, HOLD):
        return AgainstLoad.REP
    if phase not in (LOWERING, RAISING):
        return None
    against = study.exercise(trial.exercise).against_load
    return AgainstLoad.AGAINST if phase == against else AgainstLoad.WITH
