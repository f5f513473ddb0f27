"""The colours of pictures on a screen: from the system's palette, light or dark."""

from PySide6.QtGui import QPalette

from phasemark.results.figures.looks import DARK_SERIES, LIGHT_SERIES, Look
from phasemark.window.palette import scheme_of


def look_of(palette: QPalette) -> Look:
    """The look that goes with a widget's palette."""
    scheme = scheme_of(palette)
    ground, ink, soft, hair = (colour.name() for colour in (scheme.base, scheme.ink, scheme.soft, scheme.hair))
    return Look(ground, ink, soft, hair, DARK_SERIES if scheme.dark else LIGHT_SERIES)
