"""From a column of rows to a trace at its own rate: how a slower column is laid out, where it ends, its gaps."""

from dataclasses import dataclass
from fractions import Fraction
from math import isqrt

import numpy as np
from numpy.typing import NDArray

from phasemark.model.clock import Rate, rate_text, seconds
from phasemark.model.errors import BadData
from phasemark.model.recording import Samples

_GAPS_NAMED = 4
# No unit makes a measured value so large; texts write such numbers where nothing was measured.
_LARGEST = 1e30
_SPARSE_AT_LEAST = 10


@dataclass(frozen=True, slots=True)
class RowGrid:
    """Rate (Hz) of the rows, rows of the longest column at that rate, places of rows where the times jump."""

    rate: Rate
    longest: int
    places: NDArray[np.int64] | None = None


@dataclass(frozen=True, slots=True)
class Trace:
    """Values at a rate (Hz) from a time (s) on, NaN where missing, none missing at the end; and what was done."""

    values: Samples
    rate: Rate
    begins: Fraction = Fraction(0)
    notes: tuple[str, ...] = ()


def without_end_gap(values: Samples) -> Samples:
    """The values up to the last one that is not missing."""
    given = np.flatnonzero(~np.isnan(values))
    return values[: given[-1] + 1] if len(given) else values[:0]


def gap_notes(label: str, values: Samples, rate: Rate) -> tuple[str, ...]:
    """One sentence a gap: how many samples are missing, from when on."""
    edges = np.flatnonzero(np.diff(np.isnan(values), prepend=False, append=False))
    begins, ends = edges[0::2], edges[1::2]
    notes = [
        f"{label}: {end - begin} sample{'s' if end - begin > 1 else ''} missing from {seconds(int(begin), rate):.3f} s"
        for begin, end in zip(begins[:_GAPS_NAMED], ends[:_GAPS_NAMED], strict=True)
    ]
    if len(begins) > _GAPS_NAMED:
        rest = int(np.sum(ends[_GAPS_NAMED:] - begins[_GAPS_NAMED:]))
        notes.append(f"{label}: {rest} more samples missing in {len(begins) - _GAPS_NAMED} further gaps")
    return tuple(notes)


def measurable(values: Samples, label: str) -> tuple[Samples, tuple[str, ...]]:
    """The values, those that are far too large for any measurement taken as missing, and the sentence on it."""
    beyond = np.abs(values) > _LARGEST
    if not beyond.any():
        return values, ()
    first, count = float(values[np.argmax(beyond)]), int(beyond.sum())
    many = f"{count} values beyond {_LARGEST:g}, such as {first:g}, are" if count > 1 else f"the value {first:g} is"
    return np.where(beyond, np.nan, values), (f"{label}: {many} taken as missing",)


def _on_grid(values: Samples, grid: RowGrid) -> Samples:
    """The values with missing rows put in where the times jump."""
    if grid.places is None:
        return values
    spread = np.full(int(grid.places[-1]) + 1, np.nan)
    spread[grid.places] = values
    return spread


def _sparse_step(values: Samples) -> int:
    """Rows between the filled ones of a column that is filled in every n-th row; 1 where it is not."""
    given = np.flatnonzero(~np.isnan(values))
    if len(given) < _SPARSE_AT_LEAST or 2 * len(given) > given[-1] - given[0]:
        return 1
    return int(np.gcd.reduce(np.diff(given)))


def _same_rate(values: Samples, rate: Rate, label: str, name: str) -> Trace:
    step = _sparse_step(values)
    if step > 1:
        raise BadData(
            f"{name}: {label} is filled in every {step}th row only; give its column the rate_hz "
            f"{rate_text(rate / step)}, or what it was sampled at."
        )
    return Trace(values, rate)


def _sparse(values: Samples, rate: Rate, grid: RowGrid, label: str, name: str) -> Trace:
    """A column that is filled in every n-th row, n = rate of rows / its own rate, not always a whole number."""
    given = np.flatnonzero(~np.isnan(values))
    share = rate / grid.rate
    whole = 1 / share if share.numerator == 1 else None
    offset = int(given[0]) % int(whole) if whole else 0
    away = (given - offset) * share.numerator
    places = (2 * away + share.denominator) // (2 * share.denominator)
    fits = np.all(np.abs(away - places * share.denominator) <= share.numerator) and np.all(np.diff(places) > 0)
    if not fits or (whole and np.any((given - offset) % int(whole))):
        raise BadData(
            f"{name}: {label} is filled in {len(given)} of {len(values)} rows, which does not fit "
            f"{rate_text(rate)} Hz beside {rate_text(grid.rate)}; correct its rate_hz."
        )
    own = np.full(int(places[-1]) + 1, np.nan)
    own[places] = values[given]
    note = f"{label}: one row in {float(1 / share):g} is filled, at {rate_text(rate)} Hz"
    return Trace(own, rate, Fraction(offset) / grid.rate, (note,))


def _held(values: Samples, rate: Rate, grid: RowGrid, label: str) -> Trace:
    """A slower column that was repeated or interpolated to fill all rows."""
    ratio = grid.rate / rate
    if ratio.denominator != 1:
        note = (
            f"{label}: filled in every row although sampled at {rate_text(rate)} Hz; kept at the rows' "
            f"{rate_text(grid.rate)} Hz, of which that is no whole part"
        )
        return Trace(values, grid.rate, notes=(note,))
    step = int(ratio)
    note = f"{label}: filled in every row although sampled at {rate_text(rate)} Hz; every {step}th row is taken"
    return Trace(values[::step], rate, notes=(note,))


def place_trace(rows: Samples, rate: Rate, grid: RowGrid, label: str, name: str) -> Trace:
    """The trace that a column holds, at its own rate.

    A column slower than the rows is told by what is filled: every n-th row; or from the top on without pause,
    about as many rows as its own rate gives for the recording (they are its samples, one after the other) or
    about as many as the recording has rows (it was repeated or interpolated: every n-th row is taken).

    Args:
        rows: one value a row, NaN where empty.
        rate: the column's own rate (Hz), not above that of the rows.
        grid: rate and number of the rows.
        label: what messages call the trace.
        name: the file's name.

    Raises:
        BadData: nothing in the column, or rows filled that do not fit its rate.
    """
    rows = without_end_gap(rows)
    filled = int(np.count_nonzero(~np.isnan(rows)))
    if filled == 0:
        raise BadData(f"{name}: {label} holds no numbers; leave its column out of the mapping.")
    if rate == grid.rate:
        return _same_rate(_on_grid(rows, grid), rate, label, name)
    ratio = grid.rate / rate
    root = isqrt(int(ratio * 10**6)) / 1000
    if filled * root < len(rows) - int(np.argmin(np.isnan(rows))):
        return _sparse(_on_grid(rows, grid), rate, grid, label, name)
    if len(rows) * root < grid.longest:
        note = f"{label}: its {len(rows)} rows from the top are samples at {rate_text(rate)} Hz"
        return Trace(rows, rate, notes=(note,))
    return _held(_on_grid(rows, grid), rate, grid, label)
