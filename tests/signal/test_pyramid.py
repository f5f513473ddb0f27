"""The min/max pyramid that traces are drawn from."""

from fractions import Fraction
from itertools import pairwise
from math import ceil

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from phasemark.model.errors import BadData
from phasemark.model.recording import Samples
from phasemark.signal.pyramid import BIN, FACTOR, build, columns, from_levels, gaps_in, samples_in


def _extremes(values: Samples) -> tuple[float, float]:
    present = values[~np.isnan(values)]
    return (float(present.min()), float(present.max())) if len(present) else (np.nan, np.nan)


def _signal(length: int, seed: int) -> Samples:
    rng = np.random.default_rng(seed)
    values = rng.normal(size=length)
    for begin in rng.integers(0, max(length, 1), 3):
        values[begin : begin + rng.choice([1, 5, 2 * BIN])] = np.nan
    return values


@pytest.mark.parametrize("length", [0, 1, 15, 16, 17, 1000, 16 * 256, 16 * 256 + 1, 200_003])
def test_every_level_holds_the_extremes_of_its_bins_and_the_partial_tail(length: int) -> None:
    values = _signal(length, length)
    pyramid = build(values)
    for level, (lowest, highest) in enumerate(pyramid.levels):
        size = BIN * FACTOR**level
        bins = [_extremes(values[begin : begin + size]) for begin in range(0, length, size)]
        np.testing.assert_array_equal(lowest, [low for low, _ in bins])
        np.testing.assert_array_equal(highest, [high for _, high in bins])
    assert len(pyramid.levels[-1][0]) <= 256


@settings(deadline=None, max_examples=150)
@given(st.integers(0, 3000), st.integers(-500, 3500), st.integers(1, 4000), st.integers(1, 60), st.integers(0, 99))
def test_columns_are_the_extremes_of_their_samples_at_any_zoom(
    length: int, begin: int, span: int, count: int, seed: int
) -> None:
    """Exact under 128 samples a column; more columns than samples leave the empty ones missing."""
    values = _signal(length, seed)
    end = begin + min(span, 120 * count)
    lowest, highest = columns(build(values), begin, end, count)
    edges = [ceil(Fraction(begin) + Fraction(k * (end - begin), count)) for k in range(count + 1)]
    for k, (first, last) in enumerate(pairwise(edges)):
        expected = _extremes(values[max(first, 0) : max(last, 0)])
        np.testing.assert_array_equal((lowest[k], highest[k]), expected)


@settings(deadline=None, max_examples=60)
@given(st.integers(100_000, 1_000_000), st.floats(0, 0.4), st.floats(0.5, 1.2), st.integers(1, 150))
def test_zoomed_out_no_sample_is_left_out_and_none_is_drawn_twice(
    length: int, from_share: float, to_share: float, count: int
) -> None:
    """A ramp shows by its extremes which samples a column holds: they follow one another without a hole."""
    begin, end = from_share * length, to_share * length
    lowest, highest = columns(build(np.arange(length, dtype=float)), begin, end, count)
    held = ~np.isnan(lowest)
    lowest, highest = lowest[held], highest[held]
    np.testing.assert_array_equal(lowest[1:], highest[:-1] + 1)
    width = (end - begin) / count
    edges = begin + width * np.flatnonzero(held)
    assert np.abs(lowest - edges).max() <= width / 16 + 1, "a column begins where it should, to a sixteenth of it"
    assert abs(highest[-1] - min(end, length - 1)) <= width / 16 + 1


def test_a_spike_in_the_last_sample_is_drawn_at_every_zoom() -> None:
    values = np.zeros(1_000_001)
    values[-1] = 5.0
    pyramid = build(values)
    for count in (1, 3, 777, 1600):
        assert columns(pyramid, 0, len(values), count)[1][-1] == 5.0
        assert columns(pyramid, 0, len(values) + 10, count)[1][-1] == 5.0
    begin = 695.8328667684435  # begin + (end - begin) is below end here
    assert columns(pyramid, begin, len(values), 1600)[1][-1] == 5.0


