"""Line segments of a trace: whole where it is steep, absent where samples are missing."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from phasemark.window.trace_lines import bars, lone_points, ribbon, strokes

heights = st.lists(st.one_of(st.floats(0, 300), st.just(float("nan"))), min_size=1, max_size=40)


@given(heights, heights)
def test_bars_cover_their_samples_and_touch_their_neighbours(one: list[float], other: list[float]) -> None:
    """Every present column has one upright line over its extent; neighbours leave no gap between them."""
    n = min(len(one), len(other))
    top, bottom = np.minimum(one[:n], other[:n]), np.maximum(one[:n], other[:n])
    lines = bars(top, bottom, 7)
    there = np.flatnonzero(np.isfinite(top))
    assert list(lines[:, 0]) == [k + 7.5 for k in there]
    assert (lines[:, 0] == lines[:, 2]).all()
    assert (lines[:, 1] <= top[there]).all()
    assert (lines[:, 3] >= bottom[there]).all()
    assert (lines[:, 3] - lines[:, 1] >= 1).all()
    for a, b in pairwise(lines):
        if b[0] == a[0] + 1:
            assert a[3] >= b[1]
            assert b[3] >= a[1]


@given(heights)
def test_strokes_join_neighbours_that_are_both_present(y: list[float]) -> None:
    """As many lines as such pairs, and every other sample is a lone point or missing."""
    values = np.array(y)
    lines = strokes(np.arange(float(len(y))), values)
    there = np.isfinite(values)
    assert len(lines) == int((there[:-1] & there[1:]).sum())
    met = {int(x) for line in lines for x in (line[0], line[2])}
    assert met | set(lone_points(values).tolist()) == set(np.flatnonzero(there).tolist())
    assert not met & set(lone_points(values).tolist())


def test_a_smooth_trace_is_one_line_and_a_rough_one_its_extent() -> None:
    """Columns of half a pixel give a line through their middles; tall ones upright lines and no line between them."""
    flat = np.linspace(10.0, 20.0, 30)
    smooth, upright = ribbon(flat, flat + 0.5, 0, 1.6)
    assert len(smooth) == 29
    assert len(upright) == 0
    assert smooth[0, 1] == pytest.approx(10.25)
    smooth, upright = ribbon(np.full(30, 5.0), np.full(30, 25.0), 0, 1.6)
    assert len(smooth) == 0
    assert len(upright) == 30
    smooth, upright = ribbon(np.array([5.0, 5.0, 40.0]), np.array([5.5, 25.0, 60.0]), 0, 1.6)
    assert len(smooth) == 2
    assert len(upright) == 2


def test_a_ribbon_stops_at_missing_columns() -> None:
    """No line leads across an empty column."""
    top = np.array([1.0, np.nan, 1.0, 1.0])
    smooth, upright = ribbon(top, top, 0, 1.6)
    assert smooth[:, 0].tolist() == [2.5]
    assert len(upright) == 0
