"""Attempts: the highest window, the plateau by rule, an interval by hand, and the bias of a maximum."""

from fractions import Fraction
from math import isnan, sqrt

import numpy as np
import pytest
from numpy.typing import NDArray

from phasemark.demo.shaped_noise import emg_noise
from phasemark.model.recording import Treatment
from phasemark.signal.attempts import (
    PLATEAU_SHARE,
    Attempt,
    bias_of_highest,
    highest_window,
    over_interval,
    plateau,
)
from phasemark.signal.block_sums import block_sums
from phasemark.signal.conditioning import Conditioned
from phasemark.signal.envelope import window_samples
from phasemark.signal.sampling_error import relative_error


def channel(values: NDArray[np.float64], rate: int = 2000, treatment: Treatment = Treatment.RAW) -> Conditioned:
    return Conditioned(values, Fraction(rate), block_sums(values), treatment)


def square_wave(levels: NDArray[np.float64]) -> NDArray[np.float64]:
    """Signs that alternate: RMS and mean amplitude of any window are those of the levels (check-values A2)."""
    return levels * np.where(np.arange(len(levels)) % 2, 1.0, -1.0)


def effort() -> NDArray[np.float64]:
    """Four seconds at 2 kHz at rest (0.01 mV), with an effort of 1 mV from 1 to 3 s."""
    levels = np.full(8000, 0.01)
    levels[2000:6000] = 1.0
    return levels


def test_the_highest_window_is_the_one_that_every_window_tried_by_itself_would_give() -> None:
    draw = np.random.default_rng(1)
    for _ in range(5):
        x = draw.normal(0, 1 + np.sin(np.arange(900) / 90) ** 2)
        x[draw.integers(0, 900, 2)] = np.nan
        found = highest_window(channel(x, 100), 0.5)
        count = window_samples(0.5, Fraction(100))
        windows = [x[i : i + count] for i in range(len(x) - count + 1)]
        rms = [sqrt(np.mean(w * w)) for w in windows if np.isfinite(w).all()]
        mean = [np.mean(np.abs(w)) for w in windows if np.isfinite(w).all()]
        assert (found.rms, found.mean_amplitude) == pytest.approx((max(rms), max(mean)), rel=1e-12)
        assert sqrt(np.mean(x[found.begin : found.end] ** 2)) == pytest.approx(found.rms, rel=1e-12)
        assert np.mean(np.abs(x[found.mean_begin : found.mean_end])) == pytest.approx(found.mean_amplitude, rel=1e-12)


def test_rms_and_mean_amplitude_are_each_highest_where_they_are() -> None:
    """A spike has the highest RMS, a steady stretch the highest mean amplitude."""
    x = square_wave(np.full(8000, 0.1))
    x[1000], x[5000:6500] = 9.0, square_wave(np.full(1500, 0.25))
    found = highest_window(channel(x), 0.5)
    assert found.begin <= 1000 < found.end
    assert 5000 <= found.mean_begin < found.mean_end <= 6500


def test_the_error_of_a_window_is_that_of_its_own_samples() -> None:
    """In a steady signal, about what the window taken alone would state."""
    x = emg_noise(8000, 2000.0, (60.0, 125.0), np.random.default_rng(3))
    found = highest_window(channel(x), 0.5)
    alone = relative_error(x[found.begin : found.end], Fraction(2000))
    assert found.error == pytest.approx(alone.rms, rel=0.15)
    assert found.mean_error == pytest.approx(alone.mean_amplitude, rel=0.15)


@pytest.mark.parametrize(("begin", "end"), [(0, 1500), (6500, 8000)])
def test_a_maximum_at_an_end_of_the_signal_is_at_the_edge(begin: int, end: int) -> None:
    """The effort may have been higher where nothing was recorded."""
    levels = np.full(8000, 0.01)
    levels[begin:end] = np.linspace(1.0, 0.5, 1500) if begin == 0 else np.linspace(0.5, 1.0, 1500)
    assert highest_window(channel(square_wave(levels)), 0.5).at_edge


def test_a_maximum_beside_a_gap_is_at_the_edge_and_one_inside_is_not() -> None:
    levels = effort() * np.linspace(0.5, 1.0, 8000)
    assert not highest_window(channel(square_wave(levels)), 0.5).at_edge
    cut = square_wave(levels)
    cut[5000:5100] = np.nan
    found = highest_window(channel(cut[:5600]), 0.5)
    assert found.at_edge
    assert found.end <= 5000


def test_a_rectified_channel_has_its_mean_amplitude_alone() -> None:
    found = highest_window(channel(effort(), treatment=Treatment.RECTIFIED), 0.5)
    assert isnan(found.rms)
    assert isnan(found.error)
    assert found.mean_amplitude == pytest.approx(1.0)
    assert (found.begin, found.end) == (found.mean_begin, found.mean_end)


def test_a_signal_without_a_full_window_has_no_attempt() -> None:
    x = np.ones(8000)
    x[::700] = np.nan
    for found in (highest_window(channel(x), 0.5), plateau(channel(x), 1.0, 0.5)):
        assert isnan(found.rms)
        assert isnan(found.mean_amplitude)
        assert (found.begin, found.end, found.at_edge) == (0, 0, False)


