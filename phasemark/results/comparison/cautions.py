"""What must be said beside a comparison: of EMG amplitude as such, and of this study."""

from collections.abc import Iterator, Sequence
from math import isfinite
from statistics import fmean

from phasemark.model.marks import BURST
from phasemark.model.plan import AnalysisPlan
from phasemark.model.study import Study, Trial
from phasemark.results.comparison.compared import Comparison
from phasemark.results.comparison.levels import factors, level_of, tasks
from phasemark.results.comparison.order import Order
from phasemark.results.numbers import Numbers
from phasemark.results.referencing import comparison_warnings
from phasemark.results.segments import REP, WHOLE
from phasemark.results.standing import standing

FEW_PEOPLE = 6
"""Fewer than this many participants are said to be few (common practice, no source)."""
RANGES_DIFFER = 0.20
"""Ranges of motion that differ by more than this share between levels are pointed out (common practice, no source)."""

ALWAYS = (
    "EMG amplitude is not force: it also changes with muscle length, speed, fatigue, electrodes and the tissue under "
    "them. It is no measure of muscle growth, and no diagnosis.",
    "Amplitudes of different muscles are comparable, with care, only in percent of a reference of the same kind.",
    "Amplitudes of different thirds and phases need care as well: muscle length changes, and the muscle moves under "
    "the electrodes. The same third of two exercises is the safer comparison.",
    "Not significant is not the same as equal: 'not settled' leaves both open, and 'similar' is said only where a "
    "difference as large as the smallest that matters is refuted.",
)
_NOTHING_PLANNED = (
    "Nothing was planned beforehand: this is exploratory. No comparison is the primary one, each is corrected for all "
    "of them, and no smallest effect that matters was named, so that 'similar' is never said."
)
_NOTHING_PLANNED_BUT_EFFECT = (
    "Nothing was planned beforehand: this is exploratory. No comparison is the primary one, and each is corrected for "
    "all of them."
)


def cautions(numbers: Numbers, comparison: Comparison, order: Order, *, effect_named: bool) -> tuple[str, ...]:
    """Everything to say beside a comparison: the plan, the people, units, movement, order; then what is always so.

    effect_named says whether a person named the smallest effect that matters.
    """
    study, plan = numbers.study, comparison.plan
    found: list[str] = []
    if not comparison.planned:
        found.append(_NOTHING_PLANNED_BUT_EFFECT if effect_named else _NOTHING_PLANNED)
    found += few_people(comparison)
    found += comparison.said
    known = {whose: n for whose, n in numbers.normalisers.items() if isfinite(n.rms) or isfinite(n.mean_amplitude)}
    found += comparison_warnings(study, known)  # who has no reference is said with the unit
    compared = [trial for trial in tasks(study) if level_of(trial, plan.factor) in (plan.a, plan.b)]
    for check in (_directions, _bursts, _movement_kinds, _other_factors):
        found += check(study, plan, compared)
    found += _ranges(numbers, plan, compared)
    found += order_said(order, plan)
    return (*dict.fromkeys(found), *ALWAYS)


def few_people(comparison: Comparison) -> list[str]:
    """A sentence where there are fewer than FEW_PEOPLE in the primary comparison, or in the largest one."""
    shown = [comparison.primary] if comparison.primary is not None else list(comparison.cells)
    n = max((cell.n for cell in shown), default=0)
    if n >= FEW_PEOPLE:
        return []
    people = "one participant" if n == 1 else f"{n} participants"
    exact = f" Of {n} pairs, no exact test of signs or ranks can give a p below {2 / 2**n:g}." if n else ""
    return [
        f"There {'is' if n == 1 else 'are'} only {people}: intervals are wide, the assumptions of a t test cannot be "
        f"looked at, and one person decides much.{exact}"
    ]


def _directions(study: Study, plan: AnalysisPlan, trials: Sequence[Trial]) -> Iterator[str]:
    ways = {
        level: {study.exercise(t.exercise).against_load for t in trials if level_of(t, plan.factor) == level}
        for level in (plan.a, plan.b)
    }
    if len(set().union(*ways.values())) > 1:
        words = "; ".join(f"{level}: {' or '.join(sorted(way))}" for level, way in ways.items())
        yield (
            f"Phases are paired by their direction against the load, which is not the same movement ({words}); thirds "
            "are paired by their height."
        )


