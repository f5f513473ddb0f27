"""Traces painted straight into the pixels of an image held as an array. No Qt.

A pixel is a whole number 0xAARRGGBB, premultiplied. Drawing a line for each column with a painter costs ten times as
much: here all columns of all traces are worked out in a few operations on arrays.
"""

import numpy as np
from numpy.typing import NDArray

from phasemark.model.recording import Samples

Pixels = NDArray[np.uint32]
Rows = NDArray[np.int64]

_FULL = 256
_TWO_PARTS = np.uint32(0x00FF00FF)
_FEW_ROWS = 5  # columns shorter than this on average are painted pixel by pixel, others row by row


def blend(image: Pixels, where: Rows, colour: int, cover: Samples) -> None:
    """Blend an opaque colour over the pixels at flat places, each by the share of it that is covered (0 to 1)."""
    flat = image.reshape(-1)
    share = np.rint(cover * _FULL).astype(np.uint32)
    rest, under = _FULL - share, flat[where]
    ink = np.uint32(colour)
    low = ((under & _TWO_PARTS) * rest + (ink & _TWO_PARTS) * share >> np.uint32(8)) & _TWO_PARTS
    high = ((under >> np.uint32(8)) & _TWO_PARTS) * rest + ((ink >> np.uint32(8)) & _TWO_PARTS) * share & ~_TWO_PARTS
    flat[where] = low | high


def fill_columns(image: Pixels, boxes: Rows, top: Samples, bottom: Samples, colour: int) -> None:
    """Fill each column from floor(top) to ceil(bottom), at least one pixel; NaN is left out.

    top and bottom are heights of shape (traces, columns); boxes, shape (traces, 2), are the first row and the one
    after the last of each trace; beyond them nothing is painted.
    """
    low, high = boxes[:, :1], boxes[:, 1:]
    first = np.floor(np.minimum(np.maximum(top, low), high - 1))
    many = np.maximum(np.ceil(np.minimum(np.maximum(bottom, low), high)) - first, 1)
    many[np.isnan(many)] = 0
    first[many == 0] = 0
    for box, start, count in zip(boxes.tolist(), first.astype(np.int16), many.astype(np.uint16), strict=True):
        _fill_runs(image, (box[0], box[1]), start, count, colour)


def _fill_runs(
    image: Pixels, rows: tuple[int, int], first: NDArray[np.int16], many: NDArray[np.uint16], colour: int
) -> None:
    """Fill many pixels from the first row downward, in each column; rows limits where any of them lie."""
    heights = np.arange(rows[0], rows[1], dtype=np.int16)
    # Below the first row the difference wraps round to a large number, so one comparison tells both ends.
    inside = (heights[:, None] - first).view(np.uint16) < many
    np.copyto(image[rows[0] : rows[1]], np.uint32(colour), where=inside)


def paint_band(image: Pixels, boxes: Rows, top: Samples, bottom: Samples, colour: int) -> None:
    """Paint bands with smooth edges: in each column from top to bottom, heights of shape (traces, columns).

    boxes, shape (traces, 2), are the first row and the one after the last of each trace; beyond them nothing is
    painted.
    """
    wide = image.shape[1]
    up, down = np.maximum(top, boxes[:, :1]).ravel(), np.minimum(bottom, boxes[:, 1:]).ravel()
    seen = np.flatnonzero(down > up)
    if len(seen) == 0:
        return
    up, down, column = up[seen], down[seen], seen % wide
    first, last = np.floor(up), np.ceil(down) - 1
    alone = first == last
    blend(image, first.astype(np.int64) * wide + column, colour, np.where(alone, down - up, first + 1 - up))
    tall = np.flatnonzero(~alone)
    blend(image, last[tall].astype(np.int64) * wide + column[tall], colour, down[tall] - last[tall])
    many = np.maximum(last - first - 1, 0)
    if many.sum() <= _FEW_ROWS * len(many):
        _fill_pixels(image, (first + 1).astype(np.int64) * wide + column, many.astype(np.int64), colour)
        return
    starts, counts = np.zeros(top.size, np.int16), np.zeros(top.size, np.uint16)
    starts[seen], counts[seen] = first + 1, many
    for (low, high), start, count in zip(
        boxes.tolist(), starts.reshape(top.shape), counts.reshape(top.shape), strict=True
    ):
        _fill_runs(image, (low, high), start, count, colour)


def _fill_pixels(image: Pixels, start: Rows, many: Rows, colour: int) -> None:
    """Fill so many pixels downward from each flat place."""
    before = np.cumsum(many) - many
    steps = np.arange(int(many.sum())) - np.repeat(before, many)
    image.reshape(-1)[np.repeat(start, many) + steps * image.shape[1]] = colour


def paint_dots(image: Pixels, boxes: Rows, x: Samples, y: Samples, *, across: float, colour: int) -> None:
    """Paint round dots of some diameter (pixels) at places apart from each other, each within rows of its own.

    boxes, shape (dots, 2), are the first row and the one after the last of each.
    """
    radius = across / 2
    left, top = np.floor(x - radius).astype(np.int64), np.floor(y - radius).astype(np.int64)
    reach = int(np.ceil(across)) + 1
    for down in range(reach):
        for right in range(reach):
            row, column = top + down, left + right
            away = np.hypot(column + 0.5 - x, row + 0.5 - y)
            seen = (row >= boxes[:, 0]) & (row < boxes[:, 1]) & (column >= 0) & (column < image.shape[1])
            seen &= away < radius + 0.5
            cover = np.clip(radius + 0.5 - away[seen], 0.0, 1.0)
            blend(image, row[seen] * image.shape[1] + column[seen], colour, cover)
