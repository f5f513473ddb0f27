"""What all trials of a comparison are worked out under, for every variant of its analysis."""

from collections.abc import Mapping
from dataclasses import dataclass

from phasemark.model.normalisation import Approach
from phasemark.model.plan import AnalysisPlan
from phasemark.model.study import Kind, Trial
from phasemark.results.comparison.cells import place_of
from phasemark.results.comparison.compare import compare_cells
from phasemark.results.comparison.compared import Comparison
from phasemark.results.comparison.levels import level_of
from phasemark.results.comparison.reading import CountedValue, Sides, cell_values, counted_values, sides_of
from phasemark.results.numbers import Numbers
from phasemark.results.robustness.variants import Group, Variants

DRAWS = 1000
SEED = 1


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """What all trials are worked out under: the numbers and the plan, its comparison, the variants and the draws.

    counted are the values as planned on the two levels compared, by trial. draws is 0 where boundaries are not moved.
    """

    numbers: Numbers
    plan: AnalysisPlan
    comparison: Comparison
    smallest: float
    sides: Sides
    variants: Variants
    counted: Mapping[str, tuple[CountedValue, ...]]
    draws: int
    seed: int
    groups: frozenset[Group]

    @property
    def said(self) -> tuple[str, ...]:
        """What a reader must know of how the variants were worked out."""
        own = self.numbers.study.settings.normalisation.approach in (Approach.TASK_PEAK, Approach.TASK_MEAN)
        if not (own and self.moves):
            return ()
        return ("The reference is the task's own; where boundaries are moved it stays as it was marked.",)

    @property
    def moves(self) -> bool:
        """Whether boundaries are moved at all."""
        return Group.BOUNDARIES in self.groups


@dataclass(frozen=True, slots=True)
class Draws:
    """How many independent draws of moved boundaries are made, and from which seed."""

    count: int = DRAWS
    seed: int = SEED


def frame_of(
    numbers: Numbers,
    plan: AnalysisPlan,
    variants: Variants,
    *,
    draws: Draws | None = None,
    groups: frozenset[Group] = frozenset(Group),
    effect_named: bool = True,
) -> Frame:
    """The frame of a comparison; effect_named: whether a person named the smallest effect, which applies only then.

    Raises:
        BadCall: nobody has a value on one of the plan's two levels.
    """
    drawn = draws or Draws()
    values = cell_values(numbers, plan)
    comparison = compare_cells(values, plan, brief=True)
    smallest = plan.smallest_effect if effect_named and values.effect_applies else 0.0
    sides = sides_of(numbers, plan)
    family = {cell.place for cell in comparison.cells}
    counted: dict[str, list[CountedValue]] = {}
    for one in counted_values(numbers, plan, sides):
        if one.key.level in (plan.a, plan.b) and place_of(one.key) in family:
            counted.setdefault(one.channel.trial.id, []).append(one)
    return Frame(
        numbers, plan, comparison, smallest, sides, variants, {k: tuple(v) for k, v in counted.items()},
        drawn.count, drawn.seed, groups,
    )  # fmt: skip


def participants_trials(frame: Frame) -> dict[str, tuple[Trial, ...]]:
    """All trials of everybody with a trial on one of the two levels, even an excluded one, by participant."""
    study, plan = frame.numbers.study, frame.plan
    people = dict.fromkeys(
        trial.participant
        for trial in study.trials
        if trial.kind is Kind.TASK and level_of(trial, plan.factor) in (plan.a, plan.b)
    )
    return {who: tuple(trial for trial in study.trials if trial.participant == who) for who in people}
