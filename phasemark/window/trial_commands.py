"""What is done with the trial in view as a whole: hide what it is while it is marked, remove it."""

from collections.abc import Callable

from PySide6.QtCore import QObject, Signal
from shiboken6 import isValid

from phasemark.model.errors import PhasemarkError
from phasemark.results.study_grid import next_trial
from phasemark.session.blinding import grid_of, name_of, set_blind
from phasemark.session.removing import remove
from phasemark.session.session import Session
from phasemark.window.reason_dialog import ReasonDialog
from phasemark.window.trial_desk import TrialDesk

_REMOVAL = (
    "The trial goes out of the study with its marks, and out of every export. Its recording stays in the study's "
    "folder, and undo brings the trial back while the study is open. Exclude a trial instead if it was done but is "
    "not to count."
)


class TrialCommands(QObject):
    """Commands on the trial of a desk. goTo(trial, rep) asks for another one to be brought into view."""

    goTo = Signal(str, object)
    problem = Signal(object)
    coverChanged = Signal()  # what is shown of the study is hidden, or shown again

    def __init__(self, desk: TrialDesk, session: Callable[[], Session | None]) -> None:
        super().__init__(desk)
        self._desk, self._session = desk, session
        self.dialog: ReasonDialog | None = None

    # Blind marking

    def toggle_blind(self) -> None:
        """Hide numbers, exercise and participant while marking, or show them again."""
        session = self._session()
        if session is None:
            return
        self._desk.gestures.commit()
        set_blind(session, not session.blind, self._desk.trial_id)
        self.coverChanged.emit()
        self._desk.show_cover()
        if session.blind:  # the one in view was seen by its name
            grid = grid_of(session)
            first = next_trial(grid, "", 1, only_to_do=True) or next_trial(grid, "", 1)
            if first is not None:
                self.goTo.emit(first, None)

    # Scales

    def toggle_held_scales(self) -> None:
        """Keep the scales that are seen now in every trial, or let each trial have those that fit it."""
        plot = self._desk.plot
        plot.hold_scales(not plot.scales_held)

    # Removing

    def ask_removal(self) -> None:
        """Ask why the trial in view is to be removed."""
        session, trial_id = self._session(), self._desk.trial_id
        if session is None or not trial_id:
            return
        self._desk.gestures.commit()
        name = name_of(session, session.study.trial(trial_id)) or f"trial {trial_id}"
        dialog = self.dialog = ReasonDialog(
            f"Remove {name}",
            _REMOVAL,
            "Remove",
            example="e.g. added by mistake, another person's recording",
            parent=self._desk,
        )
        dialog.decided.connect(lambda reason, _: self.remove(trial_id, reason))
        dialog.finished.connect(dialog.deleteLater)
        dialog.open()

    def close_dialog(self) -> None:
        """Put the dialog away, if it is open; nothing is removed."""
        if self.dialog is not None and isValid(self.dialog):
            self.dialog.reject()
        self.dialog = None

    def remove(self, trial_id: str, reason: str) -> None:
        """Remove a trial; the one after it is then in view, else the one before it."""
        session = self._session()
        if session is None:
            return
        grid = grid_of(session)
        following = next_trial(grid, trial_id, 1) or next_trial(grid, trial_id, -1)
        try:
            remove(session, session.study.trial(trial_id), reason)
        except PhasemarkError as problem:
            self.problem.emit(problem)
            return
        if following is not None:
            self.goTo.emit(following, None)
