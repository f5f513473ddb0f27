"""Holm's correction of p values over a family of tests."""

import numpy as np
from numpy.typing import ArrayLike

from phasemark.model.errors import BadData
from phasemark.statistics.values import Values


def holm(p_values: ArrayLike) -> Values:
    """Holm-adjusted p values in the order given, shape (tests,) (Holm 1979, Scand J Stat 6:65-70).

    The i-th smallest of m becomes the largest, over all up to it, of min(1, (m - j + 1) p_j). A missing p (nan)
    stays missing and is not counted in m: that test was not made.

    Raises:
        BadData: a value lies outside 0 to 1.
    """
    found = np.asarray(p_values, dtype=np.float64).ravel()
    made = np.flatnonzero(~np.isnan(found))
    outside = made[(found[made] < 0) | (found[made] > 1)]
    if len(outside):
        raise BadData(f"p value {outside[0] + 1} of the family is {found[outside[0]]:g}: it must lie between 0 and 1.")
    order = made[np.argsort(found[made], kind="stable")]
    adjusted = np.full(len(found), np.nan)
    stepped = np.minimum(1.0, found[order] * np.arange(len(order), 0, -1))
    adjusted[order] = np.maximum.accumulate(stepped) if len(order) else stepped
    return adjusted
