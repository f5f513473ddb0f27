"""Sampling error of every segment of a rep, in every channel."""

from collections.abc import Sequence

from phasemark.model.clock import first_sample
from phasemark.model.marks import Rep
from phasemark.model.settings import Settings
from phasemark.model.study import Trial
from phasemark.results.segments import segments
from phasemark.signal.sampling_error import ErrorBlocks, SamplingError, sampling_errors


def segment_errors(
    trial: Trial, rep: Rep, thirds_rule: str, blocks: Sequence[ErrorBlocks], settings: Settings
) -> tuple[SamplingError, ...]:
    """Sampling errors in the order of measure.measure_rep; blocks[i] belong to channel i of the trial's emg."""
    found = tuple(segments(rep, thirds_rule, pause_in_rep=settings.pause_in_rep))
    at = {
        rate: [
            tuple((first_sample(b, trial.clock, rate), first_sample(e, trial.clock, rate)) for b, e in segment.pieces)
            for segment in found
        ]
        for rate in {channel.rate for channel in blocks}
    }
    by_channel = [sampling_errors(channel, at[channel.rate]) for channel in blocks]
    return tuple(of_channel[place] for place in range(len(found)) for of_channel in by_channel)
