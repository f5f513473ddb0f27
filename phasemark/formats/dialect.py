"""How a delimited text is written: what parts its cells and which decimal mark it uses."""

import csv
import math
import re
from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

from phasemark.formats.cells import grouped_surely, parse_clock, parse_number

BLANKS = ""
_DELIMITERS = ("\t", ";", ",", "|", BLANKS)
_BLANK_CELLS = re.compile(r'"[^"]*"|[^ \t]+')
_LINES_WEIGHED = 120


@dataclass(frozen=True, slots=True)
class Dialect:
    """The delimiter ('' for blanks, one or many), the decimal mark, and whether thousands are set apart."""

    delimiter: str
    decimal: str = "."
    thousands: bool = False


def split_cells(line: str, delimiter: str) -> list[str]:
    """The cells of a line, without quotes around them."""
    if delimiter == BLANKS:
        # str.split would also part cells at no-break spaces, which set thousands apart.
        plain = '"' not in line and line.isascii()
        return line.split() if plain else [cell.strip('"') for cell in _BLANK_CELLS.findall(line)]
    if '"' not in line:
        return line.split(delimiter)
    try:
        return next(csv.reader([line], delimiter=delimiter, skipinitialspace=True), [])
    except csv.Error:
        return line.split(delimiter)


def numbers_in(cells: list[str], dialect: Dialect) -> list[float | None]:
    """Each cell as a number, NaN (missing) or None (text)."""
    return [parse_number(cell, dialect.decimal, thousands=dialect.thousands) for cell in cells]


class _Weight(NamedTuple):
    """How well a dialect fits: lines of numbers, then numbers in them; a tie goes to the earlier candidate."""

    lines: float
    numbers: int


def _weigh(lines: list[str], dialect: Dialect) -> _Weight:
    total, numbers = 0.0, 0
    for line in lines:
        cells = split_cells(line, dialect.delimiter)
        values = numbers_in(cells, dialect)
        good = sum(1 for value in values if value is not None and not math.isnan(value))
        clocks = sum(1 for value, cell in zip(values, cells, strict=True) if value is None and parse_clock(cell))
        bad = sum(1 for value in values if value is None) - clocks
        if good:
            total += ((good + clocks) / (good + clocks + bad)) ** 2
            numbers += good + clocks
    return _Weight(round(total, 6), numbers)


def _spread(lines: list[str], count: int) -> list[str]:
    step = max(1, -(-len(lines) // count))
    return lines[::step]


_DECIMALS_ALONE = re.compile(r"\s*([+-]?\d+),(\d+)\s*", re.ASCII)


def _decimals_alone(lines: list[str]) -> bool:
    """Whether lines of the form a,b hold one number with a decimal comma, not two whole numbers.

    Leading zeros after the comma (0,05), -0 before it, or nothing but 0 before it without a title for two
    columns, are signs of a decimal comma.
    """
    pairs = [match for match in map(_DECIMALS_ALONE.fullmatch, lines) if match]
    if any((len(match[2]) > 1 and match[2].startswith("0")) or match[1] == "-0" for match in pairs):
        return True
    others = [line for line in lines if not _DECIMALS_ALONE.fullmatch(line)]
    titled = bool(others) and others[-1].count(",") == 1
    zeros = all(int(match[1]) == 0 for match in pairs) and any(int(match[2]) for match in pairs)
    return zeros and not titled


def _not_blanks(best: Dialect, weights: dict[Dialect, _Weight]) -> Dialect:
    """A blank inside one cell ('1 2') does not make blanks the delimiter where tabs part nearly all lines."""
    if best.delimiter != BLANKS:
        return best
    others = [Dialect(delimiter, best.decimal) for delimiter in _DELIMITERS[:-1]]
    return next((d for d in others if d in weights and weights[d].lines > 0.8 * weights[best].lines), best)


def guess_dialect(lines: list[str], text: str) -> Dialect | None:
    """The dialect in which most of some lines are rows of numbers; None where none are.

    Args:
        lines: lines from all over the file, in order.
        text: the whole text, asked only where the lines cannot tell the decimal mark.
    """
    filled = [line for line in lines if line.strip()]
    # Numbers reach to the end of a file, however long the text above them is.
    sample = _spread(filled[:-_LINES_WEIGHED], _LINES_WEIGHED) + filled[-_LINES_WEIGHED:]
    present = [d for d in _DELIMITERS if d == BLANKS or any(d in line for line in sample)]
    candidates = [Dialect(d, mark) for d, mark in product(present, ".,")]
    weights = {candidate: _weigh(sample, candidate) for candidate in candidates}
    best = max(candidates, key=weights.__getitem__, default=None)
    if best is None or weights[best].numbers == 0:
        return None
    best = _not_blanks(best, weights)
    if best.delimiter == "," and _decimals_alone(sample):
        best = Dialect(BLANKS, ",")
    if best.delimiter != "," and best.decimal == "." and weights[best] == weights[Dialect(best.delimiter, ",")]:
        best = Dialect(best.delimiter, "," if "," in text and "." not in text[len(text) // 10 :] else ".")
    grouped = any(grouped_surely(c, best.decimal) for line in sample for c in split_cells(line, best.delimiter))
    return Dialect(best.delimiter, best.decimal, grouped)
