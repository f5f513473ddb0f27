"""Brings places of a trial into view and marks them in its traces, as soon as the trial is there."""

from dataclasses import dataclass

from PySide6.QtCore import QObject, Signal

from phasemark.model.clock import seconds
from phasemark.window.traces.trial_picture import LanePlace
from phasemark.window.traces.view_span import Span
from phasemark.window.trial_desk import TrialDesk

_LEAST_AROUND_S = 0.75


@dataclass(frozen=True, slots=True)
class Shown:
    """Places (s) in a lane of a trial, what they are called, and which of them is looked at; none: the whole lane."""

    trial: str
    lane: int
    places: tuple[tuple[float, float], ...]
    words: str
    place: int = 0


class ShownPlaces(QObject):
    """Marks places on a desk; goTo(trial, None) asks for another trial."""

    goTo = Signal(str, object)

    def __init__(self, desk: TrialDesk) -> None:
        super().__init__(desk)
        self._desk = desk
        self._shown: Shown | None = None
        desk.shown.connect(self._on_shown)

    def show(self, shown: Shown) -> None:
        """Bring places into view; where their trial has to be read first, as soon as it is there."""
        self._shown = shown
        if self._desk.trial_id != shown.trial:
            self.goTo.emit(shown.trial, None)
        elif self._desk.signals is not None:
            self._mark(shown)

    def forget(self) -> None:
        """Mark no places any more."""
        self._shown = None
        self._desk.plot.set_places(())

    def _on_shown(self, trial_id: str) -> None:
        shown = self._shown
        if shown is not None and shown.trial == trial_id:
            self._mark(shown)

    def _mark(self, shown: Shown) -> None:
        signals, plot = self._desk.signals, self._desk.plot
        if signals is None:
            return
        if not shown.places:
            length = seconds(signals.trial.length, signals.trial.clock)
            plot.set_places((LanePlace(shown.lane, 0.0, length, shown.words, chosen=True, whole=True),))
            plot.fit_all()
            return
        plot.set_places(
            tuple(
                LanePlace(shown.lane, begin, end, shown.words, chosen=number == shown.place)
                for number, (begin, end) in enumerate(shown.places)
            )
        )
        begin, end = shown.places[shown.place]
        around = max(_LEAST_AROUND_S, end - begin)
        plot.show_span(Span(begin - around, end + around))
