"""The traces of one trial with its marks: a picture goes in, gestures come out.

    plot = TrialPlot()
    plot.set_trial(picture)            draws a TrialPicture (lanes, clock, length, marks, levels); None empties the plot
    plot.set_marks(marks, levels)      cheap: draws other marks of the same trial; called at each move of a drag
    plot.select(address)               shows a boundary as selected (None: none) and brings it into view; no signal
    plot.show_span(Span(1.0, 4.0))     sees these seconds; plot.span is what is seen now, fit_all() sees all
    plot.movement_area()               QRect and value limits of the first movement lane, to set things level with it
    plot.lanes_area()                  QRect of all lanes

Signals (addresses are phasemark.model.mark_edits.Address, samples are whole numbers on the recording's clock):

    selected(Address | None)           the user selected a boundary, or none
    dragStarted(Address)               then dragMoved(Address, sample) at each move, and exactly one of
    dragFinished(Address, sample)      on release (also where the boundary came back to its start), and
    dragCancelled(Address)             on Escape, right click, or when the mouse or the trial was taken away
    nudged(Address, samples)           signed step by the arrow keys (1 sample, 10 ms with Shift, 100 ms with Ctrl)
    repPicked(rep id)                  a click inside a rep, on no boundary
    hovered(text)                      what is under the cursor in words, empty for nothing
    spanChanged(Span)                  other seconds are seen
    areasChanged()                     movement_area() and lanes_area() have changed

While a boundary is dragged the plot draws only what set_marks gives it: whoever owns the marks moves it,
clamps it, and gives the marks from before the drag back when it is cancelled.
"""

from collections.abc import Iterable
from dataclasses import replace

from PySide6.QtCore import QEvent, QRect, QRectF, Qt, Signal
from PySide6.QtGui import QFocusEvent, QFontMetricsF, QKeyEvent, QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from phasemark.model.clock import nearest_sample, seconds
from phasemark.model.mark_edits import Address
from phasemark.model.marks import Marks
from phasemark.window.boundary_overlay import REACH_PX
from phasemark.window.lane_gutter import LaneGutter
from phasemark.window.lane_layout import Band, lay_out, value_limits
from phasemark.window.mark_lines import MarkLine, MarkLines
from phasemark.window.mark_words import line_text, time_text
from phasemark.window.marks_drawing import MarksDrawing, changed_stretches
from phasemark.window.palette import scheme_of
from phasemark.window.plot_keys import Drop, FitAll, Move, Nudge, Step, Zoom, wish_of
from phasemark.window.rep_header import header_height
from phasemark.window.tick_values import Tick
from phasemark.window.time_axis import TimeAxis, time_ticks
from phasemark.window.trace_canvas import TraceCanvas
from phasemark.window.trace_gestures import TraceGestures
from phasemark.window.trial_picture import Levels, TrialPicture
from phasemark.window.view_span import Span, kept_within, moved, showing, whole, zoomed

NOTHING_CHOSEN = "Choose a trial to see its traces and marks here."
_ZOOM_STEP = 0.8
_LEAST_SAMPLES = 12
_LANE_GAP = 7.0
_FOCUS_PX = 2
_LOOKS = (QEvent.Type.PaletteChange, QEvent.Type.FontChange, QEvent.Type.StyleChange)


