"""What is done on the page of the comparison, between page and session.

comparing = ComparingCommands(lambda: session)
comparing.page                    the page
comparing.use_session()           the window has another session, or none
comparing.refresh()               something may have changed: fills the page where it is seen

Results are kept as long as the study, its results and what is asked are the same objects, and worked out anew else.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog
from shiboken6 import isValid

from phasemark.model.errors import BadCall, Cancelled, PhasemarkError
from phasemark.model.study import Study
from phasemark.session.comparing import Asked, Compared, compare
from phasemark.session.comparison_history import ComparisonHistory, look_up_history
from phasemark.session.comparison_tables import CellRow, ComparisonPicture, comparison_picture, row_detail
from phasemark.session.measuring import stale_trials
from phasemark.session.plan_choices import PlanDraft, plan_choices, plan_of, smallest_effect
from phasemark.session.planning import set_plan
from phasemark.session.session import Session
from phasemark.window.comparing.comparing_page import ComparingPage
from phasemark.window.comparing.comparison_words import before_words, obstacle, plan_said, stale_words
from phasemark.window.comparing.on_demand_work import OnDemandWork
from phasemark.window.comparing.picture_export import export_comparison
from phasemark.window.comparing.same_objects import Objects, same_objects

_BUSY = "Something is still under way; wait for it or stop it first."
_BLIND = "Results are not shown while marking blind: they could steer a hand. Switch it off first."


@dataclass(frozen=True, slots=True)
class _Shown:
    """A comparison that was worked out: what it hangs on, the study and rater it is of, and what is shown of it."""

    key: Objects
    study: Study
    rater: str
    picture: ComparisonPicture


@dataclass(frozen=True, slots=True)
class _Halted:
    """A comparison that was refused (then the plan has to be changed) or stopped: what it hung on, and why."""

    key: Objects
    why: str
    refused: bool


class ComparingCommands(QObject):
    """goTo(trial, rep) asks for a trial to be brought into view; said and problem are for the message bar."""

    goTo = Signal(str, object)
    said = Signal(str)
    problem = Signal(object)
    measured = Signal()

    def __init__(self, session: Callable[[], Session | None]) -> None:
        super().__init__()
        self._session = session
        self.page = ComparingPage()
        self._asked: Asked | None = None
        self._writing = self._looking = False
        self._history: ComparisonHistory | None = None
        self._shown: _Shown | None = None
        self._halted: _Halted | None = None
        self.dialog: QFileDialog | None = None
        self.on_demand = OnDemandWork(self.page, self._begin, self._failed)
        self.on_demand.said.connect(self.said)
        self.on_demand.ended.connect(self.refresh)
        self._connect()

    def _connect(self) -> None:
        page = self.page
        page.keepWanted.connect(self.keep_plan)
        page.showWanted.connect(self.show_without_plan)
        page.planWanted.connect(self.write_plan)
        page.cancelled.connect(self.leave_form)
        page.noteAsked.connect(self._on_note)
        page.exportWanted.connect(self.ask_export)
        page.trialWanted.connect(self.goTo)
        page.rowChosen.connect(self._show_row)
        page.curvesWanted.connect(lambda: self._on_demand(self.on_demand.work_out_curves))
        page.robustnessWanted.connect(lambda: self._on_demand(self.on_demand.work_out_robustness))
        page.overChanged.connect(self._show_on_demand)

    @property
    def busy(self) -> bool:
        """Whether something is worked out or looked up."""
        return self._looking or self.page.work.busy

    # The session

    def use_session(self) -> None:
        """Forget what belongs to another session."""
        self.close_dialog()
        self.page.work.end()
        self._asked, self._history, self._shown, self._halted = None, None, None, None
        self._writing = self._looking = False
        self.on_demand.forget()
        self.page.say("")
        self.refresh()

    def close_dialog(self) -> None:
        """Put the dialog away, if it is open."""
        dialog, self.dialog = self.dialog, None
        if dialog is not None and isValid(dialog):
            dialog.reject()

    def refresh(self) -> None:
        """Fill the page, where it is seen, with what the study is now."""
        session = self._session()
        if session is None or not self.page.isVisible():
            return
        if session.blind:
            self.page.say(_BLIND)
            return
        said = obstacle(session.study, session.rater)
        if said:
            self.page.say(said)
        elif self._history is None:
            self._look_up(session)
        elif self._writing or (session.study.plan is None and self._asked is None):
            self._show_form(session)
        else:
            self._show_results(session)

    def _look_up(self, session: Session) -> None:
        """What the ledger says of plans and results, before anything is shown."""
        if self._looking:
            return
        self._looking = True

        def done(found: ComparisonHistory) -> None:
            self._looking, self._history = False, found
            if self._shown is not None:
                self.page.say_plan(plan_said(self._shown.picture, found))
            self.refresh()

        def failed(problem: BaseException) -> None:
            self._looking = False
            self.page.say(str(problem))

        look_up_history(session, done=done, failed=failed)

    # The plan

    def _show_form(self, session: Session) -> None:
        """The form, filled anew only when it was not seen: what is typed in it stays."""
        if self.page.shows_form:
            return
        choices = plan_choices(session)
        before = before_words(self._history or ComparisonHistory(), planned=choices.planned)
        can_cancel = self._writing and (choices.planned or self._asked is not None)
        self.page.form.show_choices(choices, before=before, editable=not session.read_only, cancel=can_cancel)
        self.page.show_form()
        self.page.take_focus()

    def write_plan(self) -> None:
        """Show the form, to write a plan or change it."""
        self._writing = True
        self.refresh()

    def leave_form(self) -> None:
        """Put the form away."""
        self._writing = False
        self.page.say("")
        self.refresh()
        self.page.take_focus()

    def keep_plan(self, draft: PlanDraft, reason: str) -> None:
        """Write the plan down, then show its results."""
        session = self._session()
        if session is None:
            return
        late = bool(self._history and self._history.shown)
        try:
            if session.study.plan is not None and late and not reason:
                raise BadCall("Results were shown before: say why the plan is changed.")
            plan = plan_of(draft, session.decision(reason))
        except PhasemarkError as problem:
            self.page.form.refuse(str(problem))
            return
        self._asked, self._writing, self._history = None, False, None
        self.page.say("")
        try:
            set_plan(session, plan)
        except PhasemarkError as problem:
            self.problem.emit(problem)
        self.refresh()

    def show_without_plan(self, draft: PlanDraft) -> None:
        """Show the two levels compared without a plan, which the ledger and the page then say."""
        try:
            smallest = smallest_effect(draft) if draft.smallest_effect.strip() else None
        except PhasemarkError as problem:
            self.page.form.refuse(str(problem))
            return
        if not draft.a or draft.a == draft.b:
            self.page.form.refuse("Choose two different levels to compare.")
            return
        self._asked, self._writing = Asked(draft.a, draft.b, draft.factor, smallest), False
        self.page.say("")
        self.work_out()

    # The results

    def _key(self, session: Session) -> Objects:
        """Everything that a comparison hangs on, by identity."""
        return (session.study, session.rater, self._asked, *session.results.values(), *session.facts.values())

    def _show_results(self, session: Session) -> None:
        key, shown, halted = self._key(session), self._shown, self._halted
        if shown is not None and same_objects(key, shown.key):
            if not self.page.shows_results:
                self.page.show_results()
        elif self.page.work.busy:
            return
        elif halted is not None and same_objects(key, halted.key):
            write = "Change the p&lan …" if session.study.plan else "Write a p&lan …"
            self.page.say(halted.why, write if halted.refused else "&Compare")
        elif stale := stale_trials(session):
            self._shown = None
            self.page.say(stale_words(len(stale)), "&Measure and compare", "Measure these trials, then compare")
        else:
            self.work_out()

    def _on_note(self) -> None:
        """Do what the note's button says."""
        session, halted = self._session(), self._halted
        self._halted = None
        if (
            session is not None
            and halted is not None
            and halted.refused
            and same_objects(self._key(session), halted.key)
        ):
            self.write_plan()
        else:
            self.work_out()

    def work_out(self) -> None:
        """Compare as planned or as asked, off this thread; what is stale is measured first."""
        session = self._session()
        if session is None or not self._begin("Comparing"):
            return
        study = session.study
        self.page.say("Comparing …")

        def done(found: Compared) -> None:
            self.page.work.end()
            self.measured.emit()
            if session.study is study and not session.blind:
                self._take(session, found)
            self.refresh()

        def failed(problem: BaseException) -> None:
            refused = isinstance(problem, PhasemarkError) and not isinstance(problem, Cancelled)
            self._halted = _Halted(self._key(session), str(problem), refused)
            self._failed(problem)
            self.refresh()

        asked, share = self._asked or Asked(), self.page.work.show_share
        self.page.work.hold(compare(session, asked, done=done, failed=failed, progressed=share))

    def _take(self, session: Session, found: Compared) -> None:
        """Show a comparison."""
        picture = comparison_picture(found)
        self._shown = _Shown(self._key(session), session.study, session.rater, picture)
        before = self._history.shown if self._history is not None else ()
        self._history = ComparisonHistory(found.history, before)
        self.page.show_comparison(picture, plan_said(picture, self._history), editable=not session.read_only)
        self._look_up(session)  # what was shown just now is in the ledger too
        self.page.show_results()
        if self.page.isVisible():
            self.page.take_focus()

    def _show_row(self, row: CellRow) -> None:
        shown = self._shown
        if shown is not None:
            comparison = shown.picture.comparison
            detail = row_detail(shown.study, shown.rater, shown.picture, row)
            levels = comparison.plan.a, comparison.plan.b
            self.page.results.tabs.show_detail(detail, levels, comparison.unit)
            self._show_on_demand()

    def _show_on_demand(self) -> None:
        """Show what is worked out on demand of the row in hand, as far as it is of the study as it is now."""
        session, shown = self._session(), self._shown
        if session is not None and shown is not None:
            self.on_demand.show(self._key(session), shown.picture.comparison.plan)

    def _on_demand(self, work: Callable[[Session, Objects, Asked, ComparisonPicture], None]) -> None:
        session, shown = self._session(), self._shown
        if session is not None and shown is not None:
            work(session, shown.key, self._asked or Asked(), shown.picture)

    def _begin(self, title: str) -> bool:
        """Whether work can begin; one piece at a time."""
        if self.page.work.busy:
            self.said.emit(_BUSY)
            return False
        self.page.work.begin(title)
        return True

    def _failed(self, problem: BaseException) -> None:
        self.page.work.end()
        if isinstance(problem, Cancelled):
            self.said.emit(str(problem))
        elif not isinstance(problem, PhasemarkError):
            self.problem.emit(problem)

    # Export

    def ask_export(self) -> None:
        """Ask for a folder, then write the comparison's tables and pictures there."""
        dialog = QFileDialog(self.page, "Export the comparison to a folder")
        dialog.setFileMode(QFileDialog.FileMode.Directory)
        dialog.setOption(QFileDialog.Option.ShowDirsOnly)
        dialog.fileSelected.connect(lambda name: self.export_to(Path(name)))
        dialog.finished.connect(dialog.deleteLater)
        self.dialog = dialog
        dialog.open()

    def export_to(self, folder: Path) -> None:
        """Write tables, scripts and pictures of the comparison into a folder."""
        session, shown = self._session(), self._shown
        if session is None or shown is None or not self._begin("Exporting the comparison"):
            return

        def done(files: tuple[Path, ...]) -> None:
            self.page.work.end()
            self.said.emit(f"Wrote {len(files)} files to {folder}.")

        def failed(problem: BaseException) -> None:
            self._failed(problem)
            if isinstance(problem, PhasemarkError) and not isinstance(problem, Cancelled):
                self.problem.emit(problem)

        further = self.on_demand.current(shown.key)
        self.page.work.hold(
            export_comparison(
                session, shown.picture.compared, further, folder, done=done, failed=failed,
                progressed=self.page.work.show_share,
            )
        )  # fmt: skip
