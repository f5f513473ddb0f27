"""A stretch of a trial chosen by keys: a cursor that the arrows move; Return sets its begin, then its end."""

from dataclasses import dataclass, replace

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from phasemark.model.clock import nearest_sample, seconds
from phasemark.window.traces.mark_words import time_text
from phasemark.window.traces.plot_keys import Move, Nudge, Step, Zoom, wish_of
from phasemark.window.traces.pointer_drawing import length_text
from phasemark.window.traces.trial_pointer import TrialPointer
from phasemark.window.traces.view_span import showing, whole

SET_KEYS = (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space)
_PAGE = 0.1  # share of what is seen that Page up and Page down go by
_END_PROMPT = "Arrows and Return at its end."


@dataclass(frozen=True, slots=True)
class _Typed:
    """The cursor of the keys, and where the stretch begins once that is set; samples of the recording's clock."""

    cursor: int
    begin: int | None = None


class TrialStretch(TrialPointer):
    """A trial's picture in which keys choose the stretch that is asked for; a press of the mouse takes over."""

    def __init__(self, parent: QWidget | None = None) -> None:
        self._typed: _Typed | None = None
        super().__init__(parent)
        self._gestures.pressed.connect(self._on_mouse_takes_over)

    def cursor_sample(self) -> int | None:
        """The sample under the cursor of the keys while they choose a stretch, else under the mouse."""
        return super().cursor_sample() if self._typed is None else self._typed.cursor

    def stretch_key(self, key: int, modifiers: Qt.KeyboardModifier) -> bool:
        """Do what a key means while a stretch is asked for; whether it means anything then.

        Arrows go by a sample, by 10 ms with Shift, 100 ms with Ctrl; Page up and down by a tenth of what is seen, up
        and down from boundary to boundary.
        """
        picture = self._picture
        if picture is None or not self._gestures.asking:
            return False
        typed = self._typed or _Typed(self._first_cursor())
        if key in SET_KEYS:
            self._set(typed)
            return True
        wish = wish_of(key, modifiers, has_selection=True)
        if isinstance(wish, Nudge):
            self._go(typed, typed.cursor + wish.samples(picture.clock))
        elif isinstance(wish, Move):
            by = nearest_sample(_PAGE * self._span.width_s, picture.clock)
            self._go(typed, typed.cursor + (by if wish.share > 0 else -by))
        elif isinstance(wish, Step):
            self._go(typed, self._boundary_beside(typed.cursor, wish.way))
        elif isinstance(wish, Zoom):
            self._go(typed, typed.cursor)
            self.zoom(wish.way, seconds(typed.cursor, picture.clock))
        else:
            return False
        return True

    def _first_cursor(self) -> int:
        """Where the cursor of the keys begins: under the mouse, at the selected boundary in view, else in between."""
        under, drawing, clock = self.cursor_sample(), self._drawing, self._clock
        if under is not None:
            return under
        line = None if drawing is None else drawing.line(drawing.selected)
        if line is not None and self._span.begin_s <= seconds(line.sample, clock) <= self._span.end_s:
            return line.sample
        return self._within(nearest_sample((self._span.begin_s + self._span.end_s) / 2, clock))

    def _boundary_beside(self, sample: int, way: int) -> int:
        """The next boundary (way 1) or the one before (-1); the end of the recording where there is none."""
        lines = () if self._drawing is None else self._drawing.lines.lines
        if way > 0:
            return min((line.sample for line in lines if line.sample > sample), default=self._within(2**62))
        return max((line.sample for line in lines if line.sample < sample), default=0)

    def _go(self, typed: _Typed, sample: int) -> None:
        self._show_typed(replace(typed, cursor=self._within(sample)))
        time = seconds(self._within(sample), self._clock)
        if self._picture is not None:
            self.show_span(showing(self._span, time, whole(self._picture.duration_s)))

    def _set(self, typed: _Typed) -> None:
        if typed.begin is None:
            self._pointer = replace(self._pointer, prompt=_END_PROMPT)
            self._show_typed(replace(typed, begin=typed.cursor))
        elif typed.begin != typed.cursor:
            self._gestures.choose(typed.begin, typed.cursor)

    def _show_typed(self, typed: _Typed) -> None:
        self._typed = typed
        stretch = None if typed.begin is None else (typed.begin, typed.cursor)
        self._pointer = replace(self._pointer, stretch=stretch)
        self._tell_cursor()
        self._show_pointer()
        clock = self._clock
        words = f"Cursor at {time_text(typed.cursor, clock)}"
        if typed.begin is not None:
            words += f", {length_text((typed.begin, typed.cursor), clock)} from {time_text(typed.begin, clock)}"
        self.setAccessibleDescription(f"{words}.")

    def _on_mouse_takes_over(self, _: object) -> None:
        if self._typed is not None:
            self._forget_typed()

    def _end_stretch(self) -> None:
        super()._end_stretch()
        if self._typed is not None:
            self._forget_typed()

    def _forget_typed(self) -> None:
        self._typed = None
        self._pointer = replace(self._pointer, stretch=None)
        self._tell_cursor()
        self._show_pointer()
        self._describe_selection()
