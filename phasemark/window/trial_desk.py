"""The trial in view: overview and traces, beside them the rep in hand on its height axis and the table of marks."""

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import QPointF, Signal
from PySide6.QtWidgets import QLabel, QSplitter, QVBoxLayout, QWidget

from phasemark.model.checking import unchecked
from phasemark.model.mark_edits import Address
from phasemark.model.marks import Marks
from phasemark.model.study import Study, Trial
from phasemark.session.blinding import covered
from phasemark.session.boundary_move import levels_of
from phasemark.session.loading import load_signals
from phasemark.session.readout import readout
from phasemark.session.session import Session
from phasemark.session.trial_signals import TrialSignals, signals_key
from phasemark.window.boundary_gestures import BoundaryGestures
from phasemark.window.elided_label import ElidedLabel
from phasemark.window.figure.rep_figure_feed import RepFigureFeed
from phasemark.window.figure.rep_figure_view import RepFigureView
from phasemark.window.figure.rep_motion_block import RepMotionBlock
from phasemark.window.marks_table import MarksTable
from phasemark.window.marks_view import marks_view
from phasemark.window.measure_choice import MeasureChoice
from phasemark.window.traces.overview_strip import OverviewStrip
from phasemark.window.traces.trial_plot import TrialPlot
from phasemark.window.traces.trial_scene import picture_of
from phasemark.window.trial_title import trial_title

_FIGURE_FIRST = 1000
_LEAST_PLOT_PX = 300
_READING = "Reading and filtering this trial …"
_GONE = "This trial is no longer in the study."
_BLIND = "Marking blind: names and amplitudes are hidden."
_BLIND_MORE = "Trials come in an order that was drawn. What is decided says that it was decided blind."


