"""All lanes painted over some columns of pixels: gaps, recorded signals, and in front envelopes and movement. No Qt."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from phasemark.model.recording import Samples
from phasemark.signal.pyramid import Pyramid, gaps_in, samples_in
from phasemark.window.traces.device_pixels import DeviceGrid
from phasemark.window.traces.lane_layout import Band
from phasemark.window.traces.trace_extents import Extents, joined, lone_points, values_in_columns, widened
from phasemark.window.traces.trace_raster import Pixels, fill_columns, paint_band, paint_dots
from phasemark.window.traces.trial_picture import Lane, LaneKind

FRONT_PX = 1.6
"""Width (logical px) of an envelope or a movement trace."""
_DOTS_FROM_PX = 7.0
_DOT_PX = 3.0
_OFF_SCALE_PX = 3.0
_ROUNDING = 1e-6


@dataclass(frozen=True, slots=True)
class TraceColours:
    """Pixels (0xAARRGGBB, premultiplied) of the recorded signal, of what is before it, and of a gap's veil."""

    raw: int
    front: int
    gap: int


@dataclass(frozen=True, slots=True, eq=False)
class _Trace:
    """One signal of a lane: height = values * gain + offset (device px), and whether it is drawn in front."""

    place: "_Place"
    box: tuple[int, int]
    pyramid: Pyramid
    gain: float
    offset: float
    front: bool


@dataclass(frozen=True, slots=True)
class _Place:
    """Where the exposed columns begin among a lane's samples, and how many samples a column has."""

    begin: float
    per_px: float
    columns: int

    @property
    def end(self) -> float:
        """Where the exposed columns end."""
        return self.begin + self.per_px * self.columns


def _place(lane: Lane, grid: DeviceGrid) -> _Place:
    per_px = 1 / (grid.px_per_s * float(lane.seconds_per_sample))
    # A sample at the very edge of a column is in that column however the edge was rounded.
    begin = lane.position_at(grid.time_at(grid.first)) - _ROUNDING * per_px
    return _Place(begin, per_px, grid.last - grid.first)


