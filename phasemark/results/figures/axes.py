"""Axes that hold all that is drawn against them, with ticks of round numbers or with names."""

from collections.abc import Iterable, Sequence
from math import ceil, floor, isfinite

from phasemark.results.figures.description import Axis
from phasemark.results.figures.tick_values import Tick, decimals_of, multiples, nice_step, number_text, ticks

_ROOM = 0.06


def value_axis(values: Iterable[float], label: str, unit: str = "", *, most: int = 5, from_zero: bool = False) -> Axis:
    """An axis over all values that are there, that begins and ends at a tick; from_zero has zero on it."""
    there = [value for value in values if isfinite(value)] + ([0.0] if from_zero else [])
    low, high = (min(there), max(there)) if there else (0.0, 1.0)
    if low == high:
        around = abs(low) / 2 or 1.0
        low, high = (low if from_zero and low == 0 else low - around), high + around
    step = nice_step((high - low) / most)
    first, last = floor(low / step + 1e-9) * step, ceil(high / step - 1e-9) * step
    named = tuple(Tick(v, number_text(v, decimals_of(step))) for v in multiples(first, last, step))
    return Axis(first, last, named, label, unit)


def tight_axis(values: Iterable[float], label: str, unit: str = "", *, most: int = 5) -> Axis:
    """An axis just wider than all values that are there, with ticks within it."""
    there = [value for value in values if isfinite(value)]
    low, high = (min(there), max(there)) if there else (0.0, 1.0)
    around = (high - low) * _ROOM if high > low else abs(low) / 2 or 1.0
    low, high = low - around, high + around
    return Axis(low, high, ticks(low, high, most), label, unit)


def short_unit(unit: str) -> str:
    """A unit as an axis has room for it."""
    return "% points" if unit == "percentage points" else unit


def percent_axis(label: str, unit: str) -> Axis:
    """0 to 100 %, with ticks at every quarter."""
    return Axis(0.0, 100.0, tuple(Tick(float(p), str(p)) for p in (0, 25, 50, 75, 100)), label, unit)


def name_axis(names: Sequence[str], *, down: bool = False, strong: Sequence[str] = (), label: str = "") -> Axis:
    """Names in slots at 0, 1, 2, ...; down: the first on top of an upright axis."""
    ends = (-0.5, max(len(names), 1) - 0.5)
    low, high = reversed(ends) if down else ends
    named = tuple(Tick(float(place), name) for place, name in enumerate(names))
    return Axis(low, high, named, label, slots=True, strong=tuple(strong))
