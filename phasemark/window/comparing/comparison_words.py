"""What the page of the comparison says beside its results: obstacles, the plan, its history."""

from dataclasses import dataclass, replace

from phasemark.model.study import Study
from phasemark.results.comparison.cells import Place
from phasemark.results.comparison.levels import between_people, factors, tasks
from phasemark.results.phase_curves import StudyCurves
from phasemark.session.comparison_history import ComparisonHistory
from phasemark.session.comparison_tables import ComparisonPicture
from phasemark.session.measuring import has_segments


@dataclass(frozen=True, slots=True)
class PlanSaid:
    """Which plan was carried out, how results stand to it where that needs saying, and all that was changed in it.

    exploratory: there was no plan, or it was written or changed too late.
    """

    plan: str
    exploratory: bool
    standing: str = ""
    history: str = ""


def plan_said(picture: ComparisonPicture, history: ComparisonHistory) -> PlanSaid:
    """What is said of the plan beside results."""
    compared = picture.compared
    first = next((change for change in compared.history if change.before is None), None)
    known = "" if first is None else f"Planned on {first.at[:10]} by {first.rater}."  # said with its time already
    standing = " ".join(compared.standing_said).removeprefix(known).strip()
    exploratory = not compared.carried.planned or any(change.after_results for change in compared.history)
    standing = "" if standing == "As planned." else standing
    return PlanSaid(plan_words(picture), exploratory, standing, history_words(history))


def obstacle(study: Study, rater: str) -> str:
    """Why nothing can be compared yet, and what to do about it; empty where something can be."""
    trials = tasks(study)
    if not trials:
        return "There are no task trials to compare. Put the comparison away and add recordings (Ctrl+I)."
    if not any(not between_people(study, name) for name in factors(study)):
        names = ", ".join(dict.fromkeys(trial.exercise for trial in trials if trial.exercise))
        return (
            f"All task trials are of one exercise ({names or 'unnamed'}), and nothing else differs between the trials "
            "of a participant. Add recordings of a second exercise, or of another level of a factor, to compare with."
        )
    if not any(has_segments(study, trial, rater) for trial in trials):
        return (
            "No trial is marked yet, so that there is nothing to compare. Put the comparison away and mark trials "
            "without marks (Ctrl+M)."
        )
    return ""


def stale_words(count: int) -> str:
    """What is said of trials that are not measured as they are now."""
    trials = "1 trial is" if count == 1 else f"{count} trials are"
    return f"{trials} not measured as the study is now; results that are older are not shown."


def plan_words(picture: ComparisonPicture) -> str:
    """The plan that was carried out, when it was written down and by whom; or that there was none."""
    comparison = picture.comparison
    plan = comparison.plan
    if not comparison.planned:
        return "Exploratory: shown without a plan for it, which the ledger and every export say."
    primary = f"{plan.primary_muscle}, {plan.primary_phase}, {plan.primary_third}"
    when = f"{plan.decision.at[:16].replace('T', ' ')} UTC by {plan.decision.rater}"
    return (
        f"Plan of {when}: {plan.a} with {plan.b}; primary comparison {primary}; {plan.test}; smallest difference that "
        f"matters {plan.smallest_effect:g}."
    )


def before_words(history: ComparisonHistory, *, planned: bool) -> str:
    """That results were shown before a plan is written or changed; empty where none were."""
    if not history.shown:
        return ""
    first = history.shown[0]
    when = f"{first.at[:16].replace('T', ' ')} UTC"
    times = "once" if len(history.shown) == 1 else f"{len(history.shown)} times"
    late = "A change of the plan" if planned else "A plan that is written now"
    return (
        f"Results were already shown, {times}, first {when} to {first.rater}: {first.what}. {late} will say so, here "
        "and in every export."
    )


def history_words(history: ComparisonHistory) -> str:
    """Every change of the plan, and when results were shown; by time."""
    lines = [(change.at, change.text) for change in history.changes]
    lines += [(s.at, f"{s.at[:16].replace('T', ' ')} UTC, {s.rater}: results shown, {s.what}") for s in history.shown]
    return "\n".join(text for _, text in sorted(lines))


def curves_of(curves: StudyCurves, place: Place) -> StudyCurves:
    """The curves of the muscle and side that are compared at a place."""
    at = place.muscle, place.side
    return replace(curves, people={key: curve for key, curve in curves.people.items() if (key.muscle, key.side) == at})
