"""CSV as text: UTF-8, decimal point, LF, and no typed text that a spreadsheet would run as a formula."""

from collections.abc import Iterable, Mapping, Sequence
from math import isfinite

# A cell that begins so is taken for a formula by spreadsheets (CWE-1236, improper neutralization of formula
# elements in a CSV file), some of which skip blanks and know the wide forms; an apostrophe in front makes it text.
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")

Cell = str | int | float | bool | None


def cell_text(value: Cell) -> str:
    """One cell: yes or no, the shortest text that reads back as the same number, nothing where missing."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return repr(float(value)) if isfinite(value) else ""
    if isinstance(value, int):
        return str(value)
    return f"'{value}" if value.lstrip(" ").startswith(_FORMULA_STARTS) else value


def _quoted(text: str) -> str:
    """A cell in quotes where it needs them (RFC 4180); a carriage return alone ends a line for many readers too."""
    if any(sign in text for sign in ',"\n\r'):
        return '"' + text.replace('"', '""') + '"'
    return text


def csv_text(columns: Sequence[str], rows: Iterable[Mapping[str, Cell]]) -> str:
    """A table with a title row; a row lacks what it does not name."""
    lines = [columns, *([row.get(name) for name in columns] for row in rows)]
    return "".join(",".join(_quoted(cell_text(cell)) for cell in line) + "\n" for line in lines)
