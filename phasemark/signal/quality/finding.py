"""What a check of signal quality found."""

from dataclasses import dataclass
from enum import StrEnum

Places = tuple[tuple[int, int], ...]


class Check(StrEnum):
    """The checks, by the names that people read."""

    LOST = "lost signal"
    CLIPPING = "clipping"
    OFFSET = "offset"
    DRIFT = "drift"
    LINE = "power-line interference"
    ARTEFACT = "movement artefact"
    HEART = "ECG contamination"
    NOISE = "signal-to-noise"
    RATE = "sampling rate"
    BANDWIDTH = "bandwidth"
    LOW_FREQUENCY = "low-frequency power"
    DISTINCT = "few distinct values"
    RECTIFIED = "already rectified"
    SMOOTHED = "already smoothed"
    ALIKE = "alike"
    MOVEMENT_JUMPS = "movement jumps"
    MOVEMENT_GAPS = "movement gaps"
    MOVEMENT_RATE = "movement rate"


@dataclass(frozen=True, slots=True)
class Finding:
    """The outcome of one check: its figure in a unit beside the threshold, and what it means in one sentence.

    figure and threshold are finite and in the same unit ('%', 'ms', 'Hz', 'dB', 'times', 'values'). flagged says
    that a person should look. places are the stretches [begin, end) concerned, in samples of the channel's (or
    trace's) own rate, in order; none where the whole recording is meant.
    """

    check: Check
    figure: float
    unit: str
    threshold: float
    flagged: bool
    sentence: str
    places: Places = ()
