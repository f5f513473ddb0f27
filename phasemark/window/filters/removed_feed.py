"""What notch and template take out of the trial in view, worked out off this thread for whoever shows it."""

from PySide6.QtCore import QObject, Signal

from phasemark.session.filter_chain import ChannelRemoved, removed_from, takes_out
from phasemark.session.session import Session
from phasemark.session.trial_signals import TrialSignals

_SLOT = "what the filters took out"


class RemovedFeed(QObject):
    """arrived() says that there is another answer; removed is the newest one, None while it is on its way."""

    arrived = Signal()
    problem = Signal(object)

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.removed: tuple[ChannelRemoved, ...] | None = None
        self._of: TrialSignals | None = None

    def ask(self, session: Session, signals: TrialSignals) -> None:
        """Work it out for these signals, unless that was done; only the newest is ever told."""
        settings = signals.made_by
        if signals is self._of or settings is None:
            return
        self._of, self.removed = signals, None
        if not takes_out(settings, signals.trial.emg):
            self.removed = ()
            return
        session.worker.run(
            f"what the filters took out of {signals.trial.id}",
            lambda _: removed_from(signals, settings),
            on=session.worker.compute,
            done=self._keep,
            failed=self.problem.emit,
            slot=_SLOT,
        )

    def forget(self) -> None:
        """Another study."""
        self._of = self.removed = None

    def _keep(self, removed: tuple[ChannelRemoved, ...]) -> None:
        self.removed = removed
        self.arrived.emit()