def _bursts(study: Study, plan: AnalysisPlan, trials: Sequence[Trial]) -> Iterator[str]:
    del study, plan
    if any(phase.name == BURST for t in trials for marks in t.marks for rep in marks.reps for phase in rep.phases):
        yield "Where there is no movement trace a burst of EMG stands for the whole repetition, without phases."


def _movement_kinds(study: Study, plan: AnalysisPlan, trials: Sequence[Trial]) -> Iterator[str]:
    del study
    of = [
        {(t.movement[0].kind, t.movement[0].unit) for t in trials if t.movement and level_of(t, plan.factor) == level}
        for level in (plan.a, plan.b)
    ]
    if all(of) and of[0] != of[1]:
        words = [", ".join(sorted(f"{kind} in {unit}" for kind, unit in kinds)) for kinds in of]
        yield (
            f"The movement was recorded in different ways ({plan.a}: {words[0]}; {plan.b}: {words[1]}): phases and "
            "thirds are not cut alike."
        )


def _other_factors(study: Study, plan: AnalysisPlan, trials: Sequence[Trial]) -> Iterator[str]:
    """What else differs between a participant's trials of the two levels, or is pooled in them."""
    for name in factors(study):
        if name == plan.factor:
            continue
        differs, pooled = [], False
        for who in sorted({trial.participant for trial in trials}):
            a, b = (
                {level_of(t, name) for t in trials if t.participant == who and level_of(t, plan.factor) == level}
                for level in (plan.a, plan.b)
            )
            if a and b and a != b:
                differs.append(who)
            pooled = pooled or len(a) > 1 or len(b) > 1
        if differs:
            yield f"{plan.a} and {plan.b} also differ in {name} ({', '.join(differs)}): the two cannot be told apart."
        elif pooled:
            yield f"Trials that differ in {name} are averaged together."
    del study


def _ranges(numbers: Numbers, plan: AnalysisPlan, trials: Sequence[Trial]) -> Iterator[str]:
    """Whether the movement went clearly farther on one level, in the mean over those who did both."""
    found: dict[str, dict[str, list[float]]] = {plan.a: {}, plan.b: {}}
    units = {trial.movement[0].unit for trial in trials if trial.movement}
    for trial in trials:
        ranges = [one for one in _rep_ranges(numbers, trial) if isfinite(one)]
        if ranges:
            found[level_of(trial, plan.factor)].setdefault(trial.participant, []).append(fmean(ranges))
    both = sorted(found[plan.a].keys() & found[plan.b].keys())
    if not both or len(units) != 1:
        return
    a, b = (fmean(fmean(found[level][who]) for who in both) for level in (plan.a, plan.b))
    if max(a, b) > 0 and abs(a - b) / max(a, b) > RANGES_DIFFER:
        unit = units.pop()
        yield (
            f"The range of motion differs clearly ({plan.a}: {a:.3g} {unit}, {plan.b}: {b:.3g} {unit} in the mean): "
            "a third of one is another stretch than a third of the other."
        )


def _rep_ranges(numbers: Numbers, trial: Trial) -> Iterator[float]:
    if trial.id not in numbers.results or not trial.movement:
        return
    marks = trial.marks_of(numbers.rater)
    places, reps = marks.numbers(), {rep.id: rep for rep in marks.reps}
    for moved in numbers.results[trial.id].motion:
        rep = reps.get(moved.rep)
        if (moved.segment.phase, moved.segment.third) != (REP, WHOLE) or rep is None:
            continue
        if standing(trial, rep, None, numbers.study.settings.counted, places).counted:
            yield moved.motion.range_of_motion


def order_said(order: Order, plan: AnalysisPlan) -> list[str]:
    """What is to be said of the order in which the two were done."""
    known = len(order.a_first) + len(order.b_first) + len(order.mixed)
    if not known:
        return ["The order of the trials is not recorded: what order and fatigue did cannot be told from the rest."]
    said = []
    if order.unknown:
        said.append(f"The order of trials is not known of {', '.join(order.unknown)}.")
    if not order.mixed and bool(order.a_first) != bool(order.b_first):
        first = plan.a if order.a_first else plan.b
        said.append(f"Everybody did {first} first: what is the order's and what the condition's cannot be told apart.")
    elif order.effects and order.a_first and len(order.a_first) != len(order.b_first):
        said.append(
            f"{len(order.a_first)} did {plan.a} first and {len(order.b_first)} {plan.b}: not equally many, so that the "
            "paired difference holds some of the order's effect; the difference without it is given beside it."
        )
    return said
