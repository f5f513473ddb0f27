"""The sampling rate from a column of times, and the rows that are missing between them."""

import math
from collections import Counter
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from phasemark.formats.cells import parse_clock
from phasemark.model.clock import Rate, rate_text
from phasemark.model.errors import BadData
from phasemark.model.recording import Samples

_EVEN = 0.3  # of a sample: a single missing row moves the line through all times by half a sample
_HALF_DAY, _DAY = 43200.0, 86400.0
_RATE_TOLERANCE = Fraction(1, 1000)


@dataclass(frozen=True, slots=True)
class RowTimes:
    """Rate (Hz) of the rows; place of each row among evenly spaced samples, None where they are just in order."""

    rate: Rate
    places: NDArray[np.int64] | None = None
    notes: tuple[str, ...] = ()


def clock_seconds(cells: tuple[str, ...], lines: NDArray[np.int64], where: str) -> Samples:
    """Seconds since the first of a column of clock times, NaN where a cell is empty; midnight may pass."""
    seconds: list[float] = []
    first: Fraction | None = None
    for cell, line in zip(cells, lines, strict=True):
        clock = parse_clock(cell)
        if clock is None and cell.strip():
            raise BadData(f"{where}, line {line}: {cell.strip()!r} is neither a number nor a clock time.")
        first = clock if first is None else first
        seconds.append(math.nan if clock is None or first is None else float(clock - first))
    times = np.array(seconds, dtype=np.float64)
    steps = np.diff(times, prepend=times[:1])
    return times + _DAY * np.cumsum(steps < -_HALF_DAY)


def _decimals(values: Samples) -> int:
    """Decimal places that the values were written with (up to 9)."""
    for places in range(9):
        scaled = values * 10.0**places
        slack = max(1e-9, float(np.max(np.abs(scaled))) * 2e-15)
        if np.all(np.abs(scaled - np.rint(scaled)) <= slack):
            return places
    return 9


def _resolution(times: Samples) -> Fraction:
    """The step that times are rounded to, by the last ones: a fixed number of digits gets coarser towards the end."""
    return Fraction(1, 10 ** _decimals(times[-500:]))


def _simplest_rate(span: Fraction, steps: int, resolution: Fraction) -> Rate:
    """The rate with the fewest digits that gives so many steps in a span (s) known to its resolution."""
    low, high = steps / (span + resolution), steps / max(span - resolution, span / 2)
    middle = steps / span
    for digits in range(-4, 10):
        scale = Fraction(10) ** digits
        candidate = round(middle * scale) / scale
        if low <= candidate <= high and candidate > 0:
            return candidate
    return middle


def _derived_rate(times: Samples, places: NDArray[np.int64], scale: int) -> Rate:
    """The rate (Hz) of times in 1/scale s that lie at whole numbers of samples."""
    span = (Fraction(repr(float(times[-1]))) - Fraction(repr(float(times[0])))) / scale
    steps = int(places[-1] - places[0])
    resolution = _resolution(times) / scale
    period = span / steps
    if (period / resolution).denominator == 1 and _constant(times, places):
        return 1 / period
    return _simplest_rate(span, steps, resolution)


def _constant(times: Samples, places: NDArray[np.int64]) -> bool:
    slopes = np.diff(times) / np.diff(places)
    return bool(np.ptp(slopes) <= 1e-6 * np.abs(slopes[0]) + 4e-16 * np.max(np.abs(times)))


def _deviations(times: Samples, places: NDArray[np.int64]) -> tuple[float, Samples]:
    """Period (of the times' unit) of the line through the first and last time, and distances from it."""
    period = float((times[-1] - times[0]) / (places[-1] - places[0]))
    return period, np.abs(times - times[0] - period * (places - places[0]))


def _is_even(times: Samples, places: NDArray[np.int64]) -> bool:
    period, away = _deviations(times, places)
    return bool(away.max() <= max(1.01 * float(_resolution(times)), _EVEN * period))


def _misses_rows(times: Samples) -> bool:
    """Whether all steps are alike but for a few that are whole multiples of them: rows were dropped.

    Coarse times of a slightly slower rate look the same; that a few rows are missing is what the column says.
    """
    steps = np.diff(times)
    usual = float(np.median(steps))
    if usual <= 0:
        return False
    whole = np.rint(steps / usual)
    longer = int(np.count_nonzero(whole > 1))
    return whole.min() >= 1 and 0 < longer <= len(steps) / 500 and np.abs(steps / usual - whole).max() < 1e-3


