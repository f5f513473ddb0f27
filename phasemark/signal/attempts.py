"""Attempts at a reference: the amplitude of an effort's highest window, of its plateau, or of an interval by hand."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import nan

import numpy as np
from numpy.typing import NDArray

from phasemark.model.clock import nearest_sample
from phasemark.model.recording import Samples, Treatment
from phasemark.signal.amplitude import amplitude
from phasemark.signal.conditioning import Conditioned
from phasemark.signal.envelope import moving_mean_amplitude, moving_rms, window_samples
from phasemark.signal.gaps import valid_pieces
from phasemark.signal.sampling_error import NOT_DETERMINED, SamplingError, error_blocks, sampling_errors

EDGE_SHARE = 0.1
"""A highest window so close to an end of the signal, as a share of its length, lies at the edge (common practice, no
source for the share): the effort may have been higher where nothing was recorded."""
PLATEAU_SHARE = 0.75
"""A plateau never falls under this share of the highest moving RMS of the attempt (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Attempt:
    """Amplitude of one attempt (mV; nan where there is none) and where it was found.

    begin and end, mean_begin and mean_end are the samples begin <= i < end of the channel's own rate over which RMS and
    mean amplitude were taken (0 and 0 where there is none). error and mean_error are the relative sampling errors
    of a stretch chosen beforehand, without the bias of choosing the highest (bias_of_highest). at_edge:
    the maximum lies at the first or last full window of the signal, or of its piece between gaps. window_s is the
    length (s) of the window or stretch.
    """

    rms: float
    mean_amplitude: float
    begin: int
    end: int
    mean_begin: int
    mean_end: int
    error: float
    at_edge: bool
    window_s: float
    mean_error: float = nan


def highest_window(conditioned: Conditioned, window_s: float) -> Attempt:
    """The highest moving RMS and the highest moving mean amplitude (mV) over full windows of window_s seconds.

    Windows as in envelope.moving_rms: centred, never over an end or a gap. The two maxima may lie in different
    places. A channel that was recorded rectified has a mean amplitude only.
    """
    values, rate = conditioned.values, conditioned.rate
    means = moving_mean_amplitude(values, rate, window_s)
    mean_at = _highest(means)
    if mean_at is None:
        return _no_attempt(window_s)
    half = window_samples(window_s, rate) // 2
    mean_span = mean_at - half, mean_at + half + 1
    if conditioned.treatment is Treatment.RECTIFIED:
        span, rms = mean_span, nan
    else:
        levels = moving_rms(values, rate, window_s)
        at = int(np.nanargmax(levels))
        span, rms = (at - half, at + half + 1), float(levels[at])
    of_rms, of_mean = _errors(conditioned, span, mean_span)
    edge = _at_edge(values, span)
    return Attempt(rms, float(means[mean_at]), *span, *mean_span, of_rms.rms, edge, window_s, of_mean.mean_amplitude)


def plateau(conditioned: Conditioned, plateau_s: float, window_s: float) -> Attempt:
    """The steadiest stretch of plateau_s seconds near the highest amplitude, and its RMS and mean amplitude (mV).

    1. The moving RMS (of a rectified channel the moving mean amplitude) over window_s, or over half of plateau_s
       where that is shorter, so that a plateau holds several windows.
    2. All stretches of plateau_s whose windows are full and never under PLATEAU_SHARE of the highest one.
    3. Of these the one whose windows have the smallest coefficient of variation, the first of equals.

    No attempt (nan) where the effort stays up for a shorter time than plateau_s.
    """
    values, rate = conditioned.values, conditioned.rate
    window_s = min(window_s, plateau_s / 2)
    moving = moving_mean_amplitude if conditioned.treatment is Treatment.RECTIFIED else moving_rms
    levels = moving(values, rate, window_s)
    long, half = nearest_sample(plateau_s, rate), window_samples(window_s, rate) // 2
    best: tuple[float, int] | None = None
    for begin, candidates in _variations(levels, long - 2 * half):
        at = int(np.argmin(candidates))
        if np.isfinite(candidates[at]) and (best is None or candidates[at] < best[0]):
            best = float(candidates[at]), begin + at - half
    if best is None:
        return _no_attempt(plateau_s)
    return over_interval(conditioned, best[1], best[1] + long)


def over_interval(conditioned: Conditioned, begin: int, end: int) -> Attempt:
    """The amplitude (mV) of the samples begin <= i < end, placed by a person or a rule."""
    found = amplitude(conditioned, begin, end)
    error = _errors(conditioned, (begin, end))[0]
    length_s = (end - begin) / float(conditioned.rate)
    return Attempt(
        *(found.rms, found.mean_amplitude, begin, end, begin, end),
        *(error.rms, False, length_s, error.mean_amplitude),
    )


def bias_of_highest(error: float, window_s: float, effort_s: float) -> float:
    """How far the highest window of a steady effort lies above its true amplitude, as a share of it.

    error is the relative sampling error of one window, effort_s the length of the effort. The moving mean of noise is
    taken for a Gaussian process whose correlation falls linearly to zero over a window (Slepian 1961, from memory). Its
    maximum over one window's span stays below u standard deviations with probability
    Q1 = Phi(u)^2 - phi(u) (u Phi(u) + phi(u)), over L of them with about Phi(u) (Q1 / Phi(u))^L; its expected
    value times error is the bias. Against simulated EMG of 3 s it is a tenth too large (0.17 for 0.16 over 0.25 s).
    """
    from scipy.special import ndtr

    spans = max(0.0, effort_s / window_s - 1.0)
    u = np.linspace(-6.0, 9.0, 3001)
    density, below = np.exp(-u * u / 2) / np.sqrt(2 * np.pi), ndtr(u)
    once = np.maximum(below**2 - density * (u * below + density), 0.0)
    stays = below * (once / below) ** spans
    return float(error * (u[-1] - np.trapezoid(stays, u)))


def _no_attempt(window_s: float) -> Attempt:
    return Attempt(nan, nan, 0, 0, 0, 0, nan, False, window_s)


def _highest(levels: Samples) -> int | None:
    return None if np.isnan(levels).all() else int(np.nanargmax(levels))


def _errors(conditioned: Conditioned, *spans: tuple[int, int]) -> tuple[SamplingError, ...]:
    if conditioned.treatment is Treatment.RECTIFIED:
        return (NOT_DETERMINED,) * len(spans)
    return sampling_errors(error_blocks(conditioned), [(span,) for span in spans])


def _at_edge(values: Samples, span: tuple[int, int]) -> bool:
    near = EDGE_SHARE * (span[1] - span[0])
    for begin, end in valid_pieces(values):
        if begin <= span[0] and span[1] <= end:
            return span[0] - begin < near or end - span[1] < near
    return False


def _variations(levels: Samples, count: int) -> Iterator[tuple[int, NDArray[np.float64]]]:
    # For each run of levels: its begin, and the coefficient of variation over every count neighbours from there on;
    # infinite where one of them is too low.
    from scipy.ndimage import minimum_filter1d

    highest = np.nanmax(levels, initial=0.0)
    for begin, end in valid_pieces(levels):
        if end - begin < count or highest <= 0:
            continue
        run = levels[begin:end] / highest
        sums = np.cumsum(np.concatenate(([[0.0], [0.0]], np.stack([run - 1, (run - 1) ** 2])), axis=1), axis=1)
        first, second = (sums[:, count:] - sums[:, :-count]) / count
        lowest = minimum_filter1d(run, count, origin=-(count // 2))[: len(first)]
        variation = np.sqrt(np.maximum(second - first**2, 0.0)) / (1 + first)
        yield begin, np.where(lowest >= PLATEAU_SHARE, variation, np.inf)
