"""The trial in view: its traces, the rep in hand and its numbers; turns gestures into edits of the session."""

from collections.abc import Callable

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import (
    QButtonGroup,
    QFrame,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QRadioButton,
    QSplitter,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from phasemark.model.clock import seconds
from phasemark.model.errors import PhasemarkError
from phasemark.model.mark_edits import Address, boundary_at
from phasemark.model.marks import Marks, MarksError, Rep
from phasemark.model.study import Study, Trial
from phasemark.results.standing import exclusion_reason
from phasemark.session.boundary_move import levels_of, move, values_of_rep
from phasemark.session.loading import load_signals
from phasemark.session.session import Session
from phasemark.session.trial_signals import TrialSignals, signals_key
from phasemark.window.rep_numbers import MEASURES, RepNumbers
from phasemark.window.trial_plot import TrialPlot
from phasemark.window.trial_scene import picture_of

# A burst of key nudges is one edit: it ends after so much quiet (ms).
NUDGE_QUIET_MS = 400


class TrialDesk(QWidget):
    """Traces beside numbers for one trial of the session."""

    problem = Signal(object)
    hovered = Signal(str)
    shown = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self._session: Session | None = None
        self._trial_id = ""
        self._signals: TrialSignals | None = None
        self._rep: int | None = None
        self._address: Address | None = None
        self._preview: Marks | None = None
        self._nudged: Address | None = None
        self._nudges = QTimer(self)
        self._nudges.setSingleShot(True)
        self._nudges.setInterval(NUDGE_QUIET_MS)
        self._nudges.timeout.connect(self.commit)
        self._plot = TrialPlot()
        self._numbers = RepNumbers()
        self._place()
        self._connect()

    # Parts

    def _place(self) -> None:
        self._title = QLabel()
        self._title.setTextFormat(Qt.TextFormat.PlainText)
        self._rep_title, self._rep_notes = QLabel(), QLabel()
        font = self._rep_title.font()
        font.setBold(True)
        self._rep_title.setFont(font)
        self._title.setFont(font)
        for label in (self._rep_title, self._rep_notes):
            label.setTextFormat(Qt.TextFormat.PlainText)
            label.setWordWrap(True)
        self._table = QTableView()
        self._table.setModel(self._numbers)
        self._table.setAccessibleName("EMG amplitude of the repetition in hand, in mV")
        self._table.setSelectionMode(QTableView.SelectionMode.SingleSelection)
        self._table.setShowGrid(False)
        self._table.setFrameShape(QFrame.Shape.NoFrame)
        self._table.verticalHeader().hide()
        self._table.horizontalHeader().setHighlightSections(False)
        self._table.setTabKeyNavigation(False)
        self._numbers.modelReset.connect(self._fit_table)
        side = QWidget()
        side.setMinimumWidth(260)
        column = QVBoxLayout(side)
        column.addWidget(self._rep_title)
        column.addWidget(self._rep_notes)
        column.addLayout(self._measure_choice())
        column.addWidget(self._table, 1)
        main = QWidget()
        lines = QVBoxLayout(main)
        lines.addWidget(self._title)
        lines.addWidget(self._plot, 1)
        splitter = QSplitter()
        splitter.addWidget(main)
        splitter.addWidget(side)
        splitter.setStretchFactor(0, 4)
        splitter.setStretchFactor(1, 1)
        splitter.setSizes([1000, 320])
        around = QVBoxLayout(self)
        around.setContentsMargins(0, 0, 0, 0)
        around.addWidget(splitter)

    def _fit_table(self) -> None:
        """Muscle titles across all columns, lines as high as their text, columns of even width."""
        self._table.clearSpans()
        for row in self._numbers.title_rows():
            self._table.setSpan(row, 0, 1, self._numbers.columnCount())
        line = self._table.fontMetrics().height() + 4
        self._table.verticalHeader().setDefaultSectionSize(line)
        header = self._table.horizontalHeader()
        for column in range(self._numbers.columnCount()):
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.Stretch)

    def _measure_choice(self) -> QHBoxLayout:
        row = QHBoxLayout()
        self._measures = QButtonGroup(self)
        for place, name in enumerate(MEASURES):
            button = QRadioButton(f"{name} (mV)")
            button.setAccessibleName(f"Show {name} in mV")
            button.setChecked(place == 0)
            self._measures.addButton(button, place)
            row.addWidget(button)
        row.addStretch(1)
        self._measures.idClicked.connect(lambda place: self._numbers.use_measure(MEASURES[place]))
        return row

    def _connect(self) -> None:
        plot = self._plot
        plot.selected.connect(self._on_selected)
        plot.dragStarted.connect(self._on_drag_started)
        plot.dragMoved.connect(self._on_drag_moved)
        plot.dragFinished.connect(self._on_drag_finished)
        plot.dragCancelled.connect(self._on_drag_cancelled)
        plot.nudged.connect(self._on_nudged)
        plot.repPicked.connect(self._on_rep_picked)
        plot.hovered.connect(self.hovered)

    @property
    def plot(self) -> TrialPlot:
        """The traces."""
        return self._plot

    @property
    def numbers(self) -> RepNumbers:
        """The numbers of the rep in hand."""
        return self._numbers

    @property
    def trial_id(self) -> str:
        """The trial in view, '' where there is none."""
        return self._trial_id

    @property
    def rep_in_hand(self) -> int | None:
        """The id of the rep whose numbers are shown."""
        return self._rep

    # What is shown

    def set_session(self, session: Session | None) -> None:
        """Show trials of this session; the desk is empty until one is chosen."""
        self._session = session
        self._forget()
        self._plot.set_trial(None)
        self._show_rep()

    def _forget(self) -> None:
        self._nudges.stop()
        self._trial_id, self._signals, self._rep, self._address = "", None, None, None
        self._preview = self._nudged = None
        self._title.clear()

    def show_trial(self, trial_id: str) -> None:
        """Show a trial; its traces come as soon as they are read and filtered."""
        if self._session is None or trial_id == self._trial_id:
            return
        self.commit()
        self._forget()
        self._trial_id = trial_id
        trial = self._session.study.trial(trial_id)
        self._title.setText(_title(trial))
        self._plot.set_trial(None, message="Reading and filtering this trial ...")
        self._show_rep()
        self._load(keep_view=False)

    def _load(self, *, keep_view: bool) -> None:
        if self._session is None:
            return
        load_signals(
            self._session,
            self._trial_id,
            done=lambda signals: self._arrived(signals, keep_view=keep_view),
            failed=self._failed,
        )

    def _arrived(self, signals: TrialSignals, *, keep_view: bool) -> None:
        session = self._session
        if session is None or signals.trial.id != self._trial_id:
            return
        self._signals = signals
        trial = self._trial
        marks = self._marks
        self._plot.set_trial(picture_of(trial, marks, signals, session.study.settings), keep_view=keep_view)
        if self._rep is None:
            self._rep = marks.reps[0].id if marks.reps else None
        self._show_rep()
        self.shown.emit(self._trial_id)

    def _failed(self, problem: BaseException) -> None:
        self._plot.set_trial(None, message=str(problem))
        self.problem.emit(problem)

    @property
    def _trial(self) -> Trial:
        assert self._session is not None
        return self._session.study.trial(self._trial_id)

    @property
    def _marks(self) -> Marks:
        """The marks as the session has them."""
        assert self._session is not None
        return self._trial.marks_of(self._session.rater)

    def study_changed(self, before: Study, after: Study) -> None:
        """Draw what an edit changed of the trial in view."""
        if not self._trial_id or self._session is None:
            return
        if self._trial_id not in {trial.id for trial in after.trials}:
            self._forget()
            self._plot.set_trial(None)
            self._show_rep()
            return
        trial, signals = after.trial(self._trial_id), self._signals
        if signals is None:
            return
        if signals_key(trial, after.settings) != signals_key(signals.trial, before.settings):
            self._load(keep_view=True)
            return
        self._plot.set_marks(self._marks, levels_of(self._marks, signals, after.settings))
        self._show_rep()

    def _show_rep(self) -> None:
        """Title, notes and numbers of the rep in hand, of the preview while there is one."""
        session, signals = self._session, self._signals
        marks = None if session is None or signals is None else (self._preview or self._marks)
        rep = None if marks is None else next((r for r in marks.reps if r.id == self._rep), None)
        if session is None or signals is None or marks is None or rep is None:
            self._rep_title.setText("No repetition in hand" if signals is not None else "")
            self._rep_notes.setText("Click a repetition in the traces." if marks and marks.reps else "")
            if session is not None and self._trial_id:
                self._numbers.show(self._trial, None, ())
            return
        self._rep_title.setText(_rep_title(marks, rep, self._trial))
        self._rep_notes.setText(_rep_notes(rep, self._trial))
        settings = session.study.settings
        now = values_of_rep(marks, rep.id, signals, settings)
        same = self._preview is None or rep.id not in {r.id for r in self._marks.reps}
        old = () if same else values_of_rep(self._marks, rep.id, signals, settings)
        self._numbers.show(self._trial, rep, now, old)

    # Gestures

    def _on_selected(self, address: Address | None) -> None:
        self.commit()
        self._address = address
        if address is not None and address.rep != self._rep:
            self._rep = address.rep
            self._show_rep()

    def _on_rep_picked(self, rep_id: int) -> None:
        self._rep = rep_id
        self._show_rep()

    def _on_drag_started(self, address: Address) -> None:
        self.commit()
        self._rep = address.rep
        if self._session is not None and self._session.read_only:
            self.problem.emit(self._session.read_only)

    def _on_drag_moved(self, address: Address, sample: int) -> None:
        self._show_preview(address, self._marks, sample)

    def _show_preview(self, address: Address, start: Marks, sample: int) -> None:
        session, signals = self._session, self._signals
        if session is None or signals is None or session.read_only:
            return
        settings = session.study.settings
        self._preview = move(start, address, sample, signals, settings)
        self._plot.set_marks(self._preview, levels_of(self._preview, signals, settings))
        self._show_rep()

    def _on_drag_finished(self, address: Address, sample: int) -> None:
        self._keep(address, lambda marks: self._moved(marks, address, sample))

    def _moved(self, marks: Marks, address: Address, sample: int) -> Marks:
        assert self._session is not None
        assert self._signals is not None
        return move(marks, address, sample, self._signals, self._session.study.settings)

    def _on_drag_cancelled(self, _: Address) -> None:
        self._drop_preview()

    def _drop_preview(self) -> None:
        self._preview = self._nudged = None
        if self._session is not None and self._signals is not None:
            self._plot.set_marks(self._marks, levels_of(self._marks, self._signals, self._session.study.settings))
            self._show_rep()

    def _on_nudged(self, address: Address, step: int) -> None:
        if self._nudged != address:
            self.commit()
        start = self._preview or self._marks
        self._show_preview(address, start, boundary_at(start, address).sample + step)
        if self._preview is not None:
            self._nudged = address
            self._nudges.start()

    def commit(self) -> None:
        """Keep what key nudges have moved so far as one edit; whatever else is done next comes after it."""
        self._nudges.stop()
        address, preview = self._nudged, self._preview
        if address is not None and preview is not None:
            self._keep(address, lambda marks: self._moved(marks, address, boundary_at(preview, address).sample))

    def _keep(self, address: Address, edit: Callable[[Marks], Marks]) -> None:
        """Make the edit that was previewed; where it cannot be kept the marks go back and it is said why."""
        session = self._session
        self._preview = self._nudged = None
        if session is None or self._signals is None:
            return
        number = self._marks.numbers().get(address.rep)
        of = f"rep {number}" if number else "an incomplete rep"
        phase = self._marks.rep(address.rep).phases[address.phase].name
        try:
            changed = session.edit_marks(f"moved {phase} {address.place} of {of}", self._trial_id, edit)
        except (MarksError, PhasemarkError) as problem:
            changed = False
            self.problem.emit(problem)
        if not changed:
            self._drop_preview()


def _title(trial: Trial) -> str:
    load = f"  ·  {trial.load.text}" if trial.load else ""
    what = trial.exercise or str(trial.kind)
    return f"{trial.participant}  ·  {what}  ·  set {trial.set}{load}  ·  {trial.id}"


def _rep_title(marks: Marks, rep: Rep, trial: Trial) -> str:
    number = marks.numbers().get(rep.id)
    name = f"Repetition {number} of {len(marks.numbers())}" if number else "Incomplete repetition"
    parts = [f"{phase.name} {_length(phase.begin.sample, phase.end.sample, trial)}" for phase in rep.phases]
    return "  ·  ".join((name, *parts))


def _length(begin: int, end: int, trial: Trial) -> str:
    return f"{seconds(end, trial.clock) - seconds(begin, trial.clock):.2f} s"


def _rep_notes(rep: Rep, trial: Trial) -> str:
    reason = exclusion_reason(trial, rep)
    lines = [f"excluded: {reason}"] if reason is not None else []
    if rep.checked is not None:
        lines.append(f"checked by {rep.checked.rater}")
    if rep.doubts:
        lines.append(f"doubt {rep.doubt:.2f}: {'; '.join(rep.doubts)}")
    return "\n".join(lines)
