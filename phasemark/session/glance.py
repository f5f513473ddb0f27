"""A look into a file before it is added: its first rows, and a sketch of what each column holds."""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from phasemark.formats import preview_recording, reader_of, text
from phasemark.formats.decoding import DecodedText, read_text
from phasemark.formats.layout import find_layout
from phasemark.formats.mapping import Mapping, MovementColumn
from phasemark.formats.preview import Preview
from phasemark.formats.table import read_table
from phasemark.model.recording import Samples
from phasemark.signal.pyramid import build, columns
from phasemark.worker import Progress

SKETCH_COLUMNS = 160
# So much text is sketched of a file; its first part shows what a column holds.
_MOST_CHARACTERS = 24 << 20


@dataclass(frozen=True, slots=True, eq=False)
class Sketch:
    """The lowest and highest value in each of equal stretches of a column (NaN: none), and in all of it."""

    lows: Samples
    highs: Samples
    lowest: float
    highest: float


Sketches = dict[int, Sketch]


def look(path: Path) -> Preview:
    """The first rows and columns of a file; raises as preview_recording."""
    return preview_recording(path)


def sketch_of(values: Samples) -> Sketch | None:
    """The sketch of a column's values, None where it holds none."""
    held = np.flatnonzero(~np.isnan(values))
    if len(held) == 0:
        return None
    values = values[: held[-1] + 1]
    lows, highs = columns(build(values), 0, len(values), min(SKETCH_COLUMNS, len(values)))
    return Sketch(lows, highs, float(np.nanmin(values)), float(np.nanmax(values)))


def sketches(path: Path, progress: Progress) -> Sketches:
    """Sketches of a file's columns of numbers, by column number from 1.

    Raises:
        Unavailable: the file cannot be read.
        BadData: it is damaged; the sentence says where.
    """
    reader = reader_of(path)
    values = _of_text(path, progress) if reader.name == text.FORMAT else _of_other(path, progress)
    drawn = {number: sketch_of(column) for number, column in values.items()}
    return {number: sketch for number, sketch in drawn.items() if sketch is not None}


def _first_part(source: DecodedText, start: int) -> DecodedText:
    if len(source.text) - start <= _MOST_CHARACTERS:
        return source
    return replace(
        source, text=source.text[: source.text.rfind("\n", start, start + _MOST_CHARACTERS)], whole_line=True
    )


def _of_text(path: Path, progress: Progress) -> dict[int, Samples]:
    source = read_text(path)
    layout = find_layout(source)
    wanted = tuple(h.number for h in layout.headings if h.number - 1 not in layout.shape.text_columns)
    return read_table(_first_part(source, layout.start), layout, wanted, None, progress).columns


def _of_other(path: Path, progress: Progress) -> dict[int, Samples]:
    """By the rates that the file itself states."""
    numbers = [heading.number for heading in preview_recording(path).columns]
    every = Mapping(movement=tuple(MovementColumn(number, f"column {number}", "") for number in numbers))
    return dict(zip(numbers, reader_of(path).read(path, every, progress).movement_values, strict=True))
