"""Columns of many signals at once are those of each by itself."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from phasemark.signal.pyramid import build, columns
from phasemark.signal.stacked_columns import stacked_columns


def signals(length: int, many: int) -> list[np.ndarray]:
    """Noise with short and long gaps, of different signals at different places."""
    draw = np.random.default_rng(length)
    made = draw.normal(size=(many, length))
    for row in made:
        for begin in draw.integers(0, max(length, 1), 3):
            row[begin : begin + draw.choice([1, 7, 90])] = np.nan
    return list(made)


@settings(deadline=None, max_examples=200)
@given(
    st.integers(0, 4000), st.floats(-500, 4500), st.floats(0.1, 5000), st.integers(1, 300), st.sampled_from([1, 4, 8])
)
def test_the_stack_holds_the_columns_of_each_signal(
    length: int, begin: float, span: float, count: int, bins: int
) -> None:
    """At any zoom, also past either end of the signals and where there are more columns than samples."""
    pyramids = [build(values) for values in signals(length, 3)]
    low, high = stacked_columns(pyramids, begin, begin + span, count, bins_per_column=bins)
    for row, pyramid in enumerate(pyramids):
        wanted = columns(pyramid, begin, begin + span, count, bins_per_column=bins)
        np.testing.assert_array_equal((low[row], high[row]), wanted)


@pytest.mark.parametrize("per_column", [0.4, 1.0, 1.9, 3.0, 7.99, 16.0, 31.0, 50.0, 77.7, 500.0])
def test_many_long_signals_are_stacked_in_blocks_without_a_seam(per_column: float) -> None:
    """More signals than are worked on at once: every row is that of its own signal."""
    pyramids = [build(values) for values in signals(400_000, 9)]
    low, high = stacked_columns(pyramids, 99.5, 99.5 + 700 * per_column, 700, bins_per_column=4)
    for row, pyramid in enumerate(pyramids):
        wanted = columns(pyramid, 99.5, 99.5 + 700 * per_column, 700, bins_per_column=4)
        np.testing.assert_array_equal((low[row], high[row]), wanted)


@pytest.mark.parametrize("per_column", [1.3, 2.5, 6.0, 20.0, 70.0])
def test_a_spike_of_one_sample_is_in_its_column_wherever_it_is(per_column: float) -> None:
    """One high sample is found in exactly one column at each place of a column, and in no other signal's."""
    count, flat = 40, build(np.zeros(4000))
    begin = 100.25
    for at in range(101, int(begin + count * per_column) - 80, max(1, int(per_column / 3))):
        values = np.zeros(4000)
        values[at] = 1.0
        low, high = stacked_columns([flat, build(values)], begin, begin + count * per_column, count)
        assert not low.any()
        assert not high[0].any()
        assert high[1].sum() == 1.0


def test_no_columns_and_no_width_are_empty() -> None:
    pyramids = [build(np.ones(1000))] * 2
    assert stacked_columns(pyramids, 0, 1000, 0)[0].shape == (2, 0)
    assert np.isnan(stacked_columns(pyramids, 60.0, 40.0, 7)[1]).all()
