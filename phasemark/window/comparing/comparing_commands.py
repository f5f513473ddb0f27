"""What is done on the page of the comparison, between page and session.

comparing = ComparingCommands(lambda: session)
comparing.page                    the page
comparing.use_session()           the window has another session, or none
comparing.refresh()               something may have changed: fills the page where it is seen

Results are kept as long as the study, its results and what is asked are the same objects, and worked out anew else.
"""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog
from shiboken6 import isValid

from phasemark.model.errors import BadCall, Cancelled, PhasemarkError
from phasemark.model.study import Study
from phasemark.results.figures.curves_figure import curves_figure
from phasemark.results.phase_curves import StudyCurves
from phasemark.results.robustness.report import Robustness
from phasemark.results.robustness.words import sentence
from phasemark.session.comparing import Asked, Compared, compare
from phasemark.session.comparison_history import ComparisonHistory, look_up_history
from phasemark.session.comparison_tables import CellRow, ComparisonPicture, comparison_picture, row_detail
from phasemark.session.comparison_words import capital
from phasemark.session.curves import KeptCurves, load_curves
from phasemark.session.measuring import stale_trials
from phasemark.session.plan_choices import PlanChoices, PlanDraft, plan_choices, plan_of, smallest_effect
from phasemark.session.planning import set_plan
from phasemark.session.robustness_job import Varied, vary
from phasemark.session.session import Session
from phasemark.window.comparing.comparing_page import ComparingPage
from phasemark.window.comparing.comparison_words import (
    before_words,
    curves_of,
    obstacle,
    plan_said,
    stale_words,
)
from phasemark.window.comparing.picture_export import Further, export_comparison

_BUSY = "Something is still under way; wait for it or stop it first."


