"""Descriptions of pictures for tests, from few lines to awkward names and missing values."""

from collections.abc import Sequence
from math import nan

import numpy as np
from hypothesis import strategies as st

from phasemark.model.marks import Decision
from phasemark.model.plan import EXERCISE, AgainstLoad, AnalysisPlan, Outcome
from phasemark.model.recording import Side
from phasemark.results.comparison.cells import PERCENT, CellKey, RepValue, cells_from
from phasemark.results.comparison.compare import compare_cells
from phasemark.results.comparison.compared import Comparison
from phasemark.results.figures.robustness_figure import FindingVaried, Varied
from phasemark.results.phase_curves import CurveKey, MeanCurve, Over, StudyCurves, over_people
from phasemark.signal.curves import POINTS

A, B = "squat heels raised", "squat heels flat"
THIRDS = ("lower", "middle", "upper", "whole")
PHASES = (AgainstLoad.AGAINST, AgainstLoad.WITH)
MUSCLES = ("vastus medialis", "vastus lateralis", "biceps femoris")

names = st.text(min_size=1, max_size=60).filter(lambda text: bool(text.strip()))


def plan_of(muscles: Sequence[str] = MUSCLES, a: str = A, b: str = B, smallest: float = 5.0) -> AnalysisPlan:
    """A plan over all these muscles, both phases and all thirds."""
    return AnalysisPlan(
        EXERCISE, a, b, Outcome.RMS, tuple(muscles), PHASES, THIRDS, muscles[0], PHASES[0], "lower", smallest,
        Decision("R1", "2026-01-01T00:00:00Z"),
    )  # fmt: skip


def comparison_of(
    muscles: Sequence[str] = MUSCLES, people: int = 8, a: str = A, b: str = B, unit: str = PERCENT
) -> Comparison:
    """Invented values of every participant: a is 4 more than b against the load and alike with it."""
    draw = np.random.default_rng(3)
    scale = 1.0 if unit == PERCENT else 0.01
    values = [
        RepValue(
            CellKey(f"P{who:02}", level, muscle, Side.RIGHT, phase, third),
            f"T{who}{level}", 1, 1,
            scale * (30 + 4 * (level == a) * (phase is AgainstLoad.AGAINST) + float(draw.normal(0, 2))),
        )
        for who in range(people)
        for level in (a, b)
        for muscle in muscles
        for phase in PHASES
        for third in THIRDS
    ]  # fmt: skip
    return compare_cells(
        cells_from(values, unit, effect_applies=unit == PERCENT), plan_of(muscles, a, b, smallest=5.0 * scale)
    )


def curve_of(mean: float, sd: float = 2.0) -> MeanCurve:
    """A half wave of a height over the phase."""
    shape = np.sin(np.linspace(0, np.pi, POINTS))
    return MeanCurve(mean * shape, np.full(POINTS, sd), np.full(POINTS, 6), 6, 2, 0.2, 12.0)


def curves_of(
    muscles: Sequence[str] = MUSCLES, levels: Sequence[str] = (A, B), people: int = 4, unit: str = PERCENT
) -> StudyCurves:
    """Curves of every participant: half waves of 30, 31, 32 ... in the first level and 10 more in the second."""
    of = {
        CurveKey(f"P{who}", level, muscle, Side.NONE, phase, against, over): curve_of(30 + who + 10 * number)
        for who in range(people)
        for number, level in enumerate(levels)
        for muscle in muscles
        for phase, against in (("lowering", AgainstLoad.WITH), ("raising", AgainstLoad.AGAINST))
        for over in Over
    }
    return StudyCurves(of, over_people(of), dict.fromkeys(muscles, unit))


def findings_of(count: int = 5, variants: int = 9) -> list[FindingVaried]:
    """Findings that stand but in one variant, which has no interval in every second finding."""
    return [
        FindingVaried(
            MUSCLES[k % 3],
            "against the load, lower",
            tuple(
                Varied(
                    f"variant of the boundaries number {v}", 6.0 + v / 10, nan if v == 3 and k % 2 else 4.0, 8.5,
                    agrees=v != 3,
                )
                for v in range(variants)
            ),
            "does not stand in 1 of 9",
        )
        for k in range(count)
    ]  # fmt: skip
