"""EMG amplitude of every segment of a trial: one function for the window, the commands and the exports."""

import hashlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from phasemark.model.codec import json_text
from phasemark.model.intervals import Purpose
from phasemark.model.marks import Marks, Rep
from phasemark.model.recording import Samples
from phasemark.model.settings import Settings
from phasemark.model.study import Trial
from phasemark.results.further import ChannelSource, Further, channel_pieces, channel_sources, further_values
from phasemark.results.segments import REP, Segment, segments
from phasemark.results.sensitivity import sensitivities
from phasemark.signal.amplitude import Amplitude, amplitude_of_pieces
from phasemark.signal.conditioning import Conditioned, check_filters, condition
from phasemark.signal.kinematics import Motion

# Raised whenever a rule changes so that the same inputs give other numbers: older results are then stale.
RULES_VERSION = 2


@dataclass(frozen=True, slots=True)
class Value:
    """Amplitude of one segment of one rep in one channel (its place in the trial's emg), and what else is known of it.

    rep is 0 for a segment that belongs to none (an isometric hold). further is None while a boundary is on its way.
    """

    rep: int
    channel: int
    segment: Segment
    amplitude: Amplitude
    further: Further | None = None


@dataclass(frozen=True, slots=True)
class SegmentMotion:
    """How the movement trace moved in one segment of one rep."""

    rep: int
    segment: Segment
    motion: Motion


@dataclass(frozen=True, slots=True)
class TrialResults:
    """All values of a trial's marks by one rater; key says what they were computed from."""

    trial: str
    rater: str
    key: str
    values: tuple[Value, ...]
    motion: tuple[SegmentMotion, ...] = ()


MotionOf = Callable[[Segment], Motion]


def results_key(trial: Trial, marks: Marks, settings: Settings, *, isometric: bool = False) -> str:
    """Hash of all that a trial's values depend on; results with another key are stale.

    isometric: a stretch of its hold is measured, whatever its marks.
    """
    inputs: dict[str, Any] = {
        "rules": RULES_VERSION,
        "recording": trial.recording.sha256,
        "emg": trial.emg,
        "filters": [settings.filter_for(channel.muscle) for channel in trial.emg],
        "pause_in_rep": settings.pause_in_rep,
        "envelope": settings.envelope,
        "uncertainty": settings.uncertainty,
        "movement": [trial.movement[:1], settings.phases.movement_lowpass_hz, settings.phases.movement_order],
    }
    if isometric:
        inputs["hold"] = [
            settings.hold,
            [[i.begin, i.end, i.muscle, i.side] for i in trial.intervals if i.purpose is Purpose.HOLD],
            sorted((held.muscle, held.side) for held in trial.excluded_channels),
        ]
    else:
        inputs["thirds_rule"] = marks.thirds_rule
        inputs["reps"] = [
            [rep.id, [[phase.name, [b.sample for _, b in phase.boundaries()]] for phase in rep.phases]]
            for rep in marks.reps
        ]
    return hashlib.sha256(json_text(inputs).encode()).hexdigest()[:32]


def condition_trial(trial: Trial, emg_values: Sequence[Samples], settings: Settings) -> tuple[Conditioned, ...]:
    """Every EMG channel of a trial in mV, filtered as the settings say.

    Raises:
        BadData: a filter does not fit the slowest sampling rate.
    """
    filters = [settings.filter_for(channel.muscle) for channel in trial.emg]
    for own in dict.fromkeys(filters):
        check_filters(own, trial.emg)
    return tuple(
        condition(values, channel, own) for values, channel, own in zip(emg_values, trial.emg, filters, strict=True)
    )


def measure_segment(trial: Trial, segment: Segment, conditioned: Sequence[Conditioned]) -> tuple[Amplitude, ...]:
    """Amplitude of a segment in every channel, from the samples with t0 <= t < t1 of each channel's own rate."""
    clock = trial.clock
    return tuple(
        amplitude_of_pieces(
            channel,
            channel_pieces(segment, clock, channel.rate),
        )
        for channel in conditioned
    )


def measure_rep(
    trial: Trial, rep: Rep, thirds_rule: str, conditioned: Sequence[Conditioned], settings: Settings
) -> tuple[Value, ...]:
    """Values of all segments of one rep in every channel; what a drag recomputes."""
    return tuple(
        Value(rep.id, channel, segment, value)
        for segment in segments(rep, thirds_rule, pause_in_rep=settings.pause_in_rep)
        for channel, value in enumerate(measure_segment(trial, segment, conditioned))
    )


def measured_rep(
    trial: Trial,
    rep: Rep,
    thirds_rule: str,
    conditioned: Sequence[Conditioned],
    settings: Settings,
    *,
    sources: Sequence[ChannelSource] = (),
) -> tuple[Value, ...]:
    """Values of a rep with all that is known further of each: what stands beside the numbers once a drag is over.

    sources are those of channel_sources, made here where they are not at hand.
    """
    values = measure_rep(trial, rep, thirds_rule, conditioned, settings)
    shifted = sensitivities(trial, rep, thirds_rule, conditioned, settings)
    found: dict[int, Iterator[Further]] = {}
    for place, source in enumerate(sources or channel_sources(conditioned, settings)):
        found[place] = iter(further_values(source, [one for one in shifted if one.channel == place], trial.clock))
    return tuple(replace(value, further=next(found[value.channel])) for value in values)


def measure_trial(
    trial: Trial,
    marks: Marks,
    conditioned: Sequence[Conditioned],
    settings: Settings,
    motion_of: MotionOf | None = None,
) -> TrialResults:
    """Values of all segments of all reps of a trial, as one rater marked it; motion_of reads its movement trace."""
    sources = channel_sources(conditioned, settings)
    values = tuple(
        value
        for rep in marks.reps
        for value in measured_rep(trial, rep, marks.thirds_rule, conditioned, settings, sources=sources)
    )
    motion = () if motion_of is None else tuple(_motions(marks, settings, motion_of))
    return TrialResults(trial.id, marks.rater, results_key(trial, marks, settings), values, motion)


def _motions(marks: Marks, settings: Settings, motion_of: MotionOf) -> Iterable[SegmentMotion]:
    for rep in marks.reps:
        for segment in segments(rep, marks.thirds_rule, pause_in_rep=settings.pause_in_rep):
            if segment.begin < segment.end and (segment.phase == REP or len(segment.pieces) == 1):
                yield SegmentMotion(rep.id, segment, motion_of(segment))
