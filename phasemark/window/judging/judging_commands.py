"""What a person decides about signals and references, from the pages to the session; and places brought into view.

judging = JudgingCommands(desk, lambda: session)
judging.quality, judging.references     the pages
judging.use_session()                   the window has another session, or none
judging.refresh()                       something may have changed: fills the page that is seen, and that alone
judging.to_decide()                     findings still to decide by trial id, for the grid
"""

from collections.abc import Callable, Iterable

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QDialog
from shiboken6 import isValid

from phasemark.model.errors import PhasemarkError
from phasemark.model.intervals import Purpose
from phasemark.model.recording import EmgChannel
from phasemark.model.study import Trial
from phasemark.session.attempt_sketches import AttemptSketches
from phasemark.session.changing_settings import change_settings
from phasemark.session.excluding import exclude
from phasemark.session.judgement_tables import JudgementTables, QualityRow
from phasemark.session.judging import (
    accept_findings,
    borrow_reference,
    choose_attempt,
    forget_choice,
    place_interval,
    remove_interval,
)
from phasemark.session.reference_pictures import AttemptPicture, ReferencePicture
from phasemark.session.session import Session
from phasemark.window.judging.quality_page import QualityPage
from phasemark.window.judging.references_page import ReferencesPage
from phasemark.window.judging.shown_places import Shown, ShownPlaces
from phasemark.window.reason_dialog import ReasonDialog
from phasemark.window.trial_desk import TrialDesk

ALL = "all"


