"""The analysis plan as KEY=VALUE texts, to show and to type it."""

from collections.abc import Iterator, Mapping, Sequence
from enum import StrEnum
from typing import TypeVar

from phasemark.model.errors import BadCall
from phasemark.model.marks import Decision
from phasemark.model.plan import EXERCISE, AgainstLoad, AnalysisPlan, Outcome, PrimaryTest
from phasemark.model.setting_values import parsed, value_text
from phasemark.model.settings import ThirdsRule
from phasemark.model.study import Study
from phasemark.results.comparison.formed_plan import BY_HEIGHT, BY_TIME, outcome_found
from phasemark.results.comparison.levels import levels, muscles, tasks
from phasemark.results.segments import WHOLE

PLAN_KEYS = (
    *("factor", "a", "b", "outcome", "muscles", "phases", "thirds"),
    *("primary.muscle", "primary.phase", "primary.third"),
    *("smallest_effect", "test", "confidence", "exclusion_rules"),
)
NEEDED = ("a", "b", "primary.muscle", "smallest_effect")
"""What a new plan must say: two levels, the primary muscle, and the smallest effect that matters."""

Word = TypeVar("Word", bound=StrEnum)
_SHORT = {"against": AgainstLoad.AGAINST, "with": AgainstLoad.WITH}


def plan_lines(plan: AnalysisPlan) -> Iterator[tuple[str, str]]:
    """The keys of a plan, each with its value in text."""
    for key in PLAN_KEYS:
        yield key, value_text(getattr(plan, key.replace("primary.", "primary_")))


def changed_keys(before: AnalysisPlan | None, after: AnalysisPlan | None) -> tuple[tuple[str, str, str], ...]:
    """What differs between two plans: key, value before and after ('' where there is no plan)."""
    old, new = (dict(plan_lines(plan)) if plan is not None else {} for plan in (before, after))
    return tuple((key, old.get(key, ""), new.get(key, "")) for key in PLAN_KEYS if old.get(key) != new.get(key))


def with_plan_texts(
    study: Study, before: AnalysisPlan | None, changes: Sequence[tuple[str, str]], decision: Decision
) -> AnalysisPlan:
    """The plan after changes; without one before, a new plan, with defaults for what it need not say.

    Defaults: the exercise as factor, all muscles, phases against and with the load, whole phases and their thirds;
    primary the whole phase against the load; a paired t test at 95 %.

    Raises:
        BadCall: there is no such key, a value cannot be read, or a new plan lacks what it must say.
    """
    given = dict(changes)
    strange = [key for key in given if key not in PLAN_KEYS]
    if strange:
        raise BadCall(f"A plan has no {strange[0]!r}; it has {', '.join(PLAN_KEYS)}.")
    lacking = [key for key in NEEDED if before is None and not given.get(key, "").strip()]
    if lacking:
        raise BadCall(
            f"A new plan also needs {', '.join(lacking)}; for example a='squat' b='lunge' "
            "primary.muscle='vastus medialis' smallest_effect=5."
        )
    held = dict(plan_lines(before)) if before is not None else plan_defaults(study)
    return _read(study, {**held, **given}, decision)


def plan_defaults(study: Study) -> dict[str, str]:
    """The texts of what a new plan need not say."""
    rule = study.settings.phases.thirds
    thirds = () if rule is ThirdsRule.NONE else BY_TIME if rule is ThirdsRule.TIME else BY_HEIGHT
    return {
        "factor": EXERCISE,
        "outcome": outcome_found(study),
        "muscles": "all",
        "phases": value_text((AgainstLoad.AGAINST, AgainstLoad.WITH)),
        "thirds": value_text((WHOLE, *thirds)),
        "primary.phase": AgainstLoad.AGAINST,
        "primary.third": WHOLE,
        "test": PrimaryTest.PAIRED_T,
        "confidence": "0.95",
        "exclusion_rules": "",
    }


def _read(study: Study, texts: Mapping[str, str], decision: Decision) -> AnalysisPlan:
    primary_muscle = texts["primary.muscle"].strip()
    known = muscles(tasks(study)) or (primary_muscle,)
    listed = known if texts["muscles"].strip() == "all" else _listed("muscles", texts["muscles"])
    return AnalysisPlan(
        factor=texts["factor"].strip() or EXERCISE,
        a=texts["a"].strip(),
        b=texts["b"].strip(),
        outcome=_word("outcome", texts["outcome"], Outcome),
        muscles=listed,
        phases=tuple(_phase("phases", text) for text in _listed("phases", texts["phases"])),
        thirds=_listed("thirds", texts["thirds"]),
        primary_muscle=primary_muscle,
        primary_phase=_phase("primary.phase", texts["primary.phase"]),
        primary_third=texts["primary.third"].strip(),
        smallest_effect=float(parsed("smallest_effect", texts["smallest_effect"], 0.0)),
        decision=decision,
        test=_word("test", texts["test"], PrimaryTest),
        confidence=float(parsed("confidence", texts["confidence"], 0.0)),
        exclusion_rules=texts["exclusion_rules"].strip(),
    )


def _listed(key: str, text: str) -> tuple[str, ...]:
    found = tuple(dict.fromkeys(part.strip() for part in text.split(",") if part.strip()))
    if not found:
        raise BadCall(f"{key} is a list with commas between its parts, not {text!r}.")
    return found


def _word(key: str, text: str, kind: type[Word]) -> Word:
    for member in kind:
        if member.value.casefold() == text.strip().casefold():
            return member
    raise BadCall(f"{key} is one of {', '.join(kind)}; not {text!r}.")


def _phase(key: str, text: str) -> AgainstLoad:
    return _SHORT.get(text.strip().casefold()) or _word(key, text, AgainstLoad)


def plan_names_nowhere(study: Study, plan: AnalysisPlan) -> tuple[str, ...]:
    """A sentence for each level or muscle of a plan that no task trial of the study has, as after a slip."""
    if not tasks(study):
        return ()
    there, known = levels(study, plan.factor), muscles(tasks(study))
    return (
        *(
            f"No task trial has the {plan.factor} {level!r} ({_known(there)})."
            for level in (plan.a, plan.b)
            if level not in there
        ),
        *(
            f"No task trial has the muscle {muscle!r} ({_known(known)})."
            for muscle in plan.muscles
            if muscle not in known
        ),
    )


def _known(names: Sequence[str]) -> str:
    return f"there are {', '.join(names)}" if names else "there are none"
