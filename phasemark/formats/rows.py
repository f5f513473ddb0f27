"""What a line of a text recording is: numbers, an empty row, damaged numbers, or text."""

import math
import re
from dataclasses import dataclass
from enum import Enum

from phasemark.formats.cells import parse_clock
from phasemark.formats.dialect import Dialect, numbers_in, split_cells


class RowKind(Enum):
    """BLANK: nothing; EMPTY: cells, no number; DATA: numbers; DAMAGED: text among them; LABEL: a word first; TEXT.

    A LABEL ('Gain;1000;1000', 'Mean;0.1;0.2') describes columns where it stands above or below all rows of
    numbers; between them it is a damaged row.
    """

    BLANK = "blank"
    EMPTY = "empty"
    DATA = "data"
    DAMAGED = "damaged"
    LABEL = "label"
    TEXT = "text"


@dataclass(frozen=True, slots=True)
class Shape:
    """What the rows of a recording look like: dialect, number of cells, columns (from 0) that hold no numbers."""

    dialect: Dialect
    width: int
    text_columns: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Row:
    """One line taken apart: values (NaN missing, None text) of its cells, and where text stands (from 0)."""

    kind: RowKind
    cells: list[str]
    values: list[float | None]
    bad: list[int]


def _kind(cells: list[str], values: list[float | None], bad: list[int], shape: Shape) -> RowKind:
    numbers = sum(
        1
        for j, value in enumerate(values)
        if value is not None and not math.isnan(value) and j not in shape.text_columns
    )
    filled = sum(1 for cell in cells if cell.strip())
    if filled == 0:
        return RowKind.EMPTY if len(cells) > 1 else RowKind.BLANK
    if not bad:
        return RowKind.DATA if numbers else RowKind.EMPTY
    if numbers == 0 or 2 * numbers < filled - len(shape.text_columns):
        return RowKind.TEXT
    return RowKind.LABEL if bad[0] == 0 and cells[0].strip()[:1].isalpha() else RowKind.DAMAGED


def read_row(line: str, shape: Shape) -> Row:
    """A line taken apart and judged."""
    cells = split_cells(line, shape.dialect.delimiter)
    values = numbers_in(cells, shape.dialect)
    bad = [j for j, value in enumerate(values) if value is None and j not in shape.text_columns]
    if bad and len(cells) <= 1 < shape.width:
        return Row(RowKind.TEXT, cells, values, bad)
    return Row(_kind(cells, values, bad, shape), cells, values, bad)


def _edges(line: str) -> list[tuple[int, int]]:
    return [match.span() for match in re.finditer(r"[^ \t]+", line)]


def places_by_edges(line: str, full_lines: list[str]) -> list[int] | None:
    """Columns (from 0) of the cells of a short row in a text with blanks, by the full rows above it.

    Where columns are aligned, on the right or on the left, a cell lies under its column. Else the cells are
    the first ones, as long as the first lies under the first column; None where that is not so.
    """
    cells, above = _edges(line), [_edges(full) for full in full_lines]
    if not cells or not above:
        return None
    for side, inner, step in ((1, 0, -1), (0, 1, 1)):
        flush = [column[side] for column in above[-1]]
        aligned = all([column[side] for column in columns] == flush for columns in above)
        if aligned and "\t" not in line and all(cell[side] in flush for cell in cells):
            places = [flush.index(cell[side]) for cell in cells]
            # A cell that reaches over the neighbouring column's edge belongs to a text that is not aligned.
            nexts = [(cell[inner], at + step) for cell, at in zip(cells, places, strict=True)]
            if all(step * (flush[at] - edge) > 0 for edge, at in nexts if 0 <= at < len(flush)):
                return places
    return list(range(len(cells))) if cells[0][0] < above[-1][0][1] else None


def column_kinds(rows: list[list[str]], dialect: Dialect) -> frozenset[int]:
    """Columns (from 0) whose filled cells are mostly text: labels, dates, clock times."""
    numbers: dict[int, int] = {}
    texts: dict[int, int] = {}
    for cells in rows:
        for j, value in enumerate(numbers_in(cells, dialect)):
            if value is None:
                texts[j] = texts.get(j, 0) + 1
            elif not math.isnan(value):
                numbers[j] = numbers.get(j, 0) + 1
    return frozenset(j for j, count in texts.items() if count > numbers.get(j, 0))


def mostly_numbers(cells: list[str], dialect: Dialect) -> bool:
    """Whether at least a third of the filled cells are numbers or clock times, and at least one is a number."""
    values = numbers_in(cells, dialect)
    numbers = sum(1 for value in values if value is not None and not math.isnan(value))
    others = sum(1 for value, cell in zip(values, cells, strict=True) if value is None and not parse_clock(cell))
    return numbers > 0 and 2 * numbers >= others
