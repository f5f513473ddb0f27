"""EMG amplitude of a segment: RMS and mean amplitude over its samples."""

from dataclasses import dataclass
from math import nan, sqrt

from phasemark.model.recording import Treatment
from phasemark.signal.block_sums import BlockSums, SegmentSums, block_sums, segment_sums
from phasemark.signal.conditioning import Conditioned

__all__ = ["Amplitude", "BlockSums", "SegmentSums", "amplitude", "block_sums", "enough", "segment_sums"]


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


def amplitude(conditioned: Conditioned, begin: int, end: int) -> Amplitude:
    """RMS sqrt(mean(x^2)) and mean amplitude mean(|x|), the average rectified value, of begin <= i < end.

    begin and end count samples of the channel's own rate. Both values are missing (nan) in a segment with under
    90 % valid samples, samples outside the channel being missing; RMS also where the channel was recorded
    already rectified. Taken from block sums: within 1e-15 of the sums over the samples themselves.
    """
    sums = segment_sums(conditioned.sums, begin, end)
    if not enough(sums.valid, sums.samples):
        return Amplitude(nan, nan, sums.valid, sums.samples)
    rms = nan if conditioned.treatment is Treatment.RECTIFIED else sqrt(sums.squares / sums.valid)
    return Amplitude(rms, sums.absolute / sums.valid, sums.valid, sums.samples)
