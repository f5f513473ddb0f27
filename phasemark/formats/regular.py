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
    piece = piece.replace(f"{delimiter}\n", f"{delimiter}{_MISSING}\n").replace(
        f"\n{delimiter}", f"\n{_MISSING}{delimiter}"
    )
    head = _MISSING if piece.startswith(delimiter) else ""
    tail = _MISSING if piece.endswith(delimiter) else ""
    return f"{head}{piece}{tail}"


def _translated(piece: str, dialect: Dialect) -> str | None:
    """The piece without quotes and with decimal points; None where that could change a meaning."""
    piece = piece.replace('"', "") if '"' in piece else piece
    if dialect.decimal == ",":
        # A point may set thousands apart, or be a slip: the careful way tells.
        if "." in piece:
            return None
        piece = piece.replace(",", ".")
    return piece if dialect.delimiter == BLANKS else _filled(piece, dialect.delimiter)


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
    try:
        values = np.loadtxt(
            text.split("\n"),
            delimiter=delimiter or None,
            comments=None,
            ndmin=2,
            usecols=columns if len(columns) < cells else None,
        )
    except ValueError:
        return None
    if values.shape != (rows, len(columns)):
        return None
    whole = np.full((rows, shape.width), np.nan)
    whole[:, columns] = np.where(np.isfinite(values), values, np.nan)
    return whole
