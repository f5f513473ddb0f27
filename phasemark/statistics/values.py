"""What every test asks of the numbers it is given, and how a value that cannot be computed is said.

Numbers come in complete: a missing or infinite one is refused with its place, because how missing cells were
handled is the caller's decision and has to be reported. What cannot be computed from complete numbers (a spread
from one participant, a test of differences that are all alike) comes back as nan, with the reason in words in the
result's field `missing`; the field is empty where nothing is missing.
"""

from dataclasses import dataclass
from math import nan

import numpy as np
from numpy.typing import ArrayLike, NDArray

from phasemark.model.errors import BadCall, BadData

Values = NDArray[np.float64]

_LARGEST = 1e100  # squares and products of larger numbers leave the range of float64
_ROUNDING = 16 * float(np.finfo(np.float64).eps)
_DIGITS = 12


@dataclass(frozen=True, slots=True)
class Interval:
    """A confidence interval: its limits (nan where missing) and its level, 0.95 for 95 %."""

    low: float
    high: float
    level: float


def no_interval(level: float) -> Interval:
    """The interval of a value that cannot be given one."""
    return Interval(nan, nan, level)


def check_share(value: float, name: str) -> None:
    """Refuse a level, power or error rate that is not between 0 and 1.

    Raises:
        BadCall: it is not.
    """
    if not 0 < value < 1:
        raise BadCall(f"The {name} must lie between 0 and 1, not at {value:g}.")


def complete(values: ArrayLike, name: str, axes: tuple[str, ...]) -> Values:
    """The values as float64, with one axis for each name of axes, at least one value, and none missing.

    Args:
        values: any shape.
        name: what the values are, for the sentence ('the first condition').
        axes: what each axis counts ('participant', 'repetition').

    Raises:
        BadData: one sentence with the place of the first value that is missing, infinite or beyond 1e100.
        BadCall: the number of axes is another one.
    """
    found = np.asarray(values, dtype=np.float64)
    if found.ndim != len(axes):
        raise BadCall(f"Of {name}, {len(axes)} axes are needed ({', '.join(axes)}), not {found.ndim}.")
    if found.size == 0:
        raise BadData(f"There is no value in {name}: at least one is needed.")
    bad = np.argwhere(~(np.abs(found) <= _LARGEST))  # also true for nan
    if len(bad):
        place = ", ".join(f"{axis} {index + 1}" for axis, index in zip(axes, bad[0], strict=True))
        what = "missing" if np.isnan(found[tuple(bad[0])]) else "too large to compute with"
        raise BadData(f"A value of {name} is {what} ({place}): leave it out, or what belongs with it, first.")
    return found


def pairs(a: ArrayLike, b: ArrayLike) -> tuple[Values, Values]:
    """Two conditions of the same participants, each of shape (participants,).

    Raises:
        BadData: a value is missing, there is none, or the numbers of participants differ.
    """
    first = complete(a, "the first condition", ("participant",))
    second = complete(b, "the second condition", ("participant",))
    if len(first) != len(second):
        raise BadData(
            f"Pairs need both conditions of each participant: the first has {len(first)} values, "
            f"the second {len(second)}."
        )
    return first, second


def magnitude(*values: Values) -> float:
    """The largest absolute value: what rounding errors are measured against."""
    return max(float(np.max(np.abs(each))) for each in values)


def without_spread(values: Values, size: float) -> bool:
    """Whether values differ by no more than the rounding of numbers of this size."""
    return float(np.ptp(values)) <= _ROUNDING * size


def whole_differences(a: Values, b: Values) -> tuple[NDArray[np.int64], float]:
    """Differences a - b as whole multiples of a step, and the step: 12 digits below the largest value.

    Differences that are equal in truth (1.9 - 0.6 and 1.1 + 0.2) differ in float64 in the last digit and would
    no longer count as ties; as whole numbers they do, and their sums are exact.
    """
    size = magnitude(a, b)
    step = 10.0 ** (np.floor(np.log10(size)) - _DIGITS) if size > 0 else 1.0
    return np.rint((a - b) / step).astype(np.int64), float(step)
