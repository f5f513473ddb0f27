"""Comparing: what is stale is measured first, the plan is looked up, and how it was kept is said."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from phasemark.model.errors import BadCall, PhasemarkError
from phasemark.model.marks import Decision
from phasemark.model.plan import EXERCISE, AnalysisPlan
from phasemark.model.study import Study
from phasemark.results.comparison.exports import comparison_texts
from phasemark.results.comparison.formed_plan import STAND_IN_EFFECT, formed_plan
from phasemark.results.comparison.levels import between_people, levels
from phasemark.results.comparison.report import Report, compare_numbers
from phasemark.results.figures.figure_files import svg_files
from phasemark.results.figures.paired_figure import paired_figure
from phasemark.results.numbers import Numbers
from phasemark.session.exporting import libraries, refuse_file
from phasemark.session.measuring import Measured, measure, stale_trials
from phasemark.session.plan_text import changed_keys
from phasemark.session.planning import COMPARED, PlanChange, plan_history
from phasemark.session.session import Session
from phasemark.store import disk
from phasemark.worker import JobChain, Progress


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked to be compared; None is what the plan says, or without a plan what there is only one way of.

    group is a factor between people that the scripts of mixed models take in; None is the only one there is, if any.
    """

    a: str | None = None
    b: str | None = None
    factor: str | None = None
    smallest_effect: float | None = None
    group: str | None = None


