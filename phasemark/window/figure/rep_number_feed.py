"""Errors, sensitivity and references of the rep in hand, asked for once it is at rest and shown as they arrive."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QObject, Signal

from phasemark.model.marks import Marks
from phasemark.results.measure import Value
from phasemark.session.figure_readings import ChannelScale
from phasemark.session.rep_figure import Notes
from phasemark.session.rep_numbers import RepNumbers, RepNumbersSource
from phasemark.session.session import Session
from phasemark.session.trial_signals import TrialSignals


@dataclass(frozen=True, slots=True)
class Known:
    """What is known now: values with their errors (None while these are on their way), references, notes."""

    values: Sequence[Value] | None = None
    scales: Sequence[ChannelScale] = ()
    notes: Notes | None = None


class RepNumberFeed(QObject):
    """Asks for numbers off this thread; arrived() says that there are others. One for each desk."""

    arrived = Signal()
    problem = Signal(object)

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._session: Session | None = None
        self._source = RepNumbersSource()
        self._of: TrialSignals | None = None
        self._held: RepNumbers | None = None
        self._asked = False

    def use(self, session: Session | None) -> None:
        """Forget what belongs to another study."""
        self._session, self._source = session, RepNumbersSource()
        self._of = self._held = None
        self._asked = False

    def ask_again(self) -> None:
        """The study or what was measured of it has changed: references may have."""
        self._asked = False

    def known(self, signals: TrialSignals, marks: Marks, rep_id: int, *, moving: bool) -> Known:
        """What is known of a rep; what is not is asked for, unless a boundary is on its way."""
        session, held = self._session, self._held
        if session is None:
            return Known()
        holds = held is not None and self._of is signals and held.holds_for(marks, rep_id, session.study.settings)
        if not moving and not (holds and self._asked):
            self._asked = True
            self._source.ask(
                session, signals, rep_id, done=lambda found: self._arrived(signals, found), failed=self.problem.emit
            )
        if held is None or self._of is None or self._of.trial.id != signals.trial.id:
            return Known()
        return Known(held.values, held.scales, held.notes) if holds else Known(scales=held.scales)

    def _arrived(self, signals: TrialSignals, found: RepNumbers) -> None:
        self._of, self._held = signals, found
        self.arrived.emit()
