"""Stretches placed by hand: a baseline, a plateau, the part of a hold that is measured; and taking them away."""

from collections.abc import Callable

from PySide6.QtCore import QObject, Signal
from shiboken6 import isValid

from phasemark.model.errors import PhasemarkError
from phasemark.model.intervals import Interval, Purpose
from phasemark.model.recording import EmgChannel
from phasemark.model.study import Study, Trial
from phasemark.session.judging import place_interval, remove_interval, useless_interval
from phasemark.session.session import Session
from phasemark.window.placed_dialog import PlacedDialog
from phasemark.window.trial_desk import TrialDesk

_WORDS = {
    Purpose.BASELINE: "the baseline",
    Purpose.PLATEAU: "the plateau",
    Purpose.HOLD: "the stretch of the hold that is measured",
}
_NO_MUSCLE = "Take a muscle in hand first (click its name beside the lane), or let the stretch end over its lane."
_NOTHING = "No stretch is placed in this trial."


class IntervalCommands(QObject):
    """Commands on the intervals of the trial of a desk."""

    said = Signal(str)
    problem = Signal(object)

    def __init__(self, desk: TrialDesk, session: Callable[[], Session | None]) -> None:
        super().__init__(desk)
        self._desk, self._session = desk, session
        self.dialog: PlacedDialog | None = None

    def ask(self, purpose: Purpose, *, alone: bool) -> None:
        """Ask for a stretch of the traces and place it, for all muscles or alone for the one that is meant.

        That is the lane in hand, else the lane under the mouse when the stretch has been chosen.
        """
        session, signals = self._session(), self._desk.signals
        if session is None or signals is None:
            return
        if session.read_only:
            self.problem.emit(session.read_only)
            return
        of = " of one muscle" if alone else ""
        prompt = f"Drag over {_WORDS[purpose]}{of}, or arrows and Return at its begin. Escape leaves it."
        self._desk.ask_stretch(prompt, lambda begin, end: self._place(purpose, begin, end, alone))

    def _place(self, purpose: Purpose, begin: int, end: int, alone: bool) -> None:
        session, signals = self._session(), self._desk.signals
        if session is None or signals is None:
            return
        trial = session.study.trial(signals.trial.id)
        channel = self._muscle_meant(trial) if alone else None
        if alone and channel is None:
            self.said.emit(_NO_MUSCLE)
            return
        try:
            place_interval(session, trial, purpose, begin=begin, end=end, channel=channel)
        except PhasemarkError as problem:
            self.problem.emit(problem)
            return
        self.said.emit(_use_of(session.study, trial, purpose))

    def _muscle_meant(self, trial: Trial) -> EmgChannel | None:
        lane = self._desk.plot.lane_meant()
        place = -1 if lane is None else lane - len(trial.movement)
        return trial.emg[place] if 0 <= place < len(trial.emg) else None

    def show_placed(self) -> None:
        """List what is placed in the trial in view, to take it away."""
        session, trial_id = self._session(), self._desk.trial_id
        if session is None or not trial_id:
            return
        trial = session.study.trial(trial_id)
        if not trial.intervals:
            self.said.emit(_NOTHING)
            return
        self._desk.gestures.commit()
        self.dialog = PlacedDialog(trial, bool(session.read_only), self._desk)
        self.dialog.removed.connect(lambda interval: self._remove(trial_id, interval))
        self.dialog.finished.connect(self.dialog.deleteLater)
        self.dialog.open()

    def close_dialog(self) -> None:
        """Put the list away, if it is open."""
        if self.dialog is not None and isValid(self.dialog):
            self.dialog.reject()
        self.dialog = None

    def _remove(self, trial_id: str, interval: Interval) -> None:
        session = self._session()
        if session is None:
            return
        try:
            remove_interval(session, session.study.trial(trial_id), interval)
        except PhasemarkError as problem:
            self.problem.emit(problem)


def _use_of(study: Study, trial: Trial, purpose: Purpose) -> str:
    """What becomes of a stretch that was placed."""
    placed = f"The {purpose} is placed. Measure (Ctrl+R) to see it in the numbers."
    return useless_interval(study, trial, purpose) or placed
