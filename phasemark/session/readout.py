"""What the signals of a trial are at one sample: position, speed, and the envelope of each muscle."""

from dataclasses import dataclass
from math import nan

from phasemark.model.clock import first_sample, seconds
from phasemark.model.recording import Samples, Up
from phasemark.phases.movement import Movement, height_at, trace_index
from phasemark.session.trial_signals import TrialSignals


@dataclass(frozen=True, slots=True)
class Readout:
    """Values at a sample of the recording's clock; NaN where something is missing.

    position: of the trace that defines the phases, filtered, in its unit; speed: unit/s, above zero while raising;
    others: values of the further movement traces, as recorded; values: envelope of each EMG channel (mV), in the
    trial's order.
    """

    sample: int
    time_s: float
    position: float
    speed: float
    others: tuple[float, ...]
    values: tuple[float, ...]


def readout(signals: TrialSignals, sample: int) -> Readout:
    """The values at a sample of the recording's clock.

    Position is linear between the samples of its trace, its speed that of the nearest one. An envelope, and any other
    trace, is read at its first sample at or after this one, as a segment that begins here would be.
    """
    trial, movement = signals.trial, signals.movement
    clock = trial.clock
    traces = zip(trial.movement[1:], signals.traces[1:], strict=True)
    return Readout(
        sample,
        seconds(sample, clock),
        nan if movement is None else _position(movement, sample),
        nan if movement is None else _speed(movement, sample),
        tuple(_value(p.values, first_sample(sample, clock, trace.rate, trace.alignment)) for trace, p in traces),
        tuple(
            _value(pyramid.values, first_sample(sample, clock, channel.rate))
            for channel, pyramid in zip(trial.emg, signals.envelopes, strict=True)
        ),
    )


def _value(values: Samples, index: int) -> float:
    return float(values[index]) if 0 <= index < len(values) else nan


def _position(movement: Movement, sample: int) -> float:
    height = height_at(movement, sample)
    return height if movement.up is Up.LARGER else -height


def _speed(movement: Movement, sample: int) -> float:
    return _value(movement.speed, round(trace_index(movement, sample)))
