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
from math import nan

import numpy as np
from numpy.typing import NDArray

from phasemark.model.clock import Rate, nearest_sample
from phasemark.model.recording import Samples, Treatment
from phasemark.signal.amplitude import enough
from phasemark.signal.conditioning import Conditioned

BLOCK_S = 0.08
"""Length (s) of a block over which the amplitude counts as steady; spectra are over two of them."""
SURROUND_S = 1.0
"""The spectrum of a shorter segment is taken from so much signal around it (s); its amplitude never is."""
LEAST_S = 0.02
"""A shorter segment has no sampling error (s)."""
LEAST_ALONE_S = 0.2
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


@dataclass(frozen=True, slots=True, eq=False)
class ErrorBlocks:
    """What sampling errors are computed from, kept with a channel: sums over its blocks.

    amplitudes, shape (blocks, 5): valid samples, sum of |x|, of x^2, and over the valid samples of the block
    their number times (mean |x|)^2 and (mean x^2)^2. spectra, shape (blocks, bins): power spectrum over this block and
    the next, zero where there is none; powers, shape (blocks, 2): their sum, and its square. length: samples;
    present, shape (length + 1,): how many valid samples lie before each, None where none is missing.
    """

    rate: Rate
    block: int
    length: int
    treatment: Treatment
    amplitudes: NDArray[np.float64]
    spectra: NDArray[np.float64]
    powers: NDArray[np.float64]
    present: NDArray[np.int64] | None


def _amplitudes(tiled: NDArray[np.float64], present: NDArray[np.bool_]) -> NDArray[np.float64]:
    valid = present.sum(axis=1)
    absolute, squares = np.abs(tiled).sum(axis=1), np.einsum("ij,ij->i", tiled, tiled)
    some = np.maximum(valid, 1)
    return np.stack([valid, absolute, squares, absolute**2 / some, squares**2 / some], axis=1)


def _spectra(tiled: NDArray[np.float64], present: NDArray[np.bool_]) -> NDArray[np.float64]:
    blocks, block = tiled.shape
    spectra = np.zeros((blocks, block + 1))
    if blocks < 2:
        return spectra
    window = np.hanning(2 * block + 1)[:-1]
    windows = np.lib.stride_tricks.sliding_window_view(tiled.reshape(-1), 2 * block)[::block]
    lines = np.fft.rfft(windows * window)
    spectra[:-1] = np.square(lines.real) + np.square(lines.imag)
    whole: NDArray[np.bool_] = np.logical_and.reduce(present, axis=1)
    spectra[:-1][np.logical_not(whole[:-1] & whole[1:])] = 0.0
    return spectra


