"""How wide text is in the typeface that figures are commonly set in, without any font at hand.

Widths in thousandths of the size, for the characters 32 to 126: Adobe Core 14 AFM files, Helvetica and
Helvetica-Bold; common free and system sans-serif faces are made to the same widths. Accented letters are as wide
as their letter; what else is not listed is taken as wide, so that text is rather given too much room than too little.
"""

from functools import lru_cache
from unicodedata import combining, east_asian_width, normalize

MM_PER_PT = 25.4 / 72

_REGULAR = (
    *(278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556),
    *(556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667),
    *(611, 778, 722, 278, 500, 667, 556, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667),
    *(667, 611, 278, 278, 278, 469, 556, 333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500),
    *(222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584),
)
_BOLD = (
    *(278, 333, 474, 556, 556, 889, 722, 238, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556),
    *(556, 556, 556, 556, 556, 556, 556, 333, 333, 584, 584, 584, 611, 975, 722, 722, 722, 722, 667),
    *(611, 778, 722, 278, 556, 722, 611, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667),
    *(667, 611, 333, 278, 333, 584, 556, 333, 556, 611, 556, 611, 556, 333, 611, 611, 278, 278, 556),
    *(278, 889, 611, 611, 611, 611, 389, 556, 333, 611, 556, 778, 556, 556, 500, 389, 280, 389, 584),
)
_FURTHER = {
    **{"\N{MINUS SIGN}": 584, "\N{PLUS-MINUS SIGN}": 584, "\N{MULTIPLICATION SIGN}": 584, "\N{DEGREE SIGN}": 400},
    **{"\N{EN DASH}": 556, "\N{HORIZONTAL ELLIPSIS}": 1000, "\N{MIDDLE DOT}": 278, "\N{NO-BREAK SPACE}": 278},
    **{"\N{MICRO SIGN}": 556, "\N{LATIN SMALL LETTER SHARP S}": 611},
}
_UNKNOWN, _WIDE = 850, 1050
ELLIPSIS = "\N{HORIZONTAL ELLIPSIS}"


@lru_cache(maxsize=4096)
def _width(character: str, bold: bool) -> int:
    code = ord(character)
    if 32 <= code < 127:
        return (_BOLD if bold else _REGULAR)[code - 32]
    if character in _FURTHER:
        return _FURTHER[character]
    if combining(character):
        return 0
    base = normalize("NFD", character)[0]
    if base != character:
        return _width(base, bold)
    return _WIDE if east_asian_width(character) in "WF" else _UNKNOWN


def text_mm(text: str, size_pt: float, *, bold: bool = False) -> float:
    """Width (mm) of one line of text."""
    return sum(_width(character, bold) for character in text) / 1000 * size_pt * MM_PER_PT


def elided(text: str, size_pt: float, width_mm: float, *, bold: bool = False) -> str:
    """As much of a text as fits a width, an ellipsis in place of the rest; empty where not even that fits."""
    if text_mm(text, size_pt, bold=bold) <= width_mm:
        return text
    for length in range(len(text) - 1, -1, -1):
        shorter = text[:length].rstrip() + ELLIPSIS
        if text_mm(shorter, size_pt, bold=bold) <= width_mm:
            return shorter
    return ""


def wrapped(text: str, size_pt: float, width_mm: float, most: int, *, bold: bool = False) -> tuple[str, ...]:
    """A text on at most so many lines of a width, broken between words, the rest elided; no line where it is empty."""
    lines: list[str] = []
    words = text.split()
    while words and len(lines) < most - 1:
        line = words.pop(0)
        while words and text_mm(f"{line} {words[0]}", size_pt, bold=bold) <= width_mm:
            line = f"{line} {words.pop(0)}"
        lines.append(elided(line, size_pt, width_mm, bold=bold))
    if words:
        lines.append(elided(" ".join(words), size_pt, width_mm, bold=bold))
    return tuple(lines)
