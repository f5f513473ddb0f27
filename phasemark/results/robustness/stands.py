"""Whether a finding stands: the one definition, for single variants and for thousands of draws."""

from enum import StrEnum
from math import isfinite

import numpy as np
from numpy.typing import ArrayLike, NDArray


class Reach(StrEnum):
    """Where the interval of a difference lies to the smallest effect that matters, either way from zero."""

    BEYOND = "beyond the smallest effect that matters"
    WITHIN = "within the smallest effect that matters"
    ACROSS = "across the smallest effect that matters"
    UNKNOWN = "not determined"


def reach(low: float, high: float, smallest: float) -> Reach:
    """Where an interval lies: wholly beyond +smallest or -smallest, wholly between them, or across one of them.

    smallest is 0 where none applies: beyond is then wholly on one side of zero, and nothing is within.
    """
    if not (isfinite(low) and isfinite(high)):
        return Reach.UNKNOWN
    if low > smallest or high < -smallest:
        return Reach.BEYOND
    return Reach.WITHIN if -smallest < low and high < smallest else Reach.ACROSS


def agrees(planned: tuple[float, float], low: ArrayLike, high: ArrayLike, smallest: float) -> NDArray[np.bool_]:
    """In which variants a finding stands, from the limits of its interval as planned and under each variant.

    A difference that is as planned wholly beyond the smallest effect that matters stands where it has the same sign and
    its interval lies on the same side of that effect, wholly beyond it. A finding of similarity, with the interval as
    planned wholly within the smallest effect either way, stands where the interval is within it. An interval that
    is as planned across the smallest effect, or not determined, is no finding, and stands nowhere. A missing interval
    (nan) confirms nothing.
    """
    lows, highs = np.asarray(low, dtype=np.float64), np.asarray(high, dtype=np.float64)
    where = reach(*planned, smallest)
    if where is Reach.BEYOND:  # an interval beyond the effect holds its mean, so that the sign is the same too
        return np.asarray(lows > smallest if planned[0] > smallest else highs < -smallest)
    if where is Reach.WITHIN:
        return np.asarray((-smallest < lows) & (highs < smallest))
    return np.zeros(lows.shape, dtype=np.bool_)


def same_direction(planned: float, low: ArrayLike, high: ArrayLike) -> NDArray[np.bool_]:
    """In which variants the interval lies wholly on the side of zero that the planned difference is on."""
    lows, highs = np.asarray(low, dtype=np.float64), np.asarray(high, dtype=np.float64)
    if planned > 0:
        return np.asarray(lows > 0)
    return np.asarray(highs < 0) if planned < 0 else np.zeros(lows.shape, dtype=np.bool_)
