"""A plan formed for the moment, where none was written down beforehand."""

from phasemark.model.errors import BadData
from phasemark.model.marks import Decision
from phasemark.model.plan import AgainstLoad, AnalysisPlan, Outcome
from phasemark.model.recording import Treatment
from phasemark.model.study import Study
from phasemark.results.comparison.levels import muscles, tasks
from phasemark.results.numbers import Numbers
from phasemark.results.segments import WHOLE

BY_HEIGHT, BY_TIME = ("lower", "middle", "upper"), ("first", "second", "last")
STAND_IN_EFFECT = 5.0
"""Smallest effect that a formed plan holds because a plan must have one; it is applied only where a person gave it."""


def thirds_found(numbers: Numbers) -> tuple[str, ...]:
    """The names of thirds among the results: by height, else by time; none where nothing is cut in thirds."""
    there = {value.segment.third for found in numbers.results.values() for value in found.values}
    return tuple(name for name in (*BY_HEIGHT, *BY_TIME) if name in there)


def outcome_found(study: Study) -> Outcome:
    """RMS, or mean amplitude where a channel was rectified before it was written down and so has no RMS."""
    rectified = any(c.treatment is Treatment.RECTIFIED for trial in tasks(study) for c in trial.emg)
    return Outcome.MEAN_AMPLITUDE if rectified else Outcome.RMS


def formed_plan(
    numbers: Numbers, factor: str, a: str, b: str, decision: Decision, *, smallest: float = STAND_IN_EFFECT
) -> AnalysisPlan:
    """All muscles, phases and thirds that were measured, compared between two levels of a factor.

    Raises:
        BadData: no task trial has a muscle.
    """
    found = muscles(tasks(numbers.study))
    if not found:
        raise BadData("There is no task trial with a muscle to compare; add recordings first.")
    return AnalysisPlan(
        factor, a, b, outcome_found(numbers.study), found,
        tuple(AgainstLoad), (WHOLE, *thirds_found(numbers)), found[0], AgainstLoad.AGAINST, WHOLE, smallest, decision,
    )  # fmt: skip
