"""How far a repeated measurement is off: standard error of measurement, minimal difference, repeatability."""

from dataclasses import dataclass
from math import nan, sqrt

import numpy as np
from numpy.typing import ArrayLike

from phasemark.statistics.distributions import chi2_quantile
from phasemark.statistics.icc import icc, rating_variance
from phasemark.statistics.values import Interval, check_share, no_interval, pairs


@dataclass(frozen=True, slots=True)
class MeasurementError:
    """Error of one measurement, in the values' unit.

    sem: standard error of measurement, sqrt(MS residual). minimal_difference: the change of one person that is
    beyond error at 95 %, 1.96 sqrt(2) sem. see: standard error of an estimated true score, sd sqrt(ICC (1 - ICC));
    sep: of the prediction of another measurement, sd sqrt(1 - ICC^2); both with ICC(3,1), and nan where it is
    negative or missing. sd: of all values.
    """

    n: int
    k: int
    sem: float
    sem_interval: Interval
    minimal_difference: float
    see: float
    sep: float
    sd: float


@dataclass(frozen=True, slots=True)
class Repeatability:
    """Of two measurements by one method: the SD within subjects, and the difference that 95 % of pairs stay under."""

    n: int
    sd_within: float
    coefficient: float


def measurement_error(scores: ArrayLike, *, level: float = 0.95) -> MeasurementError:
    """Standard error of measurement of scores of shape (people, trials), and what follows from it.

    Two formulas are in use, which differ: sqrt(MS residual) and SD sqrt(1 - ICC). The first is taken: it does not
    hang on how far the people happen to differ, nor on which ICC (Weir 2005, J Strength Cond Res 19:231-240, who
    recommends it; its SEE, SEP and minimal difference too). A systematic difference between trials is not in it. The
    interval of sem is that of the chi-squared distribution of MS residual.

    Raises:
        BadData: a score is missing, or there are under 2 people or under 2 trials.
        BadCall: the level does not lie between 0 and 1.
    """
    check_share(level, "confidence level")
    of = rating_variance(scores)
    sem, df = sqrt(of.ms_residual), (of.n - 1) * (of.k - 1)
    tail = (1 - level) / 2
    interval = no_interval(level)
    if sem > 0:
        low, high = (sqrt(of.ss_residual / chi2_quantile(share, df)) for share in (1 - tail, tail))
        interval = Interval(low, high, level)
    consistency = icc(scores, level=level)[2].value
    known = consistency >= 0
    see = of.sd * sqrt(consistency * (1 - consistency)) if known else nan
    sep = of.sd * sqrt(1 - consistency**2) if known else nan
    return MeasurementError(of.n, of.k, sem, interval, 1.96 * sqrt(2) * sem, see, sep, of.sd)


def repeatability(first: ArrayLike, second: ArrayLike, *, multiplier: float = 1.96) -> Repeatability:
    """Repeatability of two measurements by one method, each of shape (subjects,), with no bias between them assumed.

    SD within subjects = sqrt(sum d^2 / (2 n)); coefficient = multiplier sqrt(2) SD within (Bland & Altman 1986,
    Lancet i:307-310, with 2 for the multiplier).

    Raises:
        BadData: a value is missing, there is no pair, or the numbers of subjects differ.
    """
    one, other = pairs(first, second)
    within = sqrt(float(np.sum((one - other) ** 2)) / (2 * len(one)))
    return Repeatability(len(one), within, multiplier * sqrt(2) * within)
