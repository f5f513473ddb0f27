"""The rows of a text recording as columns of numbers, parsed in pieces, so that other threads go on."""

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from phasemark.formats.decoding import DecodedText
from phasemark.formats.dialect import BLANKS, split_cells
from phasemark.formats.layout import FEW_ROWS, MANY_TIMES, Layout, shown, text_in_number
from phasemark.formats.regular import padded, parse_regular, pieces
from phasemark.formats.rows import Row, RowKind, Shape, places_by_edges, read_row
from phasemark.model.errors import BadData
from phasemark.model.recording import Samples

Progress = Callable[[float], None]
_LINES_COMPARED = 20  # full rows that show how the columns of a text with blanks are aligned
_CUT_NUMBER = re.compile(r"[+-]?\d*[.,]?\d*(?:[eEdD][+-]?)?", re.ASCII)


@dataclass(frozen=True, slots=True)
class Table:
    """Columns (by number from 1; float64, NaN where empty), the line of each row, and what was met.

    texts holds the cells of the one column that was asked for as text (clock times).
    """

    columns: dict[int, Samples]
    lines: NDArray[np.int64]
    texts: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(slots=True)
class _Gathering:
    """The rows gathered so far, and the lines between or below them that are none."""

    name: str
    shape: Shape
    wanted: tuple[int, ...]
    text_column: int | None
    blocks: list[Samples] = field(default_factory=list)
    lines: list[NDArray[np.int64]] = field(default_factory=list)
    texts: list[str] = field(default_factory=list)
    count: int = 0
    blanks: list[int] = field(default_factory=list)
    strays: list[tuple[int, Row, str]] = field(default_factory=list)
    below_stray: int = 0
    short_line: int = 0
    full_lines: list[str] = field(default_factory=list)

    def add(self, block: Samples, lines: NDArray[np.int64], cells: list[list[str]]) -> None:
        """Take rows; refuses them where they go on after a line of text."""
        self.blocks.append(block[:, [number - 1 for number in self.wanted]])
        self.lines.append(lines)
        self.count += len(block)
        if self.text_column is not None:
            at = self.text_column - 1
            self.texts += [row[at] if at < len(row) else "" for row in cells]
        if self.strays:
            self.below_stray += int(np.sum(lines > self.strays[0][0]))
            self._refuse_rows_below()

    def _refuse_rows_below(self) -> None:
        line, row, text = self.strays[0]
        if row.kind is RowKind.LABEL and self.below_stray:
            raise BadData(text_in_number(self.name, line, row.bad[0] + 1, row.cells[row.bad[0]]))
        if self.below_stray > FEW_ROWS or self.count < MANY_TIMES * self.below_stray:
            raise BadData(
                f"{self.name}, line {line}, column 1: text stands between rows of numbers ({shown(text)}); "
                "remove it, or keep one recording in a file."
            )


def _check_wide(row: Row, line: int, shape: Shape, name: str) -> None:
    beyond = row.values[shape.width :]
    if any(value is not None and not math.isnan(value) for value in beyond):
        raise BadData(
            f"{name}, line {line}: {len(row.cells)} cells where the other rows have {shape.width}; "
            "correct the line (two may have run together)."
        )


def _places(got: _Gathering, row: Row, line: int, text: str) -> list[int]:
    """Columns (from 0) of a row's cells.

    Blanks do not say which cell is missing: a short row is taken by where its cells stand, and only if no
    full row follows.
    """
    width = got.shape.width
    if got.shape.dialect.delimiter != BLANKS or len(row.cells) >= width:
        if got.short_line:
            _refuse_short(got, got.short_line)
        got.full_lines = [*got.full_lines[1 - _LINES_COMPARED :], text]
        return list(range(len(row.cells)))
    got.short_line = got.short_line or line
    places = places_by_edges(text, got.full_lines)
    if places is None:
        _refuse_short(got, line)
    return places or []


def _refuse_short(got: _Gathering, line: int) -> None:
    raise BadData(
        f"{got.name}, line {line}: fewer numbers than in the rows around it, and blanks do not say "
        "which is missing; export with tabs, commas or semicolons."
    )


def _checked(got: _Gathering, row: Row, line: int, text: str) -> list[float]:
    """The values of a row of numbers; refuses text in a wanted column, and rows that are too wide."""
    shape = got.shape
    spoilt = [j for j in row.bad if j + 1 in got.wanted]
    if spoilt:
        raise BadData(text_in_number(got.name, line, spoilt[0] + 1, row.cells[spoilt[0]]))
    _check_wide(row, line, shape, got.name)
    values = [math.nan] * shape.width
    for j, value in zip(_places(got, row, line, text), row.values, strict=True):
        if value is not None and j < shape.width and j not in shape.text_columns:
            values[j] = value
    return values


