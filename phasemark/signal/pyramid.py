"""The min/max pyramid that traces are drawn from: lowest and highest samples over ever longer bins."""

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from phasemark.model.errors import BadData
from phasemark.model.recording import Samples
from phasemark.signal.gaps import Pieces, infinite_as_missing, missing_pieces

BIN = 16  # samples in a bin of the first level
FACTOR = 4  # bins of a level in one of the next
BINS_PER_COLUMN = 8  # a column is read from a level with at least so many bins in it
_FEWEST = 256  # a level with no more bins than this is the last

Level = tuple[Samples, Samples]


@dataclass(frozen=True, slots=True, eq=False)
class Pyramid:
    """A signal and its lowest and highest samples over bins of 16, 64, 256, ... samples.

    values, shape (samples,), is for drawing single samples when zoomed in far. levels[k] is (lowest, highest), each
    of shape (ceil(samples / (16 * 4**k)),): the last, partial bin is kept; missing samples are passed over, and
    a bin without any sample is NaN. gaps are the runs (begin, end) of missing samples, so that a short
    one can be painted even where its column has other samples.
    """

    values: Samples
    levels: tuple[Level, ...]
    gaps: Pieces


def _reduced(array: Samples, size: int, by: np.ufunc) -> Samples:
    whole = len(array) // size * size
    parts = [by.reduce(array[:whole].reshape(-1, size), axis=1)]
    if whole < len(array):
        parts.append(by.reduce(array[whole:], keepdims=True))
    return np.concatenate(parts)


def build(values: Samples) -> Pyramid:
    """The pyramid of a signal of shape (samples,), NaN (or infinite) where a sample is missing."""
    values = infinite_as_missing(np.asarray(values, dtype=np.float64))
    levels: list[Level] = []
    lowest = highest = values
    size = BIN
    while len(lowest) > _FEWEST or not levels:
        lowest, highest = _reduced(lowest, size, np.fmin), _reduced(highest, size, np.fmax)
        levels.append((lowest, highest))
        size = FACTOR
    return Pyramid(values, tuple(levels), missing_pieces(values))


def from_levels(values: Samples, levels: tuple[Level, ...]) -> Pyramid:
    """The pyramid of a signal from levels that were stored beside it.

    Raises:
        BadData: the levels are not as long as this signal's would be.
    """
    stored = [(len(lowest), len(highest)) for lowest, highest in levels]
    if stored != [(bins, bins) for bins in _level_lengths(len(values))]:
        raise BadData("The stored overview of a signal does not fit the signal; it must be built again.")
    values = infinite_as_missing(values)
    return Pyramid(values, levels, missing_pieces(values))


def _level_lengths(samples: int) -> list[int]:
    lengths = [-(-samples // BIN)]
    while lengths[-1] > _FEWEST:
        lengths.append(-(-lengths[-1] // FACTOR))
    return lengths


def level_for(pyramid: Pyramid, width: float, bins_per_column: int) -> tuple[Level, int]:
    """The coarsest level with so many bins in a column of width samples, and how many samples its bins have.

    The values themselves, as bins of one sample, where every level is too coarse.
    """
    found, size = (pyramid.values, pyramid.values), 1
    for level, extremes in enumerate(pyramid.levels):
        if BIN * FACTOR**level * bins_per_column > width:
            break
        found, size = extremes, BIN * FACTOR**level
    return found, size


def column_edges(samples: int, begin: float, end: float, count: int, size: int) -> NDArray[np.int64]:
    """The bins, of size samples each, at which count equal columns of begin <= i < end begin and the last one ends."""
    # First bin of each column and of the one after the last. A sample belongs to the column its position is in.
    edges = begin + (end - begin) * np.arange(count + 1) / count  # this order is exact for whole numbers
    edges[-1] = end
    bins = -(-samples // size)
    firsts = np.ceil(edges) if size == 1 else np.rint(edges / size)
    firsts[edges >= samples] = bins  # the partial tail is never rounded away
    return np.clip(firsts, 0, bins).astype(np.int64)


def _over_ranges(level: Level, edges: NDArray[np.int64]) -> Level:
    steps = np.diff(edges)
    if steps.all():
        return np.fmin.reduceat(level[0][: edges[-1]], edges[:-1]), np.fmax.reduceat(level[1][: edges[-1]], edges[:-1])
    filled = np.flatnonzero(steps)
    lowest, highest = np.full(len(steps), np.nan), np.full(len(steps), np.nan)
    if len(filled):
        # Empty columns lie between filled ones without a sample, so the filled ones' begins are all that is needed.
        lowest[filled] = np.fmin.reduceat(level[0][: edges[-1]], edges[filled])
        highest[filled] = np.fmax.reduceat(level[1][: edges[-1]], edges[filled])
    return lowest, highest


def columns(pyramid: Pyramid, begin: float, end: float, count: int, *, bins_per_column: int = BINS_PER_COLUMN) -> Level:
    """Lowest and highest sample in each of count equal columns of the samples begin <= i < end.

    begin and end are sample positions of any value, also outside the signal. Each array has shape (count,), NaN where a
    column holds no sample. No sample belongs to two columns, and none between them is left out. Under 128 samples a
    column (16 * bins_per_column) this is exact; beyond, column edges are rounded to whole bins, by at most a sixteenth
    of a column (half of 1 / bins_per_column). Takes time in proportion to count and not to the samples.
    """
    if count < 1 or not end > begin:
        empty = np.full(max(count, 0), np.nan)
        return empty, empty.copy()
    level, size = level_for(pyramid, (end - begin) / count, bins_per_column)
    return _over_ranges(level, column_edges(len(pyramid.values), begin, end, count, size))


def samples_in(pyramid: Pyramid, begin: float, end: float) -> tuple[int, Samples]:
    """Index of the first, and the samples of a range with one neighbour on either side (a view, not a copy).

    For drawing a line through single samples: the neighbours carry it to both edges of the picture.
    """
    first = min(max(ceil(begin) - 1, 0), len(pyramid.values))
    return first, pyramid.values[first : max(first, floor(end) + 2)]


def gaps_in(pyramid: Pyramid, begin: float, end: float) -> Pieces:
    """The gaps that reach into a range of samples, found by bisection."""
    first = bisect_right(pyramid.gaps, begin, key=lambda gap: gap[1])
    last = bisect_left(pyramid.gaps, end, key=lambda gap: gap[0])
    return pyramid.gaps[first : max(first, last)]
