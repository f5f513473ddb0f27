"""How a trial is shown: lanes, scales, marks and time axis laid out in one widget; the user's part is in trial_plot."""

from collections.abc import Iterable
from dataclasses import replace

from PySide6.QtCore import QEvent, QRect, QRectF, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QPalette
from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from phasemark.model.clock import Rate, nearest_sample, seconds
from phasemark.model.mark_edits import Address
from phasemark.model.marks import Marks
from phasemark.window.palette import scheme_of
from phasemark.window.traces.boundary_overlay import REACH_PX
from phasemark.window.traces.lane_gutter import LaneGutter
from phasemark.window.traces.lane_layout import Band, lay_out, value_limits
from phasemark.window.traces.lane_scales import Key, LaneScales, Limits, key_of
from phasemark.window.traces.mark_lines import MarkLine, MarkLines
from phasemark.window.traces.mark_words import line_text, time_text
from phasemark.window.traces.marks_drawing import MarksDrawing, changed_stretches
from phasemark.window.traces.rep_header import header_height
from phasemark.window.traces.tick_values import Tick
from phasemark.window.traces.time_axis import TimeAxis, time_ticks
from phasemark.window.traces.trace_canvas import TraceCanvas
from phasemark.window.traces.trace_gestures import TraceGestures
from phasemark.window.traces.trial_picture import LanePlace, Levels, TrialPicture
from phasemark.window.traces.view_span import Span, in_whole_pixels, kept_within, moved, showing, whole, zoomed

NOTHING_CHOSEN = "Choose a trial to see its traces and marks here."
_ZOOM_STEP = 0.8
_LEAST_SAMPLES = 12
_LANE_GAP = 7.0
_MOST_GUTTER = 0.48  # share of the width that names and scales may take
FOCUS_PX = 2
_LOOKS = (QEvent.Type.PaletteChange, QEvent.Type.FontChange, QEvent.Type.StyleChange)


