"""Isometric exercises: which stretch of a hold is measured, placed by hand or found by rule, and its values."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import numpy as np

from phasemark.model.clock import first_sample, nearest_sample
from phasemark.model.intervals import Purpose
from phasemark.model.marks import Marks
from phasemark.model.recording import Samples, Treatment
from phasemark.model.settings import Settings
from phasemark.model.study import Study, Trial
from phasemark.results.facts import interval_of
from phasemark.results.further import channel_pieces, channel_sources, further_values
from phasemark.results.measure import MotionOf, SegmentMotion, TrialResults, Value, results_key
from phasemark.results.segments import HOLD, WHOLE, Segment
from phasemark.results.sensitivity import sensitivities_of
from phasemark.signal.amplitude import amplitude_of_pieces
from phasemark.signal.conditioning import Conditioned
from phasemark.signal.envelope import moving_mean_amplitude, moving_rms

NO_REP = 0
"""The rep id of a value that belongs to no rep."""
LEVEL_WINDOW_S = 0.5
"""The window (s) of the amplitudes that a hold is found by; shorter ones dip under half by chance."""
UP_SHARE = 0.5
_GRID = Fraction(100)  # levels of channels at different rates are compared at so many moments a second
_LOW_PERCENTILE = 5.0


def is_hold(study: Study, trial: Trial) -> bool:
    """Whether a stretch of a trial is measured and not its repetitions: those of isometric exercises."""
    return trial.kind.holds_reps and study.exercise(trial.exercise).isometric


def hold_rule(settings: Settings) -> str:
    """In words, how the stretch of a hold is found where no hand placed it."""
    return (
        f"middle {settings.hold.window_s:g} s of the longest stretch in which the muscles are on average "
        f"over {100 * UP_SHARE:g} % of their highest amplitude"
    )


def hold_by_rule(trial: Trial, conditioned: Sequence[Conditioned], window_s: float) -> tuple[int, int] | None:
    """Clock samples of the middle window_s seconds of the hold; None where it is not held for so long.

    1. Of each channel that is not excluded the moving RMS (of a rectified one the moving mean amplitude) over
       LEVEL_WINDOW_S, over its highest; without a full window (ends, gaps) as between the nearest ones.
    2. Their mean, each weighted by how far it falls: 1 - (5th percentile / highest). A muscle that is quiet
       throughout has noise of one level, which over its highest is high everywhere, and would otherwise hide the hold.
    3. The longest stretch in which the mean is over UP_SHARE, the first of equals, and its middle.

    Common practice, no source.
    """
    excluded = {(held.muscle, held.side) for held in trial.excluded_channels}
    used = [own for own, c in zip(conditioned, trial.emg, strict=True) if (c.muscle, c.side) not in excluded]
    moments = nearest_sample(Fraction(trial.length) / trial.clock, _GRID)
    levels = [level for own in used if (level := _level(own, moments)) is not None]
    if not levels:
        return None
    falls = np.array([1 - np.percentile(level, _LOW_PERCENTILE) for level in levels])
    weights = falls if falls.sum() > 0 else np.ones(len(levels))
    stretch = _longest(np.average(levels, axis=0, weights=weights) > UP_SHARE)
    if stretch is None:
        return None
    begin, end = (min(first_sample(moment, _GRID, trial.clock), trial.length) for moment in stretch)
    length = nearest_sample(window_s, trial.clock)
    first = (begin + end - length) // 2
    return (first, first + length) if 0 < length <= end - begin else None


def _level(channel: Conditioned, moments: int) -> Samples | None:
    """The amplitude of a channel over its highest at each moment; None where it has none."""
    moving = moving_mean_amplitude if channel.treatment is Treatment.RECTIFIED else moving_rms
    levels = moving(channel.values, channel.rate, LEVEL_WINDOW_S)
    there = np.flatnonzero(np.isfinite(levels))
    if len(there) == 0 or not levels[there].max() > 0:
        return None
    at = [first_sample(moment, _GRID, channel.rate) for moment in range(moments)]
    return np.asarray(np.interp(at, there, levels[there]) / levels[there].max())


def _longest(up: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> tuple[int, int] | None:
    edges = np.flatnonzero(np.diff(np.concatenate(([False], up, [False]))))
    begins, ends = edges[::2], edges[1::2]
    if len(begins) == 0:
        return None
    longest = int(np.argmax(ends - begins))
    return int(begins[longest]), int(ends[longest])


def hold_segments(trial: Trial, conditioned: Sequence[Conditioned], settings: Settings) -> tuple[Segment | None, ...]:
    """The stretch that is measured of each channel: as a hand placed it for the muscle, else for all, else by rule."""
    placed = [interval_of(trial, channel, Purpose.HOLD) for channel in trial.emg]
    by_rule = hold_by_rule(trial, conditioned, settings.hold.window_s) if None in placed else None
    stretches = [by_rule if own is None else (own.begin, own.end) for own in placed]
    return tuple(None if stretch is None else Segment(HOLD, WHOLE, (stretch,)) for stretch in stretches)


def measure_hold(
    trial: Trial,
    marks: Marks,
    conditioned: Sequence[Conditioned],
    settings: Settings,
    motion_of: MotionOf | None = None,
) -> TrialResults:
    """Values of a hold in every channel, under no rep; none of a channel for which no stretch was placed or found."""
    values, segments = [], hold_segments(trial, conditioned, settings)
    sources = channel_sources(conditioned, settings)
    for place, (own, source, segment) in enumerate(zip(conditioned, sources, segments, strict=True)):
        if segment is None:
            continue
        shifted = sensitivities_of(trial, NO_REP, (segment,), (own,), settings)
        further = further_values(source, [replace(one, channel=place) for one in shifted], trial.clock)[0]
        amplitude = amplitude_of_pieces(own, channel_pieces(segment, trial.clock, own.rate))
        values.append(Value(NO_REP, place, segment, amplitude, further))
    held = dict.fromkeys(segment for segment in segments if segment is not None)
    motion = () if motion_of is None else tuple(SegmentMotion(NO_REP, one, motion_of(one)) for one in held)
    return TrialResults(
        trial.id, marks.rater, results_key(trial, marks, settings, isometric=True), tuple(values), motion
    )


def nothing_held(trial: Trial, settings: Settings) -> str:
    """In a sentence, that a trial of an isometric exercise has no stretch to measure, and what to do."""
    return (
        f"Trial {trial.id} ({trial.participant}, {trial.exercise}) is not held for {settings.hold.window_s:g} s; "
        "place the stretch by hand as an interval for the hold, or set a shorter hold.window_s."
    )
