"""Sums over any segment from block sums, against sums over the samples themselves."""

from math import fsum

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from phasemark.model.recording import Samples
from phasemark.signal.block_sums import BLOCK, block_sums, segment_sums


def _direct(values: Samples, begin: int, end: int) -> tuple[float, float, float, int]:
    """Exact sums over the valid samples of a segment, as floats."""
    x = values[max(begin, 0) : max(end, 0)]
    x = x[np.isfinite(x)]
    return fsum(x), fsum(np.abs(x)), fsum(x * x), len(x)


def _near(value: float, exact: float) -> bool:
    return value == pytest.approx(exact, rel=1e-15, abs=0)


@st.composite
def gappy_signals(draw: st.DrawFn) -> Samples:
    """A signal of any length about the block's, scaled over 20 decades, with runs of missing samples."""
    length = draw(st.integers(0, 5 * BLOCK))
    rng = np.random.default_rng(draw(st.integers(0, 2**32)))
    values = rng.normal(draw(st.sampled_from([0.0, 1.0, 1000.0])), 1.0, length) * 10.0 ** draw(st.integers(-10, 10))
    for _ in range(draw(st.integers(0, 5))):
        begin = draw(st.integers(0, length))
        values[begin : begin + draw(st.sampled_from([1, 3, 100, BLOCK, 2 * BLOCK]))] = np.nan
    return values


@settings(deadline=None, max_examples=200)
@given(gappy_signals(), st.data())
def test_sums_of_any_segment_equal_the_sums_over_its_valid_samples(values: Samples, data: st.DataObject) -> None:
    begin = data.draw(st.integers(-10, len(values) + 10))
    end = data.draw(st.integers(begin, len(values) + 10))
    sums = segment_sums(block_sums(values), begin, end)
    total, absolute, squares, valid = _direct(values, begin, end)
    assert (sums.valid, sums.samples) == (valid, end - begin)
    assert _near(sums.absolute, absolute)
    assert _near(sums.squares, squares)
    assert sums.total == pytest.approx(total, abs=1e-15 * absolute)


def test_errors_stay_under_one_part_in_ten_to_the_fifteen_on_many_long_segments() -> None:
    rng = np.random.default_rng(7)
    values = rng.normal(size=100_000) * np.exp(rng.normal(size=100_000))
    held = block_sums(values)
    for _ in range(300):
        begin, end = sorted(rng.integers(0, len(values), 2).tolist())
        sums = segment_sums(held, begin, end)
        _, absolute, squares, _ = _direct(values, begin, end)
        assert _near(sums.absolute, absolute)
        assert _near(sums.squares, squares)


def test_a_missing_sample_does_not_spread() -> None:
    values = np.ones(10 * BLOCK)
    values[BLOCK + 5] = np.nan
    held = block_sums(values)
    assert segment_sums(held, 2 * BLOCK, 10 * BLOCK).squares == 8 * BLOCK
    assert segment_sums(held, 0, 10 * BLOCK).valid == 10 * BLOCK - 1


def test_a_quiet_segment_after_a_large_artefact_keeps_all_its_digits() -> None:
    """Differences of running sums lose it: checked here beside, so that the test would notice."""
    values = np.full(8 * BLOCK, 1e-3)
    values[10] = 1e4
    exact = fsum(values[1000:1900] ** 2)
    assert _near(segment_sums(block_sums(values), 1000, 1900).squares, exact)
    running = np.concatenate(([0.0], np.cumsum(values**2)))
    assert running[1900] - running[1000] != pytest.approx(exact, rel=1e-6)


def test_an_empty_or_reversed_segment_has_no_samples() -> None:
    held = block_sums(np.ones(1000))
    for begin, end in ((5, 5), (600, 100), (2000, 3000), (-9, -3)):
        sums = segment_sums(held, begin, end)
        assert (sums.valid, sums.squares, sums.samples) == (0, 0.0, max(0, end - begin))


@pytest.mark.parametrize(
    ("centre", "low", "high", "mean"),
    [
        (1.2, 1.1, 1.3, 1.2),
        (1000000.2, 1000000.1, 1000000.3, 1000000.2),
        (10000000.2, 10000000.1, 10000000.3, 10000000.2),
    ],
)
def test_means_of_the_reference_data_sets(centre: float, low: float, high: float, mean: float) -> None:
    """NIST Statistical Reference Datasets, NumAcc2 to NumAcc4: certified means (Simon & Lesage 1989)."""
    values = np.array([centre, *([low, high] * 500)])
    sums = segment_sums(block_sums(values), 0, 1001)
    assert sums.total / sums.valid == pytest.approx(mean, rel=1e-15)
    assert sums.absolute / sums.valid == pytest.approx(mean, rel=1e-15)


def test_sixteen_channels_of_an_hour_hold_eleven_megabytes_of_sums() -> None:
    """Counted from one minute at 2 kHz: 26 bytes a block."""
    held = block_sums(np.zeros(120_000))
    per_minute = held.sums.nbytes + held.counts.nbytes
    assert per_minute * 60 * 16 < 12e6