class ComparingCommands(QObject):
    """goTo(trial, rep) asks for a trial to be brought into view; said and problem are for the message bar."""

    goTo = Signal(str, object)
    said = Signal(str)
    problem = Signal(object)
    measured = Signal()
    settled = Signal()

    def __init__(self, session: Callable[[], Session | None]) -> None:
        super().__init__()
        self._session = session
        self.page = ComparingPage()
        self._asked: Asked | None = None
        self._writing = False
        self._history: ComparisonHistory | None = None
        self._looking = False
        self._picture: ComparisonPicture | None = None
        self._compared_for: tuple[object, ...] = ()
        self._compared_study: tuple[Study, str] | None = None
        self._refused: tuple[tuple[object, ...], str] | None = None
        self._kept = KeptCurves()
        self._curves: tuple[tuple[object, ...], StudyCurves] | None = None
        self._robustness: tuple[tuple[object, ...], Robustness] | None = None
        self.dialog: QFileDialog | None = None
        self._connect()

    def _connect(self) -> None:
        page = self.page
        page.keepWanted.connect(self.keep_plan)
        page.showWanted.connect(self.show_without_plan)
        page.planWanted.connect(self.write_plan)
        page.cancelled.connect(self.leave_form)
        page.noteAsked.connect(self.work_out)
        page.exportWanted.connect(self.ask_export)
        page.trialWanted.connect(self.goTo)
        page.rowChosen.connect(self._show_row)
        page.curvesWanted.connect(self.work_out_curves)
        page.overChanged.connect(self._show_curves)
        page.robustnessWanted.connect(self.work_out_robustness)

    @property
    def busy(self) -> bool:
        """Whether something is worked out or looked up."""
        return self._looking or self.page.work.busy

    # The session

    def use_session(self) -> None:
        """Forget what belongs to another session."""
        self.close_dialog()
        self.page.work.end()
        self._asked, self._history, self._picture = None, None, None
        self._curves, self._robustness = None, None
        self._writing = self._looking = False
        self._compared_for, self._compared_study, self._refused = (), None, None
        self._kept = KeptCurves()
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
            self.page.say("Results are not shown while marking blind: they could steer a hand. Switch it off first.")
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
            if self._picture is not None:
                self.page.results.band.show_plan(plan_said(self._picture, found))
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
        choices = self._choices(session)
        before = before_words(self._history or ComparisonHistory(), planned=choices.planned)
        can_cancel = self._writing and (choices.planned or self._asked is not None)
        self.page.form.show_choices(choices, before=before, editable=not session.read_only, cancel=can_cancel)
        self.page.show_form()
        self.page.take_focus()

    @staticmethod
    def _choices(session: Session) -> PlanChoices:
        return plan_choices(session)

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

    def _key(self, session: Session) -> tuple[object, ...]:
        """Everything that a comparison hangs on, by identity."""
        return (session.study, session.rater, self._asked, *session.results.values(), *session.facts.values())

    def _show_results(self, session: Session) -> None:
        key = self._key(session)
        if self._picture is not None and _same(key, self._compared_for):
            if not self.page.shows_results:
                self.page.show_results()
            return
        if self.page.work.busy:
            return
        if self._refused is not None and _same(key, self._refused[0]):
            self.page.say(self._refused[1], "Change the p&lan …" if session.study.plan else "Write a p&lan …")
            return
        stale = stale_trials(session)
        if stale:
            self._picture = None
            self.page.say(stale_words(len(stale)), "&Measure and compare", "Measure these trials, then compare")
            return
        self.work_out()

    def work_out(self) -> None:
        """Compare as planned or as asked, off this thread; what is stale is measured first."""
        session = self._session()
        if session is None or not self._begin("Comparing"):
            return
        if self._refused is not None and _same(self._key(session), self._refused[0]):
            self.page.work.end()
            self._refused = None
            self.write_plan()
            return
        study, asked = session.study, self._asked or Asked()
        self.page.say("Comparing …")

        def done(found: Compared) -> None:
            self.page.work.end()
            self.measured.emit()
            if session.study is study and self._session() is session:
                self._take(session, found)
            self.refresh()
            self.settled.emit()

        def failed(problem: BaseException) -> None:
            self._failed(problem)
            if isinstance(problem, PhasemarkError) and not isinstance(problem, Cancelled):
                self._refused = self._key(session), str(problem)
                self.refresh()
            elif self._session() is session:
                self.page.say(str(problem), "&Compare")

        self.page.work.hold(compare(session, asked, done=done, failed=failed, progressed=self.page.work.show_share))

    def _take(self, session: Session, found: Compared) -> None:
        """Show a comparison."""
        self._picture = comparison_picture(found)
        self._compared_for, self._compared_study = self._key(session), (session.study, session.rater)
        history = self._history or ComparisonHistory()
        self._history = ComparisonHistory(found.history, history.shown)
        said = plan_said(self._picture, self._history)
        self.page.show_comparison(self._picture, said, editable=not session.read_only)
        self._look_up(session)  # what was shown just now is in the ledger too
        self.page.show_results()
        self._show_on_demand()
        self.page.take_focus()

    def _show_row(self, row: CellRow) -> None:
        picture, of = self._picture, self._compared_study
        if picture is None or of is None:
            return
        plan = picture.comparison.plan
        detail = row_detail(*of, picture, row)
        self.page.results.tabs.show_detail(detail, (plan.a, plan.b), picture.comparison.unit)
        self._show_on_demand()

    def _show_on_demand(self) -> None:
        self._show_curves()
        self._show_robustness()

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
        self.settled.emit()

    # Curves

    def work_out_curves(self) -> None:
        """Work out mean curves, off this thread."""
        session, picture = self._session(), self._picture
        if session is None or picture is None or not self._begin("Working out mean curves"):
            return
        key, view = self._key(session), self.page.results.tabs.curves
        view.wait("Working out mean curves …")

        def done(found: StudyCurves, problems: tuple[PhasemarkError, ...]) -> None:
            self.page.work.end()
            self._curves = key, found
            self._show_curves()
            if problems:
                self.said.emit("\n".join(map(str, problems)))
            self.settled.emit()

        def failed(problem: BaseException) -> None:
            self._failed(problem)
            view.ask(str(problem))

        self.page.work.hold(
            load_curves(
                session, self._kept, plan=picture.comparison.plan, done=done, failed=failed,
                progressed=self.page.work.show_share,
            )
        )  # fmt: skip

    def _show_curves(self) -> None:
        """The curves of the muscle in hand, where there are some of the study as it is now."""
        session, row, picture = self._session(), self.page.results.row, self._picture
        tabs = self.page.results.tabs
        if session is None or row is None or picture is None:
            return
        if self._curves is None or not _same(self._curves[0], self._key(session)):
            if not self.page.work.busy:
                tabs.curves.ask()
            return
        plan, curves = picture.comparison.plan, self._curves[1]
        own = curves_of(curves, row.place)
        if not own.people:
            tabs.curves.wait("There are no curves of this muscle.")
            return
        tabs.curves.show_figure(curves_figure(own, (plan.a, plan.b), tabs.chosen_over), " ".join(curves.said))

    # Robustness

    def work_out_robustness(self) -> None:
        """Work out all variants of the analysis, off this thread."""
        session, picture = self._session(), self._picture
        if session is None or picture is None or not self._begin("Varying the analysis"):
            return
        key, view = self._key(session), self.page.results.tabs.robustness
        view.wait("Varying the analysis …")

        def done(found: Varied) -> None:
            self.page.work.end()
            self._robustness = key, found.robustness
            self._show_robustness()
            self.refresh()
            self.settled.emit()

        def failed(problem: BaseException) -> None:
            self._failed(problem)
            view.ask(str(problem))

        asked = self._asked or Asked()
        self.page.work.hold(vary(session, asked, done=done, failed=failed, progressed=self.page.work.show_share))

    def _show_robustness(self) -> None:
        """What stands of the comparison in hand, where it is worked out of the study as it is now."""
        session, row, held = self._session(), self.page.results.row, self._robustness
        view = self.page.results.tabs.robustness
        if session is None or row is None:
            return
        if held is None or not _same(held[0], self._key(session)):
            self.page.results.band.say_stands("")
            if not self.page.work.busy:
                view.ask()
            return
        primary = next((finding for finding in held[1].findings if finding.primary), None)
        self.page.results.band.say_stands("" if primary is None else capital(sentence(held[1], primary)))
        if not view.show_finding(held[1], row.place):
            view.wait("This comparison is not among the findings.")

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
        session, picture = self._session(), self._picture
        if session is None or picture is None or not self._begin("Exporting the comparison"):
            return

        def done(files: tuple[Path, ...]) -> None:
            self.page.work.end()
            self.said.emit(f"Wrote {len(files)} files to {folder}.")
            self.settled.emit()

        def failed(problem: BaseException) -> None:
            self._failed(problem)
            if isinstance(problem, PhasemarkError) and not isinstance(problem, Cancelled):
                self.problem.emit(problem)

        key, curves, robustness = self._key(session), self._curves, self._robustness
        further = Further(
            curves[1] if curves is not None and _same(curves[0], key) else None,
            robustness[1] if robustness is not None and _same(robustness[0], key) else None,
        )
        self.page.work.hold(
            export_comparison(
                session, picture.compared, further, folder, done=done, failed=failed,
                progressed=self.page.work.show_share,
            )
        )  # fmt: skip


def _same(one: tuple[object, ...], other: tuple[object, ...]) -> bool:
    """Whether two tuples hold the same objects."""
    return len(one) == len(other) and all(a is b for a, b in zip(one, other, strict=True))
