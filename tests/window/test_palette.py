"""Colours can be told from their ground in light and in dark, and the phases from each other without hue."""

from itertools import pairwise

import pytest
from PySide6.QtGui import QColor, QPalette

from phasemark.model.marks import LOWERING, RAISING
from phasemark.window.palette import Scheme, contrast, scheme_of

LIGHT = Scheme(QColor("#ffffff"), QColor("#000000"))
DARK = Scheme(QColor("#1b1d20"), QColor("#e6e6e6"))
GROUNDS = [("", ""), *[(name, third) for name in (LOWERING, RAISING) for third in ("lower", "middle", "upper")]]


def test_contrast_is_that_of_the_guidelines() -> None:
    """W3C, Web Content Accessibility Guidelines 2.2: black on white 21, #767676 on white 4.54 (value from memory)."""
    assert contrast(QColor("black"), QColor("white")) == pytest.approx(21)
    assert contrast(QColor("#767676"), QColor("white")) == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("scheme", [LIGHT, DARK])
def test_text_and_lines_stand_out(scheme: Scheme) -> None:
    """WCAG 2.2: text 4.5 to 1, graphical objects 3 to 1; traces also on every tint."""
    assert contrast(scheme.soft, scheme.base) >= 4.5
    for phase in (LOWERING, RAISING):
        assert contrast(scheme.hue(phase), scheme.base) >= 3
    for phase, third in GROUNDS:
        ground = scheme.tint(phase, third) if phase else scheme.base
        assert contrast(scheme.front, ground) >= 4.5
        assert contrast(scheme.raw, ground) >= 1.7  # behind, and never the only carrier of a meaning


@pytest.mark.parametrize("scheme", [LIGHT, DARK])
def test_thirds_are_ordered_shades(scheme: Scheme) -> None:
    """In both phases the upper third is the strongest shade, and each step can be seen."""
    for phase in (LOWERING, RAISING):
        steps = [contrast(scheme.tint(phase, third), scheme.base) for third in ("lower", "middle", "upper")]
        assert steps[0] > 1.03
        assert all(b > a * 1.04 for a, b in pairwise(steps))


def test_an_unknown_phase_has_a_colour() -> None:
    """Phase is an open word."""
    assert LIGHT.tint("isometric") != LIGHT.base


def test_the_scheme_follows_the_palette() -> None:
    """Light and dark are the system's."""
    palette = QPalette()
    palette.setColor(QPalette.ColorRole.Base, QColor("#101010"))
    palette.setColor(QPalette.ColorRole.Text, QColor("#f0f0f0"))
    assert scheme_of(palette).dark
    assert not LIGHT.dark
