"""Colours can be told from their ground and from each other, in light and in dark, whatever the colour vision.

Least distances are in CIEDE2000, where 1 is about the least that is seen of two patches side by side (common
practice, no source). No meaning rests on colour alone: phases have arrow and word, thirds lines and words, excluded
repetitions hatching, signs of the grid their shape.
"""

from itertools import combinations, pairwise

import pytest
from colour_distance import VISIONS, Lab, ciede2000, distance, lab_of, seen
from PySide6.QtGui import QColor, QImage, QPainter, QPalette

from phasemark.model.marks import BURST, LOWERING, RAISING
from phasemark.results.study_grid import State
from phasemark.window.grid.grid_signs import paint_sign
from phasemark.window.palette import Scheme, at_contrast, blended, contrast, luminance, scheme_of

LIGHT = Scheme(QColor("#ffffff"), QColor("#000000"))
DARK = Scheme(QColor("#1b1d20"), QColor("#e6e6e6"))
GREY = Scheme(QColor("#2d2d2d"), QColor("#ffffff"))
BLACK = Scheme(QColor("#000000"), QColor("#ffffff"))
SCHEMES = [LIGHT, DARK, GREY, BLACK]
THIRDS = ("lower", "middle", "upper")
PHASES = (LOWERING, RAISING)

LEAST_OF_SHADES = {LOWERING: 4.0, RAISING: 4.0, BURST: 3.0}
LEAST_OF_TINTS = 6.0
LEAST_OF_LINES = 12.0
LEAST_OF_OPPOSITES = 40.0
LEAST_OF_SELECTED = 15.0
LEAST_OF_TRACES = 20.0

every_scheme = pytest.mark.parametrize("scheme", SCHEMES, ids=["light", "dark", "grey", "black"])
every_vision = pytest.mark.parametrize("vision", VISIONS)


def grounds(scheme: Scheme) -> list[QColor]:
    """Everything that traces, lines and words of two phases are drawn on."""
    return [scheme.base, *(scheme.tint(phase, third) for phase in PHASES for third in ("", *THIRDS))]


# The measures themselves


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
        ((50.0, -1.3802, -84.2814), (50.0, 0.0, -82.7485), 1.0000),
        ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
        ((50.0, 2.5, 0.0), (61.0, -5.0, 29.0), 22.8977),
    ],
)
def test_the_distance_is_ciede2000(one: Lab, other: Lab, expected: float) -> None:
    """Sharma, Wu, Dalal (2005), Color Res Appl 30:21, table 1 (values from memory)."""
    assert ciede2000(one, other) == pytest.approx(expected, abs=1e-4)
    assert ciede2000(other, one) == pytest.approx(expected, abs=1e-4)


@every_vision
def test_simulated_vision_leaves_greys_alone_and_dichromats_confuse_their_colours(vision: str) -> None:
    """Greys lie on the neutral axis of every kind of vision; the classic pairs come near each other."""
    assert lab_of(seen(QColor("#808080"), vision)) == pytest.approx(
        lab_of(seen(QColor("#808080"), "normal vision")), abs=0.01
    )
    confused = {
        "protanopia": ("#998800", "#cc6600"),
        "deuteranopia": ("#998800", "#cc6600"),
        "tritanopia": ("#0099cc", "#00a0a0"),
    }
    if vision in confused:
        pair = [QColor(name) for name in confused[vision]]
        assert distance(*pair, vision) < 0.7 * distance(*pair, "normal vision")


def test_contrast_is_that_of_the_guidelines() -> None:
    """W3C, Web Content Accessibility Guidelines 2.2: black on white 21, #767676 on white 4.54 (value from memory)."""
    assert contrast(QColor("black"), QColor("white")) == pytest.approx(21)
    assert contrast(QColor("#767676"), QColor("white")) == pytest.approx(4.54, abs=0.01)


# Contrast to the ground: WCAG 2.2, text 4.5 to 1, graphical objects 3 to 1


@every_scheme
def test_words_can_be_read_on_every_ground(scheme: Scheme) -> None:
    for ground in grounds(scheme):
        assert contrast(scheme.ink, ground) >= 4.5
        assert contrast(scheme.soft, ground) >= 4.5


@every_scheme
def test_traces_and_lines_stand_out_on_every_ground(scheme: Scheme) -> None:
    for ground in grounds(scheme):
        assert contrast(scheme.front, ground) >= 4.5
        assert contrast(scheme.raw, ground) >= 3
        assert contrast(scheme.hatch, ground) >= 1.8  # beside the word 'excluded'
        for phase in PHASES:
            assert contrast(scheme.hue(phase), ground) >= 3
    for third in ("", *THIRDS):
        assert contrast(scheme.hue(BURST), scheme.tint(BURST, third)) >= 3


