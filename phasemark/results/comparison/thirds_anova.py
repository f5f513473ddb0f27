"""Within-subject analyses of variance of a muscle: the factor by third, by phase, and by both."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from phasemark.model.errors import BadData
from phasemark.model.plan import AgainstLoad, AnalysisPlan
from phasemark.model.recording import Side
from phasemark.results.comparison.cells import CellKey, CellValues
from phasemark.results.segments import WHOLE
from phasemark.statistics.repeated_measures import WithinAnova, within_anova

PHASE, THIRD = "phase", "third"
_PHASES = (AgainstLoad.AGAINST, AgainstLoad.WITH)


@dataclass(frozen=True, slots=True)
class MuscleAnova:
    """One analysis of one muscle: over which phases and thirds, of whom, and its effects.

    participants have every cell; left_out lack one. analysis is None where under two are whole, and missing says so.
    """

    muscle: str
    side: Side
    phases: tuple[AgainstLoad, ...]
    thirds: tuple[str, ...]
    levels: tuple[str, ...]
    factors: tuple[str, ...]
    participants: tuple[str, ...]
    left_out: tuple[str, ...]
    analysis: WithinAnova | None
    missing: str = ""


def muscle_anovas(values: CellValues, plan: AnalysisPlan) -> tuple[MuscleAnova, ...]:
    """For each muscle and side of a plan: factor x third in each phase, factor x phase, factor x phase x third.

    Factor x phase is over whole phases, the others over thirds. Where the factor has more than two levels, each
    analysis is made once for the two compared and once for all of them.
    """
    thirds = tuple(dict.fromkeys(key.third for key in values.values if key.third != WHOLE))
    order = {name: place for place, name in enumerate(("lower", "middle", "upper", "first", "second", "last"))}
    thirds = tuple(sorted(thirds, key=lambda name: order.get(name, 9)))
    every = tuple(dict.fromkeys((plan.a, plan.b, *sorted({key.level for key in values.values}))))
    found = []
    for muscle in plan.muscles:
        for side in [side for side in Side if any((k.muscle, k.side) == (muscle, side) for k in values.values)]:
            for levels in dict.fromkeys(((plan.a, plan.b), every)):
                designs = _designs(values, muscle, side, levels, thirds)
                found += [_analysed(values, design, plan.factor) for design in designs]
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Design:
    muscle: str
    side: Side
    levels: tuple[str, ...]
    phases: tuple[AgainstLoad, ...]
    thirds: tuple[str, ...]


def _designs(
    values: CellValues, muscle: str, side: Side, levels: tuple[str, ...], thirds: tuple[str, ...]
) -> Iterator[_Design]:
    there = {(k.phase, k.third) for k in values.values if (k.muscle, k.side) == (muscle, side)}
    of_thirds = tuple(phase for phase in _PHASES if any((phase, third) in there for third in thirds))
    if len(thirds) > 1:
        for phase in of_thirds:
            yield _Design(muscle, side, levels, (phase,), thirds)
    if all((phase, WHOLE) in there for phase in _PHASES):
        yield _Design(muscle, side, levels, _PHASES, (WHOLE,))
    if len(thirds) > 1 and len(of_thirds) == len(_PHASES):
        yield _Design(muscle, side, levels, _PHASES, thirds)


def _analysed(values: CellValues, design: _Design, factor: str) -> MuscleAnova:
    muscle, side, levels, phases, thirds = (
        design.muscle, design.side, design.levels, design.phases, design.thirds,
    )  # fmt: skip
    cells = list(product(levels, phases, thirds))
    people = sorted(
        {k.participant for k in values.values if (k.muscle, k.side) == (muscle, side) and k.level in levels}
    )
    rows, whole = [], []
    for who in people:
        keys = [CellKey(who, level, muscle, side, phase, third) for level, phase, third in cells]
        if all(key in values.values for key in keys):
            rows.append([values.values[key] for key in keys])
            whole.append(who)
    shape = [size for size in (len(levels), len(phases), len(thirds)) if size > 1]
    names = tuple(_names(factor, phases, thirds))
    left_out = tuple(who for who in people if who not in whole)
    analysis, missing = None, ""
    try:
        analysis = within_anova(np.array(rows).reshape(len(rows), *shape), names) if rows else None
        missing = "" if rows else "no participant has all cells"
    except BadData as problem:
        missing = str(problem)
    return MuscleAnova(muscle, side, phases, thirds, levels, names, tuple(whole), left_out, analysis, missing)


def _names(factor: str, phases: Sequence[AgainstLoad], thirds: Sequence[str]) -> Iterator[str]:
    yield f"{factor} (factor)" if factor in (PHASE, THIRD) else factor
    if len(phases) > 1:
        yield PHASE
    if len(thirds) > 1:
        yield THIRD
