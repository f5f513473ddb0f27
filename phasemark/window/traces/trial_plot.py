"""The traces of one trial with its marks: a picture goes in, gestures come out.

    plot = TrialPlot()
    plot.set_trial(picture)            draws a TrialPicture (lanes, clock, length, marks, levels); None empties the plot
    plot.set_marks(marks, levels)      cheap: draws other marks of the same trial; called at each move of a drag
    plot.select(address)               shows a boundary as selected (None: none) and brings it into view; no signal
    plot.set_places(places)            marks LanePlaces that want a look, hatched in their lane; () marks none
    plot.show_span(Span(1.0, 4.0))     sees these seconds; plot.span is what is seen now, fit_all() sees all
    plot.set_readout(readout)          values under the cursor, beside the lanes (phasemark.session.readout); None: none
    plot.cursor_sample()               the sample under the mouse, None where the mouse is elsewhere
    plot.ask_stretch("what for")       lets the user choose a stretch by a drag, or by arrow keys and Return;
                                       drop_stretch() takes that back
    plot.set_snaps(candidates)         while a boundary is dragged: what it may snap to (phasemark.phases.snapping)
    plot.set_snap_target(candidate)    which of them it has snapped to; None: none
    plot.samples_in(8)                 how many samples 8 logical pixels are; plot.snapping is off while Alt is held
    plot.movement_area()               QRectF and value limits of the first movement lane, to set things level with it
    plot.lanes_area()                  QRect of all lanes
    plot.enlarge(1)                    draws the lane in hand or under the mouse, else all muscles, larger by a step;
                                       that stays from trial to trial. plot.fit_scales() draws them as they fit
    plot.hold_scales(True)             the same scale of a lane, in values, in every trial; a view and no edit, as all

Signals (addresses are phasemark.model.mark_edits.Address, samples are whole numbers on the recording's clock):

    selected(Address | None)           the user selected a boundary, or none
    cursorMoved(sample | None)         another sample is under the mouse; None: the mouse is elsewhere
    stretchChosen(begin, end)          the stretch that was asked for (begin < end), or
    stretchDropped()                   Escape, right click, or another trial: none was chosen
    dragStarted(Address)               then dragMoved(Address, sample) at each move, and exactly one of
    dragFinished(Address, sample)      on release (also where the boundary came back to its start), and
    dragCancelled(Address)             on Escape, right click, or when the mouse or the trial was taken away
    nudged(Address, samples)           signed step by the arrow keys (1 sample, 10 ms with Shift, 100 ms with Ctrl)
    repPicked(rep id)                  a click inside a rep, on no boundary
    hovered(text)                      what is under the cursor in words (a boundary, a rep in the strip above the
                                       lanes with what makes it doubtful), empty for nothing
    spanChanged(Span)                  other seconds are seen
    areasChanged()                     movement_area() and lanes_area() have changed

A boundary, or the end of a stretch, that is dragged to an edge of the view takes the view along.
While a boundary is dragged the plot draws only what set_marks gives it: whoever owns the marks moves it,
clamps it, and gives the marks from before the drag back when it is cancelled.
"""

from dataclasses import replace

from PySide6.QtCore import QEvent, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import QWidget

from phasemark.model.clock import nearest_sample, seconds
from phasemark.model.mark_edits import Address
from phasemark.model.marks import Marks
from phasemark.window.traces.lane_stretches import stretch_words
from phasemark.window.traces.mark_lines import MarkLine
from phasemark.window.traces.mark_words import place_text, rep_sentence
from phasemark.window.traces.marks_drawing import changed_stretches
from phasemark.window.traces.plot_keys import Drop, FitAll, Move, Nudge, PickLane, Step, Zoom, wish_of
from phasemark.window.traces.pointer_drawing import shift_text
from phasemark.window.traces.trial_picture import Levels, TrialPicture
from phasemark.window.traces.trial_stretch import SET_KEYS, TrialStretch
from phasemark.window.traces.trial_view import FOCUS_PX, NOTHING_CHOSEN

DRAG_KEYS = "Escape: back. Alt: no snapping. Shift: apart from its neighbour."
_HELD = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier


