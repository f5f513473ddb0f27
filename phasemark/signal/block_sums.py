"""Sums over blocks of 256 samples, from which the amplitude of any segment follows at once and exactly.

Plain running sums would be shorter, but spread one missing sample over all that follows, and lose a quiet
segment's digits after a large artefact. Here a sum is only ever a sum of its own samples.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from phasemark.model.recording import Samples

BLOCK = 256
_CHUNK = 256  # blocks worked on at a time, so that the squares stay in the processor's cache


@dataclass(frozen=True, slots=True, eq=False)
class BlockSums:
    """Sums of x, |x|, x^2 over each whole block of 256 samples, and the values for what juts out.

    sums has shape (3, blocks), counts (blocks,) holds the valid samples of each; missing samples add nothing.
    complete says that no sample of the signal is missing. The last, partial block is read from values.
    """

    values: Samples
    sums: NDArray[np.float64]
    counts: NDArray[np.uint16]
    complete: bool


@dataclass(frozen=True, slots=True)
class SegmentSums:
    """Sums of x, |x|, x^2 over the valid samples of a segment; samples counts the missing ones too."""

    total: float
    absolute: float
    squares: float
    valid: int
    samples: int


def block_sums(values: Samples) -> BlockSums:
    """Block sums of a signal, shape (samples,), NaN where a sample is missing."""
    blocks = len(values) // BLOCK
    tiled = values[: blocks * BLOCK].reshape(blocks, BLOCK)
    sums = np.empty((3, blocks))
    counts = np.full(blocks, BLOCK, dtype=np.uint16)
    complete = bool(np.isfinite(values).all())
    for first in range(0, blocks, _CHUNK):
        part = slice(first, first + _CHUNK)
        chunk = tiled[part]
        if not complete:
            present = np.isfinite(chunk)
            counts[part] = present.sum(axis=1)
            chunk = np.where(present, chunk, 0.0)
        sums[0, part] = chunk.sum(axis=1)
        sums[1, part] = np.abs(chunk).sum(axis=1)
        sums[2, part] = (chunk * chunk).sum(axis=1)
    for array in (sums, counts):
        array.flags.writeable = False
    return BlockSums(values, sums, counts, complete)


def _ragged(held: BlockSums, begin: int, end: int) -> tuple[int, int, Samples]:
    # The blocks [first, last) that lie wholly inside, and the samples of the segment before and after them.
    first, last = -(-begin // BLOCK), end // BLOCK
    if first >= last:
        return 0, 0, held.values[begin:end]
    return first, last, np.concatenate((held.values[begin : first * BLOCK], held.values[last * BLOCK : end]))


def segment_sums(held: BlockSums, begin: int, end: int) -> SegmentSums:
    """Sums over the samples begin <= i < end; those outside the signal count as missing."""
    samples = max(0, end - begin)
    length = len(held.values)
    begin, end = min(max(begin, 0), length), min(max(end, 0), length)
    first, last, edges = _ragged(held, begin, max(begin, end))
    if not held.complete:
        edges = edges[np.isfinite(edges)]
    add = np.add.reduce
    total, absolute, squares = add(held.sums[:, first:last], axis=1).tolist()
    inside = (last - first) * BLOCK if held.complete else int(add(held.counts[first:last], dtype=np.int64))
    return SegmentSums(
        total + float(add(edges)),
        absolute + float(add(np.abs(edges))),
        squares + float(add(edges * edges)),
        inside + len(edges),
        samples,
    )
