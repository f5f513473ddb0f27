"""A recording: EMG channels and movement traces with their values, as the file gave them."""

from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from phasemark.model.clock import ALIGNED, Alignment, Rate, clock_length
from phasemark.model.errors import BadData
from phasemark.model.units import COUNTS, parse_emg_unit

Samples = NDArray[np.float64]


class Side(StrEnum):
    """Side of the body a muscle belongs to."""

    LEFT = "left"
    RIGHT = "right"
    NONE = "none"


class Up(StrEnum):
    """Which way of a movement trace is raising."""

    LARGER = "larger"
    SMALLER = "smaller"


class Treatment(StrEnum):
    """What was done to an EMG channel before it was written down."""

    RAW = "raw"
    RECTIFIED = "rectified"


@dataclass(frozen=True, slots=True)
class EmgChannel:
    """One EMG channel: its muscle and side, the unit of its stored values, its rate (Hz).

    gain multiplies a stored value: into unit, or for raw counts into mV (then it must be stated).
    """

    muscle: str
    rate: Rate
    side: Side = Side.NONE
    unit: str = "mV"
    gain: float | None = None
    treatment: Treatment = Treatment.RAW

    def __post_init__(self) -> None:
        if not self.muscle.strip():
            raise BadData("An EMG channel has no muscle; name the muscle of every EMG column.")
        object.__setattr__(self, "unit", parse_emg_unit(self.unit))
        if self.unit == COUNTS and self.gain is None:
            raise BadData(f"The channel of {self.muscle} is in raw counts; state its gain in mV per count.")
        if self.gain is not None and not (np.isfinite(self.gain) and self.gain != 0):
            raise BadData(f"The gain of {self.muscle} must be a number other than zero, not {self.gain}.")

    @property
    def label(self) -> str:
        """The muscle with its side, as titles and messages name it."""
        return self.muscle if self.side is Side.NONE else f"{self.muscle} ({self.side})"


@dataclass(frozen=True, slots=True)
class MovementTrace:
    """One movement trace: what it measures, its unit, which way is raising, its rate (Hz), where it lies."""

    kind: str
    rate: Rate
    unit: str = ""
    up: Up = Up.LARGER
    alignment: Alignment = ALIGNED


@dataclass(frozen=True, slots=True)
class Source:
    """Where a recording came from: the file's own name, its format, its SHA-256 and how it was read."""

    file: str = ""
    format: str = ""
    sha256: str = ""
    reading: str = ""


def _frozen(values: Samples) -> Samples:
    array = np.ascontiguousarray(values, dtype=np.float64)
    if array.base is not None or array is values:
        array = array.copy()
    array.flags.writeable = False
    return array


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """EMG channels and movement traces in step, with values as given (NaN where a sample is missing).

    emg_values[i] and movement_values[i] are read-only float64 arrays of shape (samples,) in the unit their
    description states; each keeps its own length. notes say what the reader met (gaps, ragged ends).
    """

    emg: tuple[EmgChannel, ...]
    emg_values: tuple[Samples, ...]
    movement: tuple[MovementTrace, ...] = ()
    movement_values: tuple[Samples, ...] = ()
    source: Source = field(default_factory=Source)
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if len(self.emg) != len(self.emg_values) or len(self.movement) != len(self.movement_values):
            raise BadData("A recording needs one array of values for each of its channels and traces.")
        if not self.emg and not self.movement:
            raise BadData("A recording needs at least one EMG channel or movement trace.")
        names = [channel.label for channel in self.emg]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise BadData(f"Two EMG channels are both called {twice[0]}; name muscle and side apart.")
        object.__setattr__(self, "emg_values", tuple(_frozen(v) for v in self.emg_values))
        object.__setattr__(self, "movement_values", tuple(_frozen(v) for v in self.movement_values))

    @property
    def clock(self) -> Rate:
        """Rate (Hz) of the clock that boundaries count in."""
        return recording_clock(self.emg, self.movement)


def recording_clock(emg: tuple[EmgChannel, ...], movement: tuple[MovementTrace, ...]) -> Rate:
    """The recording's clock: the rate (Hz) of its fastest EMG channel, without EMG of its fastest trace."""
    return max((part.rate for part in (emg or movement)), default=Fraction(1000))


def recording_length(
    emg: tuple[EmgChannel, ...],
    emg_samples: tuple[int, ...],
    movement: tuple[MovementTrace, ...],
    movement_samples: tuple[int, ...],
) -> int:
    """Clock samples up to the end of whatever trace ends last; boundaries lie within 0 and this."""
    clock = recording_clock(emg, movement)
    ends = [clock_length(n, c.rate, clock) for c, n in zip(emg, emg_samples, strict=True)]
    ends += [clock_length(n, t.rate, clock, t.alignment) for t, n in zip(movement, movement_samples, strict=True)]
    return max(ends)
