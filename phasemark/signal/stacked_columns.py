"""Pixel columns of many signals at once, as a frame of traces needs them."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from phasemark.model.recording import Samples
from phasemark.signal.pyramid import BINS_PER_COLUMN, Level, Pyramid, column_edges, columns, level_for

_LONGEST_SLIDE = 16  # from so many bins a column on, one pass over each column is quicker than a sliding window
_BLOCK = 1 << 15  # bins that are worked on at once, so that they stay near the processor


def stacked_columns(
    pyramids: Sequence[Pyramid], begin: float, end: float, count: int, *, bins_per_column: int = BINS_PER_COLUMN
) -> Level:
    """What pyramid.columns gives of each of some signals of the same length, as arrays of shape (signals, count).

    The lowest of a column is the lower of two windows of a power of two of bins, one at either end of the column;
    windows that slide over all signals together cost a fraction of reducing column by column.
    """
    width = (end - begin) / max(count, 1)
    level, size = level_for(pyramids[0], width, bins_per_column) if count > 0 and end > begin else (None, 1)
    window = 1 << (max(int(width / size), 1).bit_length() - 1) if level is not None else 1
    if level is None or window > _LONGEST_SLIDE:
        return _one_by_one(pyramids, begin, end, count, bins_per_column)
    edges = column_edges(len(pyramids[0].values), begin, end, count, size)
    if edges[-1] - edges[0] < 2 * window:
        return _one_by_one(pyramids, begin, end, count, bins_per_column)
    levels = [level_for(pyramid, width, bins_per_column)[0] for pyramid in pyramids]
    out = np.empty((2, len(pyramids), count))
    many = max(1, _BLOCK // int(edges[-1] - edges[0]))
    for first in range(0, len(levels), many):
        out[:, first : first + many] = _of_block(levels[first : first + many], edges, window)
    return out[0], out[1]


def _of_block(levels: Sequence[Level], edges: NDArray[np.int64], window: int) -> tuple[Samples, Samples]:
    lowest = _stack([low for low, _ in levels], edges)
    alike = all(low is high for low, high in levels)
    highest = lowest if alike else _stack([high for _, high in levels], edges)
    return _slid(lowest, edges - edges[0], window, np.fmin), _slid(highest, edges - edges[0], window, np.fmax)


def _one_by_one(pyramids: Sequence[Pyramid], begin: float, end: float, count: int, bins_per_column: int) -> Level:
    found = [columns(pyramid, begin, end, count, bins_per_column=bins_per_column) for pyramid in pyramids]
    return np.stack([low for low, _ in found]), np.stack([high for _, high in found])


def _stack(arrays: Sequence[Samples], edges: NDArray[np.int64]) -> Samples:
    first, last = int(edges[0]), int(edges[-1])
    out = np.empty((len(arrays), last - first))
    for row, values in enumerate(arrays):
        out[row] = values[first:last]
    return out


def _slid(bins: Samples, edges: NDArray[np.int64], window: int, of_two: np.ufunc) -> Samples:
    """The extremes of bins, shape (signals, bins), over columns of about one to two windows."""
    slid, reach = bins, 1
    while reach < window:
        slid = of_two(slid[:, :-reach], slid[:, reach:])
        reach *= 2
    begins, steps = edges[:-1], np.diff(edges)
    found: Samples = slid.take(begins, axis=1, mode="clip")
    for offset in range(window, int(steps.max()), window):
        more = slid.take(np.minimum(begins + offset, edges[1:] - window), axis=1, mode="clip")
        of_two(found, more, out=found)
    found[:, steps == 0] = np.nan
    for column in np.flatnonzero((steps > 0) & (steps < window)).tolist():  # cut off by an end of the signal
        found[:, column] = of_two.reduce(bins[:, edges[column] : edges[column + 1]], axis=1)
    return found
