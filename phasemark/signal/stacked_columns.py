"""Pixel columns of many signals at once, as a frame of traces needs them."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from phasemark.model.recording import Samples
from phasemark.signal.pyramid import BINS_PER_COLUMN, Level, Pyramid, column_edges, columns, level_for

_LONGEST_SLIDE = 16  # from so many bins a column on, one pass over each column is quicker than a sliding window
Places = NDArray[np.int64]

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
    first, last = int(edges[0]), int(edges[-1])
    sliding = _sliding(edges - first, window)
    out = np.empty((2, len(pyramids), count))
    many = max(1, _BLOCK // (last - first))
    for row in range(0, len(levels), many):
        block = levels[row : row + many]
        lowest = np.stack([low[first:last] for low, _ in block])
        alike = all(low is high for low, high in block)
        highest = lowest if alike else np.stack([high[first:last] for _, high in block])
        sliding.extremes(lowest, np.fmin, out[0, row : row + many])
        sliding.extremes(highest, np.fmax, out[1, row : row + many])
    return out[0], out[1]


def _one_by_one(pyramids: Sequence[Pyramid], begin: float, end: float, count: int, bins_per_column: int) -> Level:
    found = [columns(pyramid, begin, end, count, bins_per_column=bins_per_column) for pyramid in pyramids]
    return np.stack([low for low, _ in found]), np.stack([high for _, high in found])


@dataclass(frozen=True, slots=True, eq=False)
class _Sliding:
    """Columns of about one to two windows: where windows begin in each of them, which columns are empty or short."""

    window: int
    begins: tuple[Places, ...]
    empty: Places
    short: tuple[tuple[int, int, int], ...]

    def extremes(self, bins: Samples, of_two: np.ufunc, out: Samples) -> None:
        """The extremes of bins, shape (signals, bins), in each column; out has the shape (signals, columns)."""
        slid, reach = bins, 1
        while reach < self.window:
            slid = of_two(slid[:, :-reach], slid[:, reach:])
            reach *= 2
        slid.take(self.begins[0], axis=1, mode="clip", out=out)
        for begins in self.begins[1:]:
            of_two(out, slid.take(begins, axis=1, mode="clip"), out=out)
        if len(self.empty):
            out[:, self.empty] = np.nan
        for column, begin, end in self.short:
            out[:, column] = of_two.reduce(bins[:, begin:end], axis=1)


def _sliding(edges: Places, window: int) -> _Sliding:
    begins, ends, steps = edges[:-1], edges[1:], np.diff(edges)
    later = (np.minimum(begins + offset, ends - window) for offset in range(window, int(steps.max()), window))
    cut = np.flatnonzero((steps > 0) & (steps < window)).tolist()  # by an end of the signal
    short = tuple((column, int(edges[column]), int(edges[column + 1])) for column in cut)
    return _Sliding(window, (begins, *later), np.flatnonzero(steps == 0), short)
