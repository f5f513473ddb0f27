"""All lanes painted over some columns of pixels: gaps, recorded signals, and in front envelopes and movement. No Qt."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from phasemark.model.recording import Samples
from phasemark.signal.pyramid import gaps_in, samples_in
from phasemark.window.traces.device_pixels import DeviceGrid
from phasemark.window.traces.drawn_trace import ColumnPlace, DrawnTrace, SampleClock, traces_of
from phasemark.window.traces.lane_layout import Band
from phasemark.window.traces.trace_extents import Heights, joined, lone_points, values_in_columns, widened
from phasemark.window.traces.trace_raster import Pixels, Rows, fill_columns, paint_band, paint_dots
from phasemark.window.traces.trial_picture import Lane

FRONT_PX = 1.6
"""Width (logical px) of an envelope or a movement trace."""
_DOTS_FROM_PX = 7.0
_DOT_PX = 3.0
_OFF_SCALE_PX = 3.0
_FAR = 1e6  # device px; whatever is beyond is off the scale, however far


@dataclass(frozen=True, slots=True)
class TraceColours:
    """Pixels (0xAARRGGBB, premultiplied) of the recorded signal, of what is before it, and of a gap's veil."""

    raw: int
    front: int
    gap: int


class LanePainting:
    """Paints lanes, whose heights are given, at any zoom and place in time.

    scale is device pixels a logical one, top the device row of logical height 0.
    """

    def __init__(
        self, lanes: Sequence[Lane], bands: Sequence[Band], top: float, scale: float, colours: TraceColours
    ) -> None:
        self._scale, self._colours = scale, colours
        # A column is drawn out to its neighbours, and in front as wide as the line is.
        self._beside = 1 + ceil((FRONT_PX * scale - 1) / 2)
        of_lanes = [traces_of(lane, band, top, scale) for lane, band in zip(lanes, bands, strict=True)]
        of_lanes = [traces for traces in of_lanes if traces[0].box[1] > traces[0].box[0]]
        self._recorded = [traces[0] for traces in of_lanes]
        # What is behind comes first; arrays of all traces have a row for each in this order.
        self._traces = sorted((trace for traces in of_lanes for trace in traces), key=lambda trace: trace.front)
        self._front = np.array([trace.front for trace in self._traces], bool)
        self._boxes = np.array([trace.box for trace in self._traces], np.int64).reshape(-1, 2)
        self._gains = np.array([[trace.gain] for trace in self._traces])
        self._offsets = np.array([[trace.offset] for trace in self._traces])
        self._alike: dict[tuple[SampleClock, int], list[int]] = {}
        for row, trace in enumerate(self._traces):
            self._alike.setdefault((trace.clock, len(trace.pyramid.values)), []).append(row)

    def paint(self, image: Pixels, grid: DeviceGrid) -> None:
        """Paint the columns first <= k < last of a grid into an image of shape (rows, columns).

        What the lanes' rows held is gone; others are left as they are.
        """
        if not self._traces:
            return
        places = {clock: clock.place(grid) for clock, _ in self._alike}
        spread = np.array([places[trace.clock].per_px < 1 for trace in self._traces])
        highest, lowest = self._heights(places)
        top, bottom = joined(highest, lowest)
        inner = np.s_[:, self._beside : -self._beside]
        filled = ~self._front & ~spread
        self._clear(image, filled)
        fill_columns(image, self._boxes[filled], top[filled][inner], bottom[filled][inner], self._colours.raw)
        for trace in self._recorded:
            self._paint_gaps(image, trace, places[trace.clock])
        for chosen in (~self._front & spread, self._front):
            if chosen.any():
                self._paint_bands(image, np.flatnonzero(chosen), top[chosen], bottom[chosen])
                self._paint_samples(image, np.flatnonzero(chosen & spread), places)
        self._paint_off_scale(image, highest[inner], lowest[inner], spread)

    def _heights(self, places: dict[SampleClock, ColumnPlace]) -> tuple[Heights, Heights]:
        """Top and bottom of every trace in the columns and some on either side, of shape (traces, columns)."""
        count = next(iter(places.values())).columns + 2 * self._beside
        low, high = np.empty((2, len(self._traces), count))
        for (clock, _), rows in self._alike.items():
            place = places[clock]
            room = self._beside * place.per_px
            pyramids = [self._traces[row].pyramid for row in rows]
            low[rows], high[rows] = values_in_columns(pyramids, place.begin - room, place.end + room, count)
        one, other = self._in_rows(low), self._in_rows(high)
        return np.minimum(one, other), np.maximum(one, other)

    def _in_rows(self, values: Samples) -> Heights:
        """Values of all traces as heights (device px), no more exact than a screen needs; values are overwritten."""
        np.multiply(values, self._gains, out=values)
        np.add(values, self._offsets, out=values)
        with np.errstate(over="ignore"):  # however far off the scale a value is
            heights = values.astype(np.float32)
        return np.clip(heights, -_FAR, _FAR, out=heights)

    def _clear(self, image: Pixels, filled: NDArray[np.bool_]) -> None:
        """Empty the lanes that are not filled from edge to edge."""
        done = {self._traces[row].box for row in np.flatnonzero(filled).tolist()}
        for begin, end in {trace.box for trace in self._recorded} - done:
            image[begin:end] = 0

    def _paint_gaps(self, image: Pixels, trace: DrawnTrace, place: ColumnPlace) -> None:
        """The tint of missing samples, wherever nothing has been painted."""
        begin, end = place.begin, place.end
        gaps = gaps_in(trace.pyramid, begin, end)
        if not gaps:
            return
        missing = np.zeros(place.columns, bool)
        for gap_begin, gap_end in gaps:
            left = int((max(gap_begin, begin) - begin) / place.per_px)
            missing[left : max(round((min(gap_end, end) - begin) / place.per_px), left + 1)] = True
        rows = image[trace.box[0] : trace.box[1]]
        np.copyto(rows, np.uint32(self._colours.gap), where=missing & (rows == 0))

    def _look(self, front: bool) -> tuple[int, float]:
        """Colour and width (device px) of a smooth line."""
        return (self._colours.front, FRONT_PX * self._scale) if front else (self._colours.raw, 1.0)

    def _paint_bands(self, image: Pixels, rows: Rows, top: Heights, bottom: Heights) -> None:
        """Traces that are all in front, or all behind, as lines with smooth edges."""
        colour, width = self._look(bool(self._front[rows[0]]))
        up, down = widened(top, bottom, (width - 1) / 2)
        inner = np.s_[:, self._beside : -self._beside]
        paint_band(image, self._boxes[rows], up[inner] - width / 2, down[inner] + width / 2, colour)

    def _paint_samples(self, image: Pixels, rows: Rows, places: dict[SampleClock, ColumnPlace]) -> None:
        """Dots where single samples can be told apart, and where one stands alone."""
        if len(rows) == 0:
            return
        colour, width = self._look(bool(self._front[rows[0]]))
        across = max(_DOT_PX * self._scale, width + 1)
        traces = [self._traces[row] for row in rows.tolist()]
        dots = [self._dots(trace, places[trace.clock], across) for trace in traces]
        if any(len(x) for x, _ in dots):
            boxes = np.repeat(self._boxes[rows], [len(x) for x, _ in dots], axis=0)
            x, y = (np.concatenate(parts) for parts in zip(*dots, strict=True))
            paint_dots(image, boxes, x, y, across=across, colour=colour)

    def _dots(self, trace: DrawnTrace, place: ColumnPlace, across: float) -> tuple[Samples, Samples]:
        """Columns and heights of the samples that are shown as dots, also of those half outside."""
        room = across * place.per_px + 2
        first, values = samples_in(trace.pyramid, place.begin - room, place.end + room)
        wide = place.per_px * _DOTS_FROM_PX * self._scale < 1
        at = np.flatnonzero(np.isfinite(values)) if wide else lone_points(values)
        inside = (at > 0) | (first == 0), (at < len(values) - 1) | (first + len(values) == len(trace.pyramid.values))
        at = at[inside[0] & inside[1]]  # of the outermost, it is not known what is beside them
        x = (at.astype(np.float64) + (first - place.begin)) / place.per_px
        return x, values[at] * trace.gain + trace.offset

    def _paint_off_scale(self, image: Pixels, highest: Heights, lowest: Heights, spread: NDArray[np.bool_]) -> None:
        """A thick edge wherever samples go beyond their lane's scale, unless they are so far apart that one sees it."""
        mark = round(_OFF_SCALE_PX * self._scale)
        beyond = (np.fmin.reduce(highest, axis=1) < self._boxes[:, 0]) | (
            np.fmax.reduce(lowest, axis=1) > self._boxes[:, 1]
        )
        for row in np.flatnonzero(beyond & ~spread).tolist():
            begin, end = self._traces[row].box
            image[begin : begin + mark, highest[row] < begin] = self._colours.front
            image[end - mark : end, lowest[row] > end] = self._colours.front
