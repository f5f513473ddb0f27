"""The colours, line styles and markers of pictures, as they are printed; a dark one for screens.

Series are of the colour-blind-safe set 'muted' of Tol P (2021), 'Colour Schemes', SRON technical note
SRON/EPS/TN/09-002, issue 3.2 (values from memory); the first are none of the colours that phases have in the window.
Line style and marker say the same as the colour.
"""

from dataclasses import dataclass
from enum import StrEnum

from phasemark.results.figures.description import Paint, Tone


class Marker(StrEnum):
    """The shape of a point."""

    CIRCLE = "circle"
    SQUARE = "square"
    TRIANGLE = "triangle"
    DIAMOND = "diamond"


@dataclass(frozen=True, slots=True)
class SeriesLook:
    """Colour (#rrggbb), dashes and gaps (pt; none: solid) and marker of a series."""

    colour: str
    dashes: tuple[float, ...]
    marker: Marker


_STYLES: tuple[tuple[tuple[float, ...], Marker], ...] = (
    ((), Marker.CIRCLE),
    ((3.5, 1.8), Marker.SQUARE),
    ((1.0, 1.5), Marker.TRIANGLE),
    ((5.0, 1.5, 1.0, 1.5), Marker.DIAMOND),
    ((7.0, 2.0), Marker.TRIANGLE),
    ((2.0, 1.0, 1.0, 1.0), Marker.SQUARE),
)


@dataclass(frozen=True, slots=True)
class Look:
    """Every colour of a picture, as #rrggbb."""

    ground: str
    ink: str
    soft: str
    hair: str
    series: tuple[str, ...]

    def of_series(self, number: int) -> SeriesLook:
        """How a series looks; numbers past the last begin again, with the next line style."""
        dashes, marker = _STYLES[(number + number // len(self.series)) % len(_STYLES)]
        return SeriesLook(self.series[number % len(self.series)], dashes, marker)

    def colour(self, paint: Paint) -> str:
        """The colour of a series or a tone."""
        if not isinstance(paint, Tone):
            return self.of_series(paint).colour
        return {Tone.INK: self.ink, Tone.SOFT: self.soft, Tone.HAIR: self.hair}[paint]


LIGHT_SERIES = ("#117733", "#AA4499", "#332288", "#999933", "#CC6677", "#44AA99")
DARK_SERIES = ("#44AA99", "#DDCC77", "#88CCEE", "#CC6677", "#999933", "#AA4499")

PRINT = Look("#FFFFFF", "#000000", "#4D4D4D", "#D9D9D9", LIGHT_SERIES)
