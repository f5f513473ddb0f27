"""Mean curves and robustness of a comparison: worked out when they are asked for, shown while they are current."""

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import QObject, Signal

from phasemark.model.errors import PhasemarkError
from phasemark.model.plan import AnalysisPlan
from phasemark.results.figures.curves_figure import curves_figure
from phasemark.results.phase_curves import StudyCurves
from phasemark.results.robustness.report import Robustness
from phasemark.results.robustness.words import verdict
from phasemark.session.comparing import Asked
from phasemark.session.comparison_tables import ComparisonPicture
from phasemark.session.curves import KeptCurves, load_curves
from phasemark.session.robustness_job import Varied, vary
from phasemark.session.session import Session
from phasemark.window.comparing.comparing_page import ComparingPage
from phasemark.window.comparing.comparison_words import curves_of
from phasemark.window.comparing.on_demand_view import OnDemandView
from phasemark.window.comparing.picture_export import Further
from phasemark.window.comparing.same_objects import Objects, same_objects


@dataclass(frozen=True, slots=True)
class _Held:
    """What was worked out on demand, and what it hangs on."""

    key: Objects
    further: Further


class OnDemandWork(QObject):
    """Both kinds of work on a page; said(sentence) is for the message bar, ended() tells that work has ended."""

    said = Signal(str)
    ended = Signal()

    def __init__(
        self, page: ComparingPage, begin: Callable[[str], bool], failed: Callable[[BaseException], None]
    ) -> None:
        """Begin says whether work may begin, failed ends it and says why."""
        super().__init__()
        self._page, self._begin, self._failed = page, begin, failed
        self._kept = KeptCurves()
        self._curves: _Held | None = None
        self._robustness: _Held | None = None

    def forget(self) -> None:
        """Forget what belongs to another session."""
        self._kept, self._curves, self._robustness = KeptCurves(), None, None

    def current(self, key: Objects) -> Further:
        """What is there and hangs on the same objects."""
        curves, robustness = self._curves, self._robustness
        return Further(
            curves.further.curves if curves is not None and same_objects(curves.key, key) else None,
            robustness.further.robustness if robustness is not None and same_objects(robustness.key, key) else None,
        )

    def work_out_curves(self, session: Session, key: Objects, asked: Asked, picture: ComparisonPicture) -> None:
        """Work out mean curves of a comparison, off this thread."""
        del asked
        if not self._begin("Working out mean curves"):
            return
        view, plan = self._page.results.tabs.curves, picture.comparison.plan
        view.wait("Working out mean curves …")

        def done(found: StudyCurves, problems: tuple[PhasemarkError, ...]) -> None:
            self._page.work.end()
            self._curves = _Held(key, Further(curves=found))
            self.show(key, plan)
            if problems:
                self.said.emit("\n".join(map(str, problems)))
            self.ended.emit()

        self._page.work.hold(
            load_curves(
                session, self._kept, plan=plan, done=done, failed=lambda problem: self._ask_again(view, problem),
                progressed=self._page.work.show_share,
            )
        )  # fmt: skip

    def work_out_robustness(self, session: Session, key: Objects, asked: Asked, picture: ComparisonPicture) -> None:
        """Work out all variants of a comparison, off this thread."""
        if not self._begin("Varying the analysis"):
            return
        view, plan = self._page.results.tabs.robustness, picture.comparison.plan
        view.wait("Varying the analysis …")

        def done(found: Varied) -> None:
            self._page.work.end()
            self._robustness = _Held(key, Further(robustness=found.robustness))
            self.show(key, plan)
            self.ended.emit()

        self._page.work.hold(
            vary(
                session, asked, done=done, failed=lambda problem: self._ask_again(view, problem),
                progressed=self._page.work.show_share,
            )
        )  # fmt: skip

    def _ask_again(self, view: OnDemandView, problem: BaseException) -> None:
        self._failed(problem)
        view.ask(str(problem))
        self.ended.emit()

    def show(self, key: Objects, plan: AnalysisPlan) -> None:
        """Show what there is of the row in hand and hangs on these objects; what there is not can be asked for."""
        further = self.current(key)
        self._show_curves(further.curves, plan)
        self._show_robustness(further.robustness)

    def _show_curves(self, curves: StudyCurves | None, plan: AnalysisPlan) -> None:
        row, tabs = self._page.results.row, self._page.results.tabs
        if curves is None or row is None:
            self._offer(tabs.curves)
            return
        own = curves_of(curves, row.place)
        if own.people:
            tabs.curves.show_figure(curves_figure(own, (plan.a, plan.b), tabs.chosen_over), " ".join(curves.said))
        else:
            tabs.curves.wait("There are no curves of this muscle.")

    def _show_robustness(self, found: Robustness | None) -> None:
        row, view, band = self._page.results.row, self._page.results.tabs.robustness, self._page.results.band
        if found is None or row is None:
            band.say_stands("")
            self._offer(view)
            return
        primary = next((finding for finding in found.findings if finding.primary), None)
        band.say_stands("" if primary is None else f"Robustness: {verdict(primary)}.")
        if not view.show_finding(found, row.place):
            view.wait("This comparison is not among the findings.")

    def _offer(self, view: OnDemandView) -> None:
        """Have it asked for, unless it is being worked out."""
        if not self._page.work.busy:
            view.ask()