def _gapped_places(times: Samples) -> NDArray[np.int64] | None:
    """Places of rows whose times jump by whole numbers of samples; None where they are simply uneven."""
    steps = np.diff(times)
    usual = float(np.median(steps))
    near = steps[(steps > 0.5 * usual) & (steps < 1.5 * usual)]
    if usual <= 0 or len(near) < 0.9 * len(steps):
        return None
    whole = np.rint(steps / near.mean()).astype(np.int64)
    places = np.concatenate([[0], np.cumsum(whole)])
    if whole.min() < 1 or places[-1] > 2 * len(times) or not _is_even(times, places):
        return None
    return places


def _refuse_uneven(times: Samples, lines: NDArray[np.int64], where: str) -> None:
    steps = np.diff(times)
    usual = float(np.median(steps))
    at = int(np.argmax(np.abs(steps - usual)))
    raise BadData(
        f"{where}, line {lines[at + 1]}: the times are uneven (from {times[at]:.10g} to {times[at + 1]:.10g}, where "
        f"steps are usually {usual:.6g}); give rate_hz and no time column if the samples are even."
    )


def _refuse_wrong_order(times: Samples, lines: NDArray[np.int64], where: str) -> None:
    if len(times) < 2:
        raise BadData(f"{where}: fewer than two times; give rate_hz, and null for time.")
    back = np.flatnonzero(np.diff(times) < 0)
    if len(back):
        at = int(back[0])
        raise BadData(
            f"{where}, line {lines[at + 1]}: the time goes back from {times[at]:.10g} to {times[at + 1]:.10g}; "
            "keep one recording in a file."
        )
    if times[-1] == times[0]:
        raise BadData(f"{where}: the time never changes; give rate_hz, and null for time.")


def _settled_rate(derived: Rate, stated: Rate | None, where: str) -> Rate:
    if stated is None:
        return derived
    if abs(derived / stated - 1) > _RATE_TOLERANCE:
        raise BadData(
            f"{where}: the times go at {float(derived):.6g} rows a second, but the mapping says rate_hz "
            f"{rate_text(stated)}; correct rate_hz or the unit of time, or leave one of the two out."
        )
    return stated


def _missing_notes(times: Samples, rate: Rate, rows: int, scale: int) -> tuple[str, ...]:
    notes = []
    missing = rows - len(times)
    if missing:
        notes.append(f"the time is missing in {missing} rows, which are taken as evenly spaced")
    if times[0] != 0 and abs(times[0]) / scale > 1.5 / float(rate):
        notes.append(f"the times begin at {times[0] / scale:.10g} s; the recording's own time begins at 0")
    return tuple(notes)


def row_times(times: Samples, lines: NDArray[np.int64], scale: int, stated: Rate | None, where: str) -> RowTimes:
    """Rate and places of rows from their times.

    Args:
        times: one time a row, in 1/scale s, NaN where missing.
        lines: line number of each row, for messages.
        scale: 1 for seconds, 1000 for milliseconds.
        stated: the rate (Hz) the mapping states; the times are checked against it.
        where: file and column, for messages.

    Raises:
        BadData: times that go back, stand still, are uneven, or do not fit the stated rate; with the line.
    """
    given = np.flatnonzero(~np.isnan(times))
    known, known_lines = times[given], lines[given]
    _refuse_wrong_order(known, known_lines, where)
    if _is_even(known, given) and not (len(given) == len(times) and _misses_rows(known)):
        rate = _settled_rate(_derived_rate(known, given, scale), stated, where)
        return RowTimes(rate, None, _missing_notes(known, rate, int(given[-1]) + 1, scale))
    places = _gapped_places(known) if len(given) == len(times) else None
    if places is None:
        _refuse_uneven(known, known_lines, where)
    assert places is not None
    rate = _settled_rate(_derived_rate(known, places, scale), stated, where)
    jumps = Counter(int(step) - 1 for step in np.diff(places))
    lost = sum(size * count for size, count in jumps.items())
    first = int(np.flatnonzero(np.diff(places) > 1)[0])
    note = f"the times jump over {lost} samples, first at line {known_lines[first + 1]}; they are kept as missing"
    return RowTimes(rate, places, (note, *_missing_notes(known, rate, len(known), scale)))
