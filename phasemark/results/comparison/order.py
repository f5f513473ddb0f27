"""Who did which condition first, and what the order did to the values."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from phasemark.model.plan import AnalysisPlan
from phasemark.model.study import Study, Trial
from phasemark.results.comparison.cells import Place
from phasemark.results.comparison.compared import Comparison
from phasemark.results.comparison.levels import level_of, tasks
from phasemark.results.study_conditions import natural_key
from phasemark.statistics.crossover import Crossover, crossover


@dataclass(frozen=True, slots=True)
class Order:
    """Participants by what they did first; mixed did the two in turns, unknown have trials without an order.

    effects: period, carry-over and the condition effect without the period, at each place where both orders occur.
    """

    a_first: tuple[str, ...]
    b_first: tuple[str, ...]
    mixed: tuple[str, ...]
    unknown: tuple[str, ...]
    effects: Mapping[Place, Crossover] = field(default_factory=dict)


def order_of(study: Study, plan: AnalysisPlan, comparison: Comparison) -> Order:
    """The order in which those who are compared did the two levels, by session and the trials' order in it."""
    people = sorted({who for cell in comparison.cells for who in cell.participants})
    kinds: dict[str, list[str]] = {"a": [], "b": [], "mixed": [], "unknown": []}
    for who in people:
        own = [trial for trial in tasks(study) if trial.participant == who]
        kinds[_first(own, plan)].append(who)
    first = {**dict.fromkeys(kinds["a"], True), **dict.fromkeys(kinds["b"], False)}
    effects: dict[Place, Crossover] = {}
    for cell in comparison.cells:
        whole = [place for place, who in enumerate(cell.participants) if who in first]
        orders = [first[cell.participants[place]] for place in whole]
        if len(set(orders)) == 2:
            a, b = ([of[place] for place in whole] for of in (cell.a, cell.b))
            effects[cell.place] = crossover(a, b, orders, level=plan.confidence)
    a_first, b_first, mixed, unknown = (tuple(found) for found in kinds.values())
    return Order(a_first, b_first, mixed, unknown, effects)


def _first(trials: list[Trial], plan: AnalysisPlan) -> str:
    of_a, of_b = ([t for t in trials if level_of(t, plan.factor) == level] for level in (plan.a, plan.b))
    if any(trial.order is None for trial in (*of_a, *of_b)):
        return "unknown"
    a, b = ([(natural_key(t.session), t.order or 0) for t in of] for of in (of_a, of_b))
    if not a or not b or {*a} & {*b}:
        return "unknown"
    if max(a) < min(b):
        return "a"
    return "b" if max(b) < min(a) else "mixed"
