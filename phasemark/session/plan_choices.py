"""What an analysis plan can name in a study, and what stands in its form to begin with."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from phasemark.model.errors import BadData
from phasemark.model.plan import EXERCISE
from phasemark.results.comparison.cells import MILLIVOLTS, PERCENT
from phasemark.results.comparison.formed_plan import BY_HEIGHT, BY_TIME, formed_plan
from phasemark.results.comparison.levels import between_people, factors, levels, muscles, tasks
from phasemark.results.comparison.reading import unit_of
from phasemark.results.segments import WHOLE
from phasemark.session.plan_text import plan_defaults, plan_lines
from phasemark.session.session import Session


@dataclass(frozen=True, slots=True)
class PlanChoices:
    """What can be chosen; levels by factor, the exercise first. What a plan names already is among it.

    unit is that of the outcome and of the smallest effect that matters (percentage points or mV). texts are the
    plan's own where there is one, else the defaults, by key.
    """

    levels: Mapping[str, tuple[str, ...]]
    muscles: tuple[str, ...]
    thirds: tuple[str, ...]
    unit: str
    texts: Mapping[str, str]
    planned: bool


def plan_choices(session: Session) -> PlanChoices:
    """The choices for a session's study as it is now."""
    study, plan = session.study, session.study.plan
    found = {name: levels(study, name) for name in factors(study) if not between_people(study, name)}
    held = muscles(tasks(study))
    thirds: tuple[str, ...] = (WHOLE, *BY_HEIGHT, *BY_TIME)
    texts = dict(plan_lines(plan)) if plan is not None else plan_defaults(study)
    if plan is not None:
        found[plan.factor] = _with(found.get(plan.factor, ()), (plan.a, plan.b))
        held, thirds = _with(held, plan.muscles), _with(thirds, plan.thirds)
    else:
        thirds = tuple(part.strip() for part in texts["thirds"].split(","))
    return PlanChoices(found, held, thirds, _unit(session, found), texts, plan is not None)


def _with(there: tuple[str, ...], named: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys((*there, *named)))


def _unit(session: Session, found: Mapping[str, tuple[str, ...]]) -> str:
    """The unit a comparison would be in as things stand: percentage points where everybody has a reference."""
    factor, of = next(iter(found.items()), (EXERCISE, ()))
    numbers = session.numbers()
    try:
        a, b = (of[0], of[1]) if len(of) > 1 else ("A", "B")
        unit = unit_of(numbers, session.study.plan or formed_plan(numbers, factor, a, b, session.decision()))
    except BadData:  # nothing is there to compare
        return MILLIVOLTS
    return "percentage points" if unit.name == PERCENT else unit.name
