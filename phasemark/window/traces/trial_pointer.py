"""The mouse on a trial's picture: cursor and what is read there, snap marks, a stretch to be chosen, scrolling."""

from dataclasses import replace

from PySide6.QtCore import QElapsedTimer, QPointF, QTimer, Signal
from PySide6.QtGui import QFontMetricsF
from PySide6.QtWidgets import QWidget

from phasemark.model.clock import nearest_sample, seconds
from phasemark.phases.snapping import Candidate
from phasemark.session.readout import Readout
from phasemark.window.traces.mark_lines import MarkLine
from phasemark.window.traces.mark_words import time_text
from phasemark.window.traces.pointer_drawing import Pointer, shift_text
from phasemark.window.traces.readout_words import lane_texts, lane_values
from phasemark.window.traces.trial_picture import LaneKind, TrialPicture
from phasemark.window.traces.trial_view import NOTHING_CHOSEN, TrialView

_EDGE_PX = 28.0
_SLOWEST, _FASTEST = 0.15, 1.5  # views a second that pass while a boundary is held at an edge
_TICK_MS = 16
_WIDEST_TAG = 0.5  # share of the time axis


class TrialPointer(TrialView):
    """A trial's picture with a cursor; what is dragged to an edge takes the view along."""

    cursorMoved = Signal(object)
    stretchChosen = Signal(object, object)
    stretchDropped = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        self._pointer = Pointer()
        self._mouse: QPointF | None = None
        self._readout: Readout | None = None
        super().__init__(parent)
        self._scroll, self._since = QTimer(self), QElapsedTimer()
        self._scroll.setInterval(_TICK_MS)
        self._scroll.timeout.connect(self._on_scroll)
        gestures = self._gestures
        gestures.pointed.connect(self._on_pointed)
        gestures.dragStarted.connect(self._on_drag_begun)
        gestures.dragMoved.connect(self._on_dragged)
        gestures.dragFinished.connect(self._on_drag_over)
        gestures.dragCancelled.connect(self._on_drag_over)
        gestures.stretchMoved.connect(self._on_stretched)
        gestures.stretchChosen.connect(self._on_stretch_chosen)
        gestures.stretchDropped.connect(self._on_stretch_dropped)
        self.spanChanged.connect(self._tell_cursor)

    # Cursor and what is read there

    def cursor_sample(self) -> int | None:
        """The sample of the recording's clock under the mouse; None where the mouse is elsewhere."""
        if self._picture is None or self._mouse is None or not 0 <= self._mouse.x() <= self._canvas.width:
            return None
        sample = nearest_sample(self._time_at(self._mouse.x()), self._picture.clock)
        return sample if 0 <= sample <= self._picture.length else None

    def set_readout(self, readout: Readout | None) -> None:
        """Show these values beside the lanes, and a ring on each trace under the cursor; None shows units again."""
        self._readout = readout
        self._show_readout()
        self._show_pointer()

    def _show_readout(self) -> None:
        readout, picture = self._readout, self._picture
        if readout is None or picture is None:
            self._gutter.set_values(None)
        else:
            self._gutter.set_values(lane_texts(picture.lanes, self._bands, readout))

    def _on_pointed(self, at: QPointF | None) -> None:
        self._mouse = at
        self._tell_cursor()

    def _tell_cursor(self) -> None:
        sample = self.cursor_sample()
        if sample == self._pointer.cursor:
            return
        self._pointer = replace(self._pointer, cursor=sample, dots=())
        self.cursorMoved.emit(sample)
        self._show_pointer()

    def _show_pointer(self) -> None:
        """Draw the pointer; while something is dragged the boundary itself is the cursor."""
        drawing, readout, cursor = self._drawing, self._readout, self._pointer.cursor
        if drawing is None:
            return
        dots: tuple[float, ...] = ()
        if readout is not None and readout.sample == cursor:
            values = zip(self._bands, lane_values(drawing.lanes, readout), strict=True)
            dots = tuple(band.y(value) for band, value in values if band.low <= value <= band.high)
        self._pointer = replace(self._pointer, dots=dots)
        dragging = self._gestures.dragged is not None
        self._canvas.draw_pointer(replace(self._pointer, cursor=None, dots=()) if dragging else self._pointer)
        clock = drawing.clock
        self._axis.set_cursor(
            None if cursor is None or dragging else (seconds(cursor, clock), time_text(cursor, clock))
        )

    # Whose scale is changed

    def lane_meant(self) -> int | None:
        """The lane in hand, else the one under the mouse."""
        if self.lane_in_hand is not None or self._mouse is None:
            return self.lane_in_hand
        y = self._mouse.y()
        return next((place for place, band in enumerate(self._bands) if band.top <= y <= band.bottom), None)

    def enlarge(self, steps: int) -> None:
        """Draw the lane that is meant larger, else all muscles (all lanes where there are none); below 0 smaller."""
        lanes = () if self._picture is None else self._picture.lanes
        muscles = [place for place, lane in enumerate(lanes) if lane.kind is LaneKind.MUSCLE]
        meant = self.lane_meant()
        self.scale_lanes(steps, (muscles or range(len(lanes))) if meant is None else (meant,))

    def fit_scales(self) -> None:
        """Let the lane that is meant fit its values again, else all lanes."""
        meant = self.lane_meant()
        self.fit_lanes(range(len(self._bands)) if meant is None else (meant,))

    # What a dragged boundary may snap to

    def samples_in(self, px: float) -> float:
        """How many samples of the recording's clock so many logical pixels are."""
        if self._picture is None:
            return 0.0
        return px / max(self._canvas.width, 1) * self._span.width_s * float(self._picture.clock)

    @property
    def snapping(self) -> bool:
        """Whether a boundary that is dragged is to snap; not while Alt is held."""
        return not self._gestures.free

    def set_snaps(self, candidates: tuple[Candidate, ...]) -> None:
        """Show what the dragged boundary may snap to; forgotten when the drag ends."""
        self._pointer = replace(self._pointer, snaps=candidates, target=None)
        self._show_pointer()

    def set_snap_target(self, candidate: Candidate | None) -> None:
        """Show which candidate the dragged boundary has snapped to; None where it has not."""
        self._pointer = replace(self._pointer, target=candidate)
        self._show_pointer()

    def _on_drag_begun(self, line: MarkLine) -> None:
        self._pointer = replace(self._pointer, start=line.sample)
        self._show_pointer()

    def _tag_text(self, line: MarkLine) -> str:
        """The time of the selected boundary and, while it is dragged, how far that is from where it was."""
        time, start = super()._tag_text(line), self._pointer.start
        if start is None:
            return time
        both = f"{time}  ({shift_text(start, line.sample, self._clock)})"
        fits = QFontMetricsF(self.font()).horizontalAdvance(both) < _WIDEST_TAG * self._canvas.width
        return both if fits else time

    def _on_dragged(self, _: object, sample: int) -> None:
        self._pointer = replace(self._pointer, near=sample, free=self._gestures.free)
        self._show_pointer()
        self._watch_edges()

    def _on_drag_over(self, *_: object) -> None:
        self._scroll.stop()
        self._pointer = replace(self._pointer, snaps=(), start=None, near=None, target=None, free=False)
        self._show_pointer()
        self._show_times()

    # A stretch

    def ask_stretch(self, prompt: str) -> None:
        """Let the user choose a stretch by a drag or by keys: stretchChosen or stretchDropped tells the end."""
        if self._picture is not None:
            self._gestures.ask_stretch()
            self._pointer = replace(self._pointer, prompt=prompt, stretch=None)
            self._show_pointer()

    def drop_stretch(self) -> bool:
        """Choose no stretch, and tell so; whether one was to be chosen."""
        return self._gestures.drop_stretch()

    def _on_stretched(self, ends: tuple[int, int] | None) -> None:
        self._pointer = replace(self._pointer, stretch=None if ends is None else (ends[0], self._within(ends[1])))
        self._show_pointer()
        self._watch_edges()

    def _end_stretch(self) -> None:
        self._scroll.stop()
        self._pointer = replace(self._pointer, stretch=None, prompt="")
        self._show_pointer()

    def _on_stretch_chosen(self, begin: int, end: int) -> None:
        self._end_stretch()
        begin, end = self._within(begin), self._within(end)
        if begin < end:
            self.stretchChosen.emit(begin, end)
        else:
            self.stretchDropped.emit()

    def _on_stretch_dropped(self) -> None:
        self._end_stretch()
        self.stretchDropped.emit()

    def _within(self, sample: int) -> int:
        return min(max(sample, 0), 0 if self._picture is None else self._picture.length)

    # Scrolling at the edges

    def _watch_edges(self) -> None:
        if not self._scroll.isActive() and self._gestures.pull(self._canvas.width, _EDGE_PX) != 0:
            self._since.start()
            self._scroll.start()

    def _on_scroll(self) -> None:
        """Move the view as long as something is held at its edge, as far as the recording goes."""
        pull, before = self._gestures.pull(self._canvas.width, _EDGE_PX), self._span
        if pull == 0:
            self._scroll.stop()
            return
        speed = (_SLOWEST + (_FASTEST - _SLOWEST) * abs(pull)) * (1 if pull > 0 else -1)
        self.move_by(speed * min(self._since.restart(), 100) / 1000)
        if self._span == before:
            self._scroll.stop()
        else:
            self._gestures.carry_on()

    # The picture

    def set_trial(
        self, picture: TrialPicture | None, *, keep_view: bool = False, message: str = NOTHING_CHOSEN
    ) -> None:
        """Draw another trial; what was read or asked in the one before is given up."""
        if not keep_view or picture is None:
            self._gestures.cancel()
            self._gestures.drop_stretch()
            self._readout = None
        super().set_trial(picture, keep_view=keep_view, message=message)
        self._tell_cursor()
        self._show_pointer()

    def _lay_out(self) -> None:
        super()._lay_out()
        self._show_readout()
        self._show_pointer()
