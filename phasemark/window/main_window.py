"""The main window: the study as a grid beside the trial in view, and the commands that act on them.

It draws what the session says and sends it edits; nothing of the study is stored here.
"""

import traceback
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtGui import QAction, QCloseEvent, QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QLabel, QMainWindow, QVBoxLayout, QWidget

from phasemark.model.errors import PhasemarkError
from phasemark.model.study import Study
from phasemark.results.study_grid import Grid, next_trial
from phasemark.session.blinding import covered, grid_of
from phasemark.session.history import Entry, rep_changed
from phasemark.session.session import Session
from phasemark.window.actions import ActionName, make_actions
from phasemark.window.adding.dropped_files import local_paths
from phasemark.window.bridge import Bridge
from phasemark.window.comparing.comparing_commands import ComparingCommands
from phasemark.window.elided_label import ElidedLabel
from phasemark.window.grid.study_grid_view import StudyGridView
from phasemark.window.interval_commands import IntervalCommands
from phasemark.window.judging.judging_commands import JudgingCommands
from phasemark.window.judging.quality_page import QualityPage
from phasemark.window.judging.references_page import ReferencesPage
from phasemark.window.long_work import LongWork
from phasemark.window.message_bar import MessageBar
from phasemark.window.remembered import Memory, Remembered
from phasemark.window.rep_commands import RepCommands
from phasemark.window.settings_feed import SettingsFeed
from phasemark.window.settings_page import SettingsPage
from phasemark.window.start_page import EmptyStudyPage, StartPage, WaitingPage
from phasemark.window.state_shown import SAVING, saved_text, show_what_can_be_done, title_text
from phasemark.window.study_commands import StudyCommands
from phasemark.window.study_door import StudyDoor
from phasemark.window.trial_commands import TrialCommands
from phasemark.window.trial_desk import TrialDesk
from phasemark.window.window_pages import WindowPages
from phasemark.window.window_wiring import connect_parts, what_actions_do
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
        self.desk, self.grid, self.messages = TrialDesk(), StudyGridView(), MessageBar()
        self.start, self.empty, self.settings = StartPage(), EmptyStudyPage(), SettingsPage()
        self.waiting = WaitingPage()
        self.work = LongWork()
        self.reps = RepCommands(self.desk, lambda: self._session)
        self.trials = TrialCommands(self.desk, lambda: self._session)
        self.intervals = IntervalCommands(self.desk, lambda: self._session)
        self.judging = JudgingCommands(self.desk, lambda: self._session)
        self.comparing = ComparingCommands(lambda: self._session)
        self.commands = StudyCommands(self)
        tables = self.judging.quality, self.judging.references
        whole = self.start, self.waiting, self.comparing.page
        self._pages = WindowPages(self.grid, tables, (self.settings, *tables), (self.desk, self.empty), whole)
        self.settings_feed = SettingsFeed(
            self.settings, self.desk, lambda: self._session, lambda: self._pages.beside is self.settings
        )
        self._place()
        self._actions = make_actions(self.menuBar(), what_actions_do(self))
        self._connect()
        self._show_study()
        self._look_for_recent()
        self.resize(1440, 900)

    # Parts

    def _place(self) -> None:
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

    def _connect(self) -> None:
        connect_parts(self)
        desk = self.desk
        desk.shown.connect(self._trial_can_be_read)
        desk.hovered.connect(self._hover.setText)
        for choice in (desk.measure_choice.chosen, desk.measure_choice.unitChosen):
            choice.connect(self._keep_reading)
        self.trials.coverChanged.connect(self._show_study)
        self.messages.cover = lambda text: covered(self._session, text) if self._session is not None else text
        self.door.came.connect(self._use)
        self.door.refused.connect(self._refused)
        self.door.changed.connect(self._show_waiting)

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
            grid = self._grid_of(session)
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
        self._show_pages()
        self._show_grid()
        self.settings_feed.fill()
        self.show_state()

    def _grid_of(self, session: Session) -> Grid:
        return grid_of(session, self._problems, self.judging.to_decide())

    def _show_grid(self) -> None:
        if self._session is not None:
            self.grid.show_grid(self._grid_of(self._session))
            self.grid.set_current(self.desk.trial_id)

    def measured_anew(self) -> None:
        """Numbers, findings and references may be others now; the pages that show them ask for themselves."""
        self.desk.measured_anew()
        self._show_grid()

    def _remember_reading(self, kept: Remembered) -> None:
        """Read amplitudes as in the sitting before."""
        if any(kept.reading):
            self.desk.measure_choice.put_words(*kept.reading)

    def _keep_reading(self) -> None:
        choice = self.desk.measure_choice
        reading = (str(choice.measure), str(choice.unit))
        if reading != self.memory.value.reading:
            self.memory.change(lambda kept: replace(kept, reading=reading))

    def _show_pages(self) -> None:
        session, pages = self._session, self._pages
        if session is not None:
            pages.show_trial_side(self.desk if session.study.trials else self.empty)
            self.empty.set_study(session.study.name, session.read_only)
        without = self.waiting if self.door.waiting or self._going else self.start
        seen = self.comparing.page if self._comparing else pages.study
        page = without if session is None else seen
        if page is self.start and pages.currentWidget() is not page:
            self._look_for_recent()
        pages.show_whole(page)
        self._show_beside(self.grid if session is None else pages.beside or self.grid)

    def _look_for_recent(self) -> None:
        self.memory.look_for_recent(self._bridge.deliver, self.start.set_recent)

    def show_state(self) -> None:
        """Title, what can be done now, and whether every edit is on the disk."""
        session = self._session
        self.setWindowTitle(title_text(session))
        show_what_can_be_done(self._actions, session, closing=self._going, trial_seen=not self._comparing)
        self._actions[ActionName.BLIND].setChecked(session is not None and session.blind)
        self._actions[ActionName.HOLD_SCALES].setChecked(self.desk.plot.scales_held)
        self._actions[ActionName.FILTERED].setChecked(self.desk.filtered)
        self.settings.filtered.setChecked(self.desk.filtered)
        saved = saved_text(session)
        self._saved.setText(saved)
        if saved == SAVING:
            self._look_again.start()
        self.judging.refresh()
        self.comparing.refresh()

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

    # Pages

    def show_setting(self, key: str) -> None:
        """Show the settings with the field of one of them in hand."""
        if self._pages.beside is not self.settings:
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

    def trace_value(self, trial_id: str, rep_id: int | None) -> None:
        """Go from a value of the comparison to the trial and repetition it comes from."""
        self._show_comparison(False)
        self.show_trial(trial_id, rep_id)
        self.desk.plot.setFocus()

    def toggle_page(self, page: SettingsPage | QualityPage | ReferencesPage) -> None:
        """Show a page beside the trial, in the place of the grid, or put it away."""
        if self._comparing:
            self._show_comparison(False)
            if self._pages.beside is page:
                return
        if self._pages.beside is page:
            self._show_beside(self.grid)
            self.desk.plot.setFocus()
            return
        self._show_beside(page)
        self.settings_feed.fill()
        self.settings_feed.show_removed()
        self.judging.refresh()
        page.take_focus()

    def _show_beside(self, shown: QWidget) -> None:
        """The grid or a page in its place; a study without trials has no grid."""
        session = self._session
        self._pages.show_beside(shown, seen=shown is not self.grid or bool(session and session.study.trials))

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
