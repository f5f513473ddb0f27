"""Extents of a trace in pixel columns: whole where it is steep, absent where samples are missing."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from phasemark.signal.pyramid import build
from phasemark.window.traces.trace_extents import joined, lone_points, values_in_columns, widened

heights = st.lists(st.one_of(st.floats(0, 300), st.just(float("nan"))), min_size=1, max_size=40)


@given(heights, heights)
def test_joined_columns_cover_their_samples_and_touch_their_neighbours(one: list[float], other: list[float]) -> None:
    """Every present column covers its extent, neighbours leave no gap between them, and empty ones stay empty."""
    n = min(len(one), len(other))
    top, bottom = np.minimum(one[:n], other[:n])[None], np.maximum(one[:n], other[:n])[None]
    up, down = joined(top, bottom)
    assert (np.isnan(up) == np.isnan(top)).all()
    there = np.isfinite(top)
    assert (up[there] <= top[there]).all()
    assert (down[there] >= bottom[there]).all()
    pairs = there[0, :-1] & there[0, 1:]
    assert (down[0, :-1][pairs] >= up[0, 1:][pairs] - 1e-9).all()
    assert (down[0, 1:][pairs] >= up[0, :-1][pairs] - 1e-9).all()


@given(heights)
def test_the_line_between_few_samples_passes_through_each_of_them(y: list[float]) -> None:
    """Eight columns a sample: a present sample is in its column, and between a present and a missing one is nothing."""
    values = np.array(y)
    low, high = (rows[0] for rows in values_in_columns([build(values)], 0.0, float(len(y)), 8 * len(y)))
    there = np.isfinite(values)
    assert np.allclose(low[::8][there] <= values[there] + 1e-9, True)
    assert np.allclose(high[::8][there] >= values[there] - 1e-9, True)
    drawn = np.isfinite(low).reshape(-1, 8)
    for at in range(len(y) - 1):
        assert drawn[at, 1:].all() == (there[at] and there[at + 1])
        assert drawn[at, 1:-1].any() == (there[at] and there[at + 1])


def test_a_line_lies_on_the_straight_way_between_two_samples() -> None:
    """A ramp of ten units over ten columns rises by one unit a column; outside the samples there is nothing."""
    low, high = (rows[0] for rows in values_in_columns([build(np.array([0.0, 10.0]))], -0.2, 1.2, 14))
    assert low[2:12] == pytest.approx(np.arange(10.0))
    assert high[2:12] == pytest.approx(np.arange(1.0, 11.0))
    assert np.isnan(low[:2]).all()
    assert np.isnan(low[13:]).all()


def test_widening_holds_the_neighbours_in_part_or_whole() -> None:
    """A step of ten is reached by 0.3 of it, or all of it, one column early; missing columns stay missing."""
    top = np.array([[0.0, 0.0, 10.0, 10.0, np.nan]])
    up, down = widened(top, top, 0.3)
    assert down[0, :4] == pytest.approx([0.0, 3.0, 10.0, 10.0])
    assert up[0, :4] == pytest.approx([0.0, 0.0, 7.0, 10.0])
    assert np.isnan(up[0, 4])
    assert widened(top, top, 1.0)[1][0, :4] == pytest.approx([0.0, 10.0, 10.0, 10.0])
    assert widened(top, top, 0.0)[0] is top


def test_lone_points_have_no_neighbour() -> None:
    """At either end too; a sample beside another is none."""
    nan = np.nan
    assert lone_points(np.array([1.0, nan, 2.0, 3.0, nan, 4.0])).tolist() == [0, 5]
    assert lone_points(np.array([])).tolist() == []


def test_traces_read_together_are_those_read_alone() -> None:
    """Zoomed in and out, also past the ends and across missing samples, each row is that of its trace by itself."""
    draw = np.random.default_rng(7)
    values = draw.normal(size=(4, 9000))
    values[1, 4000:4020] = values[2, ::7] = np.nan
    pyramids = [build(row) for row in values]
    for begin, end in ((-50.0, 9100.0), (3990.3, 4300.7), (4000.5, 4040.2), (8990.0, 9010.0), (9100.0, 9200.0)):
        together = values_in_columns(pyramids, begin, end, 333)
        for row, pyramid in enumerate(pyramids):
            alone = values_in_columns([pyramid], begin, end, 333)
            assert np.array_equal(together[0][row], alone[0][0], equal_nan=True)
            assert np.array_equal(together[1][row], alone[1][0], equal_nan=True)
