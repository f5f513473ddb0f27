"""One cell of a text recording: a number, a missing value, a clock time, or text."""

import math
import re
from datetime import date
from fractions import Fraction

MISSING_WORDS = frozenset(
    {
        *("", "nan", "+nan", "-nan", "na", "n/a", "n.a.", "#n/a", "null", "none", "nil", "missing", "-", "--", "---"),
        *(".", "?", "*", "**", "***", "inf", "+inf", "-inf", "infinity", "-infinity", "#value!", "#div/0!", "#num!"),
        *("nan(ind)", "-nan(ind)", "#nv", "#wert!", "#zahl!"),
    }
)
# What some C libraries print; zeros follow where a number of decimals was asked for.
_MISSING_IN_C = re.compile(r"[+-]?1\.#(?:qnan|snan|ind|inf)0*", re.ASCII | re.IGNORECASE)
_EXPONENT = r"(?:[eEdD][+-]?\d{1,4})?"
_POINT = re.compile(rf"[+-]?(?:\d+\.?\d*|\.\d+){_EXPONENT}", re.ASCII)
_COMMA = re.compile(rf"[+-]?(?:\d+(?:,\d+)?|,\d+){_EXPONENT}", re.ASCII)
_PLAIN = re.compile(r"-?\d{1,15}(?:\.\d{1,30})?", re.ASCII)
_GROUPED = {
    ".": re.compile(r"[+-]?[1-9]\d{0,2}(?:,\d{3})+(?:\.\d*)?", re.ASCII),
    ",": re.compile(r"[+-]?[1-9]\d{0,2}(?:\.\d{3})+(?:,\d*)?", re.ASCII),
}
_SPACED = re.compile(r"[+-]?\d{1,3}(?:[ '’\u00a0\u2009\u202f]\d{3})+(?:[.,]\d*)?", re.ASCII)
_CLOCK = re.compile(r"(?:(\d{4})-(\d\d)-(\d\d)[T ])?(?:(\d{1,2}):)?(\d{1,3}):(\d\d(?:[.,]\d+)?)Z?", re.ASCII)
_DAY = 86400


def grouped_surely(cell: str, decimal: str) -> bool:
    """True where a cell has thousands separators and cannot be read in another way (1.234,5 but not 1.234)."""
    cell = cell.strip()
    other = "," if decimal == "." else "."
    return bool(_GROUPED[decimal].fullmatch(cell)) and (decimal in cell or cell.count(other) > 1)


def parse_number(cell: str, decimal: str = ".", *, thousands: bool = False) -> float | None:
    """The number in a cell, NaN where it is empty or says that nothing was measured, None where it is text.

    Args:
        cell: the cell as written, without its quotes.
        decimal: the decimal mark, '.' or ','.
        thousands: a lone group such as 1,234 (with a decimal point) is 1234; else it is refused.
    """
    if decimal == "." and _PLAIN.fullmatch(cell):
        return float(cell)
    text = cell.strip().strip("\ufeff\u00a0").replace("−", "-")
    if text.lower() in MISSING_WORDS or _MISSING_IN_C.fullmatch(text):
        return math.nan
    if _GROUPED[decimal].fullmatch(text) and (thousands or grouped_surely(text, decimal)):
        text = text.replace("," if decimal == "." else ".", "")
    elif _SPACED.fullmatch(text):
        text = re.sub(r"[^\d.,+-]", "", text)
    if not (_POINT if decimal == "." else _COMMA).fullmatch(text):
        return None
    value = float(text.replace(",", ".").replace("d", "e").replace("D", "e"))
    return value if math.isfinite(value) else math.nan


def parse_clock(cell: str) -> Fraction | None:
    """Seconds of a clock time (14:03:07.250, 03:07.250, with or without an ISO date); None where it is none.

    Without a date they count from midnight, with one from the first day of the calendar.
    """
    match = _CLOCK.fullmatch(cell.strip())
    if match is None or (match[4] is None and not re.search("[.,]", match[6])):
        return None
    try:
        day = date(int(match[1]), int(match[2]), int(match[3])).toordinal() if match[1] else 0
    except ValueError:
        return None
    hours, minutes = int(match[4] or 0), int(match[5])
    if match[4] is not None and (hours > 24 or minutes > 59):
        return None
    return Fraction(match[6].replace(",", ".")) + 60 * minutes + 3600 * hours + _DAY * day