def plateaus_by_hand(x: NDArray[np.float64], long: int, count: int) -> tuple[int, float]:
    """Begin and variation of the steadiest stretch, from every stretch and every window in it."""
    half = count // 2
    level = np.array(
        [np.sqrt(np.mean(x[i - half : i + half + 1] ** 2)) if half <= i < len(x) - half else np.nan
         for i in range(len(x))]
    )  # fmt: skip
    found = []
    for begin in range(len(x) - long + 1):
        windows = level[begin + half : begin + long - half]
        if np.isfinite(windows).all() and windows.min() >= PLATEAU_SHARE * np.nanmax(level):
            found.append((float(windows.std() / windows.mean()), begin))
    variation, begin = min(found)
    return begin, variation


@pytest.mark.parametrize(("plateau_s", "window_s"), [(1.0, 0.3), (1.01, 0.2)])
def test_the_plateau_is_the_steadiest_stretch_that_trying_all_would_give(plateau_s: float, window_s: float) -> None:
    draw = np.random.default_rng(4)
    for _ in range(3):
        x = square_wave(np.exp(np.cumsum(draw.normal(0, 0.02, 600))))
        x[draw.integers(0, 600)] = np.nan
        found = plateau(channel(x, 100), plateau_s, window_s)
        begin, _ = plateaus_by_hand(x, round(plateau_s * 100), window_samples(window_s, Fraction(100)))
        assert (found.begin, found.end) == (begin, begin + round(plateau_s * 100))
        assert found.rms == pytest.approx(np.sqrt(np.mean(x[found.begin : found.end] ** 2)), rel=1e-12)


def test_a_plateau_lies_in_the_effort_and_not_in_steadier_rest() -> None:
    draw = np.random.default_rng(5)
    x = emg_noise(8000, 2000.0, (60.0, 125.0), draw) * effort()
    x[:2000] = square_wave(np.full(2000, 0.01))
    found = plateau(channel(x), 1.0, 0.5)
    assert 1900 <= found.begin < found.end <= 6100  # windows of 500 ms see its ends so sharply
    assert found.end - found.begin == 2000
    assert found.window_s == pytest.approx(1.0)


def test_an_effort_shorter_than_the_plateau_has_none() -> None:
    assert isnan(plateau(channel(square_wave(effort())), 2.5, 0.5).rms)
    assert plateau(channel(square_wave(effort())), 1.5, 0.5).rms == pytest.approx(1.0)


def test_an_interval_by_hand_is_its_own_amplitude() -> None:
    """Values, samples and length of exactly that stretch; a place chosen by a person is never at an edge."""
    x = square_wave(effort())
    found = over_interval(channel(x), 0, 4000)
    assert found.rms == pytest.approx(sqrt((2000 * 1e-4 + 2000) / 4000))
    assert found.mean_amplitude == pytest.approx(0.505)
    assert (found.begin, found.end, found.mean_begin, found.mean_end) == (0, 4000, 0, 4000)
    assert (found.window_s, found.at_edge) == (2.0, False)


@pytest.mark.parametrize("window_s", [0.1, 0.25, 0.5])
def test_the_bias_of_the_highest_window_of_a_steady_effort_is_the_simulated_one(window_s: float) -> None:
    """Steady noise of RMS 1 for 3 s: the maximum lies 30 % above it over 100 ms, 16 % over 250 ms, 9 % over 500 ms."""
    draw = np.random.default_rng(6)
    found: list[Attempt] = [
        highest_window(channel(emg_noise(6000, 2000.0, (60.0, 125.0), draw)), window_s) for _ in range(400)
    ]
    simulated = np.mean([one.rms for one in found]) - 1
    stated = bias_of_highest(float(np.mean([one.error for one in found])), window_s, 3.0)
    assert stated == pytest.approx(simulated, rel=0.15)
    assert simulated == pytest.approx({0.1: 0.296, 0.25: 0.160, 0.5: 0.094}[window_s], rel=0.07)


def test_a_single_window_is_not_biased_and_longer_efforts_are_more() -> None:
    assert bias_of_highest(0.1, 0.5, 0.5) == pytest.approx(0.0, abs=1e-4)
    assert 0 < bias_of_highest(0.1, 0.5, 1.0) < bias_of_highest(0.1, 0.5, 5.0)
    assert bias_of_highest(0.2, 0.5, 3.0) == pytest.approx(2 * bias_of_highest(0.1, 0.5, 3.0))
    # Over one more window the expected maximum is 2 / sqrt(pi) standard deviations.
    steps = np.cumsum(draw_of_steps(), axis=1) / sqrt(500)
    simulated = (steps[:, 500:] - steps[:, :-500]).max(axis=1).mean()
    assert bias_of_highest(1.0, 0.5, 1.0) == pytest.approx(2 / sqrt(np.pi), rel=1e-3)
    assert bias_of_highest(1.0, 0.5, 1.0) == pytest.approx(simulated, rel=0.06)


def draw_of_steps() -> NDArray[np.float64]:
    """White noise: 3000 runs of 1000 samples."""
    return np.random.default_rng(7).standard_normal((3000, 1000))
