"""Delimited text: any preamble, tabs, commas, semicolons or blanks, decimal point or comma, titles or none."""

import re
from dataclasses import replace
from pathlib import Path

from phasemark.formats.assemble import Reading, assemble
from phasemark.formats.columns import find_columns
from phasemark.formats.decoding import DecodedText, guess_encoding, read_bytes, read_text
from phasemark.formats.dialect import split_cells
from phasemark.formats.layout import Layout, find_layout, shown
from phasemark.formats.mapping import Mapping, to_plain
from phasemark.formats.preview import Preview, make_preview
from phasemark.formats.table import Progress, Table, read_table
from phasemark.formats.times import RowTimes, clock_seconds, row_times
from phasemark.model.codec import json_text
from phasemark.model.errors import BadData
from phasemark.model.recording import Recording, Source

FORMAT = "text"
_OTHER_TIME = re.compile(r"[(\[_/,]\s*(min|mins|minutes?|h|hrs?|hours?|us|µs|μs|usec|ns|samples?|frames?)\b", re.I)


def no_progress(_: float) -> None:
    """Nobody asks how far the reading is."""


def sniff(path: Path) -> bool:
    """Whether a file begins as text; cheap, and asked after all formats that have a mark of their own.

    Raises:
        Unavailable: the file cannot be read.
    """
    head = read_bytes(path, 1 << 16)
    return bool(head.strip()) and guess_encoding(head) is not None


def preview(path: Path) -> Preview:
    """The columns, titles and first rows of a text recording, and the mapping they propose.

    Raises:
        Unavailable: the file cannot be read.
        BadData: it holds no rows of numbers.
    """
    source = read_text(path)
    return make_preview(source, find_layout(source))


def _refuse_text_columns(source: DecodedText, layout: Layout, numbers: tuple[int, ...]) -> None:
    for number in numbers:
        if number - 1 in layout.shape.text_columns:
            line = source.text[layout.start :].split("\n", 1)[0]
            cells = split_cells(line, layout.shape.dialect.delimiter)
            raise BadData(
                f"{source.name}, line {layout.first_line}, column {layout.headings[number - 1].text}: the column holds "
                f"text such as {shown(cells[number - 1] if number <= len(cells) else '')}; map a column of numbers."
            )


def _row_times(mapping: Mapping, table: Table, number: int, layout: Layout, name: str) -> RowTimes:
    assert mapping.time is not None
    heading = layout.headings[number - 1]
    where = f"{name}, time column {heading.text}"
    if table.texts:
        return row_times(clock_seconds(table.texts, table.lines, where), table.lines, 1, mapping.rate, where)
    other = _OTHER_TIME.search(heading.title) if mapping.time.unit is None else None
    if other:
        raise BadData(
            f"{where}: the title says {other[1]}, and times are read in s or ms; give rate_hz, and null for time."
        )
    unit = mapping.time.unit or (heading.unit if heading.unit in ("s", "ms") else "s")
    return row_times(table.columns[number], table.lines, 1000 if unit == "ms" else 1, mapping.rate, where)


def read(path: Path, mapping: Mapping, progress: Progress = no_progress) -> Recording:
    """The recording in a text file.

    Args:
        path: of the file.
        mapping: which column is what.
        progress: called with the part done (0 to 1) between pieces of the file; it may raise Cancelled.

    Raises:
        Unavailable: the file cannot be read.
        BadData: it is no recording, is damaged, or does not fit the mapping; one sentence with line and column.
    """
    source = read_text(path)
    layout = find_layout(source)
    numbers = find_columns(mapping, layout.headings, source.name)
    clocked = mapping.time is not None and numbers[-1] - 1 in layout.shape.text_columns
    plain = numbers[:-1] if clocked else numbers
    _refuse_text_columns(source, layout, plain)
    table = read_table(source, layout, plain, numbers[-1] if clocked else None, progress)
    times = _row_times(mapping, table, numbers[-1], layout, source.name) if mapping.time else None
    parts = numbers[: len(mapping.emg) + len(mapping.movement)]
    columns = tuple(table.columns[number] for number in parts)
    headings = tuple(layout.headings[number - 1] for number in parts)
    recording = assemble(Reading(source.name, mapping, columns, headings, times))
    origin = Source(source.name, FORMAT, source.sha256, json_text(to_plain(mapping)))
    return replace(recording, source=origin, notes=(*layout.notes, *table.notes, *recording.notes))
