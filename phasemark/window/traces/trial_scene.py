"""From a trial's signals and marks to the picture the plot draws."""

from dataclasses import replace

import numpy as np

from phasemark.model.marks import Marks
from phasemark.model.recording import Up
from phasemark.model.settings import Settings
from phasemark.model.study import Trial
from phasemark.model.units import millivolts_per_value
from phasemark.session.boundary_move import levels_of
from phasemark.session.trial_signals import TrialSignals
from phasemark.window.traces.trial_picture import Lane, LaneKind, PlacedStretch, TrialPicture


def picture_of(
    trial: Trial,
    marks: Marks,
    signals: TrialSignals,
    settings: Settings,
    *,
    covered: bool = False,
    filtered: bool = False,
) -> TrialPicture:
    """The movement traces on top, then each muscle with its recorded signal behind its envelope, in mV.

    covered shows no number of the muscles; filtered has the filtered signal in place of the recorded one.
    """
    muscles = _muscle_lanes(trial, signals, covered=covered)
    if filtered:
        muscles = tuple(
            replace(lane, raw=own, raw_gain=1.0, raw_offset=0.0)
            for lane, own in zip(muscles, signals.filtered(), strict=True)
        )
    return TrialPicture(
        (*_movement_lanes(trial, signals), *muscles),
        trial.clock,
        trial.length,
        marks,
        levels_of(marks, signals, settings),
        stretches_of(trial),
    )


def stretches_of(trial: Trial) -> tuple[PlacedStretch, ...]:
    """The intervals of a trial as they are drawn over its lanes."""
    first = len(trial.movement)
    own = {(channel.muscle, channel.side): first + place for place, channel in enumerate(trial.emg)}
    return tuple(
        PlacedStretch(
            interval.begin, interval.end, str(interval.purpose),
            own.get((interval.muscle, interval.side)) if interval.muscle else None,
        )
        for interval in trial.intervals
        if not interval.muscle or (interval.muscle, interval.side) in own
    )  # fmt: skip


def _movement_lanes(trial: Trial, signals: TrialSignals) -> tuple[Lane, ...]:
    """Raised is up, also where smaller values are raised; the filtered trace that defines the phases is in front."""
    return tuple(
        Lane(
            trace.kind,
            trace.unit,
            trace.rate,
            raw,
            signals.smooth if place == 0 else None,
            alignment=trace.alignment,
            kind=LaneKind.MOVEMENT,
            downward=trace.up is Up.SMALLER,
        )
        for place, (trace, raw) in enumerate(zip(trial.movement, signals.traces, strict=True))
    )


def _muscle_lanes(trial: Trial, signals: TrialSignals, *, covered: bool) -> tuple[Lane, ...]:
    out = {(e.muscle, e.side) for e in trial.excluded_channels}
    lanes = []
    edges = signals.edges or ((),) * len(trial.emg)
    for channel, raw, envelope, unsure in zip(trial.emg, signals.raw, signals.envelopes, edges, strict=True):
        gain = millivolts_per_value(channel.unit, 1.0 if channel.gain is None else channel.gain)
        values = raw.values
        present = np.isfinite(values)
        # The offset of the amplifier is not drawn: the muscle's own signal would shrink beside it.
        offset = -gain * float(values.mean(where=present)) if present.any() else 0.0
        lanes.append(
            Lane(
                channel.label,
                "mV",
                channel.rate,
                raw,
                envelope,
                raw_gain=gain,
                raw_offset=offset,
                excluded=(channel.muscle, channel.side) in out,
                covered=covered,
                edges=unsure,
            )
        )
    return tuple(lanes)
