"""From drags and key nudges of a boundary to previews, and from their end to one edit of the session each."""

from collections.abc import Mapping

from PySide6.QtCore import QObject, Qt, QTimer, Signal
from PySide6.QtWidgets import QApplication

from phasemark.model.errors import PhasemarkError
from phasemark.model.mark_edits import Address, boundary_at
from phasemark.model.marks import Marks
from phasemark.phases.snapping import Candidate, snap, snap_candidates
from phasemark.results.measure import Value
from phasemark.session.boundary_move import Moved, keep_move, preview_move
from phasemark.session.session import Session
from phasemark.session.trial_signals import TrialSignals
from phasemark.window.traces.trial_plot import TrialPlot

# A burst of key nudges is one edit: it ends after so much quiet (ms).
NUDGE_QUIET_MS = 400
# A boundary snaps to what lies within so many logical pixels.
SNAP_PX = 8.0


class BoundaryGestures(QObject):
    """Listens to a plot. While a boundary is on its way previewed(marks) says how the marks would be.

    A boundary snaps to turning points, to the places of the rules and to its neighbours unless Alt is held. With Shift
    held one that two phases share is parted: only the side that is dragged moves.
    """

    begun = Signal(object)  # Address
    previewed = Signal(object)  # Marks, or None when what was on its way is kept or dropped
    problem = Signal(object)

    def __init__(self, plot: TrialPlot) -> None:
        super().__init__(plot)
        self._session: Session | None = None
        self._signals: TrialSignals | None = None
        self._preview: Moved | None = None
        self._alone = False
        self._snaps: tuple[Candidate, ...] = ()
        self._plot = plot
        self._nudged: Address | None = None
        self._quiet = QTimer(self)
        self._quiet.setSingleShot(True)
        self._quiet.setInterval(NUDGE_QUIET_MS)
        self._quiet.timeout.connect(self.commit)
        plot.dragStarted.connect(self._on_started)
        plot.dragMoved.connect(self._on_moved)
        plot.dragFinished.connect(self._on_finished)
        plot.dragCancelled.connect(self.drop)
        plot.nudged.connect(self._on_nudged)

    def use(self, session: Session | None, signals: TrialSignals | None) -> None:
        """Turn gestures into edits of this trial from now on; nudges still under way are dropped."""
        self._quiet.stop()
        self._session, self._signals = session, signals
        self._preview = self._nudged = None

    @property
    def preview(self) -> Marks | None:
        """The marks as they would be, while a boundary is on its way."""
        return None if self._preview is None else self._preview.marks

    @property
    def values(self) -> Mapping[int, tuple[Value, ...]]:
        """The values as they would be of the reps that the boundary on its way touches, by rep id."""
        return {} if self._preview is None else self._preview.values

    def _marks(self, session: Session, signals: TrialSignals) -> Marks:
        return session.study.trial(signals.trial.id).marks_of(session.rater)

    def _on_started(self, address: Address) -> None:
        self.commit()
        self._alone = _alone()
        self._offer_snaps(address)
        self.begun.emit(address)
        if self._session is not None and self._session.read_only:
            self.problem.emit(self._session.read_only)

    def _offer_snaps(self, address: Address) -> None:
        """Work out once what the boundary may snap to, and show it before it does."""
        session, signals = self._session, self._signals
        self._snaps = ()
        if session is not None and signals is not None and not session.read_only:
            marks, rules = self._marks(session, signals), session.study.settings.phases
            self._snaps = snap_candidates(signals.movement, marks, address, rules, alone=self._alone)
        self._plot.set_snaps(self._snaps)

    def _snapped(self, sample: int) -> int:
        """Where the boundary lies if it is let go of here; Alt held keeps it where the cursor is."""
        found: Candidate | None = None
        if self._plot.snapping:
            sample, found = snap(sample, self._snaps, self._plot.samples_in(SNAP_PX))
        self._plot.set_snap_target(found)
        return sample

    def _on_moved(self, address: Address, sample: int) -> None:
        session, signals = self._session, self._signals
        if session is not None and signals is not None and not session.read_only:
            marks = self._marks(session, signals)
            self._alone = _alone()
            sample = self._snapped(sample)
            self._show(preview_move(marks, address, sample, signals, session.study.settings, alone=self._alone))

    def _show(self, preview: Moved | None) -> None:
        self._preview = preview
        self.previewed.emit(self.preview)

    def _on_finished(self, address: Address, sample: int) -> None:
        """Keep what the last move showed, whether Shift is still held or not."""
        self._keep(address, self._snapped(sample), alone=self._alone)

    def drop(self, _: object = None) -> None:
        """Let the marks go back to what the session has."""
        self._quiet.stop()
        self._nudged = None
        self._show(None)

    def _on_nudged(self, address: Address, step: int) -> None:
        session, signals = self._session, self._signals
        if session is None or signals is None:
            return
        if session.read_only:
            self.problem.emit(session.read_only)
            return
        if self._nudged != address:
            self.commit()
        start = self.preview or self._marks(session, signals)
        sample = boundary_at(start, address).sample + step
        self._nudged = address
        self._show(preview_move(start, address, sample, signals, session.study.settings))
        self._quiet.start()

    def commit(self) -> None:
        """Keep what key nudges have moved so far as one edit; whatever else is done next comes after it."""
        self._quiet.stop()
        address, preview = self._nudged, self.preview
        if address is not None and preview is not None:
            self._keep(address, boundary_at(preview, address).sample)

    def move_to(self, address: Address, sample: int) -> None:
        """Move a boundary to a sample that was typed."""
        self.commit()
        self._keep(address, sample)

    def _keep(self, address: Address, sample: int, *, alone: bool = False) -> None:
        """Make the edit that was previewed; where it cannot be kept the marks go back and it is said why."""
        session, signals = self._session, self._signals
        self._preview = self._nudged = None
        changed = False
        if session is not None and signals is not None:
            try:
                changed = keep_move(session, address, sample, signals, alone=alone)
            except PhasemarkError as problem:
                self.problem.emit(problem)
        if not changed:
            self._show(None)


def _alone() -> bool:
    return bool(QApplication.keyboardModifiers() & Qt.KeyboardModifier.ShiftModifier)
