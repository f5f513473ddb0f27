"""Cells of participants laid out from arrays, for the tests of comparisons."""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import ArrayLike

from phasemark.model.marks import Decision
from phasemark.model.plan import AgainstLoad, AnalysisPlan, Outcome, PrimaryTest
from phasemark.model.recording import Side
from phasemark.results.comparison.cells import PERCENT, CellKey, CellValues, RepValue, cells_from

# Maxwell & Delaney (2004) Designing Experiments and Analyzing Data, 2nd ed., Table 12.1: reaction time (ms) of 10
# people, noise absent or present x angle of 0, 4, 8 degrees: here two exercises x the thirds of a phase.
_PRINTED = """420 420 480 480 600 780  420 480 480 360 480 600  480 480 540 660 780 780  420 540 540 480 780 900
    540 660 540 480 660 720  360 420 360 360 480 540  480 480 600 540 720 840  480 600 660 540 720 900
    540 600 540 480 720 780  480 420 540 540 660 780"""
REACTION = np.array(_PRINTED.split(), dtype=np.float64).reshape(10, 2, 3)
THIRDS = ("lower", "middle", "upper")
MUSCLE = "vastus medialis"
WHEN = Decision("R1", "2026-01-31T12:00:00.000Z")


def plan(
    *,
    a: str = "present",
    b: str = "absent",
    muscles: tuple[str, ...] = (MUSCLE,),
    phases: tuple[AgainstLoad, ...] = (AgainstLoad.AGAINST,),
    thirds: tuple[str, ...] = THIRDS,
    smallest: float = 10.0,
    test: PrimaryTest = PrimaryTest.PAIRED_T,
    factor: str = "exercise",
) -> AnalysisPlan:
    """A plan whose primary comparison is the first of everything."""
    return AnalysisPlan(
        factor, a, b, Outcome.RMS, muscles, phases, thirds, muscles[0], phases[0], thirds[0], smallest, WHEN, test
    )


def key(who: str, level: str, third: str, phase: AgainstLoad = AgainstLoad.AGAINST, muscle: str = MUSCLE) -> CellKey:
    """The key of a cell of a muscle without a side."""
    return CellKey(who, level, muscle, Side.NONE, phase, third)


def cells(
    table: ArrayLike,
    levels: Sequence[str] = ("absent", "present"),
    thirds: Sequence[str] = THIRDS,
    phase: AgainstLoad = AgainstLoad.AGAINST,
    unit: str = PERCENT,
) -> CellValues:
    """Cells of an array (participants, levels, thirds), one rep each; nan is a missing cell."""
    values = {
        key(f"P{who + 1:02d}", levels[level], thirds[third], phase): float(value)
        for (who, level, third), value in np.ndenumerate(np.asarray(table, dtype=np.float64))
        if np.isfinite(value)
    }
    return from_values(values, unit)


def from_values(values: Mapping[CellKey, float], unit: str = PERCENT) -> CellValues:
    """Cells of one rep each."""
    return cells_from((RepValue(at, f"T-{at.participant}-{at.level}", 1, 1, v) for at, v in values.items()), unit)
