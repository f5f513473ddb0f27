"""Colours of the traces and marks, light or dark as the system's palette is.

Hues come from the colour-blind-safe set of Okabe M, Ito K (2008), 'Color Universal Design: How to make
figures and presentations that are friendly to colorblind people' (also Wong B (2011), Nature Methods 8:441;
values from memory). A hue says which phase; arrow and word say it too.
"""

from dataclasses import dataclass
from functools import cached_property

from PySide6.QtGui import QColor, QPalette

from phasemark.model.marks import BURST, LOWERING, RAISING

ORANGE = QColor("#E69F00")
SKY_BLUE = QColor("#56B4E9")
BLUISH_GREEN = QColor("#009E73")
BLUE = QColor("#0072B2")
VERMILLION = QColor("#D55E00")

_LIGHT_HUES = {RAISING: BLUE, LOWERING: VERMILLION, BURST: BLUISH_GREEN}
_DARK_HUES = {RAISING: SKY_BLUE, LOWERING: ORANGE, BURST: BLUISH_GREEN}
# The upper third is the strongest shade in both phases, so that a shade means a height.
_LIGHT_SHADES = {"lower": 0.10, "middle": 0.19, "upper": 0.30, "first": 0.10, "second": 0.19, "last": 0.30, "": 0.16}
_DARK_SHADES = {"lower": 0.16, "middle": 0.26, "upper": 0.38, "first": 0.16, "second": 0.26, "last": 0.38, "": 0.22}


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
        return blended(self.ink, self.base, 0.68)

    @cached_property
    def hair(self) -> QColor:
        """Hairlines: grid, zero lines, separators."""
        return blended(self.ink, self.base, 0.14)

    @cached_property
    def hatch(self) -> QColor:
        """Hatching over what is excluded."""
        return blended(self.ink, self.base, 0.28)

    @cached_property
    def gap(self) -> QColor:
        """Veil over the ground where samples are missing."""
        veil = QColor(self.ink)
        veil.setAlphaF(0.12)
        return veil

    @cached_property
    def raw(self) -> QColor:
        """The recorded signal, behind."""
        return blended(self.ink, self.base, 0.50 if self.dark else 0.44)

    @cached_property
    def front(self) -> QColor:
        """The envelope or the filtered movement, in front."""
        return blended(self.ink, self.base, 0.94)

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
            shades = _DARK_SHADES if self.dark else _LIGHT_SHADES
            known = self._tints[phase, third] = blended(self.hue(phase), self.base, shades.get(third, shades[""]))
        return known


def scheme_of(palette: QPalette) -> Scheme:
    """The scheme that goes with a widget's palette."""
    return Scheme(palette.color(QPalette.ColorRole.Base), palette.color(QPalette.ColorRole.Text))
