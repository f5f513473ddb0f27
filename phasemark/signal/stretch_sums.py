"""Sums over neighbouring stretches of a channel at once, for many segments that share their boundaries."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from phasemark.signal.conditioning import Conditioned


def stretch_sums(conditioned: Conditioned, edges: Sequence[int]) -> NDArray[np.float64]:
    """Valid samples, sum of |x| and of x^2 between each edge and the next, shape (edges - 1, 3).

    edges rise and count samples of the channel's own rate; samples outside the channel are missing. A segment from
    one edge to another is the sum of the rows between them: nothing is ever subtracted.
    """
    inside = np.clip(np.asarray(edges, dtype=np.int64), 0, len(conditioned.values))
    lengths = np.diff(inside)
    sums = np.zeros((len(lengths), 3))
    filled = np.flatnonzero(lengths)
    if not len(filled):
        return sums
    values = conditioned.values[inside[0] : inside[-1]]
    starts = inside[filled] - inside[0]
    sums[filled, 0] = lengths[filled]
    if not conditioned.sums.complete:
        present = np.isfinite(values)
        sums[filled, 0] = np.add.reduceat(present, starts, dtype=np.float64)
        values = np.where(present, values, 0.0)
    sums[filled, 1] = np.add.reduceat(np.abs(values), starts)
    sums[filled, 2] = np.add.reduceat(values * values, starts)
    return sums
