"""Sums over neighbouring stretches are those that block sums and plain sums give."""

from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest

from phasemark.model.recording import Treatment
from phasemark.signal.block_sums import block_sums, segment_sums
from phasemark.signal.conditioning import Conditioned
from phasemark.signal.stretch_sums import stretch_sums


@pytest.mark.parametrize("gap", [None, (300, 340), (0, 1000)])
@pytest.mark.parametrize("edges", [[0, 1, 255, 257, 900, 1000], [-50, 0, 310, 990, 1000, 1200], [1100, 1200], [400]])
def test_each_stretch_has_its_own_sums(edges: list[int], gap: tuple[int, int] | None) -> None:
    values = np.random.default_rng(5).normal(0, 1, 1000)
    if gap:
        values[slice(*gap)] = np.nan
    channel = Conditioned(values, Fraction(1000), block_sums(values), Treatment.RAW)
    found = stretch_sums(channel, edges)
    assert found.shape == (len(edges) - 1, 3)
    for row, (begin, end) in zip(found, pairwise(edges), strict=True):
        plain = segment_sums(channel.sums, begin, end)
        assert row == pytest.approx((plain.valid, plain.absolute, plain.squares), rel=1e-12)
