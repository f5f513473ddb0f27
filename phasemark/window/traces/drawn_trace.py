"""Each signal of a lane as it is drawn: where its samples lie among columns of pixels, and its values among rows."""

from dataclasses import dataclass

from phasemark.signal.pyramid import Pyramid
from phasemark.window.traces.device_pixels import DeviceGrid
from phasemark.window.traces.lane_layout import Band
from phasemark.window.traces.trial_picture import Lane, LaneKind

_ROUNDING = 1e-6


@dataclass(frozen=True, slots=True)
class ColumnPlace:
    """Where columns of pixels begin among a signal's samples, how many samples a column has, and how many they are."""

    begin: float
    per_px: float
    columns: int

    @property
    def end(self) -> float:
        """Where the columns end."""
        return self.begin + self.per_px * self.columns


@dataclass(frozen=True, slots=True)
class SampleClock:
    """Where the samples of a lane lie in time (s); for drawing only."""

    shift_s: float
    period_s: float

    def place(self, grid: DeviceGrid) -> ColumnPlace:
        """Where the columns of a grid lie among the samples."""
        per_px = 1 / (grid.px_per_s * self.period_s)
        # A sample at the very edge of a column is in that column however the edge was rounded.
        begin = (grid.time_at(grid.first) - self.shift_s) / self.period_s - _ROUNDING * per_px
        return ColumnPlace(begin, per_px, grid.last - grid.first)


@dataclass(frozen=True, slots=True, eq=False)
class DrawnTrace:
    """One signal of a lane: height = values * gain + offset (device px), within box (first row, one after the last).

    front: whether it is drawn in front of what was recorded.
    """

    pyramid: Pyramid
    clock: SampleClock
    box: tuple[int, int]
    gain: float
    offset: float
    front: bool


def traces_of(lane: Lane, band: Band, top: float, scale: float) -> tuple[DrawnTrace, ...]:
    """What was recorded, then what is in front of it where there is something.

    scale is device pixels a logical one, top the device row of logical height 0.
    """
    clock = SampleClock(float(lane.alignment.shift_s), float(lane.seconds_per_sample))
    box = round(top + band.top * scale), round(top + band.bottom * scale)
    per_unit = band.px_per_unit * scale
    foot = top + band.bottom * scale + band.at_bottom * per_unit
    alone = lane.envelope is None and lane.kind is LaneKind.MOVEMENT
    gain, offset = -lane.raw_gain * per_unit, foot - lane.raw_offset * per_unit
    recorded = DrawnTrace(lane.raw, clock, box, gain, offset, alone)
    if lane.envelope is None:
        return (recorded,)
    return recorded, DrawnTrace(lane.envelope, clock, box, -per_unit, foot, True)
