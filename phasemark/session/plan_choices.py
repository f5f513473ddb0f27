"""What an analysis plan can name in a study, what stands in its form to begin with, and the plan that is made of it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import isfinite

from phasemark.model.errors import BadCall, BadData
from phasemark.model.marks import Decision
from phasemark.model.plan import EXERCISE, AgainstLoad, AnalysisPlan, Outcome, PrimaryTest
from phasemark.results.comparison.cells import MILLIVOLTS, PERCENT
from phasemark.results.comparison.formed_plan import formed_plan, outcome_found
from phasemark.results.comparison.levels import between_people, factors, levels, muscles, tasks
from phasemark.results.comparison.reading import unit_of
from phasemark.results.segments import WHOLE
from phasemark.session.plan_text import plan_defaults
from phasemark.session.session import Session


@dataclass(frozen=True, slots=True)
class PlanDraft:
    """A plan as it stands in a form: what is not chosen yet is empty; smallest_effect is as typed."""

    factor: str
    a: str
    b: str
    outcome: Outcome
    muscles: tuple[str, ...]
    phases: tuple[AgainstLoad, ...]
    thirds: tuple[str, ...]
    primary_muscle: str = ""
    primary_phase: AgainstLoad = AgainstLoad.AGAINST
    primary_third: str = WHOLE
    smallest_effect: str = ""
    test: PrimaryTest = PrimaryTest.PAIRED_T
    confidence: float = 0.95
    exclusion_rules: str = ""


@dataclass(frozen=True, slots=True)
class PlanChoices:
    """What can be chosen; levels by factor, the exercise first. What a plan names already is among it.

    unit is that of the smallest effect that matters (percentage points or mV). draft is the plan there is, or what a
    new one begins with.
    """

    levels: Mapping[str, tuple[str, ...]]
    muscles: tuple[str, ...]
    thirds: tuple[str, ...]
    unit: str
    draft: PlanDraft
    planned: bool


def plan_choices(session: Session) -> PlanChoices:
    """The choices for a session's study as it is now."""
    study, plan = session.study, session.study.plan
    found = {name: levels(study, name) for name in factors(study) if not between_people(study, name)}
    held = muscles(tasks(study))
    thirds = tuple(part.strip() for part in plan_defaults(study)["thirds"].split(","))
    if plan is None:
        factor, of = next(iter(found.items()), (EXERCISE, ()))
        a, b = (*of, "", "")[:2]
        phases = (AgainstLoad.AGAINST, AgainstLoad.WITH)
        draft = PlanDraft(factor, a, b, outcome_found(study), held, phases, thirds)
    else:
        found[plan.factor] = _with(found.get(plan.factor, ()), (plan.a, plan.b))
        held, thirds = _with(held, plan.muscles), _with(thirds, plan.thirds)
        draft = draft_of(plan)
    return PlanChoices(found, held, thirds, _unit(session, draft), draft, plan is not None)


def draft_of(plan: AnalysisPlan) -> PlanDraft:
    """A plan as it stands in a form."""
    return PlanDraft(
        plan.factor, plan.a, plan.b, plan.outcome, plan.muscles, plan.phases, plan.thirds, plan.primary_muscle,
        plan.primary_phase, plan.primary_third, f"{plan.smallest_effect:g}", plan.test, plan.confidence,
        plan.exclusion_rules,
    )  # fmt: skip


def plan_of(draft: PlanDraft, decision: Decision) -> AnalysisPlan:
    """The plan that a form says.

    Raises:
        BadCall: something is not chosen yet, is no number, or does not go together; the sentence says what.
    """
    if not draft.primary_muscle:
        raise BadCall("Choose the muscle of the one primary comparison.")
    if not draft.muscles or not draft.phases or not draft.thirds:
        raise BadCall("A plan has at least one muscle, one phase, and one third or the whole phase.")
    return AnalysisPlan(
        draft.factor, draft.a, draft.b, draft.outcome, draft.muscles, draft.phases, draft.thirds, draft.primary_muscle,
        draft.primary_phase, draft.primary_third, smallest_effect(draft), decision, draft.test, draft.confidence,
        draft.exclusion_rules.strip(),
    )  # fmt: skip


def smallest_effect(draft: PlanDraft) -> float:
    """The smallest effect that matters, as it was typed.

    Raises:
        BadCall: it is no number above zero.
    """
    try:
        size = float(draft.smallest_effect.strip().replace(",", "."))
    except ValueError:
        size = 0.0
    if not (isfinite(size) and size > 0):
        raise BadCall("Give the smallest difference that matters as a number above zero, such as 5.")
    return size


def _with(there: tuple[str, ...], named: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys((*there, *named)))


def _unit(session: Session, draft: PlanDraft) -> str:
    """The unit a comparison would be in as things stand: percentage points where everybody has a reference."""
    numbers, plan = session.numbers(), session.study.plan
    try:
        wanted = plan or formed_plan(numbers, draft.factor, draft.a or "A", draft.b or "B", session.decision())
    except BadData:  # nothing is there to compare
        return MILLIVOLTS
    unit = unit_of(numbers, wanted).name
    return "percentage points" if unit == PERCENT else unit