def test_as_many_columns_as_samples_hold_one_each() -> None:
    """In floating point k * (1 / n) * n is not always k; a sample must not slip into its neighbour's column."""
    for length in range(1, 400):
        values = np.arange(float(length))
        np.testing.assert_array_equal(columns(build(values), 0, length, length)[0], values)


def test_three_missing_samples_blank_nothing_zoomed_out_and_are_in_the_list_of_gaps() -> None:
    values = np.sin(np.arange(500_000.0))
    values[1000:1003] = np.nan
    pyramid = build(values)
    lowest, highest = columns(pyramid, 0, 500_000, 100)
    assert np.isfinite(lowest).all()
    assert np.isfinite(highest).all()
    assert pyramid.gaps == ((1000, 1003),)


def test_a_column_that_lies_in_a_gap_is_missing() -> None:
    values = np.ones(100_000)
    values[20_000:62_000] = np.nan
    lowest, _ = columns(build(values), 0, 100_000, 10)
    np.testing.assert_array_equal(np.isnan(lowest), [False, False, *[True] * 4, *[False] * 4])


@pytest.mark.parametrize(("begin", "end"), [(-900.0, -100.0), (1000.0, 5000.0), (50.0, 50.0), (60.0, 40.0)])
def test_columns_beside_the_signal_or_of_no_width_are_missing(begin: float, end: float) -> None:
    lowest, highest = columns(build(np.ones(1000)), begin, end, 7)
    assert np.isnan(lowest).all()
    assert np.isnan(highest).all()
    assert lowest.shape == highest.shape == (7,)


def test_no_columns_are_asked_for_and_none_are_given() -> None:
    assert columns(build(np.ones(1000)), 0, 1000, 0)[0].shape == (0,)


def test_infinite_values_are_missing() -> None:
    values = np.ones(1000)
    values[10] = np.inf
    pyramid = build(values)
    assert columns(pyramid, 0, 1000, 1)[1][0] == 1.0
    assert pyramid.gaps == ((10, 11),)


def test_a_pyramid_is_rebuilt_from_stored_levels() -> None:
    values = _signal(70_000, 1)
    built = build(values)
    again = from_levels(values, built.levels)
    assert again.gaps == built.gaps
    for got, expected in zip(columns(again, 0, 70_000, 30), columns(built, 0, 70_000, 30), strict=True):
        np.testing.assert_array_equal(got, expected)


def test_levels_of_another_signal_are_refused() -> None:
    levels = build(np.ones(70_000)).levels
    for wrong in (levels[:-1], (), (*levels, levels[-1]), ((levels[0][0], levels[0][1][:-1]), *levels[1:])):
        with pytest.raises(BadData, match="built again"):
            from_levels(np.ones(70_000), wrong)
    with pytest.raises(BadData, match="built again"):
        from_levels(np.ones(70_100), levels)


def test_samples_for_a_line_reach_one_neighbour_past_either_edge() -> None:
    pyramid = build(np.arange(100.0))
    first, values = samples_in(pyramid, 10.5, 12.5)
    assert (first, values.tolist()) == (10, [10.0, 11.0, 12.0, 13.0])
    first, values = samples_in(pyramid, 10.0, 12.0)
    assert (first, values.tolist()) == (9, [9.0, 10.0, 11.0, 12.0, 13.0])
    assert samples_in(pyramid, -5.0, 1.0)[1].tolist() == [0.0, 1.0, 2.0]
    assert samples_in(pyramid, 98.5, 300.0)[1].tolist() == [98.0, 99.0]
    assert len(samples_in(pyramid, 300.0, 400.0)[1]) == len(samples_in(pyramid, -9.0, -5.0)[1]) == 0
    assert np.shares_memory(values, pyramid.values)


def test_gaps_in_view_are_those_that_reach_into_it() -> None:
    values = np.ones(100)
    for begin, end in ((0, 5), (10, 12), (50, 60), (99, 100)):
        values[begin:end] = np.nan
    pyramid = build(values)
    assert gaps_in(pyramid, 5, 10) == ()
    assert gaps_in(pyramid, 4.5, 10.5) == ((0, 5), (10, 12))
    assert gaps_in(pyramid, 55, 56) == ((50, 60),)
    assert gaps_in(pyramid, -10, 1000) == pyramid.gaps
    assert gaps_in(pyramid, 70, 20) == ()