class JudgingCommands(QObject):
    """Both pages over the session of a desk. goTo(trial, rep) asks for a trial to be brought into view."""

    goTo = Signal(str, object)
    problem = Signal(object)
    measureWanted = Signal()
    settingsWanted = Signal(str)

    def __init__(self, desk: TrialDesk, session: Callable[[], Session | None]) -> None:
        super().__init__(desk)
        self._desk, self._session = desk, session
        self._tables: JudgementTables | None = None
        self._plateau: AttemptPicture | None = None
        self.dialog: QDialog | None = None
        self.quality, self.references = QualityPage(), ReferencesPage()
        self.places = ShownPlaces(desk)
        self.places.goTo.connect(self.goTo)
        self._connect()

    def _connect(self) -> None:
        quality, references = self.quality, self.references
        quality.placeWanted.connect(self._show_finding)
        quality.acceptWanted.connect(self.ask_acceptance)
        quality.takeBackWanted.connect(self.take_back)
        quality.excludeWanted.connect(self.ask_exclusion)
        quality.measureWanted.connect(self.measureWanted)
        references.attemptWanted.connect(self._show_attempt)
        references.chooseWanted.connect(self.ask_choice)
        references.borrowWanted.connect(self.ask_borrowing)
        references.ruleWanted.connect(self.back_to_rule)
        references.plateauWanted.connect(self.ask_plateau)
        references.plateauTakenBack.connect(self.take_plateau_back)
        references.positionChanged.connect(self.change_position)
        references.settingsWanted.connect(lambda: self.settingsWanted.emit("normalisation.approach"))
        references.measureWanted.connect(self.measureWanted)
        for page in (quality, references):
            page.done.connect(self.places.forget)
        self._desk.shown.connect(self._on_shown)

    # The session

    def use_session(self) -> None:
        """Show what belongs to the session that is open now."""
        session = self._session()
        self.close_dialog()
        self._plateau = None
        self.places.forget()
        self._tables = None if session is None else JudgementTables(session)
        self.references.use_sketches(None if session is None else AttemptSketches(session))
        self.refresh()

    def refresh(self) -> None:
        """Fill the page that is seen; the other one costs nothing."""
        session, tables = self._session(), self._tables
        if session is None or tables is None:
            return
        if self.quality.isVisible():
            self.quality.set_trial(self._desk.trial_id)
            self.quality.show_table(tables.quality(), editable=not session.read_only)
        if self.references.isVisible():
            unmeasured = len(session.study.trials) - len(tables.facts())
            self.references.show_picture(tables.references(), unmeasured=unmeasured, editable=not session.read_only)

    def to_decide(self) -> dict[str, int]:
        """How many findings are still to be decided, by the ids of the trials that have some."""
        return {} if self._tables is None else self._tables.to_decide()

    def _on_shown(self, trial_id: str) -> None:
        if self.quality.isVisible():
            self.quality.set_trial(trial_id)
        waiting, self._plateau = self._plateau, None
        if waiting is not None and waiting.trial == trial_id:
            self._ask_stretch(waiting)

    def _edit(self, edit: Callable[[], object]) -> None:
        """Make an edit; what is refused is said."""
        self._desk.gestures.commit()
        try:
            edit()
        except PhasemarkError as problem:
            self.quality.forget_going_on()
            self.problem.emit(problem)

    def _ask(self, dialog: ReasonDialog, decided: Callable[[str, str], object]) -> None:
        dialog.decided.connect(lambda reason, choice: self._edit(lambda: decided(reason, choice)))
        dialog.rejected.connect(self.quality.forget_going_on)
        dialog.finished.connect(dialog.deleteLater)
        self.dialog = dialog
        dialog.open()

    def close_dialog(self) -> None:
        """Put the dialog away, if it is open; nothing is decided."""
        dialog, self.dialog = self.dialog, None
        if dialog is not None and isValid(dialog):
            dialog.reject()

    # Quality

    def _show_finding(self, row: QualityRow, place: int) -> None:
        session = self._session()
        if session is None:
            return
        trial = session.study.trial(row.trial)
        lane = 0 if row.channel is None else len(trial.movement) + row.channel
        self.places.show(Shown(row.trial, lane, row.places, row.check, place))

    def ask_acceptance(self, rows: tuple[QualityRow, ...]) -> None:
        """Ask why findings are accepted."""
        flagged = tuple(row for row in rows if row.flagged and row.accepted is None)
        words = f"{_counted(flagged)} A finding that is accepted stays listed with its reason, here and in the exports."
        dialog = ReasonDialog(
            "Accept",
            words,
            "Accept",
            example="e.g. the offset is removed before anything is measured",
            parent=self._desk,
        )
        self._ask(dialog, lambda reason, _: self.accept(flagged, reason))

    def accept(self, rows: Iterable[QualityRow], reason: str | None) -> None:
        """Accept findings as one edit, or take that back (None)."""
        session = self._session()
        if session is not None:
            findings = [(row.trial, str(row.check), self._channel(session, row)) for row in rows]
            accept_findings(session, findings, reason)

    @staticmethod
    def _channel(session: Session, row: QualityRow) -> EmgChannel | None:
        return None if row.channel is None else session.study.trial(row.trial).emg[row.channel]

    def ask_exclusion(self, rows: tuple[QualityRow, ...]) -> None:
        """Ask why channels are excluded."""
        out = tuple(row for row in rows if row.channel is not None and row.excluded is None)
        names = "; ".join(dict.fromkeys(f"{_first_muscle(row)} in {row.name}" for row in out))
        words = f"{names}. What is excluded stays in view and in every export with its reason; it is not in the means."
        dialog = ReasonDialog(
            "Exclude", words, "Exclude", example="e.g. movement artefact, electrode came off", parent=self._desk
        )
        self._ask(dialog, lambda reason, _: self.exclude(out, reason))

    def exclude(self, rows: Iterable[QualityRow], reason: str | None) -> None:
        """Exclude the channels of findings from the means of their trials, or take that back (None)."""
        session = self._session()
        if session is None:
            return
        by_trial: dict[str, dict[EmgChannel, None]] = {}
        for row in rows:
            channel = self._channel(session, row)
            if channel is not None:
                by_trial.setdefault(row.trial, {})[channel] = None
        for trial_id, channels in by_trial.items():
            exclude(session, session.study.trial(trial_id), rep=None, channels=tuple(channels), reason=reason)

    def take_back(self, rows: tuple[QualityRow, ...]) -> None:
        """Take back what was decided: the acceptance where there is one, else the exclusion."""
        accepted = [row for row in rows if row.accepted is not None]
        self._edit(lambda: self.accept(accepted, None))
        out = [row for row in rows if row.accepted is None and row.excluded is not None]
        self._edit(lambda: self._include(out))

    def _include(self, rows: list[QualityRow]) -> None:
        session = self._session()
        if session is None:
            return
        whole = {row.trial for row in rows if session.study.trial(row.trial).excluded is not None}
        for trial_id in sorted(whole):
            exclude(session, session.study.trial(trial_id), rep=None, channels=(), reason=None)
        self.exclude([row for row in rows if row.trial not in whole], None)

    # References

    def _show_attempt(self, at: AttemptPicture) -> None:
        trial = self._trial_of(at)
        if trial is not None and at.end_s > at.begin_s:
            lane = len(trial.movement) + at.channel
            self.places.show(Shown(at.trial, lane, ((at.begin_s, at.end_s),), f"attempt {at.number}", 0))

    def _trial_of(self, at: AttemptPicture) -> Trial | None:
        session = self._session()
        return None if session is None else session.study.trial(at.trial)

    def ask_choice(self, row: ReferencePicture, at: AttemptPicture) -> None:
        """Ask why an attempt is taken, whatever the rule would take."""
        words = (
            f"The reference of {row.muscle}, {row.whose.participant}, session {row.whose.session}, is taken from "
            f"trial {at.trial} ({at.position}), whatever the rule would take."
        )
        dialog = ReasonDialog(
            "Choose an attempt",
            words,
            "Use it",
            example="e.g. the others were stopped early",
            parent=self._desk,
        )
        self._ask(dialog, lambda reason, _: self.choose(at, reason))

    def choose(self, at: AttemptPicture, reason: str) -> None:
        """Take an attempt's trial as the reference."""
        session, trial = self._session(), self._trial_of(at)
        if session is not None and trial is not None:
            choose_attempt(session, trial, trial.emg[at.channel], reason)

    def ask_borrowing(self, row: ReferencePicture) -> None:
        """Ask from which session a reference is taken, and why."""
        words = (
            f"Electrodes were placed anew in the other session: {row.muscle} of {row.whose.participant} is then stated "
            "in shares of another measurement, and every comparison says so."
        )
        dialog = ReasonDialog(
            "Borrow a reference", words, "Borrow", choices=("&Session", row.sessions),
            example="e.g. no MVIC was recorded on this day", parent=self._desk,
        )  # fmt: skip
        self._ask(dialog, lambda reason, other: self.borrow(row, other, reason))

    def borrow(self, row: ReferencePicture, other: str, reason: str) -> None:
        """Take the reference of another session."""
        session, whose = self._session(), row.whose
        if session is not None:
            borrow_reference(
                session, whose.participant, whose.session, muscle=whose.muscle, side=whose.side,
                from_session=other, reason=reason,
            )  # fmt: skip

    def back_to_rule(self, row: ReferencePicture) -> None:
        """Take the reference that the rule gives."""
        session, decision = self._session(), row.decision
        if session is not None and decision is not None:
            self._edit(lambda: forget_choice(session, decision))

    def change_position(self, position: str, muscles: tuple[str, ...]) -> None:
        """Say which muscles an MVIC position is a reference for."""
        session = self._session()
        if session is None:
            return
        every = {channel.muscle for trial in session.study.trials for channel in trial.emg}
        text = ALL if set(muscles) >= every else ", ".join(muscles)
        self._edit(lambda: change_settings(session, ((f"mvic[{position}]", text),)))

    # Plateaus

    def ask_plateau(self, row: ReferencePicture, at: AttemptPicture) -> None:
        """Bring an attempt into view and ask for the stretch of its plateau."""
        self._plateau = at
        if self._desk.trial_id == at.trial and self._desk.signals is not None:
            self._ask_stretch(at)
        else:
            self._show_attempt(at)

    def _ask_stretch(self, at: AttemptPicture) -> None:
        trial = self._trial_of(at)
        if trial is None:
            return
        muscle = trial.emg[at.channel].label
        prompt = f"Drag over the plateau of {muscle}, or arrows and Return at its begin. Escape leaves it."
        self._desk.ask_stretch(prompt, lambda begin, end: self._on_stretch(at, begin, end))

    def _on_stretch(self, at: AttemptPicture, begin: int, end: int) -> None:
        trial = self._trial_of(at)
        if trial is None or trial.id != self._desk.trial_id:
            return
        muscle, clock = trial.emg[at.channel].label, float(trial.clock)
        words = (
            f"The plateau of {muscle} in trial {trial.id} is {begin / clock:.2f} to {end / clock:.2f} s. "
            "It stands in place of what the rule finds there, once the trial is measured again."
        )
        dialog = ReasonDialog(
            "Place a plateau", words, "Place it", example="e.g. the steady part of the effort", parent=self._desk
        )
        self._ask(dialog, lambda reason, _: self.place_plateau(at, begin, end, reason))

    def place_plateau(self, at: AttemptPicture, begin: int, end: int, reason: str) -> None:
        """Place the plateau of an attempt over clock samples."""
        session, trial = self._session(), self._trial_of(at)
        if session is not None and trial is not None:
            place_interval(
                session, trial, Purpose.PLATEAU, begin=begin, end=end, channel=trial.emg[at.channel], reason=reason
            )

    def take_plateau_back(self, at: AttemptPicture) -> None:
        """Let the rule find the attempt's window again."""
        session, trial = self._session(), self._trial_of(at)
        if session is not None and trial is not None and at.by_hand is not None:
            interval = at.by_hand
            self._edit(lambda: remove_interval(session, trial, interval))


def _first_muscle(row: QualityRow) -> str:
    """The muscle whose channel is meant, of two that are alike."""
    return row.muscle.split(", ", maxsplit=1)[0]


def _counted(rows: tuple[QualityRow, ...]) -> str:
    if len(rows) == 1:
        return f"{rows[0].check} of {rows[0].muscle} in {rows[0].name}."
    return f"{len(rows)} findings."
