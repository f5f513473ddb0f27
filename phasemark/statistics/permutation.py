"""The sign-flip permutation test of paired differences."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from phasemark.model.errors import BadCall
from phasemark.statistics.values import pairs, whole_differences

_CHUNK = 20_000


@dataclass(frozen=True, slots=True)
class SignFlips:
    """Sign-flip test of the mean paired difference.

    p is two-sided; exact says whether all 2^n sign patterns were counted; otherwise draws patterns were drawn
    with this seed. Where exact, draws is 2^n and seed is None. as_extreme is the number of patterns whose mean
    difference lies at least as far from zero as the one found, ties included.
    """

    n: int
    p: float
    exact: bool
    as_extreme: int
    draws: int
    seed: int | None


def _all_sums(differences: NDArray[np.int64]) -> NDArray[np.int64]:
    """Sums of the differences under every pattern of signs, sorted."""
    sums = np.zeros(1, dtype=np.int64)
    for difference in differences:
        sums = np.concatenate((sums - difference, sums + difference))
    return np.sort(sums)


def _count_all(differences: NDArray[np.int64]) -> int:
    """How many of all sign patterns reach the absolute sum found; by two halves, so that 2^n is never laid out."""
    found = abs(int(np.sum(differences)))
    half = len(differences) // 2
    one, other = _all_sums(differences[:half]), _all_sums(differences[half:])
    above = len(other) - np.searchsorted(other, found - one, side="left")
    below = np.searchsorted(other, -found - one, side="right")
    return 2 ** len(differences) if found == 0 else int(np.sum(above) + np.sum(below))


def _count_drawn(differences: NDArray[np.int64], draws: int, seed: int) -> int:
    found, count = abs(int(np.sum(differences))), 0
    generator = np.random.default_rng(seed)
    for begin in range(0, draws, _CHUNK):
        signs = 2 * generator.integers(0, 2, size=(min(_CHUNK, draws - begin), len(differences))) - 1
        count += int(np.count_nonzero(np.abs(signs @ differences) >= found))
    return count


def sign_flips(a: ArrayLike, b: ArrayLike, *, exact_up_to: int = 30, draws: int = 100_000, seed: int = 1) -> SignFlips:
    """Permutation test of the mean of a - b, both of shape (participants,), by flipping signs of differences.

    Under the null hypothesis each participant's two values could as well have been the other way round (Fisher
    1935, The Design of Experiments, sect. 21: value from memory). Up to exact_up_to pairs all 2^n patterns are
    counted and p = count / 2^n; above, draws random ones and p = (count + 1) / (draws + 1), which is never zero
    (Phipson & Smyth 2010, Stat Appl Genet Mol Biol 9:39: value from memory). Sums are whole numbers of a step
    12 digits below the largest value, so that ties are counted as such.

    Raises:
        BadData: a value is missing, there is no pair, or the numbers of participants differ.
        BadCall: draws is below 1, or exact_up_to beyond the 40 pairs whose halves fit in memory.
    """
    if draws < 1 or not 0 <= exact_up_to <= 40:
        raise BadCall("A permutation test needs at least 1 draw, and counts all patterns of at most 40 pairs.")
    differences, _ = whole_differences(*pairs(a, b))
    n = len(differences)
    if n <= exact_up_to:
        count = _count_all(differences)
        return SignFlips(n, count / 2**n, True, count, 2**n, None)
    count = _count_drawn(differences, draws, seed)
    return SignFlips(n, (count + 1) / (draws + 1), False, count, draws, seed)