class TrialView(QWidget):
    """A trial's picture on the screen; it answers no mouse and no key, but says what lies where."""

    spanChanged = Signal(object)
    areasChanged = Signal()

    _ready = False

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setBackgroundRole(QPalette.ColorRole.Base)
        self.setAutoFillBackground(True)
        self._picture: TrialPicture | None = None
        self._drawing: MarksDrawing | None = None
        self._fitted: tuple[Limits, ...] = ()
        self._scales = LaneScales()
        self._in_hand: Key | None = None
        self._bands: tuple[Band, ...] = ()
        self._places: tuple[LanePlace, ...] = ()
        self._span = Span(0.0, 1.0)
        self._scheme = scheme_of(self.palette())
        self._gestures = TraceGestures(self._line_at, self._sample_at)
        self._canvas = TraceCanvas(self._scheme, self.font(), self._gestures, self._on_resized)
        self._gutter, self._axis = LaneGutter(self._scheme), TimeAxis(self._scheme)
        self._message = QLabel(NOTHING_CHOSEN)
        self._place_parts()
        self._ready = True

    def _place_parts(self) -> None:
        grid = QGridLayout(self)
        grid.setContentsMargins(FOCUS_PX, FOCUS_PX, FOCUS_PX, FOCUS_PX)
        grid.setSpacing(0)
        grid.addWidget(self._gutter, 0, 0)
        grid.addWidget(self._canvas.view, 0, 1)
        grid.addWidget(self._axis, 1, 0, 1, 2)
        self._message.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._message.setWordWrap(True)
        grid.addWidget(self._message, 0, 0, 2, 2)

    # What goes in

    def set_trial(
        self, picture: TrialPicture | None, *, keep_view: bool = False, message: str = NOTHING_CHOSEN
    ) -> None:
        """Draw another trial, or the message where there is none.

        keep_view sees the same seconds and selects the same boundary as before (the same trial with other settings).
        """
        kept = self.selected_address if keep_view else None
        self._picture, self._drawing = picture, None
        self._places = self._places if keep_view else ()
        self._fitted = () if picture is None else tuple(value_limits(lane) for lane in picture.lanes)
        if picture is not None and self._scales.held is not None:
            self._scales = self._scales.hold(picture.lanes, self._fitted)
        self._message.setText(message)
        self._message.setVisible(picture is None)
        for part in (self._gutter, self._canvas.view, self._axis):
            part.setVisible(picture is not None)
        self._lay_out()
        if picture is not None:
            self.show_span(self._span if keep_view else whole(picture.duration_s))
            self.select(kept)
        else:
            self.setAccessibleDescription(message)

    def set_marks(self, marks: Marks, levels: Levels | None) -> None:
        """Draw other marks of the same trial; repaints only the stretches that changed."""
        if self._picture is None or self._drawing is None:
            return
        before, lines = self._drawing, MarkLines(marks)
        self._picture = replace(self._picture, marks=marks, levels=levels)
        selected, hovered = (a if lines.line(a) is not None else None for a in (before.selected, before.hovered))
        after = replace(before, lines=lines, levels=levels or {}, selected=selected, hovered=hovered)
        self._redraw_marks(after, changed_stretches(before, after))
        self._show_times()
        self._describe_selection()

    def select(self, address: Address | None, *, reveal: bool = True) -> None:
        """Show a boundary as selected and bring it into view; None, or one that is not there, selects none.

        Without reveal the view stays where it is, as it must under a mouse that has taken hold of the boundary.
        """
        drawing = self._drawing
        if drawing is None or self._picture is None:
            return
        line = drawing.line(address)
        after = replace(drawing, selected=None if line is None else line.address)
        self._redraw_marks(after, changed_stretches(drawing, after))
        if line is not None and reveal:
            time = seconds(line.sample, self._picture.clock)
            self.show_span(showing(self._span, time, whole(self._picture.duration_s)))
        self._show_times()
        self._describe_selection()

    def set_places(self, places: tuple[LanePlace, ...]) -> None:
        """Mark places in the lanes that want a look, in place of those before; another trial has none."""
        if places != self._places:
            self._places = places
            if self._drawing is not None:
                self._redraw_marks(replace(self._drawing, places=places), None)

    def show_span(self, span: Span) -> None:
        """See these seconds, as far as the recording goes."""
        if self._picture is None:
            return
        before = self._span
        limits = whole(self._picture.duration_s)
        kept = kept_within(span, limits, self._least_s())
        at_an_end = kept.begin_s <= limits.begin_s or kept.end_s >= limits.end_s
        self._span = kept if at_an_end else in_whole_pixels(kept, before, self._device_width())
        self._canvas.set_span(self._span)
        self._show_times()
        if self._span != before:
            self.spanChanged.emit(self._span)

    def fit_all(self) -> None:
        """See the whole recording."""
        if self._picture is not None:
            self.show_span(whole(self._picture.duration_s))

    def move_by(self, share: float) -> None:
        """See what comes later, by a share of what is seen now; earlier where it is negative."""
        if self._picture is not None:
            self.show_span(moved(self._span, share * self._span.width_s, whole(self._picture.duration_s)))

    def zoom(self, steps: float, about_s: float) -> None:
        """See less, or more where steps is negative, while a time (s) keeps its place."""
        if self._picture is not None:
            limits = whole(self._picture.duration_s)
            self.show_span(zoomed(self._span, _ZOOM_STEP**steps, about_s, limits, self._least_s()))

    # What is shown now

    @property
    def span(self) -> Span:
        """The seconds that are seen."""
        return self._span

    @property
    def selected_address(self) -> Address | None:
        """The selected boundary."""
        return None if self._drawing is None else self._drawing.selected

    def movement_area(self) -> tuple[QRectF, tuple[float, float]] | None:
        """Where the first movement lane lies in this widget, and the values at its lower and upper edge."""
        band = None if self._drawing is None else self._drawing.movement_band
        if band is None:
            return None
        at = self._canvas.view.geometry()
        return QRectF(at.x(), at.y() + band.top, at.width(), band.height), (band.at_bottom, band.at_top)

    def lanes_area(self) -> QRect:
        """Where all lanes lie in this widget, below their header."""
        header = 0 if self._drawing is None else round(self._drawing.header)
        return self._canvas.view.geometry().adjusted(0, header, 0, 0)

    # Scales of the lanes

    @property
    def lane_in_hand(self) -> int | None:
        """The lane that the keys of scales act on alone; None where they act on all muscles."""
        lanes = () if self._picture is None else self._picture.lanes
        return next((place for place, lane in enumerate(lanes) if key_of(lane) == self._in_hand), None)

    def take_lane(self, place: int | None) -> None:
        """Take a lane in hand, or none."""
        taken = None if place is None or self._picture is None else key_of(self._picture.lanes[place])
        if taken != self._in_hand:
            self._in_hand = taken
            self._lay_out()
            self._describe_selection()

    def scale_lanes(self, steps: int, places: Iterable[int]) -> None:
        """Draw lanes larger by so many steps, smaller where steps is below 0; here and in the trials to come."""
        if self._picture is not None:
            self._rescale(self._scales.scaled([self._picture.lanes[place] for place in places], steps))

    def fit_lanes(self, places: Iterable[int]) -> None:
        """Let lanes fit their values in this trial again."""
        if self._picture is not None:
            own = [(self._picture.lanes[place], self._fitted[place]) for place in places]
            self._rescale(self._scales.fitted([lane for lane, _ in own], [fitted for _, fitted in own]))

    @property
    def scales_held(self) -> bool:
        """Whether every trial is drawn on the same scales."""
        return self._scales.held is not None

    def hold_scales(self, held: bool) -> None:
        """Keep the scales that are seen now in every trial, or let each trial have those that fit it."""
        lanes = () if self._picture is None else self._picture.lanes
        self._rescale(self._scales.hold(lanes, self._fitted) if held else self._scales.let_go())

    def forget_scales(self) -> None:
        """Let every lane fit its values, as at the beginning of a sitting."""
        self._in_hand = None
        self._rescale(LaneScales())

    def _rescale(self, scales: LaneScales) -> None:
        if scales != self._scales:
            self._scales = scales
            self._lay_out()

    # Layout and look

    def _device_width(self) -> int:
        return round(self._canvas.width * self.devicePixelRatioF())

    def _least_s(self) -> float:
        return 0.0 if self._picture is None else seconds(_LEAST_SAMPLES, self._picture.clock)

    def _on_resized(self) -> None:
        if self._ready:
            self._lay_out()

    def _lay_out(self) -> None:
        """Place the lanes in the height there is, and draw everything anew."""
        picture, header = self._picture, header_height(QFontMetricsF(self.font()))
        lanes = () if picture is None else picture.lanes
        bottom = float(self._canvas.height)
        limits = tuple(self._scales.limits(*lane) for lane in zip(lanes, self._fitted, strict=True))
        self._bands = lay_out(lanes, limits, header + _LANE_GAP, bottom - _LANE_GAP, _LANE_GAP)
        if picture is not None:
            self._drawing = MarksDrawing(
                MarkLines(picture.marks), picture.clock, picture.levels or {}, lanes, self._bands, header,
                float(self._canvas.width), bottom, self._scheme,
                selected=self.selected_address, time_ticks=self._time_ticks(), places=self._places,
                stretches=picture.stretches,
            )  # fmt: skip
        self._gutter.set_lanes(
            lanes, self._bands, self._scheme, _MOST_GUTTER * self.width(),
            scales=[self._scales.word(lane) for lane in lanes], in_hand=self.lane_in_hand,
        )  # fmt: skip
        self._canvas.draw(lanes, self._bands, self._drawing, whole(0.0 if picture is None else picture.duration_s))
        self._canvas.set_span(self._span)
        self._show_times()
        self.areasChanged.emit()

    def _time_ticks(self) -> tuple[Tick, ...]:
        return time_ticks(self._span, self._canvas.width, QFontMetricsF(self.font()))

    def _show_times(self) -> None:
        """Time axis and grid for the seconds that are seen."""
        if self._drawing is None:
            return
        shown = self._time_ticks()
        if shown != self._drawing.time_ticks:
            self._redraw_marks(replace(self._drawing, time_ticks=shown), ())
        clock, line = self._drawing.clock, self._drawing.line(self._drawing.selected)
        tag = None if line is None else (seconds(line.sample, clock), self._tag_text(line))
        self._axis.set_axis(self._span, shown, float(self._gutter.sizeHint().width()), tag, self._scheme)

    def _tag_text(self, line: MarkLine) -> str:
        """What stands on the time axis at the selected boundary."""
        return time_text(line.sample, self._clock)

    def _redraw_marks(self, drawing: MarksDrawing, stretches: Iterable[tuple[float, float]] | None) -> None:
        self._drawing = drawing
        self._canvas.draw_marks(drawing, stretches)

    def changeEvent(self, event: QEvent) -> None:
        """Follow the system's colours and font."""
        super().changeEvent(event)
        if self._ready and event.type() in _LOOKS:
            self._scheme = scheme_of(self.palette())
            self._canvas.set_look(self._scheme, self.font())
            self._lay_out()

    def _describe_selection(self) -> None:
        """The selected boundary in words, for a screen reader."""
        line = None if self._drawing is None else self._drawing.line(self._drawing.selected)
        place = self.lane_in_hand
        lane = "" if place is None or self._picture is None else f" Lane in hand: {self._picture.lanes[place].label}."
        self.setAccessibleDescription(("No boundary is selected." if line is None else self._words(line)) + lane)

    @property
    def _clock(self) -> Rate:
        assert self._picture is not None, "without a trial there is no clock"
        return self._picture.clock

    def _words(self, line: MarkLine | None) -> str:
        if line is None or self._drawing is None:
            return ""
        return line_text(self._drawing.marks, line, self._drawing.clock)

    # From places on the screen to boundaries and samples

    def _time_at(self, x: float) -> float:
        return self._span.begin_s + x / max(self._canvas.width, 1) * self._span.width_s

    def _sample_at(self, x: float) -> int:
        if self._picture is None:
            return 0
        return nearest_sample(self._time_at(min(max(x, 0.0), float(self._canvas.width))), self._picture.clock)

    def _line_at(self, x: float) -> MarkLine | None:
        drawing = self._drawing
        if drawing is None:
            return None
        px_per_s = max(self._canvas.width, 1) / self._span.width_s
        per_s = float(drawing.clock)  # where the cursor is among the samples, not which sample it is
        return drawing.lines.nearest(
            self._time_at(x) * per_s, REACH_PX / px_per_s * per_s, drawing.selected,
            lambda line: drawing.seen(line, px_per_s),
        )  # fmt: skip
