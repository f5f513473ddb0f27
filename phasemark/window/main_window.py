"""The main window: the study as a grid beside the trial in view, and the commands that act on them.

It draws what the session says and sends it edits; nothing of the study is stored here.
"""

import traceback
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QAction, QCloseEvent, QDragEnterEvent, QDropEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import QLabel, QMainWindow, QSizePolicy, QSplitter, QStackedWidget, QVBoxLayout, QWidget

from phasemark.model.errors import PhasemarkError
from phasemark.model.intervals import Purpose
from phasemark.model.study import Study
from phasemark.results.study_grid import next_trial
from phasemark.session.blinding import covered, grid_of
from phasemark.session.history import Entry, rep_changed
from phasemark.session.session import Session
from phasemark.window.actions import ACTIONS, ON_THE_TRIAL, ActionName, make_actions
from phasemark.window.adding.dropped_files import local_paths
from phasemark.window.bridge import Bridge
from phasemark.window.comparing.comparing_commands import ComparingCommands
from phasemark.window.elided_label import ElidedLabel
from phasemark.window.filters.removed_feed import RemovedFeed
from phasemark.window.grid.study_grid_view import StudyGridView
from phasemark.window.interval_commands import IntervalCommands
from phasemark.window.judging.judging_commands import JudgingCommands
from phasemark.window.judging.quality_page import QualityPage
from phasemark.window.judging.references_page import ReferencesPage
from phasemark.window.long_work import LongWork
from phasemark.window.message_bar import MessageBar
from phasemark.window.remembered import Memory, Remembered
from phasemark.window.rep_commands import RepCommands
from phasemark.window.settings_page import SettingsPage
from phasemark.window.start_page import EmptyStudyPage, StartPage, WaitingPage
from phasemark.window.study_commands import StudyCommands
from phasemark.window.study_door import StudyDoor
from phasemark.window.trial_commands import TrialCommands
from phasemark.window.trial_desk import TrialDesk
from phasemark.worker import Worker

_SAVING_LOOK_MS = 50
_ROWS_MEASURED = 50


