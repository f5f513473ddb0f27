"""Where a signal has values and where samples are missing."""

import numpy as np
from numpy.typing import NDArray

from phasemark.model.recording import Samples

Pieces = tuple[tuple[int, int], ...]


def runs(flags: NDArray[np.bool_]) -> Pieces:
    """Runs (begin, end) of flags that are set, begin <= i < end, in order."""
    padded = np.concatenate(([False], flags, [False]))
    edges = np.flatnonzero(padded[1:] != padded[:-1]).tolist()
    return tuple(zip(edges[::2], edges[1::2], strict=True))


def valid_pieces(x: Samples) -> Pieces:
    """Runs (begin, end) of samples that are present, begin <= i < end, in order.

    A sample that is NaN or infinite is missing: no amplifier records either.
    """
    present = np.isfinite(x)
    if present.all():
        return ((0, len(x)),) if len(x) else ()
    return runs(present)


def missing_pieces(x: Samples) -> Pieces:
    """Runs (begin, end) of samples that are missing, begin <= i < end, in order."""
    present = np.isfinite(x)
    return () if present.all() else runs(~present)


def infinite_as_missing(x: Samples) -> Samples:
    """The signal with NaN in place of infinite values; the same array where it has none."""
    infinite = np.isinf(x)
    return np.where(infinite, np.nan, x) if infinite.any() else x
