"""The fast way for regular pieces of text: rows of one width, parsed by numpy."""

from collections.abc import Iterator

import numpy as np

from phasemark.formats.dialect import BLANKS, Dialect
from phasemark.formats.rows import Shape
from phasemark.model.recording import Samples

# numpy's loadtxt holds the interpreter while it parses: 256 KB take about 10 ms.
PIECE = 1 << 18
_MISSING = "nan"


def pieces(text: str, start: int) -> Iterator[tuple[str, int]]:
    """Whole lines of about PIECE characters each, with the place where each piece ends."""
    while start < len(text):
        end = text.find("\n", start + PIECE)
        end = len(text) if end < 0 else end
        yield text[start:end], end
        start = end + 1


def _filled(piece: str, delimiter: str) -> str:
    """The piece with a word for missing in each empty cell."""
    between, pair = f"{delimiter}{_MISSING}{delimiter}", delimiter * 2
    if pair in piece:
        piece = piece.replace(pair, between).replace(pair, between)
    piece = piece.replace(f"{delimiter}\n", f"{delimiter}{_MISSING}\n")
    piece = piece.replace(f"\n{delimiter}", f"\n{_MISSING}{delimiter}")
    head = _MISSING if piece.startswith(delimiter) else ""
    tail = _MISSING if piece.endswith(delimiter) else ""
    return f"{head}{piece}{tail}"


def padded(lines: list[str], shape: Shape) -> list[str] | None:
    """The lines with delimiters added where their last cells are left out; None where a line has too many cells."""
    delimiter, whole = shape.dialect.delimiter, shape.width - 1
    if delimiter == BLANKS:
        return None
    lacking = [whole - line.count(delimiter) for line in lines]
    if min(lacking, default=0) < 0:
        return None
    return [line + delimiter * count for line, count in zip(lines, lacking, strict=True)]


def _translated(piece: str, dialect: Dialect) -> str | None:
    """The piece without quotes and with decimal points; None where that could change a meaning."""
    piece = piece.replace('"', "") if '"' in piece else piece
    if dialect.decimal == ",":
        # A point may set thousands apart, or be a slip: the careful way tells.
        if "." in piece:
            return None
        piece = piece.replace(",", ".")
    return piece


def _loaded(text: str, delimiter: str, columns: list[int] | None) -> Samples | None:
    """The cells by numpy's reader of text, whose numbers are those of float(); None where it finds text."""
    lines = text.split("\n")
    try:
        return np.loadtxt(lines, delimiter=delimiter or None, comments=None, ndmin=2, usecols=columns)
    except ValueError:
        return None


def parse_regular(piece: str, rows: int, shape: Shape) -> Samples | None:
    """The numbers of a piece, shape (rows, width), NaN where a cell is empty or the column is text.

    None where the piece is irregular: blank lines, rows of different or too great width, text.
    Values are those of float() of each cell.
    """
    delimiter = shape.dialect.delimiter
    if shape.dialect.thousands or not piece.isascii() or "\n\n" in piece or piece[:1] in ("", "\n"):
        return None
    cells = shape.width
    if delimiter != BLANKS:
        cells = piece.count(delimiter, 0, piece.find("\n") if rows > 1 else len(piece)) + 1
        if cells > shape.width or piece.count(delimiter) != (cells - 1) * rows:
            return None
    text = _translated(piece, shape.dialect)
    columns = [j for j in range(cells) if j not in shape.text_columns]
    if text is None or not columns:
        return None
    used = columns if len(columns) < cells else None
    values = _loaded(text, delimiter, used)
    if values is None and delimiter != BLANKS:
        values = _loaded(_filled(text, delimiter), delimiter, used)
    if values is None or values.shape != (rows, len(columns)):
        return None
    whole = np.full((rows, shape.width), np.nan)
    whole[:, columns] = np.where(np.isfinite(values), values, np.nan)
    return whole
