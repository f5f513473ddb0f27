"""More than two conditions of the same participants, pair by pair."""

from dataclasses import dataclass
from itertools import combinations

from numpy.typing import ArrayLike

from phasemark.model.errors import BadData
from phasemark.statistics.holm import holm
from phasemark.statistics.paired import PairedT, paired_t
from phasemark.statistics.values import complete


@dataclass(frozen=True, slots=True)
class Pair:
    """Condition a against condition b (their places among the conditions, from 0), and the Holm-adjusted p."""

    a: int
    b: int
    test: PairedT
    p_holm: float


def pairwise(values: ArrayLike, *, level: float = 0.95) -> tuple[Pair, ...]:
    """Paired t tests of all pairs of conditions, each with the SD of its own differences, and Holm over them all.

    No error term is pooled: one that is pooled over conditions needs sphericity (Maxwell & Delaney 2004, Designing
    Experiments and Analyzing Data, 2nd ed., ch. 11). Differences are the earlier condition minus the later one; the
    intervals have the level given each, and not together.

    Args:
        values: shape (participants, conditions), complete.
        level: of each interval.

    Raises:
        BadData: a value is missing, or there are under 2 conditions.
        BadCall: the level does not lie between 0 and 1.
    """
    found = complete(values, "the conditions", ("participant", "condition"))
    if found.shape[1] < 2:
        raise BadData("There is one condition only: pairs need at least 2.")
    compared = list(combinations(range(found.shape[1]), 2))
    tests = [paired_t(found[:, a], found[:, b], level=level) for a, b in compared]
    adjusted = holm([test.difference.p for test in tests])
    return tuple(Pair(a, b, test, float(p)) for (a, b), test, p in zip(compared, tests, adjusted, strict=True))
