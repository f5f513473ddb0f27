"""How far two colours are apart to an eye: colour vision simulated, then CIEDE2000.

Simulation: Machado GM, Oliveira MM, Fernandes LAF (2009), 'A physiologically-based model for simulation of color
vision deficiency', IEEE TVCG 15:1291, matrices of severity 1.0 on linear RGB (values from memory). sRGB, D65 and
CIE Lab: IEC 61966-2-1, CIE 15 (values from memory). CIEDE2000: Sharma G, Wu W, Dalal EN (2005), 'The CIEDE2000
color-difference formula', Color Res Appl 30:21.
"""

from itertools import starmap
from math import atan2, cos, degrees, exp, hypot, radians, sin, sqrt

import numpy as np
from numpy.typing import NDArray
from PySide6.QtGui import QColor

Lab = tuple[float, float, float]

VISIONS = {
    "normal vision": np.eye(3),
    "protanopia": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "deuteranopia": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
    "tritanopia": np.array(
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]
    ),
}
_TO_XYZ = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)
_WHITE = (0.95047, 1.0, 1.08883)
_FAR = 25.0**7


def seen(colour: QColor, vision: str) -> NDArray[np.float64]:
    """Linear RGB, shape (3,), as an eye of this kind of vision has it."""
    parts = (colour.redF(), colour.greenF(), colour.blueF())
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return np.asarray(np.clip(VISIONS[vision] @ np.array(linear), 0.0, 1.0))


def lab_of(linear: NDArray[np.float64]) -> Lab:
    """CIE Lab under D65 of linear RGB."""

    def root(value: float, white: float) -> float:
        share = float(value) / white
        return share ** (1 / 3) if share > (6 / 29) ** 3 else share / (3 * (6 / 29) ** 2) + 4 / 29

    x, y, z = starmap(root, zip(_TO_XYZ @ linear, _WHITE, strict=True))
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def ciede2000(one: Lab, other: Lab) -> float:
    """The difference of two colours in CIE Lab, weights 1."""
    (l1, a1, b1), (l2, a2, b2) = one, other
    mean_c = (hypot(a1, b1) + hypot(a2, b2)) / 2
    g = 0.5 * (1 - sqrt(mean_c**7 / (mean_c**7 + _FAR)))
    a1, a2 = (1 + g) * a1, (1 + g) * a2
    c1, c2 = hypot(a1, b1), hypot(a2, b2)
    h1, h2 = degrees(atan2(b1, a1)) % 360, degrees(atan2(b2, a2)) % 360
    turn = 0.0 if c1 * c2 == 0 else (h2 - h1 + 180) % 360 - 180
    hue = h1 + h2 if c1 * c2 == 0 else (h1 + turn / 2) % 360
    lightness, c = (l1 + l2) / 2, (c1 + c2) / 2
    t = (
        1
        - 0.17 * cos(radians(hue - 30))
        + 0.24 * cos(radians(2 * hue))
        + 0.32 * cos(radians(3 * hue + 6))
        - 0.20 * cos(radians(4 * hue - 63))
    )
    dl = (l2 - l1) / (1 + 0.015 * (lightness - 50) ** 2 / sqrt(20 + (lightness - 50) ** 2))
    dc = (c2 - c1) / (1 + 0.045 * c)
    dh = 2 * sqrt(c1 * c2) * sin(radians(turn / 2)) / (1 + 0.015 * c * t)
    rotation = -2 * sqrt(c**7 / (c**7 + _FAR)) * sin(radians(60 * exp(-(((hue - 275) / 25) ** 2))))
    return sqrt(dl**2 + dc**2 + dh**2 + rotation * dc * dh)


def distance(one: QColor, other: QColor, vision: str) -> float:
    """CIEDE2000 between two colours as an eye of this kind of vision has them."""
    return ciede2000(lab_of(seen(one, vision)), lab_of(seen(other, vision)))
