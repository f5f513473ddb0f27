"""Lanes share the height; scales fit their values and are not flattened by one artefact."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pictures import lane, movement

from phasemark.signal.pyramid import build
from phasemark.window.traces.lane_layout import MOVEMENT_SHARE, Band, lay_out, value_limits

NOISE = np.random.default_rng(3).normal(0, 1, 20_000)


@given(st.integers(1, 16), st.floats(100, 1500), st.booleans())
def test_lanes_fill_the_height_in_order(muscles: int, height: float, with_movement: bool) -> None:
    """From top to bottom without overlap, the same height for every muscle, the movement taller than they."""
    lanes = [movement()] * with_movement + [lane(NOISE[:10])] * muscles
    bands = lay_out(lanes, [(-1.0, 1.0)] * len(lanes), 40.0, 40.0 + height, 3.0)
    assert bands[0].top == 40.0
    assert bands[-1].bottom == pytest.approx(40.0 + height)
    assert all(b.top == pytest.approx(a.bottom + 3.0) for a, b in pairwise(bands))
    muscle_heights = [band.height for band in bands[with_movement:]]
    assert max(muscle_heights) == pytest.approx(min(muscle_heights))
    if with_movement and muscles > 1:
        share = bands[0].height / sum(band.height for band in bands)
        assert share == pytest.approx(MOVEMENT_SHARE)
        assert bands[0].height > muscle_heights[0]


@given(st.floats(-5, 5), st.floats(0.1, 9), st.booleans())
def test_values_and_heights_are_inverse(low: float, width: float, downward: bool) -> None:
    """A height stands for the value that is drawn at it, in lanes that go up and in lanes that go down."""
    ends = (low + width, low) if downward else (low, low + width)
    band = Band(10.0, 110.0, *ends)
    middle = low + 0.3 * width
    assert band.value(band.y(middle)) == pytest.approx(middle)
    assert band.y(ends[0]) == pytest.approx(110.0)
    assert band.y(ends[1]) == pytest.approx(10.0)
    assert (band.low, band.high) == (low, low + width)


def test_a_scale_holds_all_values_of_a_movement_and_of_plain_emg() -> None:
    """Nothing is cut off where nothing is far off."""
    low, high = value_limits(lane(NOISE, limits=None))
    assert low < NOISE.min()
    assert high > NOISE.max()
    trace = movement()
    low, high = value_limits(replace(trace, raw=build(np.concatenate((trace.raw.values, [500.0])))))
    assert high > 500


def test_one_artefact_does_not_flatten_a_lane() -> None:
    """A hundredfold spike of 50 ms is cut off; without it the scale is much the same."""
    spiked = NOISE.copy()
    spiked[100:150] = 300.0
    low, high = value_limits(lane(spiked, limits=None))
    assert high < 15
    assert low == pytest.approx(value_limits(lane(NOISE, limits=None))[0], rel=0.5)


def test_gain_and_offset_bring_raw_values_to_the_scale_of_the_envelope() -> None:
    """A recording in volts with an offset has a scale in mV around zero."""
    volts = NOISE / 1000 + 0.5
    low, high = value_limits(lane(volts, limits=None, raw_gain=1000.0, raw_offset=-500.0))
    assert low == pytest.approx(value_limits(lane(NOISE, limits=None))[0])
    assert high < 6


@pytest.mark.parametrize("values", [[], [np.nan] * 5, [0.0] * 5, [7.5]])
def test_a_lane_without_range_has_a_scale_all_the_same(values: list[float]) -> None:
    """Empty, missing or constant values."""
    low, high = value_limits(lane(np.array(values, dtype=float), limits=None))
    assert low < high