def _careful(got: _Gathering, lines: list[str], first: int) -> None:
    """Take the lines of an irregular piece one by one."""
    taken: list[list[float]] = []
    numbers: list[int] = []
    cells: list[list[str]] = []
    for line, text in enumerate(lines, first):
        row = read_row(text, got.shape)
        if row.kind is RowKind.BLANK:
            got.blanks.append(line)
        elif row.kind in (RowKind.TEXT, RowKind.LABEL) or (got.strays and row.kind is RowKind.DAMAGED):
            got.strays.append((line, row, text))
        else:
            taken.append(_checked(got, row, line, text))
            numbers.append(line)
            cells.append(row.cells)
    if taken:
        got.add(np.array(taken), np.array(numbers, dtype=np.int64), cells)


def _add_lines(got: _Gathering, block: Samples, lines: list[str], numbers: NDArray[np.int64]) -> None:
    delimiter = got.shape.dialect.delimiter
    cells = [split_cells(line, delimiter) for line in lines] if got.text_column is not None else []
    got.add(block, numbers, cells)


def _take_uneven(got: _Gathering, lines: list[str], first: int) -> bool:
    """Take lines whose last cells may be left out, with blank ones between; False where they need a closer look."""
    kept = [(line, text) for line, text in enumerate(lines, first) if text.strip(" ")]
    even = padded([text for _, text in kept], got.shape)
    block = parse_regular("\n".join(even), len(even), got.shape) if even else None
    if block is None:
        return False
    numbers = {line for line, _ in kept}
    got.blanks += [line for line in range(first, first + len(lines)) if line not in numbers]
    _add_lines(got, block, [text for _, text in kept], np.array(sorted(numbers), dtype=np.int64))
    return True


def _take(got: _Gathering, piece: str, first: int) -> int:
    """Take the lines of a piece, the fast way if it is regular; returns how many they are."""
    lines = piece.split("\n")
    block = None if got.short_line else parse_regular(piece, len(lines), got.shape)
    if block is not None:
        got.full_lines = lines[-_LINES_COMPARED:]
        _add_lines(got, block, lines, np.arange(first, first + len(lines), dtype=np.int64))
    elif not _take_uneven(got, lines, first):
        _careful(got, lines, first)
    return len(lines)


def _cut_off(source: DecodedText, layout: Layout) -> tuple[str, tuple[str, ...]]:
    """The text without a last row that was cut off in its middle (no line end, and less than the row above)."""
    text, shape = source.text, layout.shape
    at = text.rfind("\n", layout.start)
    if source.whole_line or at < 0:
        return text, ()
    last = read_row(text[at + 1 :], shape)
    above = read_row(text[text.rfind("\n", 0, at) + 1 : at], shape)
    fewer = len(last.cells) < len(above.cells) and last.kind not in (RowKind.TEXT, RowKind.LABEL)
    spoilt = last.kind is RowKind.DAMAGED and last.bad == [len(last.cells) - 1]
    if above.kind is RowKind.DATA and (fewer or (spoilt and _CUT_NUMBER.fullmatch(last.cells[-1].strip()))):
        return text[:at], ("the last line is cut off and left out",)
    return text, ()


def _notes(got: _Gathering, last: int) -> tuple[str, ...]:
    notes = []
    between = [line for line in got.blanks if line < last]
    if between:
        notes.append(f"blank lines between the numbers are skipped: {len(between)}, the first is line {between[0]}")
    if got.strays:
        line, _, text = got.strays[0]
        rows = f" with {got.below_stray} rows of numbers" if got.below_stray else ""
        notes.append(f"text below the numbers is left out{rows}, from line {line} ({shown(text)})")
    return tuple(notes)


def _without_foot(got: _Gathering) -> tuple[Samples, NDArray[np.int64], tuple[str, ...]]:
    """All rows above the first line of text."""
    values, lines = np.concatenate(got.blocks), np.concatenate(got.lines)
    rows = len(lines) - got.below_stray
    return values[:rows], lines[:rows], tuple(got.texts[:rows])


def read_table(
    source: DecodedText, layout: Layout, wanted: tuple[int, ...], text_column: int | None, progress: Progress
) -> Table:
    """The wanted columns (numbers from 1) of a text recording; progress(0 to 1) is called between pieces.

    Raises:
        BadData: text in a number, text between the rows, or rows of the wrong width; with line and column.
    """
    text, cut_note = _cut_off(source, layout)
    got = _Gathering(source.name, layout.shape, wanted, text_column)
    line = layout.first_line
    for piece, end in pieces(text, layout.start):
        line += _take(got, piece, line)
        progress(end / len(text))
    values, lines, texts = _without_foot(got)
    if len(lines) < 2:
        raise BadData(f"{source.name} holds only one row of numbers; give a whole recording.")
    columns = {number: np.ascontiguousarray(values[:, place]) for place, number in enumerate(wanted)}
    return Table(columns, lines, texts, (*_notes(got, int(lines[-1])), *cut_note))
