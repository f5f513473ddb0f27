"""All that is told of a comparison: cells, analyses, trends, order, and the cautions beside them."""

from dataclasses import dataclass, replace

from phasemark.model.plan import AnalysisPlan
from phasemark.results.comparison.cautions import cautions
from phasemark.results.comparison.cells import CellValues
from phasemark.results.comparison.compare import compare_cells
from phasemark.results.comparison.compared import Comparison
from phasemark.results.comparison.levels import levels
from phasemark.results.comparison.many_levels import PairsAt, pairs_of_levels
from phasemark.results.comparison.order import Order, order_of
from phasemark.results.comparison.reading import cell_values
from phasemark.results.comparison.thirds_anova import MuscleAnova, muscle_anovas
from phasemark.results.comparison.trends import PlaceTrend, trends
from phasemark.results.numbers import Numbers


@dataclass(frozen=True, slots=True)
class Report:
    """A comparison and all that belongs to it; pairs is empty unless the factor has more than two levels."""

    values: CellValues
    comparison: Comparison
    anovas: tuple[MuscleAnova, ...]
    pairs: tuple[PairsAt, ...]
    trends: tuple[PlaceTrend, ...]
    order: Order
    cautions: tuple[str, ...]


def compare_numbers(numbers: Numbers, plan: AnalysisPlan, *, planned: bool = True, effect_named: bool = True) -> Report:
    """Carry out a plan on the current numbers of a study.

    planned: whether the plan was written down before; effect_named: whether a person named its smallest effect, which
    is applied only then.

    Raises:
        BadCall: nobody has a value on one of the plan's two levels.
    """
    values = cell_values(numbers, plan)
    if not effect_named:
        values = replace(values, effect_applies=False)
    comparison = compare_cells(values, plan, planned=planned)
    order = order_of(numbers.study, plan, comparison)
    return Report(
        values,
        comparison,
        muscle_anovas(values, plan),
        pairs_of_levels(values, plan, levels(numbers.study, plan.factor)),
        trends(values, plan),
        order,
        cautions(numbers, comparison, order, effect_named=effect_named),
    )
