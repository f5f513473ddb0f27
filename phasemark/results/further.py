"""What is known of a segment's amplitude besides its value: sampling error, highest envelope, median frequency."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import nan

import numpy as np

from phasemark.model.clock import Rate, first_sample
from phasemark.model.recording import Samples, Treatment
from phasemark.model.settings import Settings
from phasemark.results.segments import Segment
from phasemark.results.sensitivity import Sensitivity, Undetermined
from phasemark.signal.conditioning import Conditioned
from phasemark.signal.envelope import envelope
from phasemark.signal.frequency import median_frequency
from phasemark.signal.sampling_error import NOT_DETERMINED, ErrorBlocks, SamplingError, error_blocks, sampling_errors


@dataclass(frozen=True, slots=True)
class Further:
    """Beside an amplitude: its sampling error, how much it hangs on its boundaries, highest envelope, frequency.

    rms_shift and mean_amplitude_shift are the largest changes (mV) when a boundary moves (sensitivity), and why_not
    says why they are not determined; peak is the highest envelope (mV), at peak_at_s (s from the recording's begin);
    median_hz the median frequency (Hz). nan where not determined.
    """

    error: SamplingError
    rms_shift: float = nan
    mean_amplitude_shift: float = nan
    why_not: Undetermined = Undetermined.NOT
    peak: float = nan
    peak_at_s: float = nan
    median_hz: float = nan


@dataclass(frozen=True, slots=True, eq=False)
class ChannelSource:
    """A channel with what is computed from it once for all of its segments."""

    conditioned: Conditioned
    errors: ErrorBlocks
    envelope: Samples


def channel_sources(conditioned: Sequence[Conditioned], settings: Settings) -> tuple[ChannelSource, ...]:
    """What the further values of a trial's channels are computed from."""
    return tuple(ChannelSource(c, error_blocks(c), envelope(c, settings.envelope)) for c in conditioned)


def channel_pieces(segment: Segment, clock: Rate, rate: Rate) -> tuple[tuple[int, int], ...]:
    """The samples [begin, end) of a channel at a rate that lie in each piece of a segment: t0 <= t < t1."""
    return tuple((first_sample(begin, clock, rate), first_sample(end, clock, rate)) for begin, end in segment.pieces)


def further_values(source: ChannelSource, shifted: Sequence[Sensitivity], clock: Rate) -> tuple[Further, ...]:
    """What is known further of segments of one channel, in the order in which they were shifted."""
    rate = source.conditioned.rate
    pieces = [channel_pieces(one.segment, clock, rate) for one in shifted]
    errors = sampling_errors(source.errors, pieces)
    return tuple(
        Further(
            error,
            *(one.rms, one.mean_amplitude, one.why_not),
            *_highest(source.envelope, rate, own),
            _median(source.conditioned, own),
        )
        for error, one, own in zip(errors, shifted, pieces, strict=True)
    )


def only_peak(levels: Samples, segment: Segment, clock: Rate, rate: Rate) -> Further:
    """The highest envelope of a segment and nothing else; levels is the channel's envelope (mV) at its rate."""
    peak, at_s = _highest(levels, rate, channel_pieces(segment, clock, rate))
    return Further(NOT_DETERMINED, peak=peak, peak_at_s=at_s)


def _highest(levels: Samples, rate: Rate, pieces: Sequence[tuple[int, int]]) -> tuple[float, float]:
    """The highest envelope (mV) within the pieces and its time (s from the begin of the recording)."""
    best = (nan, nan)
    for begin, end in pieces:
        part = levels[max(begin, 0) : max(end, 0)]
        if len(part) == 0 or np.isnan(part).all():
            continue
        at = int(np.nanargmax(part))
        if not part[at] <= best[0]:
            best = (float(part[at]), float((max(begin, 0) + at) / rate))
    return best


def _median(conditioned: Conditioned, pieces: Sequence[tuple[int, int]]) -> float:
    if len(pieces) != 1 or conditioned.treatment is Treatment.RECTIFIED:
        return nan
    begin, end = pieces[0]
    inside = 0 <= begin < end <= len(conditioned.values)
    return median_frequency(conditioned.values[begin:end], conditioned.rate) if inside else nan
