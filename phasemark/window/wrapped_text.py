"""Text broken into a few lines of a width, the last one shortened where it does not fit."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetricsF


def wrapped_lines(
    text: str, metrics: QFontMetricsF, width: float, most: int, elide: Qt.TextElideMode = Qt.TextElideMode.ElideRight
) -> list[str]:
    """The lines of a text, broken at blanks, none wider than so many pixels and no more of them than most."""
    lines: list[str] = []
    words = text.split()
    while words and len(lines) < most - 1:
        taken = 1
        while taken < len(words) and metrics.horizontalAdvance(" ".join(words[: taken + 1])) <= width:
            taken += 1
        lines.append(" ".join(words[:taken]))
        words = words[taken:]
    if words:
        lines.append(" ".join(words))
    return [metrics.elidedText(line, elide, width) for line in lines]
