"""Where in a text the numbers begin, how many columns there are, and what stands over them."""

from collections import Counter
from dataclasses import dataclass, replace

from phasemark.formats.decoding import DecodedText
from phasemark.formats.dialect import guess_dialect, split_cells
from phasemark.formats.rows import RowKind, Shape, column_kinds, mostly_numbers, read_row
from phasemark.formats.titles import Heading, find_headings
from phasemark.model.errors import BadData

_SLICE = 1 << 14
_HEAD = 1 << 16
_ROWS_JUDGED = 150
# Numbers before a line of text belong to the preamble if they are few and many more follow.
FEW_ROWS = 9
MANY_TIMES = 10


@dataclass(frozen=True, slots=True)
class Layout:
    """How a text recording is laid out: shape of its rows, place of the first one, titles, what was met."""

    shape: Shape
    start: int
    first_line: int
    headings: tuple[Heading, ...]
    preamble: tuple[str, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Run:
    """Lines of numbers with no text between them: index of the first line, and how many.

    titled says that a line with as many cells of text follows, as titles do below rates or gains.
    """

    begin: int
    rows: int
    titled: bool = False

    @property
    def may_be_preamble(self) -> bool:
        """Rows of a recording go on; what stands above its titles does not, nor does a single line of numbers."""
        return self.rows == 1 or (self.titled and self.rows <= FEW_ROWS)


def sample_lines(text: str) -> list[str]:
    """Whole lines from the beginning, the middle and the end of a text, in order."""
    if len(text) <= _HEAD + 4 * _SLICE:
        return text.split("\n")
    lines = text[:_HEAD].split("\n")[:-1]
    for quarter in (1, 2, 3):
        begin = len(text) * quarter // 4
        lines += text[begin : begin + _SLICE].split("\n")[1:-1]
    return lines + text[-_SLICE:].split("\n")[1:]


def _width(rows: list[list[str]]) -> int:
    """Cells of a row: the largest number that is not an odd one out."""
    counts = Counter(len(cells) for cells in rows)
    least = 1 if len(rows) < 50 else 3
    return max((width for width, count in counts.items() if count >= least), default=0)


def guess_shape(text: str) -> Shape | None:
    """The shape of the rows of numbers in a text; None where it has none."""
    lines = sample_lines(text)
    dialect = guess_dialect(lines, text)
    if dialect is None:
        return None
    rows = [split_cells(line, dialect.delimiter) for line in lines[-3000:]]
    # The last ones: what stands above the numbers must not be taken for them.
    rows = [cells for cells in rows if mostly_numbers(cells, dialect)][-_ROWS_JUDGED:]
    usual = Counter(len(cells) for cells in rows).most_common(1)[0][0] if rows else 0
    rows = [cells for cells in rows if 2 * len(cells) >= usual]
    return Shape(dialect, _width(rows), column_kinds(rows, dialect)) if rows else None


def _may_begin(cells: list[str], shape: Shape) -> bool:
    return 2 * len(cells) >= shape.width + (shape.width > 1)


def _runs(lines: list[str], shape: Shape) -> list[_Run]:
    """The runs of number lines among the first lines of a text; ends once one is long enough to be sure."""
    runs: list[_Run] = []
    begin, rows, before = 0, 0, 0
    for index, line in enumerate(lines):
        row = read_row(line, shape)
        if row.kind is RowKind.BLANK or (row.kind is RowKind.EMPTY and rows == 0):
            continue
        if row.kind in (RowKind.DATA, RowKind.EMPTY) and _may_begin(row.cells, shape):
            begin, rows = (index, 1) if rows == 0 else (begin, rows + 1)
            if rows > max(FEW_ROWS, MANY_TIMES * before):
                break
        elif row.kind in (RowKind.DAMAGED, RowKind.LABEL) and rows and len(row.cells) >= shape.width:
            break
        elif rows:
            runs.append(_Run(begin, rows))
            before, rows = before + rows, 0
        if rows == 0 and runs and row.kind is RowKind.TEXT and 1 < shape.width == len(row.cells):
            runs[-1] = replace(runs[-1], titled=True)
    return [*runs, _Run(begin, rows)] if rows else runs


def _chosen(runs: list[_Run]) -> _Run:
    """The run the recording begins with: short ones before a much longer one are part of the preamble."""
    before = 0
    for place, run in enumerate(runs[:-1]):
        later = max(other.rows for other in runs[place + 1 :])
        before += run.rows
        if not run.may_be_preamble or before > FEW_ROWS or later < MANY_TIMES * before:
            return run
    return runs[-1]


def _first_lines(text: str, shape: Shape) -> tuple[list[str], list[_Run]]:
    size = _HEAD
    while True:
        lines = text[:size].split("\n")
        lines = lines[:-1] if size < len(text) else lines
        runs = _runs(lines, shape)
        if size >= len(text) or (runs and runs[-1].rows > FEW_ROWS):
            return lines, runs
        size *= 8


def _rows_from(lines: list[str], begin: int, shape: Shape) -> list[list[str]]:
    """Cells of the first rows, without blank lines."""
    return [split_cells(line, shape.dialect.delimiter) for line in lines[begin : begin + 100] if line.strip()][:50]


def _refuse_damage_above(lines: list[str], begin: int, shape: Shape, name: str) -> None:
    """A line of numbers with text among them just above the first row is a damaged row, not a heading."""
    if begin == 0:
        return
    row = read_row(lines[begin - 1], shape)
    if row.kind is RowKind.DAMAGED and len(row.cells) == shape.width:
        raise BadData(text_in_number(name, begin, row.bad[0] + 1, row.cells[row.bad[0]]))


def shown(text: str) -> str:
    """A text as messages quote it, cut to a length that can be read."""
    text = text.strip()
    return repr(text if len(text) <= 40 else text[:37] + "...")


def text_in_number(name: str, line: int, column: int, cell: str) -> str:
    """The sentence for a cell that should be a number and is not."""
    return f"{name}, line {line}, column {column}: {shown(cell)} is not a number; correct the cell or leave it empty."


def _is_column_numbers(rows: list[list[str]], shape: Shape) -> bool:
    """Whether the first row just counts the columns (1 2 3 or 0 1 2) above rows of other numbers."""
    first = [cell.strip() for cell in rows[0]]
    counted = first in ([str(n) for n in range(begin, begin + len(first))] for begin in (0, 1))
    decimals = sum(1 for cells in rows[1:] if any(shape.dialect.decimal in cell for cell in cells))
    return 2 < len(first) == shape.width and counted and 2 * decimals > len(rows) - 1 > 0


def _notes(runs: list[_Run], chosen: _Run) -> tuple[str, ...]:
    aside = [run for run in runs if run.begin < chosen.begin]
    if not aside:
        return ()
    count = sum(run.rows for run in aside)
    lines = f"line {aside[0].begin + 1}" if count == 1 else f"{count} lines from line {aside[0].begin + 1}"
    return (f"numbers above a line of text are taken as part of the preamble: {lines}",)


def find_layout(source: DecodedText) -> Layout:
    """The layout of a text recording.

    Raises:
        BadData: it holds no rows of numbers, or its first row is damaged.
    """
    shape = guess_shape(source.text)
    lines, runs = ([], []) if shape is None else _first_lines(source.text, shape)
    if shape is None or not runs:
        raise BadData(f"{source.name} holds no rows of numbers; give a recording exported as text.")
    run = _chosen(runs)
    _refuse_damage_above(lines, run.begin, shape, source.name)
    first_rows = _rows_from(lines, run.begin, shape)
    width = max(shape.width, _width([cells for cells in first_rows if mostly_numbers(cells, shape.dialect)]))
    shape = Shape(shape.dialect, width, shape.text_columns)
    notes = _notes(runs, run)
    if _is_column_numbers(first_rows, shape):
        notes = (*notes, f"line {run.begin + 1} counts the columns and is not taken as a row of numbers")
        run = _Run(run.begin + 1, run.rows - 1)
        first_rows = first_rows[1:]
    start = sum(len(line) + 1 for line in lines[: run.begin])
    headings = find_headings(lines[: run.begin], first_rows, shape)
    return Layout(shape, start, run.begin + 1, headings, tuple(lines[: run.begin]), notes)