class MainWindow(QMainWindow):
    """The window around one study, or around the page to begin with."""

    def __init__(self) -> None:
        super().__init__()
        self._session: Session | None = None
        self._look_again = QTimer(self)
        self._look_again.setSingleShot(True)
        self._look_again.setInterval(_SAVING_LOOK_MS)
        self._look_again.timeout.connect(self.show_state)
        self._bridge = Bridge(self)
        self._problems: dict[str, str] = {}
        self.aside = Worker(self._bridge.deliver)  # for small matters of the disk that belong to no study
        self.memory = Memory(self.aside, self._remember_reading)
        self.door = StudyDoor(self._bridge.deliver, self)
        self._going = self._opening_shown = self._comparing = False
        self._grid_sizes: list[int] = []
        self.desk, self.grid, self.messages = TrialDesk(), StudyGridView(), MessageBar()
        self.start, self.empty, self.settings = StartPage(), EmptyStudyPage(), SettingsPage()
        self.waiting = WaitingPage()
        self.work = LongWork()
        self.reps = RepCommands(self.desk, lambda: self._session)
        self.trials = TrialCommands(self.desk, lambda: self._session)
        self.intervals = IntervalCommands(self.desk, lambda: self._session)
        self.judging = JudgingCommands(self.desk, lambda: self._session)
        self.comparing = ComparingCommands(lambda: self._session)
        self.removed = RemovedFeed(self)
        self.commands = StudyCommands(self)
        self._actions: dict[ActionName, QAction] = {}
        self._place()
        self._make_actions()
        self._connect()
        self._show_study()
        self._look_for_recent()
        self.resize(1440, 900)

    # Parts

    def _place(self) -> None:
        self._left, self._right, self._pages = QStackedWidget(), QStackedWidget(), QStackedWidget()
        self._study = QSplitter()
        for stack, parts in (
            (self._left, (self.grid, self.settings, self.judging.quality, self.judging.references)),
            (self._right, (self.desk, self.empty)),
            (self._pages, (self.start, self._study, self.waiting, self.comparing.page)),
        ):
            for part in parts:
                stack.addWidget(part)
        self._ask_room(self.grid)
        self._study.addWidget(self._left)
        self._study.addWidget(self._right)
        self._study.setStretchFactor(1, 1)
        self._study.setSizes([300, 1140])
        self._study.setChildrenCollapsible(False)
        self._whole = QWidget()
        column = QVBoxLayout(self._whole)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.messages)
        column.addWidget(self._pages, 1)
        self.setCentralWidget(self._whole)
        # Of a trial of many repetitions only so many rows say how wide the columns of the table are.
        self.desk.table_view.horizontalHeader().setResizeContentsPrecision(_ROWS_MEASURED)
        self.setAcceptDrops(True)
        self._hover, self._saved = ElidedLabel(), QLabel()
        self.statusBar().addWidget(self._hover, 1)
        self.statusBar().addPermanentWidget(self.work)
        self.statusBar().addPermanentWidget(self._saved)

    def _make_actions(self) -> None:
        self._actions = make_actions(self.menuBar(), self._what_actions_do())

    def _what_actions_do(self) -> dict[ActionName, Callable[[], object]]:
        commands, reps, trials = self.commands, self.reps, self.trials
        return {
            ActionName.NEW: commands.ask_new_study,
            ActionName.OPEN: commands.ask_study,
            ActionName.ADD: commands.ask_recordings,
            ActionName.SETTINGS: self.toggle_settings,
            ActionName.QUALITY: lambda: self.toggle_page(self.judging.quality),
            ActionName.REFERENCES: lambda: self.toggle_page(self.judging.references),
            ActionName.COMPARE: self.toggle_comparison,
            ActionName.EXPORT: commands.ask_export,
            ActionName.QUIT: self.close,
            ActionName.UNDO: self.undo,
            ActionName.REDO: self.redo,
            ActionName.NEXT_TRIAL: lambda: self.grid.step(1),
            ActionName.PREVIOUS_TRIAL: lambda: self.grid.step(-1),
            ActionName.FIT_ALL: self.desk.plot.fit_all,
            ActionName.ACCEPT: reps.accept,
            ActionName.ACCEPT_TRIAL: reps.accept_trial,
            ActionName.PREVIOUS_REP: reps.previous,
            ActionName.TAKE_BACK_ACCEPTANCE: reps.take_back_acceptance,
            ActionName.EXCLUDE: reps.ask_exclusion,
            ActionName.TAKE_BACK_EXCLUSION: reps.take_back_exclusion,
            ActionName.COMPLETE: reps.toggle_complete,
            ActionName.DRAW_REP: reps.draw,
            ActionName.ADD_REP: reps.add,
            ActionName.DELETE_REP: reps.delete,
            ActionName.SPLIT_REP: reps.split,
            ActionName.MERGE_REP: reps.merge,
            ActionName.MARK: commands.mark_unmarked,
            ActionName.MARK_TRIAL: commands.mark_trial_again,
            ActionName.MARK_AGAIN: commands.mark_all_again,
            ActionName.MEASURE: commands.measure_study,
            ActionName.BLIND: trials.toggle_blind,
            ActionName.REMOVE_TRIAL: trials.ask_removal,
            ActionName.ENLARGE: lambda: self.desk.plot.enlarge(1),
            ActionName.REDUCE: lambda: self.desk.plot.enlarge(-1),
            ActionName.FIT_SCALES: self.desk.plot.fit_scales,
            ActionName.HOLD_SCALES: trials.toggle_held_scales,
            ActionName.FILTERED: self.toggle_filtered,
            ActionName.BASELINE: lambda: self.intervals.ask(Purpose.BASELINE, alone=False),
            ActionName.PLATEAU: lambda: self.intervals.ask(Purpose.PLATEAU, alone=False),
            ActionName.HOLD: lambda: self.intervals.ask(Purpose.HOLD, alone=False),
            ActionName.BASELINE_OF_ONE: lambda: self.intervals.ask(Purpose.BASELINE, alone=True),
            ActionName.PLATEAU_OF_ONE: lambda: self.intervals.ask(Purpose.PLATEAU, alone=True),
            ActionName.HOLD_OF_ONE: lambda: self.intervals.ask(Purpose.HOLD, alone=True),
            ActionName.PLACED: self.intervals.show_placed,
        }

    def _connect(self) -> None:
        desk, reps = self.desk, self.reps
        desk.problem.connect(self.say_problem)
        desk.failed.connect(self.trial_failed)
        desk.shown.connect(self._trial_can_be_read)
        desk.hovered.connect(self._hover.setText)
        self.grid.trialChosen.connect(self.show_trial)
        reps.goTo.connect(self.show_trial)
        reps.said.connect(self.messages.say)
        reps.problem.connect(self.say_problem)
        judging = self.judging
        judging.goTo.connect(self.show_trial)
        judging.problem.connect(self.say_problem)
        judging.measureWanted.connect(self.commands.measure_study)
        judging.settingsWanted.connect(self.show_setting)
        judging.quality.done.connect(lambda: self.toggle_page(judging.quality))
        judging.references.done.connect(lambda: self.toggle_page(judging.references))
        comparing = self.comparing
        comparing.goTo.connect(self._trace_value)
        comparing.said.connect(self.messages.say)
        comparing.problem.connect(self.say_problem)
        comparing.measured.connect(self.desk.measured_anew)
        comparing.page.done.connect(self.toggle_comparison)
        self.intervals.said.connect(self.messages.say)
        self.intervals.problem.connect(self.say_problem)
        self.trials.goTo.connect(self.show_trial)
        self.trials.problem.connect(self.say_problem)
        self.trials.coverChanged.connect(self._show_study)
        self.messages.cover = lambda text: covered(self._session, text) if self._session is not None else text
        self.door.came.connect(self._use)
        self.door.refused.connect(self._refused)
        self.door.failed.connect(self.say_problem)
        self.door.changed.connect(self._show_waiting)
        self.start.newStudy.connect(self.commands.ask_new_study)
        self.start.openStudy.connect(self.commands.ask_study)
        self.start.demoStudy.connect(self.commands.ask_demo_place)
        self.start.recentChosen.connect(self.open_study)
        self.empty.addRecordings.connect(self.commands.ask_recordings)
        self.empty.filesDropped.connect(self.commands.take_dropped)
        self.settings.changed.connect(self.commands.change_setting)
        self.settings.markAgain.connect(self.commands.mark_all_again)
        self.settings.done.connect(self.toggle_settings)
        self.settings.shared.connect(self.commands.share_filters)
        self.settings.filteredWanted.connect(self.toggle_filtered)
        desk.shown.connect(self._show_removed)
        for choice in (desk.measure_choice.chosen, desk.measure_choice.unitChosen):
            choice.connect(self._keep_reading)
        self.removed.arrived.connect(self._show_removed)
        self.removed.problem.connect(self.say_problem)
        for part in (desk.plot, desk.figure):  # one key for each repetition, while the traces have the focus
            for name in ("Return", "Enter"):
                key = QShortcut(QKeySequence(name), part)
                key.setContext(Qt.ShortcutContext.WidgetShortcut)
                key.activated.connect(reps.accept)

    def deliver(self, call: Callable[[], None]) -> None:
        """Have a callable run on the window's thread; from any thread."""
        self._bridge.deliver(call)

    @property
    def session(self) -> Session | None:
        """The open study."""
        return self._session

    def action(self, name: ActionName) -> QAction:
        """The action of a name."""
        return self._actions[name]

    # The study

    def open_study(self, path: Path) -> None:
        """Open a study in this window, in place of the one before; the window stays live meanwhile."""
        if not self._going:
            self.close_study()
            self.door.open(path)

    def _refused(self, problem: BaseException) -> None:
        self._show_study()
        self.say_problem(problem)

    def _show_waiting(self) -> None:
        """Show which study is on its way in, and let it be given up."""
        name = self.door.waiting
        if name and self._session is None:
            self.waiting.say(f"Opening {name} …")
            self.work.begin(f"Opening {name}")
            self.work.hold(self.door)
        elif self._opening_shown:
            self.work.end()
        self._opening_shown = bool(name) and self._session is None
        self._show_pages()
        self.show_state()

    def _use(self, session: Session, said: tuple[str, ...]) -> None:
        self.close_study()
        self._session = session
        self._problems = {}
        session.listeners.append(self._on_changed)
        session.told.append(self.messages.say)
        self.memory.change(lambda kept: kept.with_recent(session.path))
        self.desk.set_session(session)
        self.judging.use_session()
        self.comparing.use_session()
        self._show_study()
        sentences = [*said, *([session.read_only] if session.read_only else [])]
        if sentences:
            self.messages.say("\n".join(sentences))
        else:
            self.messages.hide()
        self.show_first_trial()

    def show_first_trial(self) -> None:
        """Bring the first trial with something to do into view, else the first one."""
        session = self._session
        if session is not None and not self.desk.trial_id:
            grid = grid_of(session, self._problems)
            first = next_trial(grid, "", 1, only_to_do=True) or next_trial(grid, "", 1)
            if first is not None:
                self.show_trial(first)

    def close_study(self) -> None:
        """Let go of the study; what it still has to write is written while the window stays live."""
        self.commands.stop_demo()
        self.commands.close_dialog()
        self.reps.close_dialog()
        self.trials.close_dialog()
        self.intervals.close_dialog()
        self.judging.close_dialog()
        session = self._session
        if session is None:
            return
        self.desk.gestures.commit()
        self.desk.set_session(None)
        self.work.end()
        self._session, self._comparing = None, False
        self.judging.use_session()
        self.comparing.use_session()
        self.door.let_go(session)
        self._show_study()

    def show_trial(self, trial_id: str, rep_id: int | None = None) -> None:
        """Bring a trial into view, with a rep in hand if one is asked for."""
        if self._session is None or trial_id not in {trial.id for trial in self._session.study.trials}:
            return
        self.desk.show_trial(trial_id, rep_id)
        self.grid.set_current(trial_id)

    def trial_failed(self, trial_id: str, problem: BaseException) -> None:
        """A trial's recording cannot be read: its cell says so."""
        self._problems[trial_id] = str(problem)
        self._show_study()

    def _trial_can_be_read(self, trial_id: str) -> None:
        if self._problems.pop(trial_id, None) is not None:
            self._show_study()

    def _on_changed(self, before: Study, after: Study) -> None:
        self.desk.study_changed(before, after)  # first: traces are filtered anew while the rest is drawn
        self._show_study()
        if not self.desk.trial_id:
            self.show_first_trial()

    def _show_study(self) -> None:
        session = self._session
        self._show_pages()
        if session is not None:
            self.grid.show_grid(grid_of(session, self._problems))
            self.grid.set_current(self.desk.trial_id)
        self._fill_settings()
        self.show_state()

    def _fill_settings(self) -> None:
        """Show the study's settings where they are seen; elsewhere each edit would pay for them."""
        session = self._session
        if session is None:
            self.settings.show_study(None, editable=False)
        elif self._left.currentWidget() is self.settings:
            self.settings.show_study(session.study, editable=not session.read_only)

    def _remember_reading(self, kept: Remembered) -> None:
        """Read amplitudes as in the sitting before."""
        if any(kept.reading):
            self.desk.measure_choice.put_words(*kept.reading)

    def _keep_reading(self) -> None:
        choice = self.desk.measure_choice
        reading = (str(choice.measure), str(choice.unit))
        if reading != self.memory.value.reading:
            self.memory.change(lambda kept: replace(kept, reading=reading))

    def _show_removed(self) -> None:
        """Show what the filters do to the trial in view, where the settings are seen."""
        session, signals = self._session, self.desk.signals
        if session is None or signals is None:
            self.removed.forget()
            self.settings.show_trial(None, None)
        elif self._left.currentWidget() is self.settings:
            self.removed.ask(session, signals)
            self.settings.show_trial(signals.trial, self.removed.removed)

    def _show_pages(self) -> None:
        session = self._session
        if session is not None:
            self._right.setCurrentWidget(self.desk if session.study.trials else self.empty)
            self.empty.set_study(session.study.name, session.read_only)
        without = self.waiting if self.door.waiting or self._going else self.start
        seen = self.comparing.page if self._comparing else self._study
        page = without if session is None else seen
        if page is self.start and self._pages.currentWidget() is not page:
            self._look_for_recent()
        self._pages.setCurrentWidget(page)
        shown = self._left.currentWidget()
        self._show_left(self.grid if session is None or shown is None else shown)

    def _look_for_recent(self) -> None:
        self.memory.look_for_recent(self._bridge.deliver, self.start.set_recent)

    def show_state(self) -> None:
        """Title, what can be done now, and whether every edit is on the disk."""
        session = self._session
        name = "" if session is None else f"{session.study.name}{' (read-only)' if session.read_only else ''} – "
        self.setWindowTitle(f"{name}Phasemark")
        for described in ACTIONS:
            seen = not (self._comparing and described.name in ON_THE_TRIAL)
            self._actions[described.name].setEnabled(not self._going and seen and described.enabled(session))
        self._actions[ActionName.BLIND].setChecked(session is not None and session.blind)
        self._actions[ActionName.HOLD_SCALES].setChecked(self.desk.plot.scales_held)
        self._actions[ActionName.FILTERED].setChecked(self.desk.filtered)
        self.settings.filtered.setChecked(self.desk.filtered)
        undoable = session.history.undoable if session else None
        redoable = session.history.redoable if session else None
        for action, word, entry in ((ActionName.UNDO, "&Undo", undoable), (ActionName.REDO, "&Redo", redoable)):
            said = "" if session is None or entry is None else f": {covered(session, entry.text)}"
            self._actions[action].setText(f"{word}{said}")
        self._saved.setText("" if session is None else self._saved_text(session))
        self.judging.refresh()
        self.comparing.refresh()

    def _saved_text(self, session: Session) -> str:
        if session.read_only:
            return "read-only"
        if session.unsaved:
            self._look_again.start()
            return "saving …"
        return "all edits saved"

    # History

    def undo(self) -> None:
        """Take the last edit back and go to its trial."""
        self.desk.gestures.commit()
        self._step(lambda session: session.undo())

    def redo(self) -> None:
        """Make the edit that was taken back again and go to its trial."""
        self.desk.gestures.commit()
        self._step(lambda session: session.redo())

    def _step(self, step: Callable[[Session], Entry | None]) -> None:
        if self._session is None:
            return
        try:
            entry = step(self._session)
        except PhasemarkError as problem:
            self.say_problem(problem)
            return
        if entry is not None and entry.trial:
            self.show_trial(entry.trial, rep_changed(entry, self._session.study, self._session.rater))

    def toggle_filtered(self) -> None:
        """Draw the filtered signal of each muscle behind its envelope, or the recorded one."""
        self.desk.set_filtered(not self.desk.filtered)
        self.show_state()

    def toggle_settings(self) -> None:
        """Show the settings beside the trial, in the place of the grid, or put them away."""
        self.toggle_page(self.settings)

    def show_setting(self, key: str) -> None:
        """Show the settings with the field of one of them in hand."""
        if self._left.currentWidget() is not self.settings:
            self.toggle_page(self.settings)
        self.settings.show_field(key)

    def toggle_comparison(self) -> None:
        """Show the comparison over the whole window, or put it away."""
        self._show_comparison(not self._comparing)
        (self.comparing.page.take_focus if self._comparing else self.desk.plot.setFocus)()

    def _show_comparison(self, on: bool) -> None:
        if on != self._comparing:
            self._comparing = on
            self.desk.gestures.commit()
            self._show_study()

    def _trace_value(self, trial_id: str, rep_id: int | None) -> None:
        """Go from a value of the comparison to the trial and repetition it comes from."""
        self._show_comparison(False)
        self.show_trial(trial_id, rep_id)
        self.desk.plot.setFocus()

    def toggle_page(self, page: SettingsPage | QualityPage | ReferencesPage) -> None:
        """Show a page beside the trial, in the place of the grid, or put it away."""
        if self._comparing:
            self._show_comparison(False)
            if self._left.currentWidget() is page:
                return
        if self._left.currentWidget() is page:
            self._show_left(self.grid)
            self.desk.plot.setFocus()
            return
        self._show_left(page)
        self._fill_settings()
        self._show_removed()
        self.judging.refresh()
        page.take_focus()

    def _show_left(self, shown: QWidget) -> None:
        """The grid or a page in its place; a study without trials has no grid."""
        session, before = self._session, self._left.currentWidget()
        self._ask_room(shown)
        self._left.setCurrentWidget(shown)
        self._left.setVisible(shown is not self.grid or (session is not None and bool(session.study.trials)))
        if shown is not before:
            self._give_room(shown, before)

    def _ask_room(self, shown: QWidget) -> None:
        """What is not shown asks for no room."""
        for part in (self.grid, self.settings, self.judging.quality, self.judging.references):
            asks = QSizePolicy.Policy.Preferred if part is shown else QSizePolicy.Policy.Ignored
            part.setSizePolicy(asks, asks)

    def _give_room(self, shown: QWidget, before: QWidget | None) -> None:
        """A page of tables is as wide as it asks for, up to half the window; the grid gets back what it had."""
        wide = (self.judging.quality, self.judging.references)
        if before not in wide:
            self._grid_sizes = self._study.sizes()
        if shown in wide:
            whole = sum(self._study.sizes())
            left = max(self._study.sizes()[0], min(shown.sizeHint().width(), whole // 2))
            self._study.setSizes([left, whole - left])
        elif before in wide:
            self._study.setSizes(self._grid_sizes)

    def say_problem(self, problem: object) -> None:
        """Say an expected failure in its sentence, and any other with details to copy."""
        if isinstance(problem, BaseException) and not isinstance(problem, PhasemarkError):
            details = "".join(traceback.format_exception(problem))
            self.messages.say(f"Something unforeseen went wrong: {problem}", details)
        else:
            self.messages.say(str(problem))
        self.show_state()

    # Events

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Files and studies are welcome."""
        if local_paths(event.mimeData()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Open a study that was dropped, or add the files."""
        event.acceptProposedAction()
        self.commands.take_dropped(local_paths(event.mimeData()))

    def closeEvent(self, event: QCloseEvent) -> None:
        """Close only when every edit is on the disk; what cannot be written is said first, in the window."""
        if self._going:
            event.ignore()
            return
        self._going = True
        name = "" if self._session is None else self._session.study.name
        self.waiting.say(f"Saving {name} …" if name else "Closing …")
        self._whole.setEnabled(False)
        self.door.abandon()
        self.close_study()
        if self.door.wait_until_at_rest():
            self._stay()
            event.ignore()
            return
        self.door.see_off(self.memory.finish)
        self.door.wait_until_at_rest()
        self._look_again.stop()
        self._bridge.shut()
        super().closeEvent(event)

    def _stay(self) -> None:
        """Keep the window open, for what could not be written to be read in it."""
        self._going = False
        self._whole.setEnabled(True)
        self._show_study()
