"""How far up and down a trace reaches in each pixel column. No Qt.

Extents are pairs of arrays, NaN where a column is empty; in heights, which grow downward, top is the smaller.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from phasemark.model.recording import Samples
from phasemark.signal.pyramid import Pyramid, samples_in
from phasemark.signal.stacked_columns import stacked_columns

_BINS_PER_COLUMN = 4  # no sample is drawn further than an eighth of a pixel from its place

Heights = NDArray[np.floating[Any]]


def values_in_columns(pyramids: Sequence[Pyramid], begin: float, end: float, count: int) -> tuple[Samples, Samples]:
    """Lowest and highest value of traces of one length in each of count equal columns of the sample range [begin, end).

    Where there are fewer samples than columns, they are joined by straight lines, and each column has the part of the
    line in it; nothing is drawn between a present and a missing sample. Shapes are (traces, count).
    """
    low, high = stacked_columns(pyramids, begin, end, count, bins_per_column=_BINS_PER_COLUMN)
    if end - begin >= count:
        return low, high
    edges = _between(pyramids, begin + (end - begin) * np.arange(count + 1) / count)
    one, other = edges[:, :-1], edges[:, 1:]
    return np.fmin(low, np.fmin(one, other)), np.fmax(high, np.fmax(one, other))


def _between(pyramids: Sequence[Pyramid], places: Samples) -> Samples:
    """Values at places among the samples, on the line from one sample to the next; NaN where either is missing."""
    seen = [samples_in(pyramid, float(places[0]), float(places[-1])) for pyramid in pyramids]
    first, near = seen[0][0], np.stack([values for _, values in seen])
    count = near.shape[1]
    if count < 2:
        return np.full((len(pyramids), len(places)), np.nan)
    at = np.clip(np.floor(places).astype(np.int64) - first, 0, count - 2)
    share = places - first - at
    begins = near.take(at, axis=1)
    line: Samples = begins + (near.take(at + 1, axis=1) - begins) * share
    line[:, share == 0] = begins[:, share == 0]  # on a sample it does not matter what is beside it
    line[:, (places < first) | (places > first + count - 1)] = np.nan
    return line


def joined(top: Heights, bottom: Heights) -> tuple[Heights, Heights]:
    """Extents of shape (traces, columns) drawn out so that a steep trace does not fall apart into dashes.

    Where two neighbouring columns do not overlap each is drawn out to the middle between them, as a line from one to
    the other would be; nothing is drawn across an empty column.
    """
    up, down = top.copy(), bottom.copy()
    falling, rising = (bottom[:, :-1] + top[:, 1:]) / 2, (top[:, :-1] + bottom[:, 1:]) / 2  # within where they overlap
    np.fmax(down[:, :-1], falling, out=down[:, :-1])  # of an empty column and its neighbours both are missing
    np.fmin(up[:, 1:], falling, out=up[:, 1:])
    np.fmin(up[:, :-1], rising, out=up[:, :-1])
    np.fmax(down[:, 1:], rising, out=down[:, 1:])
    return up, down


def widened(top: Heights, bottom: Heights, by: float) -> tuple[Heights, Heights]:
    """Extents of shape (traces, columns) as a line has that reaches so many columns further to either side."""
    while by > 0:
        share = min(by, 1.0)
        up, down = top.copy(), bottom.copy()
        for here, there in ((np.s_[:, :-1], np.s_[:, 1:]), (np.s_[:, 1:], np.s_[:, :-1])):
            up[here] = np.fmin(up[here], top[here] + share * (top[there] - top[here]))
            down[here] = np.fmax(down[here], bottom[here] + share * (bottom[there] - bottom[here]))
        top, bottom, by = up, down, by - share
    return top, bottom


def lone_points(values: Samples) -> NDArray[np.int64]:
    """Places of present samples with a missing one on either side, which no line would show."""
    there = np.concatenate(([False], np.isfinite(values), [False]))
    return np.flatnonzero(there[1:-1] & ~there[:-2] & ~there[2:])
