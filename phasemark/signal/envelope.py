"""Envelopes: moving RMS, moving mean amplitude, and the low-passed rectified signal."""

from fractions import Fraction
from math import ceil

import numpy as np

from phasemark.model.clock import Rate, nearest_sample
from phasemark.model.recording import Samples, Treatment
from phasemark.model.settings import EnvelopeKind, EnvelopeSettings
from phasemark.signal.butterworth import low_pass
from phasemark.signal.conditioning import Conditioned
from phasemark.signal.gaps import valid_pieces

_CHUNK = 1 << 13  # windows worked on at a time, so that the partial sums stay in the processor's cache


def window_samples(window_s: float, rate: Rate) -> int:
    """Samples of a centred window: a middle one and, on either side, half the window rounded to whole samples.

    So it is odd, and its first and last samples lie window_s apart (201 samples for 100 ms at 2 kHz).
    """
    return 2 * nearest_sample(Fraction(str(window_s)) / 2, rate) + 1


def _sums_of(x: Samples, count: int) -> Samples:
    # Sums of every count neighbours by doubling: sums of 1, 2, 4, ... neighbours, joined as count's binary
    # digits say. Unlike a running sum nothing is ever subtracted, so a large artefact leaves no rounding behind.
    length = len(x) - count + 1
    joined = np.zeros(length)
    done, size, sums = 0, 1, x
    while True:
        if count & size:
            joined += sums[done : done + length]
            done += size
        if done == count:
            return joined
        sums = sums[:-size] + sums[size:]
        size *= 2


def _moving_mean(x: Samples, of: np.ufunc, count: int) -> Samples:
    # Mean of a function of every full window of count (odd) samples at the window's middle; NaN where not full.
    half = count // 2
    means = np.full(len(x), np.nan)
    for begin, end in valid_pieces(x):
        for first in range(begin + half, end - half, _CHUNK):
            last = min(first + _CHUNK, end - half)
            means[first:last] = _sums_of(of(x[first - half : last + half]), count)
    means /= count
    return means


def moving_rms(x: Samples, rate: Rate, window_s: float) -> Samples:
    """RMS over a window centred at each sample, same shape; NaN where the window is not full.

    Only full windows count: within half a window of either end and of a gap there is no value. The window
    holds window_samples(window_s, rate) samples.
    """
    means = _moving_mean(x, np.square, window_samples(window_s, rate))
    return np.sqrt(means, out=means)


def moving_mean_amplitude(x: Samples, rate: Rate, window_s: float) -> Samples:
    """Mean of |x| over a window centred at each sample; windows as in moving_rms."""
    return _moving_mean(x, np.absolute, window_samples(window_s, rate))


def low_passed_rectified(x: Samples, rate: Rate, lowpass_hz: float, order: int) -> Samples:
    """|x| low-passed without lag (the linear envelope), same shape; may dip slightly below zero.

    A piece between gaps shorter than one period of the cut-off holds no envelope and is missing. Pieces are
    extended by their mirror image over one such period, so that the ends do not hang on single samples.

    Raises:
        BadData: the cut-off is not below half the rate.
    """
    period = ceil(float(rate) / lowpass_hz)
    rectified = np.abs(x)
    for begin, end in valid_pieces(x):
        if end - begin < period:
            rectified[begin:end] = np.nan
    return low_pass(rectified, rate, lowpass_hz, order, extension="even", extend_by=period)


def envelope(conditioned: Conditioned, settings: EnvelopeSettings) -> Samples:
    """Envelope (mV) of a conditioned channel, same shape, NaN where there is none.

    A channel recorded already rectified has no RMS: its moving envelope is the moving mean amplitude.

    Raises:
        BadData: the cut-off of a low-pass envelope does not fit the channel's rate.
    """
    values, rate = conditioned.values, conditioned.rate
    if settings.kind is EnvelopeKind.LOW_PASS:
        return low_passed_rectified(values, rate, settings.lowpass_hz, settings.order)
    if conditioned.treatment is Treatment.RECTIFIED:
        return moving_mean_amplitude(values, rate, settings.window_s)
    return moving_rms(values, rate, settings.window_s)
