"""Tick values a person can read: steps of 1, 2 or 5 times a power of ten, with as many decimals as the step."""

from dataclasses import dataclass
from math import ceil, floor, isfinite, log10

MINUS = "\N{MINUS SIGN}"


@dataclass(frozen=True, slots=True)
class Tick:
    """A value of an axis and how it is written."""

    value: float
    text: str


def nice_step(least: float) -> float:
    """The smallest of 1, 2, 5 times a power of ten that is not below least."""
    power = 10.0 ** floor(log10(least))
    return next(factor * power for factor in (1.0, 2.0, 5.0, 10.0) if factor * power >= least * (1 - 1e-9))


def decimals_of(step: float) -> int:
    """Decimals that multiples of a nice step need."""
    return max(0, -floor(log10(step) + 1e-9))


def number_text(value: float, decimals: int) -> str:
    """A value with a fixed number of decimals and a true minus sign; powers of ten beyond six decimals."""
    if decimals > 6 or abs(value) >= 1e7:
        return f"{value:.3g}".replace("-", MINUS)
    text = f"{value:.{decimals}f}"
    return text.removeprefix("-") if float(text) == 0 else text.replace("-", MINUS)


def multiples(low: float, high: float, step: float) -> tuple[float, ...]:
    """All multiples of a step from low to high."""
    first, last = ceil(low / step - 1e-9), floor(high / step + 1e-9)
    return tuple(index * step for index in range(first, last + 1))


def ticks(low: float, high: float, most: int) -> tuple[Tick, ...]:
    """At most so many ticks (and at least one) within low to high; none where the range is empty."""
    if not (isfinite(low) and isfinite(high) and low < high):
        return ()
    step = nice_step((high - low) / (max(most, 1) + 1))
    values = multiples(low, high, step)
    while len(values) > max(most, 1):
        step = nice_step(step * 1.01)
        values = multiples(low, high, step)
    return tuple(Tick(value, number_text(value, decimals_of(step))) for value in values)