@dataclass(frozen=True, slots=True)
class Carried:
    """The plan that is carried out: as it was written down (planned), or in what it differs from that one.

    effect_named: whether a person named the smallest effect. differs is empty where nothing was written down.
    """

    plan: AnalysisPlan
    planned: bool
    effect_named: bool
    differs: tuple[tuple[str, str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Compared:
    """A comparison with how it stands to the plan, the plan's history, the files written, and what was wrong."""

    report: Report
    carried: Carried
    history: tuple[PlanChange, ...]
    files: tuple[Path, ...] = ()
    problems: tuple[PhasemarkError, ...] = ()

    @property
    def standing_said(self) -> tuple[str, ...]:
        """In sentences, how the comparison stands to what was planned."""
        return standing_said(self.carried, self.history)


def standing_said(carried: Carried, history: tuple[PlanChange, ...]) -> tuple[str, ...]:
    """In sentences, how a comparison stands to what was planned."""
    if carried.differs:
        listed = "; ".join(
            f"{key}: planned {old or 'nothing'}, here {new or 'nothing'}" for key, old, new in carried.differs
        )
        return (f"This is not the comparison that was planned ({listed}); it is exploratory.",)
    if not carried.planned:
        return ()
    first = next((change for change in history if change.before is None), None)
    later = [change for change in history if change.before is not None]
    late = [change for change in history if change.after_results]
    said = [f"Planned on {first.at[:10]} by {first.rater}." if first else "As planned."]
    if later:
        said.append(f"The plan was changed {len(later)} time{'s' if len(later) > 1 else ''} since.")
    if late:
        said.append("It was written or changed after results had been shown: read it as exploratory.")
    return (" ".join(said),)


def carried_plan(numbers: Numbers, asked: Asked, decision: Decision) -> Carried:
    """The plan to carry out for what is asked.

    Raises:
        BadCall: the two levels are not known, or the factor tells people and not their trials apart.
        BadData: there is nothing to compare.
    """
    study = numbers.study
    held = study.plan
    factor = asked.factor or (held.factor if held is not None else EXERCISE)
    a, b = _two_levels(study, held, asked, factor)
    if between_people(study, factor):
        raise BadCall(
            f"Nobody has two levels of {factor}: it tells people apart, and a paired comparison needs both of the same "
            "people. Compare a factor of the trials; the mixed models written beside it take this one in as a group."
        )
    if asked.group is not None and not between_people(study, asked.group):
        raise BadCall(f"{asked.group} does not tell people apart, so that it is no group for the mixed models.")
    effect = asked.smallest_effect
    if held is None:
        smallest = STAND_IN_EFFECT if effect is None else effect
        formed = formed_plan(numbers, factor, a, b, decision, smallest=smallest)
        return Carried(formed, False, effect is not None)
    wanted = held
    if (factor, a, b) != (held.factor, held.a, held.b):
        wanted = replace(wanted, factor=factor, a=a, b=b)
    if effect is not None:
        wanted = replace(wanted, smallest_effect=effect)
    if factor == held.factor and {a, b} == {held.a, held.b}:  # the same the other way round is the same comparison
        differs = changed_keys(replace(held, a=a, b=b), wanted)
    else:
        differs = changed_keys(held, wanted)
    return Carried(wanted, not differs, True, differs)


def _two_levels(study: Study, held: AnalysisPlan | None, asked: Asked, factor: str) -> tuple[str, str]:
    if held is not None and factor == held.factor and asked.a is None and asked.b is None:
        return held.a, held.b
    there = levels(study, factor)
    if asked.a is None and asked.b is None and len(there) == 2:
        return there[0], there[1]
    if asked.a is None or asked.b is None:
        known = ", ".join(there) or "none yet"
        raise BadCall(f"Say which two to compare, as --a and --b; of {factor} there are {known}.")
    found = tuple(_known_level(level, there, factor) for level in (asked.a, asked.b))
    return found[0], found[1]


def _known_level(text: str, there: tuple[str, ...], factor: str) -> str:
    for level in there:
        if level.casefold() == text.strip().casefold():
            return level
    raise BadCall(f"No task trial has the {factor} {text!r}; there are {', '.join(there) or 'none yet'}.")


def compare(
    session: Session,
    asked: Asked,
    *,
    to: Path | None = None,
    done: Callable[[Compared], None],
    failed: Callable[[BaseException], None],
    progressed: Callable[[float], None] = lambda _: None,
) -> JobChain:
    """Compare two levels over participants and, where a folder is named, write the tables and scripts into it.

    The ledger says that results were shown, so that a plan written after that is known as such. failed gets BadCall
    or BadData where what is asked cannot be compared.
    """
    chain, worker = JobChain(), session.worker

    def measure_first(history: tuple[PlanChange, ...]) -> None:
        _measured(
            session, chain, lambda measured: work_out(history, measured), failed, lambda share: progressed(0.7 * share)
        )

    def work_out(history: tuple[PlanChange, ...], measured: Measured) -> None:
        numbers, decision = session.numbers(), session.decision()

        def apart(progress: Progress) -> Compared:
            carried = carried_plan(numbers, asked, decision)
            report = compare_numbers(numbers, carried.plan, planned=carried.planned, effect_named=carried.effect_named)
            progress(0.95)
            return Compared(report, carried, history, problems=measured.problems)

        chain.go_on_with(
            worker.run(
                "comparing", apart, on=worker.compute, done=lambda found: write(numbers, found), failed=failed,
                progressed=progressed,
            )
        )  # fmt: skip

    def write(numbers: Numbers, found: Compared) -> None:
        if to is None:
            keep(found)
            return

        def on_disk(progress: Progress) -> Compared:
            files = write_comparison(numbers, found, to, asked.group)
            progress(1.0)
            return replace(found, files=files)

        chain.go_on_with(
            worker.run("writing", on_disk, on=worker.disk, done=keep, failed=failed, progressed=progressed)
        )

    def keep(found: Compared) -> None:
        plan = found.carried.plan
        session.note(f"{COMPARED}{plan.a} with {plan.b} ({'as planned' if found.carried.planned else 'exploratory'})")
        done(found)

    def look_up(_: Progress) -> tuple[PlanChange, ...]:
        if to is not None:
            refuse_file(to)
        return plan_history(session.path)

    # On the ledger's thread, so that every edit made before is in it.
    chain.go_on_with(worker.run("comparing", look_up, on=worker.ledger, done=measure_first, failed=failed))
    return chain


def _measured(
    session: Session,
    chain: JobChain,
    then: Callable[[Measured], None],
    failed: Callable[[BaseException], None],
    progressed: Callable[[float], None],
) -> None:
    """Go on when everything is measured."""
    stale = stale_trials(session)
    if stale:
        chain.go_on_with(measure(session, stale, done=then, failed=failed, progressed=progressed))
    else:
        then(Measured(0))


def write_comparison(numbers: Numbers, found: Compared, to: Path, group: str | None = None) -> tuple[Path, ...]:
    """Write the tables, scripts and picture of a comparison into a folder; on any thread. group: as in Asked."""
    texts = comparison_texts(
        found.report, numbers.study, numbers.rater, libraries(), standing_plain(found), group=group
    ) | svg_files("paired-values", paired_figure(found.report.comparison))
    disk.make_folder(to)
    files = {to / name: text for name, text in texts.items()}
    disk.write_together(files, lambda _: None)
    return tuple(files)


def standing_plain(found: Compared) -> Mapping[str, Any]:
    """How a comparison stands to the plan, for plan.json."""
    return {
        "standing": list(found.standing_said),
        "differs_from_plan": [{"key": key, "planned": old, "here": new} for key, old, new in found.carried.differs],
        "smallest_effect_named": found.carried.effect_named,
        "history": [change.text for change in found.history],
    }