class TrialPlot(TrialStretch):
    """One trial on one time axis; the module's first lines say what goes in and what comes out."""

    selected = Signal(object)
    dragStarted = Signal(object)
    dragMoved = Signal(object, object)
    dragFinished = Signal(object, object)
    dragCancelled = Signal(object)
    nudged = Signal(object, object)
    repPicked = Signal(object)
    hovered = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Traces and boundaries of the trial")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._told = ""
        self._connect_gestures()
        self.set_trial(None)

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
        self._gutter.scaled.connect(lambda place, steps: self.scale_lanes(steps, (place,)))
        self._gutter.fitted.connect(self._on_lane_fitted)
        self._gutter.picked.connect(self._on_lane_picked)

    def set_trial(
        self, picture: TrialPicture | None, *, keep_view: bool = False, message: str = NOTHING_CHOSEN
    ) -> None:
        """Draw another trial, or the message where there is none; a drag ends unless its view is kept."""
        super().set_trial(picture, keep_view=keep_view, message=message)
        self._drop_lost_drag()

    def set_marks(self, marks: Marks, levels: Levels | None) -> None:
        """Draw other marks of the same trial; a drag whose boundary is no longer there ends."""
        super().set_marks(marks, levels)
        self._drop_lost_drag()

    def _drop_lost_drag(self) -> None:
        dragged, drawing = self._gestures.dragged, self._drawing
        if dragged is not None and (drawing is None or drawing.line(dragged.address) is None):
            self._gestures.cancel()

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
            painter.setPen(QPen(self.palette().color(QPalette.ColorRole.Highlight), FOCUS_PX))
            painter.drawRect(QRectF(self.rect()).adjusted(1, 1, -1, -1))
            painter.end()

    # What the mouse does

    def _pick(self, address: Address | None, *, reveal: bool = True) -> None:
        """Select for the user, and tell."""
        if address != self.selected_address:
            self.select(address, reveal=reveal)
            self.selected.emit(address)

    def _on_pressed(self, line: MarkLine | None) -> None:
        self.setFocus(Qt.FocusReason.MouseFocusReason)
        if line is not None:
            self._pick(line.address, reveal=False)

    def _on_hovered(self, line: MarkLine | None) -> None:
        drawing = self._drawing
        address = None if line is None else line.address
        if drawing is not None and drawing.hovered != address:
            after = replace(drawing, hovered=address)
            self._redraw_marks(after, changed_stretches(drawing, after))

    def _on_pointed(self, at: QPointF | None) -> None:
        super()._on_pointed(at)
        text = self._words_at(at)
        if text != self._told:
            self._told = text
            self.hovered.emit(text)

    def _words_at(self, at: QPointF | None) -> str:
        """What is under the mouse: a boundary or, in the strip above the lanes, a rep."""
        drawing = self._drawing
        if at is None or drawing is None:
            return ""
        start = self._pointer.start
        dragged = drawing.line(drawing.selected) if start is not None else None
        if start is not None and dragged is not None:
            by = shift_text(start, dragged.sample, drawing.clock)
            return f"{place_text(drawing.marks, dragged)}: {by}. {DRAG_KEYS}"
        line = drawing.line(drawing.hovered)
        if line is not None:
            return self._words(line)
        if at.y() >= drawing.header:
            return stretch_words(drawing, self._sample_at(at.x()), at.y())
        rep = drawing.lines.rep_at(self._sample_at(at.x()))
        return "" if rep is None else rep_sentence(rep, drawing.numbers.get(rep.id))

    def _on_drag_started(self, line: MarkLine) -> None:
        self.dragStarted.emit(line.address)

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
        self.move_by(-px / max(self._canvas.width, 1))

    def _on_lane_picked(self, place: int) -> None:
        self.setFocus(Qt.FocusReason.MouseFocusReason)
        self.take_lane(None if place == self.lane_in_hand else place)

    def _on_lane_fitted(self, place: int) -> None:
        self.take_lane(None)  # its first click took it in hand
        self.fit_lanes((place,))

    def _on_zoomed(self, steps: float, x: float) -> None:
        self.zoom(steps, self._time_at(x))

    # What the keyboard does

    def event(self, event: QEvent) -> bool:
        """Return sets the ends of a stretch that is asked for, whatever else it means in the window."""
        if (
            isinstance(event, QKeyEvent)
            and event.type() is QEvent.Type.ShortcutOverride
            and self._gestures.asking
            and event.key() in SET_KEYS
            and not event.modifiers() & _HELD
        ):
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Keys of the traces, as plot_keys names them; none but Escape and Alt while a boundary is dragged."""
        if self.stretch_key(event.key(), event.modifiers()):
            return
        if event.key() == Qt.Key.Key_Alt and self._gestures.dragged is not None:
            self._gestures.set_free(True)
            return
        wish = wish_of(event.key(), event.modifiers(), has_selection=self.selected_address is not None)
        if self._picture is None or wish is None:
            super().keyPressEvent(event)
            return
        if isinstance(wish, Drop):
            if not self._gestures.cancel() and not self.drop_stretch():
                self._drop_selection(event)
        elif self._gestures.dragged is None:
            self._do(wish)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        """Alt let go: what is dragged snaps again."""
        if event.key() == Qt.Key.Key_Alt and self._gestures.dragged is not None:
            self._gestures.set_free(False)
        else:
            super().keyReleaseEvent(event)

    def _drop_selection(self, event: QKeyEvent) -> None:
        if self.selected_address is None:
            super().keyPressEvent(event)
        self._pick(None)

    def _do(self, wish: Nudge | Step | Zoom | Move | FitAll | PickLane) -> None:
        address, drawing = self.selected_address, self._drawing
        if isinstance(wish, Nudge) and address is not None and drawing is not None:
            self.nudged.emit(address, wish.samples(drawing.clock))
        elif isinstance(wish, Step):
            self._step(wish.way)
        elif isinstance(wish, Zoom):
            self.zoom(wish.way, self._zoom_centre())
        elif isinstance(wish, Move):
            self.move_by(wish.share)
        elif isinstance(wish, PickLane):
            self._step_lane(wish.way)
        elif isinstance(wish, FitAll):
            self.fit_all()

    def _step_lane(self, way: int) -> None:
        count, here = len(self._bands), self.lane_in_hand
        there = (0 if way > 0 else count - 1) if here is None else here + way
        self.take_lane(there if 0 <= there < count else None)

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
