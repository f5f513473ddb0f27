"""The traces painted once into an image and shown from it, so that moving the view paints only what comes into sight.

Columns of pixels are counted as they lay on the device when the zoom last changed. The image goes round: column k lies
in it at k - base modulo its width.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QImage, QPainter

from phasemark.window.palette import Scheme
from phasemark.window.traces.device_pixels import DeviceGrid
from phasemark.window.traces.lane_layout import Band
from phasemark.window.traces.lane_painting import LanePainting, TraceColours
from phasemark.window.traces.trial_picture import Lane

_AHEAD = 384
"""So many columns more are painted where the view moves to, so that it need not paint at every step."""
_SAME_PX = 0.02
"""A view moved by whole pixels, to within this, shows the same columns in other places."""


def premultiplied(colour: QColor) -> int:
    """A colour as a pixel of an image."""
    alpha = colour.alpha()
    parts = (round(part * alpha / 255) for part in (colour.red(), colour.green(), colour.blue()))
    red, green, blue = parts
    return alpha << 24 | red << 16 | green << 8 | blue


def colours_of(scheme: Scheme) -> TraceColours:
    """What the traces of a scheme are painted with."""
    return TraceColours(premultiplied(scheme.raw), premultiplied(scheme.front), premultiplied(scheme.gap))


@dataclass(frozen=True, slots=True)
class _Zoom:
    """At which zoom the columns were painted, and where on the device column 0 lay then."""

    left: float
    px_per_s: float
    top: float
    scale: float
    rows: int

    def shift(self, grid: DeviceGrid, rows: int) -> int | None:
        """By how many pixels the view has moved since; None where the columns are others."""
        same = grid.top == self.top and grid.scale == self.scale and rows == self.rows
        shift = round(grid.left - self.left)
        if not same or abs(grid.px_per_s / self.px_per_s - 1) > 1e-9 or abs(grid.left - self.left - shift) > _SAME_PX:
            return None
        return shift


class TraceLayer:
    """Lanes as an image of the columns that were shown lately."""

    def __init__(self) -> None:
        self._lanes: Sequence[Lane] = ()
        self._bands: Sequence[Band] = ()
        self._colours = TraceColours(0, 0, 0)
        self._zoom: _Zoom | None = None
        self._painting: LanePainting | None = None
        self._pixels = np.zeros((1, 1), np.uint32)
        self._image = QImage()
        self._first = self._last = self._base = 0

    def set_lanes(self, lanes: Sequence[Lane], bands: Sequence[Band], colours: TraceColours) -> None:
        """What to paint, where, and with what; what was painted is forgotten."""
        self._lanes, self._bands, self._colours = lanes, bands, colours
        self._zoom = None

    def show(self, painter: QPainter, grid: DeviceGrid, height: float) -> None:
        """Show the exposed columns from top to a height (logical px); the painter's units are device pixels."""
        rows = int(np.ceil(grid.y(height)))
        first, last = self._prepare(grid, rows)
        at = grid.first
        for begin, count in self._pieces(first, last):
            painter.drawImage(QRectF(at, 0, count, rows), self._image, QRectF(begin, 0, count, rows))
            at += count

    def _pieces(self, first: int, last: int) -> Iterator[tuple[int, int]]:
        """Where columns lie in the image and how many in a row: in two pieces where they go round its end."""
        wide = self._pixels.shape[1]
        while first < last:
            begin = (first - self._base) % wide
            count = min(last - first, wide - begin)
            yield begin, count
            first += count

    def _prepare(self, grid: DeviceGrid, rows: int) -> tuple[int, int]:
        """Paint whatever columns are missing; which columns are exposed."""
        shift = None if self._zoom is None else self._zoom.shift(grid, rows)
        if shift is None:
            before, self._zoom = self._zoom, _Zoom(grid.left, grid.px_per_s, grid.top, grid.scale, rows)
            if before is None or (before.top, before.scale) != (grid.top, grid.scale):
                self._painting = LanePainting(self._lanes, self._bands, grid.top, grid.scale, self._colours)
                self._pixels.fill(0)
            self._first = self._last = self._base = grid.first
            shift = 0
        first, last = grid.first - shift, grid.last - shift
        self._make_room(last - first, rows)
        if first > self._last or last < self._first:
            self._first = self._last = self._base = first
        wide = self._pixels.shape[1]
        if last > self._last:
            begin = self._last
            self._last = last + (_AHEAD if begin > self._first else 0)
            self._first = max(self._first, self._last - wide)
            self._paint(begin, self._last)
        if first < self._first:
            end = self._first
            self._first = first - _AHEAD
            self._last = min(self._last, self._first + wide)
            self._paint(self._first, end)
        return first, last

    def _make_room(self, columns: int, rows: int) -> None:
        if self._pixels.shape[0] == rows and self._pixels.shape[1] >= columns + _AHEAD:
            return
        self._pixels = np.zeros((rows, columns + 2 * _AHEAD), np.uint32)
        rows, wide = self._pixels.shape
        self._image = QImage(
            self._pixels.data, wide, rows, self._pixels.strides[0], QImage.Format.Format_ARGB32_Premultiplied
        )
        self._last = self._first

    def _paint(self, first: int, last: int) -> None:
        """Paint columns first <= k < last, in pieces that do not reach round the image's end."""
        zoom, painting = self._zoom, self._painting
        assert zoom is not None
        assert painting is not None
        for begin, count in self._pieces(first, last):
            grid = DeviceGrid(zoom.left, zoom.px_per_s, zoom.top, zoom.scale, first, first + count)
            painting.paint(self._pixels[:, begin : begin + count], grid)
            first += count
