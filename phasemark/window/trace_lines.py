"""From columns or samples of a trace to the line segments that draw it, in device pixels. No Qt.

Lines are rows (x1, y1, x2, y2) of a float64 array of shape (lines, 4); heights grow downward.
"""

import numpy as np

from phasemark.model.recording import Samples


def bars(top: Samples, bottom: Samples, first_column: int) -> Samples:
    """One upright line a device column, from its highest to its lowest sample, at least one pixel tall.

    top and bottom are the heights of the highest and lowest sample of each column (NaN where it is empty). Where
    two neighbours do not overlap each is drawn out to the middle between them, as a line from one to the other
    would be, so that a steep trace does not fall apart into dashes; nothing is drawn across an empty column.
    """
    up, down = top.copy(), bottom.copy()
    falling, rising = (bottom[:-1] + top[1:]) / 2, (top[:-1] + bottom[1:]) / 2  # both within where they overlap
    down[:-1], up[1:] = np.fmax(down[:-1], falling), np.fmin(up[1:], falling)
    up[:-1], down[1:] = np.fmin(up[:-1], rising), np.fmax(down[1:], rising)
    there = np.flatnonzero(np.isfinite(top))
    lines = np.empty((len(there), 4))
    lines[:, 0] = lines[:, 2] = there + (first_column + 0.5)
    lines[:, 1] = np.floor(up[there])
    lines[:, 3] = np.maximum(np.ceil(down[there]), lines[:, 1] + 1)
    return lines


def strokes(x: Samples, y: Samples) -> Samples:
    """Lines from each point to the next where both are present (x and y of shape (points,), y NaN where missing)."""
    both = np.flatnonzero(np.isfinite(y[:-1]) & np.isfinite(y[1:]))
    lines = np.empty((len(both), 4))
    lines[:, 0], lines[:, 1], lines[:, 2], lines[:, 3] = x[both], y[both], x[both + 1], y[both + 1]
    return lines


def ribbon(top: Samples, bottom: Samples, first_column: int, tall: float) -> tuple[Samples, Samples]:
    """A smooth line through the middles of the columns, and upright lines in columns that span more than tall pixels.

    For traces that change slowly (a movement, an envelope): one line while it is smooth, its whole extent
    where it is not. The smooth line is left out between two tall columns that touch.
    """
    high = bottom - top > tall
    hidden = high[:-1] & high[1:] & (bottom[:-1] >= top[1:]) & (bottom[1:] >= top[:-1])
    x = np.arange(len(top), dtype=np.float64) + (first_column + 0.5)
    middle = np.add(top, bottom) * 0.5
    shown = np.flatnonzero(~hidden & np.isfinite(middle[:-1]) & np.isfinite(middle[1:]))
    smooth = np.column_stack((x[shown], middle[shown], x[shown + 1], middle[shown + 1]))
    where = np.flatnonzero(high)
    return smooth, np.column_stack((x[where], np.floor(top[where]), x[where], np.ceil(bottom[where])))


def lone_points(y: Samples) -> "np.typing.NDArray[np.int64]":
    """Places of present samples with a missing one on either side, which no stroke would show."""
    there = np.concatenate(([False], np.isfinite(y), [False]))
    return np.flatnonzero(there[1:-1] & ~there[:-2] & ~there[2:])
