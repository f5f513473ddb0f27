"""Order effects where participants did two conditions in either order: the two-period crossover."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from phasemark.model.errors import BadData
from phasemark.statistics.two_sample import TwoSampleT, two_sample_t
from phasemark.statistics.values import Interval, pairs


@dataclass(frozen=True, slots=True)
class Crossover:
    """Effects of a two-period crossover, each a two-sample t test between the two orders.

    condition: a minus b, with the period effect taken out (the plain paired difference mixes them where the orders
    are not equally many). period: second period minus first, with the condition taken out. carry_over: mean sum of
    both periods, order a-b minus order b-a; it holds carry-over of a condition into the second period, a condition
    by period interaction, and a difference between the two orders' participants, which this design cannot part.
    """

    n_a_first: int
    n_b_first: int
    condition: TwoSampleT
    period: TwoSampleT
    carry_over: TwoSampleT


def _halved(test: TwoSampleT) -> TwoSampleT:
    """The same test of half the difference."""
    half = Interval(test.interval.low / 2, test.interval.high / 2, test.interval.level)
    return replace(test, difference=test.difference / 2, se=test.se / 2, interval=half)


def crossover(a: ArrayLike, b: ArrayLike, a_first: ArrayLike, *, level: float = 0.95) -> Crossover:
    """Condition, period and carry-over effects of conditions a and b, each of shape (participants,).

    With d = first period - second period of a participant: the condition effect is half the difference of the mean d
    of the two orders; the period effect half the difference of the mean a - b of the two orders; carry-over the
    difference of the mean sums (Hills & Armitage 1979, Br J Clin Pharmacol 8:7-20; Jones & Kenward, Design and
    Analysis of Cross-Over Trials, ch. 2: values from memory). The test of carry-over is between people and weak; to
    choose the analysis by it distorts error rates (Freeman 1989, Stat Med 8:1421-1432: value from memory), so it is
    shown beside the condition effect and decides nothing.

    Args:
        a: values of condition a.
        b: values of condition b.
        a_first: whether a participant did condition a in the first period.
        level: of the intervals.

    Raises:
        BadData: a value is missing, the numbers of participants differ, or all did the conditions in one order.
        BadCall: the level does not lie between 0 and 1.
    """
    of_a, of_b = pairs(a, b)
    order = np.asarray(a_first, dtype=np.bool_)
    if order.shape != of_a.shape:
        raise BadData(f"The order is needed of each participant: {len(of_a)} participants, {order.size} orders.")
    if order.all() or not order.any():
        raise BadData("All participants did the conditions in the same order: order and condition cannot be parted.")
    difference, total = of_a - of_b, of_a + of_b
    first_minus_second = np.where(order, difference, -difference)
    return Crossover(
        int(np.count_nonzero(order)),
        int(np.count_nonzero(~order)),
        _halved(two_sample_t(first_minus_second[order], first_minus_second[~order], level=level)),
        _halved(two_sample_t(difference[~order], difference[order], level=level)),
        two_sample_t(total[order], total[~order], level=level),
    )
