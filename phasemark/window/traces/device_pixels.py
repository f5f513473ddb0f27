"""Painting at the pixels of the screen itself, whatever the scale of the display."""

from dataclasses import dataclass
from math import ceil, floor

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter, QTransform


@dataclass(frozen=True, slots=True)
class DeviceGrid:
    """Where seconds and logical pixels lie on device pixels, and the device columns that are to be painted.

    x = left + seconds * px_per_s and y = top + logical * scale. Column k shows the times from time_at(k) to
    time_at(k + 1); columns first <= k < last are exposed.
    """

    left: float
    px_per_s: float
    top: float
    scale: float
    first: int
    last: int

    def x(self, time_s: float) -> float:
        """Device pixel of a time."""
        return self.left + time_s * self.px_per_s

    def y(self, logical: float) -> float:
        """Device pixel of a height."""
        return self.top + logical * self.scale

    def time_at(self, x: float) -> float:
        """Time (s) at the left edge of a device column."""
        return (x - self.left) / self.px_per_s


def device_grid(transform: QTransform, exposed: QRectF) -> DeviceGrid:
    """The grid of an item whose coordinates are seconds and logical pixels, from its transform to the device."""
    left, right = (
        transform.m31() + transform.m11() * exposed.left(),
        transform.m31() + transform.m11() * exposed.right(),
    )
    # One column more on either side, so that lines to a neighbour outside are drawn as in a whole repaint.
    first, last = floor(left + 1e-6) - 1, ceil(right - 1e-6) + 1
    return DeviceGrid(transform.m31(), transform.m11(), transform.m32(), transform.m22(), first, last)


def enter_device_pixels(painter: QPainter) -> None:
    """From here on, one unit of this painter is one pixel of the device."""
    painter.resetTransform()
    painter.setWorldTransform(painter.deviceTransform().inverted()[0])
