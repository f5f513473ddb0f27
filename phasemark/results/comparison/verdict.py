"""What may be said of a comparison in one word, and no more than that."""

from enum import StrEnum
from math import isnan


class Verdict(StrEnum):
    """Which of the two conditions has more, whether they are similar, or that this is not settled."""

    MORE_IN_A = "more in A"
    MORE_IN_B = "more in B"
    SIMILAR = "similar"
    NOT_SETTLED = "not settled"


def verdict(difference: float, p: float, p_equivalent: float, alpha: float) -> Verdict:
    """The verdict on a mean difference a - b, its p, and the p of the two one-sided tests of equivalence.

    Similar is said only where a difference as large as the smallest that matters is refuted, and even if the
    difference is significant: it is then there, but smaller than matters. Not significant is not the same as equal.
    A missing p (nan) settles nothing.
    """
    if p_equivalent < alpha:
        return Verdict.SIMILAR
    if isnan(p) or p >= alpha or difference == 0:
        return Verdict.NOT_SETTLED
    return Verdict.MORE_IN_A if difference > 0 else Verdict.MORE_IN_B


def in_words(found: Verdict, a: str, b: str, *, difference: float, p: float, alpha: float) -> str:
    """The verdict with the names of the two levels: 'more in squat'.

    Where the two are similar but differ detectably, both are said.
    """
    more = f"more in {a if difference > 0 else b}"
    if found is Verdict.SIMILAR:
        return f"{found} ({more}, by less than matters)" if p < alpha else str(found)
    return more if found in (Verdict.MORE_IN_A, Verdict.MORE_IN_B) else str(found)
