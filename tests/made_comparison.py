"""Comparisons of values laid out as arrays, for the tests of what the page shows of them."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from phasemark.model.marks import Decision
from phasemark.model.plan import AgainstLoad, AnalysisPlan, Outcome
from phasemark.model.recording import Side
from phasemark.results.comparison.cells import PERCENT, CellKey, Place, RepValue, cells_from
from phasemark.results.comparison.compare import compare_cells
from phasemark.results.comparison.compared import Comparison
from phasemark.results.comparison.order import Order
from phasemark.results.comparison.report import Report
from phasemark.results.comparison.thirds_anova import muscle_anovas
from phasemark.results.comparison.trends import trends
from phasemark.session.comparing import Carried, Compared
from phasemark.session.comparison_tables import ComparisonPicture, comparison_picture

LEVELS, MUSCLE = ("fast", "slow"), "vastus medialis"
WHEN = Decision("R1", "2026-01-31T12:00:00.000Z")
PLACE = Place(MUSCLE, Side.NONE, AgainstLoad.AGAINST, "whole")


def compared(
    table: ArrayLike,
    *,
    thirds: Sequence[str] = ("whole",),
    smallest: float = 5.0,
    planned: bool = True,
    named: bool = True,
) -> Compared:
    """A comparison of values (participants, two levels, thirds) in percent; nan is a missing cell."""
    values = np.asarray(table, dtype=np.float64)
    plan = AnalysisPlan(
        "exercise", *LEVELS, Outcome.RMS, (MUSCLE,), (AgainstLoad.AGAINST,), tuple(thirds), MUSCLE,
        AgainstLoad.AGAINST, thirds[0], smallest, WHEN,
    )  # fmt: skip
    reps = [
        RepValue(_key(who, LEVELS[level], thirds[third]), f"T{who}{level}", 1, 1, float(value))
        for (who, level, third), value in np.ndenumerate(values)
    ]
    cells = replace(cells_from(reps, PERCENT), effect_applies=named)
    comparison = compare_cells(cells, plan, planned=planned)
    order = Order((), (), (), comparison.cells[0].participants)
    report = Report(cells, comparison, muscle_anovas(cells, plan), (), trends(cells, plan), order, ())
    return Compared(report, Carried(plan, planned, named), ())


def _key(who: int, level: str, third: str) -> CellKey:
    return CellKey(f"P{who + 1:02d}", level, MUSCLE, Side.NONE, AgainstLoad.AGAINST, third)


def compared_cells(table: ArrayLike, *, smallest: float = 5.0, planned: bool = True, named: bool = True) -> Comparison:
    """The comparison of values (participants, two levels) of whole phases."""
    whole = np.asarray(table, dtype=np.float64)[:, :, np.newaxis]
    return compared(whole, smallest=smallest, planned=planned, named=named).report.comparison


def picture_of(table: ArrayLike, *, smallest: float = 5.0) -> ComparisonPicture:
    """The page's picture of values (participants, two levels) of whole phases."""
    return comparison_picture(compared(np.asarray(table, dtype=np.float64)[:, :, np.newaxis], smallest=smallest))
