"""Change over repetitions or sets: each participant's slope, then over participants; first against last."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import nan

import numpy as np
from numpy.typing import ArrayLike

from phasemark.model.errors import BadCall, BadData
from phasemark.statistics.one_sample import OneSampleT, t_of_mean
from phasemark.statistics.paired import PairedT, paired_t
from phasemark.statistics.values import Values, check_share, magnitude


@dataclass(frozen=True, slots=True)
class Trend:
    """Slopes over repetitions (or sets): one a participant, and their mean against zero.

    slopes: shape (participants,), in the values' unit for one step of the order; nan where a participant has under
    two values at different places. left_out: the places of those, from 0. test is over the others.
    """

    slopes: Values
    left_out: tuple[int, ...]
    test: OneSampleT


@dataclass(frozen=True, slots=True)
class FirstAgainstLast:
    """Mean of each participant's last values minus mean of the first ones, tested over participants.

    left_out: places, from 0, of participants with too few values for first and last ones apart.
    """

    left_out: tuple[int, ...]
    test: PairedT


def slope(order: ArrayLike, values: ArrayLike) -> float:
    """Least-squares slope of values on their order, both of shape (n,); nan with under two different places.

    A missing value (nan) is left out with its place: a repetition that is excluded keeps its number.

    Raises:
        BadCall: the shapes differ, or an order is missing.
    """
    places, found = np.asarray(order, dtype=np.float64), np.asarray(values, dtype=np.float64)
    if places.shape != found.shape or places.ndim != 1 or not np.all(np.isfinite(places)):
        raise BadCall("A slope needs a number of order for each value.")
    there = ~np.isnan(found)
    places, found = places[there], found[there]
    if len(found) < 2 or np.ptp(places) == 0:
        return nan
    from_mean = places - places.mean()
    return float(from_mean @ (found - found.mean()) / (from_mean @ from_mean))


def _series(series: Sequence[ArrayLike]) -> list[Values]:
    found = [np.asarray(each, dtype=np.float64) for each in series]
    if not found:
        raise BadData("There is no participant: at least one is needed.")
    for number, each in enumerate(found, 1):
        if each.ndim != 1:
            raise BadCall("Each participant's values need one axis, in order.")
        if np.any(np.abs(each) > 1e100):
            raise BadData(f"A value of participant {number} is too large to compute with: leave it out first.")
    return found


def _size(series: Sequence[Values]) -> float:
    there = [each[~np.isnan(each)] for each in series]
    return magnitude(*(each for each in there if len(each)), np.zeros(1))


def trend(series: Sequence[ArrayLike], *, orders: Sequence[ArrayLike] | None = None, level: float = 0.95) -> Trend:
    """Amplitude over repetitions or sets: least-squares slope of each participant, and a one-sample t test of them.

    The two-stage analysis of summary measures (Matthews, Altman, Campbell & Royston 1990, BMJ 300:230-235: value
    from memory): every participant counts once, whatever the number of their repetitions.

    Args:
        series: one array a participant, in order, nan where a value is missing; lengths may differ.
        orders: the number of order of each value (repetition or set numbers); 1, 2, 3, ... where not given.
        level: of the interval of the mean slope.

    Raises:
        BadData: no participant has two values, or a value is too large.
        BadCall: orders do not fit the series, or the level does not lie between 0 and 1.
    """
    check_share(level, "confidence level")
    found = _series(series)
    places = [np.arange(1, len(each) + 1) for each in found] if orders is None else list(orders)
    if len(places) != len(found):
        raise BadCall("A trend needs the orders of each participant's values.")
    slopes = np.array([slope(place, each) for place, each in zip(places, found, strict=True)])
    there = ~np.isnan(slopes)
    if not there.any():
        raise BadData("No participant has two values: there is no slope.")
    test = t_of_mean(slopes[there], _size(found), 0.0, level)
    return Trend(slopes, tuple(int(place) for place in np.flatnonzero(~there)), test)


def first_against_last(series: Sequence[ArrayLike], *, count: int = 1, level: float = 0.95) -> FirstAgainstLast:
    """Paired t test of the mean of each participant's last `count` values against that of the first `count`.

    The difference is last minus first, so that a rise is positive. Missing values (nan) are passed over: first and
    last are those of the values there. A participant with under 2 count values is left out.

    Raises:
        BadData: no participant has enough values, or a value is too large.
        BadCall: count is below 1, or the level does not lie between 0 and 1.
    """
    if count < 1:
        raise BadCall("First and last need at least one value each.")
    there = [each[~np.isnan(each)] for each in _series(series)]
    held = [each for each in there if len(each) >= 2 * count]
    if not held:
        raise BadData(f"No participant has {2 * count} values: first and last cannot be told apart.")
    left_out = tuple(place for place, each in enumerate(there) if len(each) < 2 * count)
    last, first = ([float(np.mean(each[part])) for each in held] for part in (slice(-count, None), slice(count)))
    return FirstAgainstLast(left_out, paired_t(last, first, level=level))
