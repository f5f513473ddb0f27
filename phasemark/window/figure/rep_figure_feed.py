"""The figure of the rep in hand and what is told of its motion, kept to the marks as they are or are about to be."""

from PySide6.QtCore import QObject

from phasemark.model.marks import Marks
from phasemark.model.study import Trial
from phasemark.results.measure import Value
from phasemark.session.boundary_move import values_of_rep
from phasemark.session.rep_figure import figure_of
from phasemark.session.session import Session
from phasemark.session.trial_signals import TrialSignals
from phasemark.window.boundary_gestures import BoundaryGestures
from phasemark.window.figure.rep_figure_view import RepFigureView
from phasemark.window.figure.rep_motion_block import RepMotionBlock
from phasemark.window.figure.rep_number_feed import RepNumberFeed

HOLDS_NONE = "There are no repetitions in this trial; it serves as reference or baseline."


class RepFigureFeed(QObject):
    """Fills a figure and a block of motion; numbers that take longer come through its own feed."""

    def __init__(self, figure: RepFigureView, motion: RepMotionBlock, gestures: BoundaryGestures) -> None:
        super().__init__(figure)
        self._figure, self._motion, self._gestures = figure, motion, gestures
        self.numbers = RepNumberFeed(self)
        self._before: tuple[Marks, int, tuple[Value, ...]] | None = None

    def forget(self) -> None:
        """Other signals are on their way: values that a drag started from are of the ones before."""
        self._before = None

    def show_nothing(self, trial: Trial | None = None) -> None:
        """No rep is in hand, or none may be seen; a trial that can hold none says so."""
        if trial is None or trial.kind.holds_reps:
            self._figure.set_figure(None)
        else:
            self._figure.set_figure(None, message=HOLDS_NONE)
        self._motion.show_motion(None)

    def show(self, session: Session, trial: Trial, marks: Marks, rep_id: int, signals: TrialSignals) -> None:
        """Show a rep of these marks; while a boundary is on its way, beside the values it had before."""
        moving = self._gestures.preview is not None
        values = self._gestures.values.get(rep_id)
        known = self.numbers.known(signals, marks, rep_id, moving=moving)
        figure = figure_of(
            trial, marks, rep_id, signals, session.study.settings,
            values=known.values if values is None else values,
            before=self._values_before(session, trial, rep_id, signals) if moving else (),
            scales=known.scales, notes=None if moving else known.notes, exercise=session.study.exercise(trial.exercise),
        )  # fmt: skip
        self._figure.set_figure(figure)
        self._motion.show_motion(figure, moving=moving)

    def _values_before(self, session: Session, trial: Trial, rep_id: int, signals: TrialSignals) -> tuple[Value, ...]:
        """The values that a drag started from, measured once for a drag; none of a rep that is new."""
        kept, held = trial.marks_of(session.rater), self._before
        if held is None or held[0] is not kept or held[1] != rep_id:
            there = any(rep.id == rep_id for rep in kept.reps)
            values = values_of_rep(kept, rep_id, signals, session.study.settings) if there else ()
            held = self._before = (kept, rep_id, values)
        return held[2]