def _blocks_of(values: Samples, rate: Rate, treatment: Treatment, block: int) -> ErrorBlocks:
    blocks = -(-len(values) // block)
    padded = np.full(blocks * block, np.nan)
    padded[: len(values)] = values
    tiled = padded.reshape(blocks, block)
    present: NDArray[np.bool_] = np.isfinite(tiled)
    tiled[np.logical_not(present)] = 0.0
    spectra = _spectra(tiled, present)
    power = spectra.sum(axis=1)
    powers = np.stack([power, power**2], axis=1)
    before = None if len(values) == np.count_nonzero(present) else np.cumsum([False, *present.reshape(-1)])
    return ErrorBlocks(rate, block, len(values), treatment, _amplitudes(tiled, present), spectra, powers, before)


def error_blocks(conditioned: Conditioned) -> ErrorBlocks:
    """Block sums of a channel for its sampling errors; made once, then any segment takes no time."""
    block = max(4, nearest_sample(BLOCK_S, conditioned.rate))
    return _blocks_of(conditioned.values, conditioned.rate, conditioned.treatment, block)


def relative_error(values: Samples, rate: Rate, treatment: Treatment = Treatment.RAW) -> SamplingError:
    """Sampling error of the RMS and mean amplitude of one segment, shape (samples,), NaN where one is missing.

    Its spectrum comes from the segment alone, so one under LEAST_ALONE_S is not determined; within a channel,
    sampling_errors knows the spectrum around a short one.
    """
    if len(values) < LEAST_ALONE_S * float(rate):
        return NOT_DETERMINED
    block = max(4, nearest_sample(BLOCK_S, rate))
    return sampling_errors(_blocks_of(values, rate, treatment, block), [((0, len(values)),)])[0]


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

    1. The spectrum S: the mean over half-overlapping Hann windows of 2 BLOCK_S over the segment, widened to
       SURROUND_S; a single one would halve B. What remains of that is taken out: the mean of K
       windows makes the integral of S^2 too large by 1 + 1 / K (K: windows weighted by their power).
    2. rho from the spectrum; R and its counterpart for |x| summed with the weights 1 - |lag| / N, which matter to
       short segments alone.
    3. The factors of a changing amplitude from the mean squares and mean |x| of the blocks.

    Not determined: under LEAST_S, under 90 % valid samples, no two blocks in a row without a gap around it, and
    all of a channel that was recorded rectified (the signal's own correlation is lost).
    """
    if channel.treatment is Treatment.RECTIFIED or not channel.length:
        return (NOT_DETERMINED,) * len(segments)
    if not segments:
        return ()
    parts, firsts = _parts(segments, channel.length)
    block = channel.block
    window = max(SURROUND_S * float(channel.rate), 2.0 * block)
    wide = _widened(parts, window, channel.length)
    low = max(0, int(wide[:, 0].min()) // block - 1)
    high = min(len(channel.spectra), -(-int(np.ceil(wide[:, 1].max())) // block) + 1)
    lefts = np.arange(low, high, dtype=np.float64) * block
    rights = np.minimum(lefts + block, channel.length)
    sums = np.add.reduceat(_weights(lefts, rights, parts), firsts) @ channel.amplitudes[low:high]
    # A window over two blocks stands for its middle half.
    around = np.add.reduceat(_weights(lefts + block / 2, lefts + 1.5 * block, wide), firsts)
    spectra, powers = around @ channel.spectra[low:high], around @ channel.powers[low:high]
    determined = _valid_enough(channel, parts, firsts, segments)
    with np.errstate(invalid="ignore", divide="ignore"):
        return _errors(channel, sums, spectra, powers, determined)


def _valid_enough(
    channel: ErrorBlocks, parts: NDArray[np.float64], firsts: NDArray[np.intp], segments: Sequence[Pieces]
) -> NDArray[np.bool_]:
    edges = parts.astype(np.int64)
    counts = edges if channel.present is None else channel.present[edges]
    valid = np.add.reduceat(counts[:, 1] - counts[:, 0], firsts)
    asked = [sum(max(0, end - begin) for begin, end in pieces) for pieces in segments]
    return np.array(
        [
            enough(there, samples) and samples >= LEAST_S * float(channel.rate)
            for there, samples in zip(valid.tolist(), asked, strict=True)
        ]
    )


def _parts(segments: Sequence[Pieces], length: int) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    # All pieces of all segments, cut to the channel, in one array (pieces, 2), and the place of each segment's first.
    counts = [len(pieces) for pieces in segments]
    flat = np.array([piece for pieces in segments for piece in pieces], dtype=np.float64)
    return np.clip(flat, 0, length), np.cumsum([0, *counts[:-1]])


def _errors(
    channel: ErrorBlocks,
    sums: NDArray[np.float64],
    spectra: NDArray[np.float64],
    powers: NDArray[np.float64],
    determined: NDArray[np.bool_],
) -> tuple[SamplingError, ...]:
    valid = sums[:, 0]
    total = 2 * spectra[:, 1:-1].sum(axis=1) + spectra[:, 0] + spectra[:, -1]
    squared = 2 * np.square(spectra[:, 1:-1]).sum(axis=1) + np.square(spectra[:, [0, -1]]).sum(axis=1)
    too_large = 1 + powers[:, 1] / np.square(powers[:, 0])
    bandwidth = np.square(total) / squared * too_large * float(channel.rate) / (4 * channel.block)
    rho = np.fft.irfft(spectra, axis=1)[:, : channel.block + 1] / (total / (2 * channel.block))[:, None]
    covariances = np.stack([2 * rho**2, _rectified_covariance(rho)]) / too_large[:, None]
    steady, changing = _variances(covariances, valid, sums[:, [2, 1]].T, sums[:, [4, 3]].T, channel.block)
    of_squares, of_mean = np.sqrt(changing)
    rows = np.stack([of_squares / 2, of_mean, bandwidth, 2 / steady[0]], axis=1)
    rows[np.logical_not(determined & (total > 0))] = np.nan
    return tuple(SamplingError(*row) for row in rows.tolist())
