"""Sampling error of every segment of a rep, in every channel."""

from collections.abc import Sequence

from phasemark.model.clock import Rate, first_sample
from phasemark.model.marks import Rep
from phasemark.model.settings import Settings
from phasemark.model.study import Trial
from phasemark.results.segments import segments
from phasemark.signal.sampling_error import ErrorBlocks, SamplingError, sampling_errors_of


def segment_errors(
    trial: Trial, rep: Rep, thirds_rule: str, blocks: Sequence[ErrorBlocks], settings: Settings
) -> tuple[SamplingError, ...]:
    """Sampling errors in the order of measure.measure_rep; blocks[i] belong to channel i of the trial's emg."""
    found = tuple(segments(rep, thirds_rule, pause_in_rep=settings.pause_in_rep))
    alike: dict[tuple[Rate, int], list[int]] = {}
    for place, channel in enumerate(blocks):
        alike.setdefault((channel.rate, channel.length), []).append(place)
    errors: list[tuple[SamplingError, ...]] = [()] * len(blocks)
    for (rate, _), places in alike.items():
        pieces = [
            tuple((first_sample(b, trial.clock, rate), first_sample(e, trial.clock, rate)) for b, e in segment.pieces)
            for segment in found
        ]
        for place, own in zip(places, sampling_errors_of([blocks[p] for p in places], pieces), strict=True):
            errors[place] = own
    return tuple(own[segment] for segment in range(len(found)) for own in errors)
