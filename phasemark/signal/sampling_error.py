"""Sampling error of amplitude: how far the amplitude of a stretch lies from its expectation by chance alone.

EMG is taken for Gaussian noise of a slowly changing amplitude s. The mean of its squares over N samples then has the
relative variance 2 R / N times mean(s^4) / mean(s^2)^2, R being the sum over all lags of the squared autocorrelation
rho; its root, the RMS, has half the relative error. With R = rate / (2 B), B being the statistical bandwidth
(integral of S)^2 / (integral of S^2) of the one-sided spectrum S, that is 1 / (2 sqrt(B T)) for a steady amplitude
(Bendat & Piersol 2010, Random Data, 4th ed., ch. 8, chapter from memory; the factor of a changing amplitude follows
from the fourth moments of Gaussian variables). For the mean of |x|, 2 rho^2 becomes
sqrt(1 - rho^2) + rho asin(rho) - 1, the covariance of two rectified Gaussian variables over the square of their
mean, and the factor becomes mean(s^2) / mean(s)^2.

It is the error of one stretch of one person, not an interval for any statement between people.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import nan

import numpy as np
from numpy.typing import NDArray

from phasemark.model.clock import Rate
from phasemark.model.recording import Samples, Treatment
from phasemark.signal.amplitude import enough
from phasemark.signal.error_blocks import ErrorBlocks, blocks_of_values, error_blocks, hann

__all__ = [
    "NOT_DETERMINED",
    "ErrorBlocks",
    "SamplingError",
    "error_blocks",
    "relative_error",
    "sampling_errors",
    "sampling_errors_of",
]

SURROUND_S = 2.0
"""The spectrum of a shorter segment is taken from so much signal around it (s); its amplitude never is."""
LEAST_S = 0.02
"""A shorter segment has no sampling error (s)."""
LEAST_ALONE_S = 0.5
"""A shorter signal does not show its own spectrum well enough (s)."""

Pieces = Sequence[tuple[int, int]]


@dataclass(frozen=True, slots=True)
class SamplingError:
    """Standard errors of RMS and mean amplitude, each as a share of it; nan where they are not determined.

    bandwidth_hz is the statistical bandwidth; independent_samples the number of independent values that the
    RMS of a steady amplitude would rest on, about 2 B T.
    """

    rms: float
    mean_amplitude: float
    bandwidth_hz: float
    independent_samples: float


NOT_DETERMINED = SamplingError(nan, nan, nan, nan)


def relative_error(values: Samples, rate: Rate, treatment: Treatment = Treatment.RAW) -> SamplingError:
    """Sampling error of the RMS and mean amplitude of one segment, shape (samples,), NaN where one is missing.

    Its spectrum comes from the segment alone, so one under LEAST_ALONE_S is not determined; within a channel,
    sampling_errors knows the spectrum around a short one.
    """
    if len(values) < LEAST_ALONE_S * float(rate):
        return NOT_DETERMINED
    return sampling_errors(blocks_of_values(values, rate, treatment), [((0, len(values)),)])[0]


def _weights(
    lefts: NDArray[np.float64], rights: NDArray[np.float64], pieces: NDArray[np.float64]
) -> NDArray[np.float64]:
    # The share of each block [left, right) that lies in each piece [begin, end).
    overlap = np.minimum(pieces[:, 1:], rights) - np.maximum(pieces[:, :1], lefts)
    return np.asarray(np.maximum(overlap, 0.0) / (rights - lefts))


def _widened(pieces: NDArray[np.float64], least: float, length: int) -> NDArray[np.float64]:
    # Each piece made at least so long, within the channel.
    missing = np.maximum(least - (pieces[:, 1] - pieces[:, 0]), 0.0)
    begins = np.clip(pieces[:, 0] - missing / 2, 0, max(0.0, length - least))
    return np.stack([begins, np.minimum(begins + (pieces[:, 1] - pieces[:, 0]) + missing, length)], axis=1)


def _rectified_covariance(correlation: NDArray[np.float64]) -> NDArray[np.float64]:
    """Covariance of two rectified Gaussian variables over the square of their mean, by their correlation r."""
    r = np.clip(correlation, -1.0, 1.0)
    return np.asarray(np.sqrt(1 - r * r) + r * np.arcsin(r) - 1)


def _lag_weights(samples: NDArray[np.float64], lags: int) -> NDArray[np.float64]:
    # Rows: 1 - |k| / samples over so many, for the lags k from 0; those that stand for -k as well count twice.
    weights = np.maximum(1 - np.arange(lags) / samples[:, None], 0.0)
    weights[:, 1:] *= 2
    return np.asarray(weights / samples[:, None])


def _over_lags(covariances: NDArray[np.float64], samples: NDArray[np.float64]) -> NDArray[np.float64]:
    # Relative variances of means over so many samples of a steady amplitude, shape (kinds, segments).
    return np.asarray(np.einsum("kij,ij->ki", covariances, _lag_weights(samples, covariances.shape[2])))


def _variances(
    covariances: NDArray[np.float64],
    valid: NDArray[np.float64],
    sums: NDArray[np.float64],
    squares: NDArray[np.float64],
    block: int,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    # Relative variances of the means of x^2 and |x|, of a steady and of a changing amplitude: the second is the first
    # times mean(s^4) / mean(s^2)^2 (of |x|: mean(s^2) / mean(s)^2), the mean square over the squared mean of the
    # measured blocks, freed of what chance adds to it. Shapes (2, segments).
    steady = _over_lags(covariances, valid)
    of_block = _over_lags(covariances, np.full(1, float(block)))
    of_all = np.where(valid < block, of_block, steady)
    ratio = squares / valid / np.square(sums / valid) / (1 + of_block)
    change = np.maximum(ratio / np.maximum(1 - ratio * of_all, 0.05), 1.0)
    return steady, steady * change


def sampling_errors(channel: ErrorBlocks, segments: Sequence[Pieces]) -> tuple[SamplingError, ...]:
    """Sampling error of segments of a channel, each one or several pieces [begin, end) in its own samples.

    1. The spectrum S: the mean over half-overlapping Hann windows of two blocks (0.16 s) over the segment, widened to
       SURROUND_S; a single one would halve B.
    2. rho, the inverse transform of S over lags up to 0.8 blocks, where what the window took off is given back; from
       rho^2 is taken what so few windows add to it by chance.
    3. 2 rho^2, and its counterpart for |x|, summed over lags with the weights 1 - |lag| / N (which matter to short
       segments alone); B = rate / (2 sum of rho^2).
    4. The factors of a changing amplitude from the mean squares and mean |x| of the blocks.

    Not determined: under LEAST_S, under 90 % valid samples, no two blocks in a row without a gap around it, and
    all of a channel that was recorded rectified (the signal's own correlation is lost).
    """
    return sampling_errors_of((channel,), segments)[0]


def sampling_errors_of(
    channels: Sequence[ErrorBlocks], segments: Sequence[Pieces]
) -> tuple[tuple[SamplingError, ...], ...]:
    """As sampling_errors, for several channels of one rate and length at once: what they share is done once.

    Raises:
        ValueError: the channels differ in rate or length.
    """
    if len({(channel.rate, channel.length) for channel in channels}) > 1:
        raise ValueError("channels of one rate and length are asked for")
    length = channels[0].length if channels else 0
    if not length or not segments:
        return ((NOT_DETERMINED,) * len(segments),) * len(channels)
    taken = _taken(segments, channels[0])
    count, block, rate = len(segments), channels[0].block, float(channels[0].rate)
    sums = np.concatenate([taken.amplitude_weights @ c.amplitudes[taken.rows] for c in channels])
    spectra = np.concatenate([taken.spectrum_weights @ c.spectra[taken.rows] for c in channels])
    powers = np.concatenate([taken.spectrum_weights @ c.powers[taken.rows] for c in channels])
    with np.errstate(invalid="ignore", divide="ignore"):
        found = _errors(sums, spectra, powers, block, rate)
    determined = np.concatenate([_determined(c, taken, segments) for c in channels])
    found[np.logical_not(determined)] = np.nan
    errors = [SamplingError(*row) for row in found.tolist()]
    return tuple(tuple(errors[first : first + count]) for first in range(0, len(errors), count))


@dataclass(frozen=True, slots=True, eq=False)
class _Taken:
    """What of a channel's blocks belongs to segments: the slice of blocks, and weights of shape (segments, blocks).

    parts, shape (pieces, 2), are the pieces of all segments within the channel, firsts the first piece of each segment.
    """

    rows: slice
    amplitude_weights: NDArray[np.float64]
    spectrum_weights: NDArray[np.float64]
    parts: NDArray[np.float64]
    firsts: NDArray[np.intp]


def _taken(segments: Sequence[Pieces], channel: ErrorBlocks) -> _Taken:
    block, length = channel.block, channel.length
    flat = np.array([piece for pieces in segments for piece in pieces], dtype=np.float64)
    parts = np.minimum(np.maximum(flat, 0.0), float(length))
    firsts = np.cumsum([0, *(len(pieces) for pieces in segments[:-1])])
    wide = _widened(parts, max(SURROUND_S * float(channel.rate), 2.0 * block), length)
    low = max(0, int(wide[:, 0].min()) // block - 1)
    high = min(len(channel.spectra), int(wide[:, 1].max()) // block + 2)
    lefts = np.arange(low, high, dtype=np.float64) * block
    own = _weights(lefts, np.minimum(lefts + block, length), parts)
    # A spectrum over two blocks stands for its middle half.
    around = _weights(lefts + block / 2, lefts + 1.5 * block, wide)
    return _Taken(slice(low, high), np.add.reduceat(own, firsts), np.add.reduceat(around, firsts), parts, firsts)


def _determined(channel: ErrorBlocks, taken: _Taken, segments: Sequence[Pieces]) -> NDArray[np.bool_]:
    if channel.treatment is Treatment.RECTIFIED:
        return np.zeros(len(segments), dtype=np.bool_)
    edges = taken.parts.astype(np.int64)
    counts = edges if channel.present is None else channel.present[edges]
    valid = np.add.reduceat(counts[:, 1] - counts[:, 0], taken.firsts).tolist()
    least = LEAST_S * float(channel.rate)
    asked = [sum(max(0, end - begin) for begin, end in pieces) for pieces in segments]
    return np.array([enough(v, n) and n >= least for v, n in zip(valid, asked, strict=True)], dtype=np.bool_)


def _errors(
    sums: NDArray[np.float64],
    spectra: NDArray[np.float64],
    powers: NDArray[np.float64],
    block: int,
    rate: float,
) -> NDArray[np.float64]:
    # Rows: the fields of a SamplingError, from a segment's sums over its blocks and its spectrum.
    total = 2 * spectra.sum(axis=1) - spectra[:, 0] - spectra[:, -1]  # over both signs of frequency
    lag, chance = _lag_windows(block)
    rho = np.fft.irfft(spectra, axis=1)[:, : len(lag)] * (2 * block / total)[:, None]
    windows = np.square(powers[:, 0]) / powers[:, 1]
    squared = 2 * np.square(rho).sum(axis=1) - rho[:, 0] ** 2
    excess = (squared / (1 + windows))[:, None] * chance / lag**2
    excess[:, 0] = 0.0  # rho at no lag is 1 whatever the windows
    rho /= lag
    covariances = np.stack([2 * (rho**2 - excess), _rectified_covariance(rho) - excess / 2])
    steady, changing = _variances(covariances, sums[:, 0], sums[:, [2, 1]].T, sums[:, [4, 3]].T, block)
    of_squares, of_mean = np.sqrt(changing)
    bandwidth = rate / (2 * covariances[0].sum(axis=1) - covariances[0, :, 0])
    found = np.stack([of_squares / 2, of_mean, bandwidth, 2 / steady[0]], axis=1)
    found[np.logical_not(total > 0)] = np.nan
    return found


@lru_cache(maxsize=16)
def _lag_windows(block: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    # At the lags from 0 to 0.8 blocks: what a Hann window of two blocks leaves of rho, and how what chance adds to
    # the sum of rho^2 over all lags spreads over them (1 in all; neighbouring windows share half their samples).
    window = hann(block)
    lags = int(0.8 * block) + 1

    def products(of: NDArray[np.float64]) -> NDArray[np.float64]:
        whole = np.correlate(of, of, "full")[len(of) - 1 :]
        return np.asarray(whole / whole[0])

    left, spread = products(window), products(window**2)
    shared = 1 + 2 * left[block] ** 2
    return left[:lags], shared * spread[:lags] / (2 * spread.sum() - 1)
