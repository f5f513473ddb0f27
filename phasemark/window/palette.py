"""Colours of the traces and marks, light or dark as the system's palette is.

Hues come from the colour-blind-safe sets 'vibrant' and 'muted' of Tol P (2021), 'Colour Schemes', SRON technical note
SRON/EPS/TN/09-002, issue 3.2 (values from memory). A hue says which phase; arrow and word say it too. Greys and tints
are not fixed: each is as far from the ground as a contrast ratio says, so that it is seen on whatever ground the
system has, and so that a shade is as strong in one phase as in the other.
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache

from PySide6.QtGui import QColor, QPalette

from phasemark.model.marks import BURST, LOWERING, RAISING

BLUE, CYAN = QColor("#0077BB"), QColor("#33BBEE")
RED, ORANGE = QColor("#CC3311"), QColor("#EE7733")
WINE, SAND = QColor("#882255"), QColor("#DDCC77")

_LIGHT_HUES = {RAISING: BLUE, LOWERING: RED, BURST: WINE}
_DARK_HUES = {RAISING: CYAN, LOWERING: ORANGE, BURST: SAND}
# Contrast of a tint to the ground. The upper third is the strongest shade in both phases, so that a shade means a
# height.
_SHADES = {"lower": 1.15, "middle": 1.34, "upper": 1.59, "first": 1.15, "second": 1.34, "last": 1.59, "": 1.25}
# Contrasts of greys to the ground: all but hairlines are seen on the strongest tint too (3 to 1 there for the
# recorded signal, 4.5 to 1 for words).
_SOFT, _RAW, _HATCH, _HAIR = 7.25, 4.85, 2.9, 1.4
_STEPS = 16


def _rgb(colour: QColor) -> tuple[float, float, float]:
    return colour.redF(), colour.greenF(), colour.blueF()


def blended(over: QColor, under: QColor, share: float) -> QColor:
    """The opaque colour that so large a share of one colour over another gives."""
    return QColor.fromRgbF(*(a * share + b * (1 - share) for a, b in zip(_rgb(over), _rgb(under), strict=True)))


def luminance(colour: QColor) -> float:
    """Relative luminance, 0 to 1 (W3C, Web Content Accessibility Guidelines 2.2)."""
    linear = [c / 12.92 if c <= 0.04045 else float(((c + 0.055) / 1.055) ** 2.4) for c in _rgb(colour)]
    return sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one: QColor, other: QColor) -> float:
    """Contrast ratio, 1 to 21 (W3C, Web Content Accessibility Guidelines 2.2)."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def at_contrast(over: QColor, under: QColor, wanted: float) -> QColor:
    """So much of one colour over another that its contrast to the other is as wanted, or all of it where that is less.

    over must be lighter, or darker, than under in every mixture, as a grey between two greys is.
    """
    low, high = 0.0, 1.0
    for _ in range(_STEPS):
        middle = (low + high) / 2
        low, high = (middle, high) if contrast(blended(over, under, middle), under) < wanted else (low, middle)
    return blended(over, under, high)


@dataclass(frozen=True)
class Scheme:
    """Every colour of the traces, made from the two colours the system gives for text and its ground."""

    base: QColor
    ink: QColor

    @cached_property
    def dark(self) -> bool:
        """Whether the ground is darker than the text."""
        return luminance(self.base) < luminance(self.ink)

    @cached_property
    def soft(self) -> QColor:
        """Secondary text: units, tick values."""
        return self._grey(_SOFT)

    @cached_property
    def hair(self) -> QColor:
        """Hairlines: grid, zero lines, separators."""
        return self._grey(_HAIR)

    @cached_property
    def hatch(self) -> QColor:
        """Hatching over what is excluded."""
        return self._grey(_HATCH)

    def _grey(self, wanted: float) -> QColor:
        return at_contrast(self.ink, self.base, wanted)

    @cached_property
    def gap(self) -> QColor:
        """Veil over the ground where samples are missing."""
        veil = QColor(self.ink)
        veil.setAlphaF(0.12)
        return veil

    @cached_property
    def raw(self) -> QColor:
        """The recorded signal, behind."""
        return self._grey(_RAW)

    @property
    def front(self) -> QColor:
        """The envelope or the filtered movement, in front."""
        return self.ink

    @cached_property
    def _tints(self) -> dict[tuple[str, str], QColor]:
        return {}

    def hue(self, phase: str) -> QColor:
        """Lines and words of a phase; grey for a phase of another name."""
        return (_DARK_HUES if self.dark else _LIGHT_HUES).get(phase, self.soft)

    def tint(self, phase: str, third: str = "") -> QColor:
        """Ground of a third of a phase, or of a phase that is not cut in thirds."""
        known = self._tints.get((phase, third))
        if known is None:
            wanted = _SHADES.get(third, _SHADES[""])
            known = self._tints[phase, third] = at_contrast(self.hue(phase), self.base, wanted)
        return known


def scheme_of(palette: QPalette) -> Scheme:
    """The scheme that goes with a widget's palette, the same one each time: it is asked for at every painting."""
    base, ink = palette.color(QPalette.ColorRole.Base), palette.color(QPalette.ColorRole.Text)
    return _kept_scheme(base.rgba(), ink.rgba())


@lru_cache(maxsize=8)
def _kept_scheme(base: int, ink: int) -> Scheme:
    return Scheme(QColor.fromRgba(base), QColor.fromRgba(ink))
