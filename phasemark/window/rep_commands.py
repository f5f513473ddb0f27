"""What a person does with the rep in hand: accept and go on, exclude, delete, split, merge, add, judge."""

from collections.abc import Callable

from PySide6.QtCore import QObject, Signal
from shiboken6 import isValid

from phasemark.model.checking import Spot, previous_to_check
from phasemark.model.clock import nearest_sample
from phasemark.model.errors import PhasemarkError
from phasemark.model.mark_edits import boundary_at
from phasemark.model.marks import Marks, MarksError
from phasemark.model.rep_edits import free_stretch
from phasemark.session import rep_edits
from phasemark.session.blinding import offered
from phasemark.session.excluding import exclude
from phasemark.session.session import Session
from phasemark.session.trial_signals import TrialSignals
from phasemark.window.exclude_dialog import ExcludeChoice, ExcludeDialog, choices_for
from phasemark.window.trial_desk import TrialDesk

NOTHING_LEFT = "Every complete repetition of the study is checked or excluded."
NO_OTHER = "No other repetition is left to look at."
_SHOW_REP = "Drag over the repetition, or arrows and Return at its begin. Escape leaves it."
_NO_REP = "Take a repetition in hand first: click it in the traces."


class RepCommands(QObject):
    """Commands on the rep in hand of a desk. goTo(trial, rep) asks for another rep to be brought into view."""

    goTo = Signal(str, object)
    said = Signal(str)
    problem = Signal(object)

    def __init__(self, desk: TrialDesk, session: Callable[[], Session | None]) -> None:
        super().__init__(desk)
        self._desk, self._session = desk, session
        self.dialog: ExcludeDialog | None = None
        desk.marks_table.checkToggled.connect(self._on_check)
        desk.marks_table.exclusionTyped.connect(self._on_exclusion_typed)

    def _with_rep(self, work: Callable[[Session, TrialSignals, int], None]) -> None:
        """Do something with the rep in hand; what is refused is said."""
        session, signals, rep = self._session(), self._desk.signals, self._desk.rep_in_hand
        if session is None or signals is None:
            return
        self._desk.gestures.commit()
        if rep is None:
            self.said.emit(_NO_REP)
            return
        self._guarded(lambda: work(session, signals, rep))

    def _guarded(self, work: Callable[[], None]) -> None:
        try:
            work()
        except PhasemarkError as problem:
            self.problem.emit(problem)

    def _marks(self, session: Session, signals: TrialSignals) -> Marks:
        return session.study.trial(signals.trial.id).marks_of(session.rater)

    def _go(self, spot: Spot | None, where_none: str = NOTHING_LEFT) -> None:
        if spot is None:
            self.said.emit(where_none)
        else:
            self.goTo.emit(*spot)

    # Checking

    def accept(self) -> None:
        """Check the rep in hand as it stands and go to the next one to look at."""
        self._with_rep(lambda session, signals, rep: self._go(rep_edits.accept_rep(session, signals.trial.id, rep)))

    def accept_trial(self) -> None:
        """Check every rep of the trial that is still to be looked at and go on."""
        session, signals = self._session(), self._desk.signals
        if session is not None and signals is not None:
            self._desk.gestures.commit()
            self._guarded(lambda: self._go(rep_edits.accept_trial(session, signals.trial.id)))

    def previous(self) -> None:
        """Go back to the rep to look at before this one."""

        def work(session: Session, signals: TrialSignals, rep: int) -> None:
            self._go(previous_to_check(offered(session), session.rater, signals.trial.id, rep), NO_OTHER)

        self._with_rep(work)

    def take_back_acceptance(self) -> None:
        """The rep in hand is no longer checked."""

        def work(session: Session, signals: TrialSignals, rep: int) -> None:
            rep_edits.take_back_acceptance(session, signals.trial.id, rep)

        self._with_rep(work)

    def _on_check(self, rep: int, checked: bool) -> None:
        session, signals = self._session(), self._desk.signals
        if session is None or signals is None:
            return
        change = rep_edits.accept_rep if checked else rep_edits.take_back_acceptance
        self._guarded(lambda: _ignore(change(session, signals.trial.id, rep)))

    # Reps

    def delete(self) -> None:
        """Delete the rep in hand; the one after it is then in hand."""

        def work(session: Session, signals: TrialSignals, rep: int) -> None:
            following = rep_edits.delete_rep(session, signals, rep)
            if following is not None:
                self._desk.take_rep(following)

        self._with_rep(work)

    def split(self) -> None:
        """Split the rep in hand at the selected boundary, without one in the middle of the rep."""

        def work(session: Session, signals: TrialSignals, rep: int) -> None:
            rep_edits.split_rep(session, signals, rep, self._place(session, signals, rep))

        self._with_rep(work)

    def _place(self, session: Session, signals: TrialSignals, rep_id: int) -> int:
        """Where to split: at the selected boundary if it lies inside the rep, else in the middle of the rep."""
        marks, address = self._marks(session, signals), self._desk.plot.selected_address
        rep = marks.rep(rep_id)
        if address is not None and rep.begin < boundary_at(marks, address).sample < rep.end:
            return boundary_at(marks, address).sample
        return (rep.begin + rep.end) // 2

    def merge(self) -> None:
        """Make one rep of the rep in hand and the one after it."""

        def work(session: Session, signals: TrialSignals, rep: int) -> None:
            rep_edits.merge_with_next(session, signals, rep)

        self._with_rep(work)

    def add(self) -> None:
        """Add a rep over what is seen, as far as it is free there."""
        session, signals = self._session(), self._desk.signals
        if session is None or signals is None:
            return
        self._desk.gestures.commit()
        span, clock = self._desk.plot.span, signals.trial.clock
        begin, end = nearest_sample(span.begin_s, clock), nearest_sample(span.end_s, clock)
        self._guarded(lambda: self.add_over(begin, end))

    def draw(self) -> None:
        """Ask for a stretch of the traces, and add a rep over it."""
        session, signals = self._session(), self._desk.signals
        if session is None or signals is None:
            return
        self._desk.ask_stretch(_SHOW_REP, self._on_stretch)

    def _on_stretch(self, begin: int, end: int) -> None:
        self._guarded(lambda: self.add_over(begin, end))

    def add_over(self, begin: int, end: int) -> None:
        """Add a rep over a stretch, as far as it is free around its middle."""
        session, signals = self._session(), self._desk.signals
        if session is None or signals is None:
            return
        free = free_stretch(self._marks(session, signals), (begin + end) // 2)
        if free is None:
            raise MarksError("There is a repetition already in the middle of this stretch; show where there is none.")
        self._desk.take_rep(rep_edits.add_rep(session, signals, max(begin, free[0]), min(end, free[1])))

    def toggle_complete(self) -> None:
        """Take the rep in hand as complete where it is incomplete, and the other way round."""

        def work(session: Session, signals: TrialSignals, rep: int) -> None:
            complete = self._marks(session, signals).rep(rep).complete
            rep_edits.mark_complete(session, signals, rep, not complete)

        self._with_rep(work)

    # Excluding

    def ask_exclusion(self) -> None:
        """Ask what to exclude and why."""
        session, signals, rep_id = self._session(), self._desk.signals, self._desk.rep_in_hand
        if session is None or signals is None:
            return
        self._desk.gestures.commit()
        trial = session.study.trial(signals.trial.id)
        marks = self._marks(session, signals)
        rep = None if rep_id is None else marks.rep(rep_id)
        words = "" if rep is None else rep_edits.rep_words(trial, marks, rep.id)
        self.dialog = ExcludeDialog(choices_for(trial, rep, words), self._desk)
        self.dialog.decided.connect(self._on_excluded)
        self.dialog.finished.connect(self.dialog.deleteLater)
        self.dialog.open()

    def close_dialog(self) -> None:
        """Put the dialog away, if it is open; nothing is excluded."""
        if self.dialog is not None and isValid(self.dialog):
            self.dialog.reject()
        self.dialog = None

    def _on_excluded(self, choice: ExcludeChoice, reason: str) -> None:
        session, signals = self._session(), self._desk.signals
        if session is not None and signals is not None:
            trial = session.study.trial(signals.trial.id)
            self._guarded(
                lambda: _ignore(exclude(session, trial, rep=choice.rep, channels=choice.channels, reason=reason))
            )

    def take_back_exclusion(self) -> None:
        """Take the exclusion of the rep in hand back, or that of the trial where the rep has none."""

        def work(session: Session, signals: TrialSignals, rep_id: int) -> None:
            trial = session.study.trial(signals.trial.id)
            rep = self._marks(session, signals).rep(rep_id)
            out = [c for c in trial.emg if any((e.muscle, e.side) == (c.muscle, c.side) for e in rep.excluded_channels)]
            if rep.excluded is not None:
                exclude(session, trial, rep=rep, channels=(), reason=None)
            elif out:
                exclude(session, trial, rep=rep, channels=tuple(out), reason=None)
            elif trial.excluded is not None:
                exclude(session, trial, rep=None, channels=(), reason=None)
            elif trial.excluded_channels:
                exclude(session, trial, rep=None, channels=trial.emg, reason=None)
            else:
                self.said.emit("Nothing is excluded here.")

        self._with_rep(work)

    def _on_exclusion_typed(self, rep_id: int, reason: str) -> None:
        session, signals = self._session(), self._desk.signals
        if session is not None and signals is not None:
            trial = session.study.trial(signals.trial.id)
            rep = self._marks(session, signals).rep(rep_id)
            self._guarded(lambda: _ignore(exclude(session, trial, rep=rep, channels=(), reason=reason or None)))


def _ignore(_: object) -> None:
    """What an edit returns is of no use here."""
