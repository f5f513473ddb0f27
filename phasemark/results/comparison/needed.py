"""How many participants an effect needs, and how large an effect those at hand can show."""

from dataclasses import dataclass
from math import isfinite, nan

from phasemark.model.errors import BadCall
from phasemark.statistics.power import participants_needed, smallest_detectable

POWER = 0.8
"""Power that sample sizes are given for (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Needed:
    """participants a paired t test needs for the smallest effect that matters, given the SD of differences observed.

    None where that is not known, or over a million. detectable is the smallest true difference, in the values' unit,
    that the n at hand shows with the power, by the same SD; nan where not known. An SD from few people is itself
    uncertain, and so are both.
    """

    participants: int | None
    detectable: float
    power: float = POWER


UNKNOWN = Needed(None, nan)


def needed(sd: float, n: int, smallest: float, *, alpha: float) -> Needed:
    """From the SD of differences (n participants), the smallest effect that matters (nan: none), and the error rate."""
    if n < 2 or not (isfinite(sd) and sd > 0):
        return UNKNOWN
    detectable = sd * smallest_detectable(n, power=POWER, alpha=alpha)
    if not isfinite(smallest):
        return Needed(None, detectable)
    try:
        return Needed(participants_needed(smallest / sd, power=POWER, alpha=alpha), detectable)
    except BadCall:  # more than a million
        return Needed(None, detectable)
