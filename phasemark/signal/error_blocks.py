"""Sums over blocks of a channel that its sampling errors are computed from; made once and kept with the channel."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from phasemark.model.clock import Rate, nearest_sample
from phasemark.model.recording import Samples, Treatment
from phasemark.signal.conditioning import Conditioned

BLOCK_S = 0.08
"""Length (s) of a block over which the amplitude counts as steady; spectra are over two of them."""


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


def hann(block: int) -> NDArray[np.float64]:
    """The Hann window over two blocks."""
    return np.asarray(np.hanning(2 * block + 1)[:-1])


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
    windows = np.lib.stride_tricks.sliding_window_view(tiled.reshape(-1), 2 * block)[::block]
    lines = np.fft.rfft(windows * hann(block))
    spectra[:-1] = np.square(lines.real) + np.square(lines.imag)
    whole: NDArray[np.bool_] = np.logical_and.reduce(present, axis=1)
    spectra[:-1][np.logical_not(whole[:-1] & whole[1:])] = 0.0
    return spectra


def blocks_of_values(values: Samples, rate: Rate, treatment: Treatment) -> ErrorBlocks:
    """Block sums of a signal in mV, shape (samples,), NaN where a sample is missing."""
    block = max(4, nearest_sample(BLOCK_S, rate))
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
    """Block sums of a conditioned channel; from them the sampling error of any segment follows at once."""
    return blocks_of_values(conditioned.values, conditioned.rate, conditioned.treatment)
