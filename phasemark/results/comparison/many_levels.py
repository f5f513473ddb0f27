"""More than two levels of a factor, pair by pair, at each place."""

from dataclasses import dataclass

import numpy as np

from phasemark.model.plan import AnalysisPlan
from phasemark.results.comparison.cells import CellValues, Place
from phasemark.results.comparison.compare import family_of
from phasemark.statistics.pairwise import Pair, pairwise


@dataclass(frozen=True, slots=True)
class PairsAt:
    """All pairs of levels at one place, over those who have every level; Holm's correction is over these pairs."""

    place: Place
    levels: tuple[str, ...]
    participants: tuple[str, ...]
    left_out: tuple[str, ...]
    pairs: tuple[Pair, ...]


def pairs_of_levels(values: CellValues, plan: AnalysisPlan, levels: tuple[str, ...]) -> tuple[PairsAt, ...]:
    """Every place of a plan with all pairs of the levels; nothing where there are but two, or nobody has them all."""
    found: list[PairsAt] = []
    for place in family_of(values, plan) if len(levels) > 2 else ():
        of = [values.of(place, level) for level in levels]
        people = sorted(set().union(*of))
        whole = [who for who in people if all(who in each for each in of)]
        if whole:
            table = np.array([[each[who] for each in of] for who in whole])
            left_out = tuple(who for who in people if who not in whole)
            found.append(PairsAt(place, levels, tuple(whole), left_out, pairwise(table, level=plan.confidence)))
    return tuple(found)