class LanePainting:
    """Paints the columns first <= k < last of a grid into pixels of their own."""

    def __init__(self, lanes: Sequence[Lane], bands: Sequence[Band], grid: DeviceGrid, colours: TraceColours) -> None:
        self._lanes, self._grid, self._colours = lanes, grid, colours
        # A column is drawn out to its neighbours, and in front as wide as the line is.
        self._beside = 1 + ceil((FRONT_PX * grid.scale - 1) / 2)
        self._boxes = [(round(grid.y(band.top)), round(grid.y(band.bottom))) for band in bands]
        self._places = [_place(lane, grid) for lane in lanes]
        self._traces = [
            trace
            for lane, band, box, place in zip(lanes, bands, self._boxes, self._places, strict=True)
            for trace in self._traces_of(lane, band, box, place)
            if box[1] > box[0]
        ]

    def paint(self, image: Pixels) -> None:
        """Paint into an image of shape (rows, columns) that holds nothing else."""
        image.fill(0)
        if not self._traces:
            return
        highest, lowest = self._heights()
        top, bottom = joined(highest, lowest)
        front = np.array([trace.front for trace in self._traces])
        smooth = front | np.array([trace.place.per_px < 1 for trace in self._traces])
        inner = np.s_[self._beside : -self._beside]
        boxes = self._boxes_of(self._traces)
        fill_columns(image, boxes[~smooth], top[~smooth, inner], bottom[~smooth, inner], self._colours.raw)
        for lane, box, place in zip(self._lanes, self._boxes, self._places, strict=True):
            self._paint_gaps(image, lane, box, place)
        for chosen in (smooth & ~front, front):
            if chosen.any():
                self._paint_bands(image, np.flatnonzero(chosen), top[chosen], bottom[chosen])
        self._paint_off_scale(image, highest[:, inner], lowest[:, inner])

    def _traces_of(self, lane: Lane, band: Band, box: tuple[int, int], place: _Place) -> list[_Trace]:
        per_unit = band.px_per_unit * self._grid.scale
        foot = self._grid.y(band.bottom) + band.at_bottom * per_unit
        alone = lane.envelope is None and lane.kind is LaneKind.MOVEMENT
        found = [_Trace(place, box, lane.raw, -lane.raw_gain * per_unit, foot - lane.raw_offset * per_unit, alone)]
        if lane.envelope is not None:
            found.append(_Trace(place, box, lane.envelope, -per_unit, foot, True))
        return found

    def _paint_gaps(self, image: Pixels, lane: Lane, box: tuple[int, int], place: _Place) -> None:
        """The tint of missing samples, wherever nothing has been painted."""
        begin, end = place.begin, place.end
        gaps = gaps_in(lane.raw, begin, end)
        if not gaps:
            return
        missing = np.zeros(place.columns, bool)
        for gap_begin, gap_end in gaps:
            left = int((max(gap_begin, begin) - begin) / place.per_px)
            missing[left : max(round((min(gap_end, end) - begin) / place.per_px), left + 1)] = True
        rows = image[box[0] : box[1]]
        np.copyto(rows, np.uint32(self._colours.gap), where=missing & (rows == 0))

    def _boxes_of(self, traces: Sequence[_Trace]) -> NDArray[np.int64]:
        return np.array([trace.box for trace in traces], np.int64).reshape(-1, 2)

    def _heights(self) -> Extents:
        """Top and bottom of every trace in the columns and some on either side, of shape (traces, columns)."""
        traces = self._traces
        count = self._grid.last - self._grid.first + 2 * self._beside
        low, high = np.empty((2, len(traces), count))
        alike: dict[tuple[_Place, int], list[int]] = {}
        for row, trace in enumerate(traces):
            alike.setdefault((trace.place, len(trace.pyramid.values)), []).append(row)
        for (place, _), rows in alike.items():
            room = self._beside * place.per_px
            pyramids = [traces[row].pyramid for row in rows]
            low[rows], high[rows] = values_in_columns(pyramids, place.begin - room, place.end + room, count)
        gain = np.array([[trace.gain] for trace in traces])
        offset = np.array([[trace.offset] for trace in traces])
        one, other = high * gain + offset, low * gain + offset
        return np.asarray(np.minimum(one, other)), np.asarray(np.maximum(one, other))

    def _paint_bands(self, image: Pixels, rows: NDArray[np.int64], top: Samples, bottom: Samples) -> None:
        """Traces of one kind as lines with smooth edges, and dots for their samples."""
        traces, scale = [self._traces[row] for row in rows.tolist()], self._grid.scale
        colour = self._colours.front if traces[0].front else self._colours.raw
        width = FRONT_PX * scale if traces[0].front else 1.0
        up, down = widened(top, bottom, (width - 1) / 2)
        inner = np.s_[:, self._beside : -self._beside]
        paint_band(image, self._boxes_of(traces), up[inner] - width / 2, down[inner] + width / 2, colour)
        few = [trace for trace in traces if trace.place.per_px < 1]
        self._paint_samples(image, few, max(_DOT_PX * scale, width + 1), colour)

    def _paint_samples(self, image: Pixels, traces: Sequence[_Trace], across: float, colour: int) -> None:
        """Dots where single samples can be told apart, and where one stands alone."""
        dots = [self._dots(trace, across) for trace in traces]
        if any(len(x) for x, _ in dots):
            boxes = np.repeat([trace.box for trace in traces], [len(x) for x, _ in dots], axis=0)
            x, y = (np.concatenate(parts) for parts in zip(*dots, strict=True))
            paint_dots(image, boxes, x, y, across=across, colour=colour)

    def _dots(self, trace: _Trace, across: float) -> tuple[Samples, Samples]:
        """Columns and heights of the samples that are shown as dots, also of those half outside."""
        place = trace.place
        room = across * place.per_px + 2
        first, values = samples_in(trace.pyramid, place.begin - room, place.end + room)
        wide = place.per_px * _DOTS_FROM_PX * self._grid.scale < 1
        at = np.flatnonzero(np.isfinite(values)) if wide else lone_points(values)
        inside = (at > 0) | (first == 0), (at < len(values) - 1) | (first + len(values) == len(trace.pyramid.values))
        at = at[inside[0] & inside[1]]  # of the outermost, it is not known what is beside them
        x = (at.astype(np.float64) + (first - place.begin)) / place.per_px
        return x, values[at] * trace.gain + trace.offset

    def _paint_off_scale(self, image: Pixels, highest: Samples, lowest: Samples) -> None:
        """A thick edge wherever samples that lie in columns go beyond their lane's scale."""
        mark, boxes = round(_OFF_SCALE_PX * self._grid.scale), self._boxes_of(self._traces)
        above, below = highest < boxes[:, :1], lowest > boxes[:, 1:]
        for row in np.flatnonzero((above | below).any(axis=1)).tolist():
            begin, end = self._traces[row].box
            if self._traces[row].place.per_px >= 1:
                image[begin : begin + mark, above[row]] = self._colours.front
                image[end - mark : end, below[row]] = self._colours.front