class TrialDesk(QWidget):
    """One trial of the session. It stores which trial, rep and boundary are in hand, and nothing of the study."""

    problem = Signal(object)
    hovered = Signal(str)
    shown = Signal(str)
    failed = Signal(str, object)  # a trial's id and why its signals cannot be had
    repInHand = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self._session: Session | None = None
        self._trial_id = ""
        self._signals: TrialSignals | None = None
        self._rep: int | None = None
        self._wanted_rep: int | None = None
        self._filtered = False
        self._chosen: Callable[[int, int], object] | None = None
        self.plot, self.overview, self.figure = TrialPlot(), OverviewStrip(), RepFigureView()
        self.gestures = BoundaryGestures(self.plot)
        self.marks_table = MarksTable()
        self.motion = RepMotionBlock()
        self._in_figure = RepFigureFeed(self.figure, self.motion, self.gestures)
        self._title = ElidedLabel()
        self.measure_choice, self.blind_note = MeasureChoice(), QLabel(_BLIND)
        self.blind_note.setWordWrap(True)
        self.blind_note.setToolTip(_BLIND_MORE)
        self.table_view = marks_view(self.marks_table)
        self._place()
        self._connect()

    # Parts

    def _place(self) -> None:
        # The figure takes the height that _level allows it, and gives way with the window.
        self.figure.setMinimumHeight(1)
        self.plot.setMinimumWidth(_LEAST_PLOT_PX)
        font = self._title.font()
        font.setBold(True)
        self._title.setFont(font)
        traces, side = QWidget(), QWidget()
        stretch: dict[QWidget, int] = {self.plot: 1, self.table_view: 1, self.figure: _FIGURE_FIRST}
        for widget, parts in (
            (traces, (self._title, self.overview, self.plot)),
            (side, (self.measure_choice, self.blind_note, self.figure, self.motion, self.table_view)),
        ):
            column = QVBoxLayout(widget)
            column.setContentsMargins(0, 0, 0, 0)
            column.setSpacing(4)
            for part in parts:
                column.addWidget(part, stretch.get(part, 0))
        splitter = QSplitter()
        splitter.addWidget(traces)
        splitter.addWidget(side)
        splitter.setStretchFactor(0, 3)
        splitter.setStretchFactor(1, 2)
        splitter.setSizes([640, 440])
        splitter.setChildrenCollapsible(False)
        around = QVBoxLayout(self)
        around.setContentsMargins(6, 4, 6, 0)
        around.addWidget(splitter)

    def _connect(self) -> None:
        plot = self.plot
        plot.selected.connect(self._on_selected)
        plot.repPicked.connect(self.take_rep)
        plot.hovered.connect(self.hovered)
        plot.stretchChosen.connect(self._on_stretch)
        plot.stretchDropped.connect(self._on_no_stretch)
        plot.cursorMoved.connect(self._on_cursor)
        plot.areasChanged.connect(self._level)
        plot.spanChanged.connect(self.overview.set_span)
        self.overview.spanWanted.connect(plot.show_span)
        self.overview.repPicked.connect(self.take_rep)
        self.figure.hovered.connect(self.hovered)
        self.gestures.begun.connect(lambda address: self.take_rep(address.rep))
        self.gestures.previewed.connect(lambda _: self._show_marks())
        self.gestures.problem.connect(self.problem)
        self.marks_table.timeTyped.connect(self.gestures.move_to)
        self.marks_table.refused.connect(self._on_refused)
        self.table_view.selectionModel().currentRowChanged.connect(lambda now, _: self._on_row(now))
        self.measure_choice.chosen.connect(self.figure.set_measure)
        self.measure_choice.unitChosen.connect(self.figure.set_unit)
        self._in_figure.numbers.arrived.connect(self._on_numbers)
        self._in_figure.numbers.problem.connect(self.problem)

    # What is in hand

    @property
    def trial_id(self) -> str:
        """The trial in view, '' where there is none."""
        return self._trial_id

    @property
    def rep_in_hand(self) -> int | None:
        """The id of the rep whose figure is shown."""
        return self._rep

    @property
    def signals(self) -> TrialSignals | None:
        """The signals of the trial in view, once they are there."""
        return self._signals

    @property
    def marks(self) -> Marks | None:
        """The marks that are drawn: those of the session, or as they would be while a boundary is on its way."""
        if self._session is None or not self._trial_id:
            return None
        return self.gestures.preview or self._trial.marks_of(self._session.rater)

    @property
    def _trial(self) -> Trial:
        assert self._session is not None
        return self._session.study.trial(self._trial_id)

    # What is shown

    def set_session(self, session: Session | None) -> None:
        """Show trials of this session; the desk is empty until one is chosen."""
        self._session = session
        self._in_figure.numbers.use(session)
        self.plot.forget_scales()
        self._forget()
        self._show_nothing("")
        self._show_blind()

    def _show_blind(self) -> None:
        blind = self._session is not None and self._session.blind
        self.blind_note.setVisible(blind)
        for part in (self.measure_choice, self.figure, self.motion):
            part.setVisible(not blind)

    def show_cover(self) -> None:
        """Numbers and names are hidden, or shown again: draw the trial in view accordingly."""
        self._show_blind()
        session, signals = self._session, self._signals
        if session is None or not self._trial_id:
            return
        self._title.setText(trial_title(session, self._trial))
        if signals is not None:
            self._draw(session, signals, keep_view=True)

    def _forget(self) -> None:
        self.gestures.use(self._session, None)
        self._trial_id, self._signals, self._rep = "", None, None
        self._in_figure.forget()
        self._title.clear()

    def _show_nothing(self, message: str) -> None:
        if message:
            self.plot.set_trial(None, message=message)
        else:
            self.plot.set_trial(None)
        self.overview.set_picture(None)
        self._in_figure.show_nothing()
        self.marks_table.show(None, None, editable=False)

    def show_trial(self, trial_id: str, rep_id: int | None = None) -> None:
        """Show a trial with a rep in hand; its traces come as soon as they are read and filtered."""
        session = self._session
        if session is None:
            return
        if trial_id == self._trial_id:
            if rep_id is not None:
                self.take_rep(rep_id, bring=True)
            return
        self.gestures.commit()
        self._forget()
        self._trial_id, self._wanted_rep = trial_id, rep_id
        self._title.setText(trial_title(session, self._trial))
        self._show_nothing(_READING)
        self._load(keep_view=False)

    def _load(self, *, keep_view: bool) -> None:
        if self._session is not None:
            load_signals(
                self._session,
                self._trial_id,
                done=lambda signals: self._arrived(signals, keep_view=keep_view),
                failed=partial(self._failed, self._trial_id),
                before=self._signals,
                filtered=self._filtered,
            )

    def _arrived(self, signals: TrialSignals, *, keep_view: bool) -> None:
        session = self._session
        if session is None or signals.trial.recording != self._trial.recording:
            return
        self._signals = signals
        self._in_figure.forget()
        self.gestures.use(session, signals)
        if self._wanted_rep is not None:
            self._rep, self._wanted_rep = self._wanted_rep, None
        self._draw(session, signals, keep_view=keep_view)
        self.shown.emit(self._trial_id)

    def _draw(self, session: Session, signals: TrialSignals, *, keep_view: bool) -> None:
        marks = self._trial.marks_of(session.rater)
        picture = picture_of(
            self._trial,
            marks,
            signals,
            session.study.settings,
            covered=session.blind,
            filtered=self._filtered,
        )
        self.plot.set_trial(picture, keep_view=keep_view)
        self.overview.set_picture(picture)
        self.overview.set_span(self.plot.span)
        self._show_rest(marks)
        self._level()

    @property
    def filtered(self) -> bool:
        """Whether the filtered signal is drawn in place of the recorded one."""
        return self._filtered

    def set_filtered(self, on: bool) -> None:
        """Draw the filtered signal of each muscle behind its envelope, or the recorded one."""
        if on != self._filtered:
            self._filtered = on
            if self._signals is not None:
                self._load(keep_view=True)

    def ask_stretch(self, prompt: str, chosen: Callable[[int, int], object]) -> None:
        """Let the user choose a stretch of the traces; only who asked last is told."""
        self.gestures.commit()
        self.plot.setFocus()
        self.plot.drop_stretch()  # one that is asked for something else
        self._chosen = chosen
        self.plot.ask_stretch(prompt)

    def _on_stretch(self, begin: int, end: int) -> None:
        chosen, self._chosen = self._chosen, None
        if chosen is not None:
            chosen(begin, end)

    def _on_no_stretch(self) -> None:
        self._chosen = None

    def _failed(self, trial_id: str, problem: BaseException) -> None:
        self._show_nothing(str(problem) if self._session is None else covered(self._session, str(problem)))
        self.problem.emit(problem)
        self.failed.emit(trial_id, problem)

    def study_changed(self, before: Study, after: Study) -> None:
        """Draw what an edit changed of the trial in view."""
        session = self._session
        if not self._trial_id or session is None:
            return
        if self._trial_id not in {trial.id for trial in after.trials}:
            self._forget()
            self._show_nothing(_GONE)
            return
        if self._signals is None:
            return
        self._title.setText(trial_title(session, self._trial))
        self._in_figure.numbers.ask_again()
        if signals_key(self._trial, after.settings) != signals_key(self._signals.trial, before.settings):
            self._load(keep_view=True)
        elif self._trial.intervals != before.trial(self._trial_id).intervals:
            self._draw(session, self._signals, keep_view=True)
        else:
            self._show_marks()

    def _show_marks(self) -> None:
        """Draw the marks as they are, or as they would be, everywhere."""
        session, signals, marks = self._session, self._signals, self.marks
        if session is None or signals is None or marks is None:
            return
        self.plot.set_marks(marks, levels_of(marks, signals, session.study.settings))
        self.overview.set_marks(marks)
        self._show_rest(marks)

    def _show_rest(self, marks: Marks) -> None:
        session = self._session
        assert session is not None
        self.marks_table.show(self._trial, marks, editable=not session.read_only)
        self._show_figure(marks)

    def _show_figure(self, marks: Marks) -> None:
        session, signals = self._session, self._signals
        if self._rep not in {rep.id for rep in marks.reps}:
            self._rep = self._first_rep(marks)
        if session is None or signals is None or self._rep is None or session.blind:
            self._in_figure.show_nothing(None if session is None else self._trial)
        else:
            self._in_figure.show(session, self._trial, marks, self._rep, signals)

    def _on_numbers(self) -> None:
        """Errors and references have arrived; while a boundary is on its way they wait."""
        marks = self.marks
        if marks is not None and self.gestures.preview is None:
            self._show_figure(marks)

    def measured_anew(self) -> None:
        """References may be others now: show the rep in hand with them."""
        self._in_figure.numbers.ask_again()
        self._on_numbers()

    def _first_rep(self, marks: Marks) -> int | None:
        """The first rep that is still to be looked at, else the first one."""
        assert self._session is not None
        order = (*unchecked(self._trial, self._session.rater), *(rep.id for rep in marks.reps))
        there = {rep.id for rep in marks.reps}
        return next((rep_id for rep_id in order if rep_id in there), None)

    def _level(self) -> None:
        """Lay the figure's axis level with the movement lane: same height, same range."""
        self.overview.set_margins(float(self.plot.lanes_area().left()), float(self._right_margin()))
        area = self.plot.movement_area()
        if area is None:
            self.figure.setMaximumHeight(max(self.height() // 2, 1))
            self.figure.clear_axis()
            return
        rect, (low, high) = area
        top = self.figure.mapFromGlobal(self.plot.mapToGlobal(QPointF(0.0, rect.top()))).y()
        bottom = top + rect.height()
        self.figure.setMaximumHeight(round(bottom + self.figure.room_below))
        self.figure.set_axis(top, bottom, low, high)

    def _right_margin(self) -> int:
        return max(self.plot.width() - self.plot.lanes_area().right() - 1, 0)

    # Selection

    def take_rep(self, rep_id: int, *, bring: bool = False) -> None:
        """Take a rep in hand; bring it into view if asked to."""
        marks = self.marks
        if marks is None or rep_id not in {rep.id for rep in marks.reps}:
            return
        if bring and marks.rep(rep_id).phases:
            first = next(iter(marks.rep(rep_id).phases[0].boundaries()))[0]
            self.plot.select(Address(rep_id, 0, first))
            self._follow(Address(rep_id, 0, first))
        if rep_id != self._rep:
            self._rep = rep_id
            self._show_figure(marks)
            self.repInHand.emit(rep_id)

    def _on_selected(self, address: Address | None) -> None:
        self.gestures.commit()
        self._follow(address)
        if address is not None:
            self.take_rep(address.rep)

    def _follow(self, address: Address | None) -> None:
        """Show the selected boundary in the table as well."""
        index = self.marks_table.index_of(address)
        if index.isValid() and index.row() != self.table_view.currentIndex().row():
            self.table_view.setCurrentIndex(index)

    def _on_cursor(self, sample: int | None) -> None:
        """Show position, speed and each muscle's value under the cursor."""
        signals = self._signals
        self.plot.set_readout(None if signals is None or sample is None else readout(signals, sample))

    def _on_refused(self, sentence: str) -> None:
        self.problem.emit(sentence)

    def _on_row(self, index: object) -> None:
        address = self.marks_table.address_at(index)  # type: ignore[arg-type]  # Qt hands an index on
        if address is not None and address != self.plot.selected_address:
            self.gestures.commit()
            self.plot.select(address)
            self.take_rep(address.rep)
