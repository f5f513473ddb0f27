"""Where each lane lies on the screen and how its values map to heights (logical px from the top). No Qt."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from phasemark.model.recording import Samples
from phasemark.signal.pyramid import Pyramid, columns
from phasemark.window.traces.trial_picture import Lane, LaneKind

MOVEMENT_SHARE = 0.38
"""Share of the height that the first movement lane takes beside muscles."""
_SURVEY = 512
_FAR_OUT = 3.0


@dataclass(frozen=True, slots=True)
class Band:
    """A lane's place: top and bottom edge (logical px), and the values (in the lane's unit) at them.

    at_top is below at_bottom where larger values are drawn lower.
    """

    top: float
    bottom: float
    at_bottom: float
    at_top: float

    @property
    def height(self) -> float:
        """Logical pixels from top to bottom."""
        return self.bottom - self.top

    @property
    def px_per_unit(self) -> float:
        """Logical pixels upward for one unit of the lane; negative where larger values are drawn lower."""
        return self.height / (self.at_top - self.at_bottom)

    @property
    def low(self) -> float:
        """The smallest value of the scale."""
        return min(self.at_bottom, self.at_top)

    @property
    def high(self) -> float:
        """The largest value of the scale."""
        return max(self.at_bottom, self.at_top)

    def y(self, value: float) -> float:
        """Height (logical px from the top of the view) at which a value is drawn."""
        return self.bottom - (value - self.at_bottom) * self.px_per_unit

    def value(self, y: float) -> float:
        """The value drawn at a height."""
        return self.at_bottom + (self.bottom - y) / self.px_per_unit


def _extremes(pyramid: Pyramid, gain: float = 1.0, offset: float = 0.0) -> Samples:
    """Lowest and highest values of some hundred stretches, shape (2, stretches with samples)."""
    low, high = columns(pyramid, 0.0, float(max(len(pyramid.values), 1)), _SURVEY)
    both = np.stack((low, high)) * gain + offset
    both = both[:, np.isfinite(both).all(axis=0)]
    return np.sort(both, axis=0)


def value_limits(lane: Lane) -> tuple[float, float]:
    """Lowest and highest value of a lane's scale, with some air.

    A movement trace is fitted whole. EMG is fitted so that a single far-off artefact (beyond three times
    what 98 % of the recording stays within) is cut off, and shown to be, instead of flattening all else.
    """
    if lane.limits is not None:
        return lane.limits
    seen = _extremes(lane.raw, lane.raw_gain, lane.raw_offset)
    if lane.envelope is not None:
        seen = np.concatenate((seen, _extremes(lane.envelope)), axis=1)
    if seen.shape[1] == 0:
        return (-1.0, 1.0)
    low, high = float(seen[0].min()), float(seen[1].max())
    if lane.kind is LaneKind.MUSCLE:
        usual_low, usual_high = float(np.percentile(seen[0], 2)), float(np.percentile(seen[1], 98))
        reach = _FAR_OUT * max(abs(usual_low), abs(usual_high))
        if reach > 0:
            low, high = max(low, -reach), min(high, reach)
    if low == high:
        return (low - (abs(low) or 1.0) * 0.1, high + (abs(high) or 1.0) * 0.1)
    air = 0.06 * (high - low)
    return (low - air, high + air)


def lay_out(
    lanes: Sequence[Lane], limits: Sequence[tuple[float, float]], top: float, bottom: float, gap: float
) -> tuple[Band, ...]:
    """Bands of the lanes between two heights, so far apart; the first movement lane is taller than the others.

    limits are the lowest and highest value of each lane's scale.
    """
    kinds = [lane.kind for lane in lanes]
    if not kinds:
        return ()
    tall = kinds.index(LaneKind.MOVEMENT) if LaneKind.MOVEMENT in kinds else None
    room = max(bottom - top - gap * (len(kinds) - 1), float(len(kinds)))
    others = len(kinds) - (tall is not None)
    share = 0.0 if tall is None else 1.0 if others == 0 else max(MOVEMENT_SHARE, 1 / len(kinds))
    bands, at = [], top
    for index, (lane, (low, high)) in enumerate(zip(lanes, limits, strict=True)):
        height = room * (share if index == tall else (1 - share) / others)
        ends = (high, low) if lane.downward else (low, high)
        bands.append(Band(at, at + height, *ends))
        at += height + gap
    return tuple(bands)
