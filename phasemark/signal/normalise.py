"""Amplitude in percent of a reference."""

from math import hypot, isfinite, nan


def percent_of(value: float, reference: float) -> float:
    """100 * value / reference, both in mV; values over 100 are kept, never capped.

    nan where either is missing or the reference is not above zero. A gain of the channel leaves it unchanged. Where
    noise is taken off the value (baseline.without_noise), it must be taken off the reference as well.
    """
    if not (isfinite(value) and isfinite(reference) and reference > 0):
        return nan
    return 100.0 * value / reference


def percent_error(value_error: float, reference_error: float) -> float:
    """Relative sampling error of a value in percent of a reference: that of both in quadrature.

    sqrt(value_error^2 + reference_error^2), relative errors of independent quantities. The reference's share is common
    to all values of the muscle: it moves them together and cancels in their ratios. nan where either is missing.
    """
    return hypot(value_error, reference_error)
