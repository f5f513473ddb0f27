"""EMG amplitude of a segment: RMS and mean amplitude over its samples."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import nan, sqrt

import numpy as np
from numpy.typing import NDArray

from phasemark.model.recording import Treatment
from phasemark.signal.block_sums import BlockSums, SegmentSums, block_sums, segment_sums
from phasemark.signal.conditioning import Conditioned

__all__ = [
    "Amplitude",
    "BlockSums",
    "SegmentSums",
    "amplitude",
    "amplitude_of_pieces",
    "amplitude_of_sums",
    "block_sums",
    "enough",
    "enough_each",
    "segment_sums",
]


@dataclass(frozen=True, slots=True)
class Amplitude:
    """Amplitude of a segment in mV, nan where missing, with its valid samples and all it should have."""

    rms: float
    mean_amplitude: float
    valid: int
    samples: int


def enough(valid: int, samples: int) -> bool:
    """Whether a segment has a value at all: at least 90 % of its samples are valid, and there is one."""
    return valid > 0 and 10 * valid >= 9 * samples


def enough_each(valid: NDArray[np.float64], samples: NDArray[np.float64]) -> NDArray[np.bool_]:
    """The rule of enough for many segments at once."""
    return (valid > 0) & (10 * valid >= 9 * samples)


def amplitude(conditioned: Conditioned, begin: int, end: int) -> Amplitude:
    """RMS sqrt(mean(x^2)) and mean amplitude mean(|x|), the average rectified value, of begin <= i < end.

    begin and end count samples of the channel's own rate. Both values are missing (nan) in a segment with under
    90 % valid samples, samples outside the channel being missing; RMS also where the channel was recorded
    already rectified. Taken from block sums: within 1e-15 of the sums over the samples themselves.
    """
    return amplitude_of_pieces(conditioned, ((begin, end),))


def amplitude_of_pieces(conditioned: Conditioned, pieces: Iterable[tuple[int, int]]) -> Amplitude:
    """Amplitude, as above, of a segment in several pieces [begin, end) taken as one (a rep without its pause)."""
    parts = [segment_sums(conditioned.sums, begin, end) for begin, end in pieces]
    return amplitude_of_sums(
        sum(part.absolute for part in parts),
        sum(part.squares for part in parts),
        sum(part.valid for part in parts),
        sum(part.samples for part in parts),
        conditioned.treatment,
    )


def amplitude_of_sums(absolute: float, squares: float, valid: int, samples: int, treatment: Treatment) -> Amplitude:
    """Amplitude, as above, from the sums of |x| and x^2 over the valid samples of a segment."""
    if not enough(valid, samples):
        return Amplitude(nan, nan, valid, samples)
    rms = nan if treatment is Treatment.RECTIFIED else sqrt(squares / valid)
    return Amplitude(rms, absolute / valid, valid, samples)