# Apart from each other


@every_vision
@every_scheme
def test_lines_of_two_phases_are_told_apart(scheme: Scheme, vision: str) -> None:
    assert distance(scheme.hue(LOWERING), scheme.hue(RAISING), vision) >= LEAST_OF_OPPOSITES
    for one, other in combinations((LOWERING, RAISING, BURST), 2):
        assert distance(scheme.hue(one), scheme.hue(other), vision) >= LEAST_OF_LINES


@every_vision
@every_scheme
def test_grounds_of_two_phases_are_told_apart(scheme: Scheme, vision: str) -> None:
    """Those of the same third: other thirds differ in their shade as well."""
    for third in ("", *THIRDS):
        assert distance(scheme.tint(LOWERING, third), scheme.tint(RAISING, third), vision) >= LEAST_OF_TINTS


@every_vision
@every_scheme
def test_neighbouring_thirds_are_told_apart(scheme: Scheme, vision: str) -> None:
    """From the ground of the screen up to the strongest shade."""
    for phase, least in LEAST_OF_SHADES.items():
        shades = [scheme.base, *(scheme.tint(phase, third) for third in THIRDS)]
        assert min(distance(one, other, vision) for one, other in pairwise(shades)) >= least


@every_vision
@every_scheme
def test_the_selected_boundary_is_told_from_the_others(scheme: Scheme, vision: str) -> None:
    """It is drawn in ink; hand-placed and automatic ones have the colour of their phase, and differ in form."""
    for phase in (LOWERING, RAISING, BURST):
        assert distance(scheme.ink, scheme.hue(phase), vision) >= LEAST_OF_SELECTED


@every_vision
@every_scheme
def test_traces_and_gaps_are_told_apart(scheme: Scheme, vision: str) -> None:
    assert distance(scheme.front, scheme.raw, vision) >= LEAST_OF_TRACES
    veiled = blended(QColor(scheme.gap.rgb()), scheme.base, scheme.gap.alphaF())
    assert distance(veiled, scheme.base, vision) >= LEAST_OF_SHADES[LOWERING]


@every_scheme
def test_signs_of_the_grid_stand_out(scheme: Scheme) -> None:
    """Whatever the state: something of its sign has 3 to 1 on the ground of a cell, and of the selected one."""
    for ground in (scheme.base, scheme.hair):
        for state in State:
            image = QImage(18, 26, QImage.Format.Format_RGB32)
            image.fill(ground)
            painter = QPainter(image)
            paint_sign(painter, image.rect().toRectF().adjusted(2, 2, -2, -2), state, 0.5, scheme)
            painter.end()
            colours = {image.pixel(x, y) for x in range(18) for y in range(26)}
            assert max(contrast(QColor(colour), ground) for colour in colours) >= 3, state


# How they are made


@every_scheme
def test_a_shade_is_as_strong_in_one_phase_as_in_the_other(scheme: Scheme) -> None:
    """A shade means a height: lower, middle and upper rise in strength, whatever the phase."""
    for third in THIRDS:
        strengths = [contrast(scheme.tint(phase, third), scheme.base) for phase in PHASES]
        assert strengths[0] == pytest.approx(strengths[1], abs=0.03)
    strong = [contrast(scheme.tint(RAISING, third), scheme.base) for third in THIRDS]
    assert all(b > a for a, b in pairwise([1.0, *strong]))
    by_time = [scheme.tint(RAISING, third) for third in ("first", "second", "last")]
    assert by_time == [scheme.tint(RAISING, third) for third in THIRDS]


def test_a_mixture_has_the_contrast_that_is_asked_for() -> None:
    assert contrast(at_contrast(QColor("black"), QColor("white"), 5.0), QColor("white")) == pytest.approx(5, abs=0.02)
    assert at_contrast(QColor("#777777"), QColor("white"), 15.0) == QColor("#777777"), "no more than there is"


def test_an_unknown_phase_has_a_colour() -> None:
    """Phase is an open word."""
    assert LIGHT.tint("isometric") != LIGHT.base


def test_the_scheme_follows_the_palette() -> None:
    """Light and dark are the system's."""
    palette = QPalette()
    palette.setColor(QPalette.ColorRole.Base, QColor("#101010"))
    palette.setColor(QPalette.ColorRole.Text, QColor("#f0f0f0"))
    assert scheme_of(palette).dark
    assert scheme_of(palette) is scheme_of(QPalette(palette)), "made once, not at each painting"
    assert not LIGHT.dark
    assert luminance(DARK.base) < luminance(DARK.ink)