class TrialPlot(QWidget):
    """One trial on one time axis; the module's first lines say what goes in and what comes out."""

    selected = Signal(object)
    dragStarted = Signal(object)
    dragMoved = Signal(object, object)
    dragFinished = Signal(object, object)
    dragCancelled = Signal(object)
    nudged = Signal(object, object)
    repPicked = Signal(object)
    hovered = Signal(str)
    spanChanged = Signal(object)
    areasChanged = Signal()

    _ready = False

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Traces and boundaries of the trial")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setBackgroundRole(QPalette.ColorRole.Base)
        self.setAutoFillBackground(True)
        self._picture: TrialPicture | None = None
        self._drawing: MarksDrawing | None = None
        self._limits: tuple[tuple[float, float], ...] = ()
        self._bands: tuple[Band, ...] = ()
        self._span = Span(0.0, 1.0)
        self._scheme = scheme_of(self.palette())
        self._gestures = TraceGestures(self._line_at, self._sample_at)
        self._canvas = TraceCanvas(self._scheme, self.font(), self._gestures, self._on_resized)
        self._gutter, self._axis = LaneGutter(self._scheme), TimeAxis(self._scheme)
        self._message = QLabel(NOTHING_CHOSEN)
        self._place_parts()
        self._connect_gestures()
        self._ready = True
        self.set_trial(None)

    def _place_parts(self) -> None:
        grid = QGridLayout(self)
        grid.setContentsMargins(_FOCUS_PX, _FOCUS_PX, _FOCUS_PX, _FOCUS_PX)
        grid.setSpacing(0)
        grid.addWidget(self._gutter, 0, 0)
        grid.addWidget(self._canvas.view, 0, 1)
        grid.addWidget(self._axis, 1, 0, 1, 2)
        self._message.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._message.setWordWrap(True)
        grid.addWidget(self._message, 0, 0, 2, 2)

    def _connect_gestures(self) -> None:
        gestures = self._gestures
        gestures.pressed.connect(self._on_pressed)
        gestures.hovered.connect(self._on_hovered)
        gestures.dragStarted.connect(self._on_drag_started)
        gestures.dragMoved.connect(self._on_drag_moved)
        gestures.dragFinished.connect(self._on_drag_finished)
        gestures.dragCancelled.connect(self._on_drag_cancelled)
        gestures.clicked.connect(self._on_clicked)
        gestures.panned.connect(self._on_panned)
        gestures.zoomed.connect(self._on_zoomed)

    # What goes in

    def set_trial(
        self, picture: TrialPicture | None, *, keep_view: bool = False, message: str = NOTHING_CHOSEN
    ) -> None:
        """Draw another trial, or the message where there is none.

        keep_view sees the same seconds and selects the same boundary as before (the same trial with other settings).
        """
        self._gestures.cancel()
        kept = self.selected_address if keep_view else None
        self._picture, self._drawing = picture, None
        self._limits = () if picture is None else tuple(value_limits(lane) for lane in picture.lanes)
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
        dragged = self._gestures.dragged
        if dragged is not None and lines.line(dragged.address) is None:
            self._gestures.cancel()

    def select(self, address: Address | None) -> None:
        """Show a boundary as selected and bring it into view; None, or one that is not there, selects none."""
        drawing = self._drawing
        if drawing is None or self._picture is None:
            return
        line = drawing.line(address)
        after = replace(drawing, selected=None if line is None else line.address)
        self._redraw_marks(after, changed_stretches(drawing, after))
        if line is not None:
            time = seconds(line.sample, self._picture.clock)
            self.show_span(showing(self._span, time, whole(self._picture.duration_s)))
        self._show_times()
        self._describe_selection()

    def show_span(self, span: Span) -> None:
        """See these seconds, as far as the recording goes."""
        if self._picture is None:
            return
        before = self._span
        self._span = kept_within(span, whole(self._picture.duration_s), self._least_s())
        self._canvas.set_span(self._span)
        self._show_times()
        if self._span != before:
            self.spanChanged.emit(self._span)

    def fit_all(self) -> None:
        """See the whole recording."""
        if self._picture is not None:
            self.show_span(whole(self._picture.duration_s))

    # What is shown now

    @property
    def span(self) -> Span:
        """The seconds that are seen."""
        return self._span

    @property
    def selected_address(self) -> Address | None:
        """The selected boundary."""
        return None if self._drawing is None else self._drawing.selected

    def movement_area(self) -> tuple[QRect, tuple[float, float]] | None:
        """Where the first movement lane lies in this widget, and the values at its lower and upper edge."""
        band = None if self._drawing is None else self._drawing.movement_band
        if band is None:
            return None
        at = self._canvas.view.geometry()
        return QRect(at.x(), at.y() + round(band.top), at.width(), round(band.height)), (band.at_bottom, band.at_top)

    def lanes_area(self) -> QRect:
        """Where all lanes lie in this widget, below their header."""
        header = 0 if self._drawing is None else round(self._drawing.header)
        return self._canvas.view.geometry().adjusted(0, header, 0, 0)

    # Layout and look

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
        self._bands = lay_out(lanes, self._limits, header + _LANE_GAP, bottom - _LANE_GAP, _LANE_GAP)
        if picture is not None:
            self._drawing = MarksDrawing(
                MarkLines(picture.marks), picture.clock, picture.levels or {}, lanes, self._bands, header,
                float(self._canvas.width), bottom, self._scheme,
                selected=self.selected_address, time_ticks=self._time_ticks(),
            )  # fmt: skip
        self._gutter.set_lanes(lanes, self._bands, self._scheme)
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
        tag = None if line is None else (seconds(line.sample, clock), time_text(line.sample, clock))
        self._axis.set_axis(self._span, shown, float(self._gutter.sizeHint().width()), tag, self._scheme)

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

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show where the keys go."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """The keys go elsewhere."""
        super().focusOutEvent(event)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """A frame around the traces while they have the keyboard."""
        if self.hasFocus():
            painter = QPainter(self)
            painter.setPen(QPen(self.palette().color(QPalette.ColorRole.Highlight), _FOCUS_PX))
            painter.drawRect(QRectF(self.rect()).adjusted(1, 1, -1, -1))
            painter.end()

    def _describe_selection(self) -> None:
        """The selected boundary in words, for a screen reader."""
        line = None if self._drawing is None else self._drawing.line(self._drawing.selected)
        self.setAccessibleDescription("No boundary is selected." if line is None else self._words(line))

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
        return nearest_sample(self._time_at(x), self._picture.clock)

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

    # What the mouse does

    def _pick(self, address: Address | None) -> None:
        """Select for the user, and tell."""
        if address != self.selected_address:
            self.select(address)
            self.selected.emit(address)

    def _on_pressed(self, line: MarkLine | None) -> None:
        self.setFocus(Qt.FocusReason.MouseFocusReason)
        if line is not None:
            self._pick(line.address)

    def _on_hovered(self, line: MarkLine | None) -> None:
        drawing = self._drawing
        address = None if line is None else line.address
        if drawing is not None and drawing.hovered != address:
            after = replace(drawing, hovered=address)
            self._redraw_marks(after, changed_stretches(drawing, after))
            self.hovered.emit(self._words(line))

    def _on_drag_started(self, line: MarkLine) -> None:
        self.dragStarted.emit(line.address)

    def _within(self, sample: int) -> int:
        return min(max(sample, 0), 0 if self._picture is None else self._picture.length)

    def _on_drag_moved(self, line: MarkLine, sample: int) -> None:
        self.dragMoved.emit(line.address, self._within(sample))

    def _on_drag_finished(self, line: MarkLine, sample: int) -> None:
        self.dragFinished.emit(line.address, self._within(sample))

    def _on_drag_cancelled(self, line: MarkLine) -> None:
        self.dragCancelled.emit(line.address)

    def _on_clicked(self, x: float) -> None:
        rep = None if self._drawing is None else self._drawing.lines.rep_at(self._sample_at(x))
        self._pick(None)
        if rep is not None:
            self.repPicked.emit(rep.id)

    def _on_panned(self, px: float) -> None:
        self._move_by(-px / max(self._canvas.width, 1))

    def _move_by(self, share: float) -> None:
        if self._picture is not None:
            self.show_span(moved(self._span, share * self._span.width_s, whole(self._picture.duration_s)))

    def _on_zoomed(self, steps: float, x: float) -> None:
        self._zoom(steps, self._time_at(x))

    def _zoom(self, steps: float, about_s: float) -> None:
        if self._picture is not None:
            limits = whole(self._picture.duration_s)
            self.show_span(zoomed(self._span, _ZOOM_STEP**steps, about_s, limits, self._least_s()))

    # What the keyboard does

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Keys of the traces, as plot_keys names them; none but Escape while a boundary is dragged."""
        wish = wish_of(event.key(), event.modifiers(), has_selection=self.selected_address is not None)
        if self._picture is None or wish is None:
            super().keyPressEvent(event)
            return
        if isinstance(wish, Drop):
            if not self._gestures.cancel():
                self._drop_selection(event)
        elif self._gestures.dragged is None:
            self._do(wish)

    def _drop_selection(self, event: QKeyEvent) -> None:
        if self.selected_address is None:
            super().keyPressEvent(event)
        self._pick(None)

    def _do(self, wish: Nudge | Step | Zoom | Move | FitAll) -> None:
        address, drawing = self.selected_address, self._drawing
        if isinstance(wish, Nudge) and address is not None and drawing is not None:
            self.nudged.emit(address, wish.samples(drawing.clock))
        elif isinstance(wish, Step):
            self._step(wish.way)
        elif isinstance(wish, Zoom):
            self._zoom(wish.way, self._zoom_centre())
        elif isinstance(wish, Move):
            self._move_by(wish.share)
        elif isinstance(wish, FitAll):
            self.fit_all()

    def _zoom_centre(self) -> float:
        """The selected boundary where it is seen, else the middle."""
        line = None if self._drawing is None else self._drawing.line(self._drawing.selected)
        time = (
            self._span.begin_s if line is None or self._drawing is None else seconds(line.sample, self._drawing.clock)
        )
        seen = line is not None and self._span.begin_s <= time <= self._span.end_s
        return time if seen else (self._span.begin_s + self._span.end_s) / 2

    def _step(self, way: int) -> bool:
        """Select the next or previous boundary; whether there was one."""
        drawing = self._drawing
        if drawing is None:
            return False
        rate = drawing.clock
        low, high = (nearest_sample(t, rate) for t in (self._span.begin_s, self._span.end_s))
        line = drawing.lines.step(drawing.selected, way, low, high)
        if line is not None:
            self._pick(line.address)
        return line is not None

    def focusNextPrevChild(self, next: bool) -> bool:
        """Tab walks the boundaries once one is selected, and leaves at either end or after Escape."""
        if self.selected_address is not None and self._step(1 if next else -1):
            return True
        return super().focusNextPrevChild(next)
