"""Sample arithmetic in whole numbers and fractions: the one place where times meet samples.

Rates are exact decimals held as fractions. In floating point ceil(t * rate) is one sample off in up to
1.7 % of boundaries, so no other module multiplies a time by a rate.
"""

from dataclasses import dataclass
from fractions import Fraction
from math import ceil

import numpy as np
from numpy.typing import NDArray

from phasemark.model.errors import BadData

Rate = Fraction
_WHOLE = 2**62  # products of whole numbers below it are exact in 64 bits


@dataclass(frozen=True, slots=True)
class Alignment:
    """Where a trace lies on its recording's clock: time = shift_s + ratio * index / rate (seconds)."""

    shift_s: Fraction = Fraction(0)
    ratio: Fraction = Fraction(1)

    def __post_init__(self) -> None:
        if self.ratio <= 0:
            raise BadData(f"The rate ratio of an alignment must be above zero, not {self.ratio}.")


ALIGNED = Alignment()


def parse_rate(value: object) -> Rate:
    """The exact sampling rate (Hz) that a number or its decimal text states.

    A float is read through its shortest decimal text, so that 1111.11 means 111111/100.

    Raises:
        BadData: not a number, not finite, or not above zero.
    """
    try:
        rate = value if isinstance(value, Fraction) else Fraction(str(value).strip())
    except (ValueError, ZeroDivisionError):
        raise BadData(f"A sampling rate must be a number of samples a second, not {value!r}.") from None
    if rate <= 0:
        raise BadData(f"A sampling rate must be above zero, not {value}.")
    return rate


def rate_text(rate: Rate) -> str:
    """The rate as an exact decimal ('1111.11') where there is one, else as a fraction ('1000/3')."""
    rest, places = rate.denominator, 0
    for prime in (2, 5):
        count = 0
        while rest % prime == 0:
            rest //= prime
            count += 1
        places = max(places, count)
    if rest != 1:
        return f"{rate.numerator}/{rate.denominator}"
    if places == 0:
        return str(rate.numerator)
    digits = str(abs(rate.numerator) * 10**places // rate.denominator).rjust(places + 1, "0")
    return f"{'-' if rate < 0 else ''}{digits[:-places]}.{digits[-places:]}"


def first_sample(boundary: int, clock: Rate, rate: Rate, alignment: Alignment = ALIGNED) -> int:
    """Index of a channel's first sample at or after a boundary of the recording's clock.

    A segment from boundary b0 to b1 holds the samples first_sample(b0) <= i < first_sample(b1), which are
    those with t0 <= t < t1. Indices below zero or past the channel's end are returned as they are.
    """
    if rate == clock and alignment == ALIGNED:
        return boundary
    return ceil((Fraction(boundary) / clock - alignment.shift_s) * rate / alignment.ratio)


def first_samples(boundaries: NDArray[np.int64], clock: Rate, rate: Rate) -> NDArray[np.int64]:
    """first_sample of many boundaries at once, for a channel that begins with the clock."""
    if rate == clock:
        return boundaries
    ratio = rate / clock
    if int(np.abs(boundaries).max(initial=0)) * ratio.numerator < _WHOLE:
        return -(-boundaries * ratio.numerator // ratio.denominator)
    each = [first_sample(int(boundary), clock, rate) for boundary in boundaries.ravel()]
    return np.array(each, dtype=np.int64).reshape(boundaries.shape)


def clock_length(samples: int, rate: Rate, clock: Rate, alignment: Alignment = ALIGNED) -> int:
    """Clock samples from the recording's start to the end of a channel of so many samples (not below 0)."""
    return max(0, ceil((alignment.shift_s + alignment.ratio * samples / rate) * clock))


def seconds(sample: int, clock: Rate) -> float:
    """Time (s) of a boundary; a view for people, never used to find samples again."""
    return float(Fraction(sample) / clock)


def nearest_sample(time_s: float | Fraction, clock: Rate) -> int:
    """The boundary nearest to a time (s), halves upward."""
    return (Fraction(time_s) * clock + Fraction(1, 2)).__floor__()
