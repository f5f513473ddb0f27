"""Traces painted straight into the pixels of an image held as an array. No Qt.

A pixel is a whole number 0xAARRGGBB, premultiplied. Drawing a line for each column with a painter costs ten times as
much: here all columns of all traces are worked out in a few operations on arrays.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.lib.stride_tricks import as_strided
from numpy.typing import NDArray

from phasemark.window.traces.trace_extents import Heights

Pixels = NDArray[np.uint32]
Rows = NDArray[np.int64]

_FULL = 256
_TWO_PARTS = np.uint32(0x00FF00FF)
_ROWS_AT_ONCE = 4  # so many rows of a band are painted row by row; what is taller, by one of two ways:
_FEW_ROWS = 5  # columns shorter than this on average are painted pixel by pixel, others all rows of a box


def flat_pixels(image: Pixels) -> tuple[Pixels, int]:
    """The pixels of an image one after another, and how many lie from one row to the next.

    The image may be some columns of a wider one; what lies between its rows is then among them.
    """
    rows, columns = image.shape
    wide = image.strides[0] // image.itemsize
    return as_strided(image, ((rows - 1) * wide + columns,), (image.itemsize,)), wide


def blend(flat: Pixels, where: Rows, colour: int, cover: Heights) -> None:
    """Blend an opaque colour over the pixels at places apart from each other, each by the share (0 to 1) covered."""
    share = np.rint(cover * _FULL).astype(np.uint32)
    rest, under = _FULL - share, flat.take(where)
    ink = np.uint32(colour)
    low = ((under & _TWO_PARTS) * rest + (ink & _TWO_PARTS) * share >> np.uint32(8)) & _TWO_PARTS
    high = ((under >> np.uint32(8)) & _TWO_PARTS) * rest + ((ink >> np.uint32(8)) & _TWO_PARTS) * share & ~_TWO_PARTS
    flat[where] = low | high


def fill_columns(image: Pixels, boxes: Rows, top: Heights, bottom: Heights, colour: int) -> None:
    """Fill each column from floor(top) to ceil(bottom), at least one pixel; NaN is left out.

    top and bottom are heights of shape (traces, columns); boxes, shape (traces, 2), are the first row and the one
    after the last of each trace. Whatever a box held is gone; beyond the boxes nothing is painted.
    """
    low, high = np.hsplit(boxes.astype(top.dtype), 2)
    first = np.floor(np.minimum(np.maximum(top, low), high - 1))
    many = np.maximum(np.ceil(np.minimum(np.maximum(bottom, low), high)) - first, 1)
    starts, counts = np.fmax(first - low, 0), np.fmax(many, 0)  # a missing column has no pixel
    for (begin, end), start, count in zip(boxes.tolist(), starts, counts, strict=True):
        inside = _inside(end - begin, start, count)
        np.multiply(inside.view(np.uint8), np.uint32(colour), out=image[begin:end])


def _inside(rows: int, start: Heights, count: Heights) -> NDArray[np.bool_]:
    """Which of so many rows are among the count from start downward in each column; shape (rows, columns)."""
    kind: type[np.unsignedinteger[Any]] = np.uint8 if rows < 256 else np.uint16
    # Above the first row the difference wraps round to a large number, so one comparison tells both ends.
    away = np.subtract(np.arange(rows, dtype=kind)[:, None], start.astype(kind))
    return np.asarray(away < count.astype(kind))


def paint_band(image: Pixels, boxes: Rows, top: Heights, bottom: Heights, colour: int) -> None:
    """Paint bands with smooth edges: in each column from top to bottom, heights of shape (traces, columns).

    boxes, shape (traces, 2), are the first row and the one after the last of each trace; beyond them nothing is
    painted.
    """
    low, high = np.hsplit(boxes.astype(top.dtype), 2)
    up, down = np.maximum(top, low).ravel(), np.minimum(bottom, high).ravel()
    column = np.broadcast_to(np.arange(image.shape[1]), top.shape).ravel()
    seen = down > up
    if not seen.all():
        up, down, column = up[seen], down[seen], column[seen]
    if len(up) == 0:
        return
    flat, wide = flat_pixels(image)
    first, last = np.floor(up), np.ceil(down) - 1
    upper = first.astype(np.int64) * wide + column
    blend(flat, upper, colour, np.minimum(first + 1, down) - up)
    # Where the band lies within one row it has been blended, and is not blended again.
    blend(flat, last.astype(np.int64) * wide + column, colour, (down - last) * (last > first))
    many = (last - first).astype(np.int64) - 1
    taller = np.flatnonzero(many > 0)
    for row in range(1, _ROWS_AT_ONCE + 1):
        flat[upper[taller] + row * wide] = colour
        taller = taller[many[taller] > row]
    if len(taller):
        place = np.flatnonzero(seen)[taller] if len(upper) < seen.size else taller
        _fill_tall(image, boxes, _Runs(place, upper[taller] // wide + 1, many[taller]), colour)


@dataclass(frozen=True, slots=True, eq=False)
class _Runs:
    """Runs of pixels downward: of which of all columns of all traces, from which row, and how many."""

    place: Rows
    row: Rows
    many: Rows


def _fill_tall(image: Pixels, boxes: Rows, runs: _Runs, colour: int) -> None:
    columns = image.shape[1]
    if runs.many.sum() <= _FEW_ROWS * len(boxes) * columns:
        flat, wide = flat_pixels(image)
        before = np.cumsum(runs.many) - runs.many
        steps = np.arange(int(runs.many.sum())) - np.repeat(before, runs.many)
        flat[np.repeat(runs.row * wide + runs.place % columns, runs.many) + steps * wide] = colour
        return
    first, many = np.zeros((2, len(boxes), columns))
    first.reshape(-1)[runs.place], many.reshape(-1)[runs.place] = runs.row, runs.many
    for (begin, end), start, count in zip(boxes.tolist(), first, many, strict=True):
        if count.any():
            inside = _inside(end - begin, np.maximum(start - begin, 0), count)
            np.copyto(image[begin:end], np.uint32(colour), where=inside)


def paint_dots(image: Pixels, boxes: Rows, x: Heights, y: Heights, *, across: float, colour: int) -> None:
    """Paint round dots of some diameter (pixels), those of one box in different columns, each within its box.

    boxes, shape (dots, 2), are the first row and the one after the last of each.
    """
    flat, wide = flat_pixels(image)
    radius = across / 2
    reach = np.arange(int(np.ceil(across)) + 1)[:, None]
    row = np.floor(y - radius).astype(np.int64) + reach
    within = (row >= boxes[:, 0]) & (row < boxes[:, 1])
    down = np.square(row + 0.5 - y)
    left = np.floor(x - radius).astype(np.int64)
    for step in range(len(reach)):  # column by column, so that no pixel is in two dots at once
        column = left + step
        cover = radius + 0.5 - np.sqrt(np.square(column + 0.5 - x) + down)
        seen = within & (cover > 0) & (column >= 0) & (column < image.shape[1])
        blend(flat, (row * wide + column)[seen], colour, np.minimum(cover[seen], 1.0))
