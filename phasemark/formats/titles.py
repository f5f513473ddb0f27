"""Titles and units over the columns of a text recording."""

import re
from dataclasses import dataclass
from itertools import pairwise

from phasemark.formats.cells import parse_number
from phasemark.formats.dialect import BLANKS, split_cells
from phasemark.formats.rows import Shape
from phasemark.model.errors import BadData
from phasemark.model.units import parse_emg_unit

# Spellings of units (lower case) that are not EMG; the EMG units are known to the model.
_SPELLINGS = {
    **dict.fromkeys(("s", "sec", "secs", "second", "seconds"), "s"),
    **dict.fromkeys(("ms", "msec", "msecs", "millisecond", "milliseconds"), "ms"),
    **dict.fromkeys(("deg", "degs", "degree", "degrees", "°"), "deg"),
    **dict.fromkeys(("rad", "radian", "radians"), "rad"),
    **dict.fromkeys(("m", "cm", "mm", "%", "kg", "hz"), ""),
    **dict.fromkeys(("n", "nm", "n·m", "n*m", "g", "m/s", "m/s2", "m/s²", "m/s^2"), ""),
    **dict.fromkeys(("deg/s", "°/s", "rad/s"), ""),
}
_BRACKETS = re.compile(r"(.*?)[\s_,:-]*[(\[{]\s*([^()\[\]{}]*?)\s*[)\]}]\s*")
_SUFFIX = re.compile(r"(.*?)(\s*[,;/|]\s*|\s*_+|\s+)([^\s_,;|]+)")
_COMMENT = re.compile(r"\s*(?:#+|%+|//)\s*")
_LONGEST_TITLE = 60


@dataclass(frozen=True, slots=True)
class Heading:
    """A column as its titles describe it: number (from 1), title as written, name without unit, unit ('' unknown)."""

    number: int
    title: str = ""
    name: str = ""
    unit: str = ""

    @property
    def text(self) -> str:
        """The column as messages name it."""
        return f"{self.number} ({self.title})" if self.title else str(self.number)


def known_unit(text: str) -> str:
    """The unit a text means, '' where it is none that is known; case counts only between mV and MV and the like."""
    bare = text.strip().strip("()[]{}").strip()
    try:
        return parse_emg_unit(bare)
    except BadData:
        pass
    spelling = _SPELLINGS.get(bare.lower())
    return bare if spelling == "" else spelling or ""


def _parts_unit(suffix: re.Match[str]) -> bool:
    """'Group V' is not in volts: one letter after a mere blank is a unit only beside the word time."""
    return len(suffix[3]) > 1 or bool(suffix[2].strip()) or suffix[1].lower() in ("t", "time")


def split_title(title: str) -> tuple[str, str]:
    """A title parted into name and unit: 'RF_mV', 'Knee angle (deg)', 'time [s]'; unit '' where there is none known."""
    brackets = _BRACKETS.fullmatch(title)
    if brackets and known_unit(brackets[2]):
        return brackets[1].strip(), known_unit(brackets[2])
    suffix = _SUFFIX.fullmatch(title.strip())
    if suffix and suffix[1] and known_unit(suffix[3]) and _parts_unit(suffix):
        return suffix[1].strip(), known_unit(suffix[3])
    return title.strip(), ""


def _trimmed(cells: list[str]) -> list[str]:
    cells = [cell.strip() for cell in cells]
    while cells and not cells[-1]:
        cells.pop()
    return cells


def _cells_over(line: str, shape: Shape, columns: int, *, adjacent: bool) -> list[str] | None:
    """The cells of a heading line if it has one for each column, by the rows' own delimiter or another."""
    line = _COMMENT.sub("", line, count=1) if _COMMENT.match(line) else line
    own = _trimmed(split_cells(line, shape.dialect.delimiter))
    if columns == 1:
        return [line.strip()] if adjacent and len(line) <= _LONGEST_TITLE else None
    if len(own) in (columns, columns - 1) and max(map(len, own), default=0) <= _LONGEST_TITLE:
        return own
    others = [re.split(r"\t+|\s{2,}", line.strip())] if shape.dialect.delimiter == BLANKS else []
    others += [split_cells(line, delimiter) for delimiter in "\t;,"] if adjacent else []
    fitting = [_trimmed(cells) for cells in others if len(_trimmed(cells)) == columns]
    return next((cells for cells in fitting if max(map(len, cells)) <= _LONGEST_TITLE), None)


def _is_units(cells: list[str]) -> bool:
    filled = [cell for cell in cells if cell not in ("", "-", "--")]
    return bool(filled) and all(known_unit(cell) for cell in filled)


def _is_numbers(cells: list[str], shape: Shape) -> bool:
    """Whether a line over the columns gives them numbers (rates, gains), also after a word."""
    return 2 * sum(1 for c in cells if c and parse_number(c, shape.dialect.decimal) is not None) >= len(cells)


def _numbered_rows(rows: list[list[str]]) -> bool:
    """Whether the first column just counts the rows, as some exports do without a title over it."""
    firsts = [cells[0].strip() for cells in rows if cells]
    if len(firsts) < 2 or not all(first.isdigit() for first in firsts):
        return False
    return all(int(b) - int(a) == 1 for a, b in pairwise(firsts))


def _placed(cells: list[str], columns: int, rows: list[list[str]]) -> list[str]:
    if len(cells) == columns - 1 and _numbered_rows(rows):
        cells = ["", *cells]
    return cells + [""] * (columns - len(cells))


def _titles_and_units(
    above: list[str], rows: list[list[str]], shape: Shape, columns: int
) -> tuple[list[str], list[str]]:
    titles, units, numbers = ([""] * columns for _ in range(3))
    lines = [(index, line) for index, line in enumerate(above) if line.strip()][:-5:-1]
    lower = len(above)
    for index, line in lines:
        cells = _cells_over(line, shape, columns, adjacent=index == lower - 1)
        lower = index
        if cells is None:
            break
        cells = _placed(cells, columns, rows)
        if _is_numbers(cells, shape):
            numbers = cells if cells[0][:1].isalpha() else numbers
        elif _is_units(cells) and not any(units):
            units = cells
        elif not any(titles):
            titles = cells
        else:
            break
    return titles if any(titles) else numbers, units


def find_headings(above: list[str], rows: list[list[str]], shape: Shape) -> tuple[Heading, ...]:
    """A heading for each column, from the lines above the first row; without titles they have numbers only.

    Args:
        above: all lines above the first row of numbers.
        rows: the cells of the first rows.
        shape: of the rows. A delimiter at the end of each row makes no column of its own.
    """
    filled = max((len(_trimmed(cells)) for cells in rows), default=shape.width)
    columns = shape.width if filled >= shape.width else shape.width - 1
    titles, units = _titles_and_units(above, rows, shape, columns)
    if columns < shape.width and not any(titles):
        wider, wider_units = _titles_and_units(above, rows, shape, shape.width)
        titles, units, columns = (wider, wider_units, shape.width) if any(wider) else (titles, units, columns)
    headings = []
    for number, (title, unit) in enumerate(zip(titles, units, strict=True), 1):
        name, own_unit = split_title(title)
        headings.append(Heading(number, title, name, own_unit or known_unit(unit)))
    return tuple(headings)
