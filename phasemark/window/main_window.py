"""The main window: the trials of the study beside the trial in view, with the commands that act on them."""

import traceback
from collections.abc import Callable, Sequence
from pathlib import Path

from PySide6.QtCore import QModelIndex, Qt, QTimer
from PySide6.QtGui import QAction, QCloseEvent, QKeySequence
from PySide6.QtWidgets import (
    QFileDialog,
    QFrame,
    QLabel,
    QMainWindow,
    QProgressBar,
    QPushButton,
    QSplitter,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from phasemark.model.errors import Cancelled, PhasemarkError
from phasemark.model.study import Study
from phasemark.session.exporting import export
from phasemark.session.history import Entry
from phasemark.session.marking import Marked, mark, to_mark
from phasemark.session.measuring import Measured, measure, stale_trials
from phasemark.session.opening import open_session
from phasemark.session.session import Session
from phasemark.window.actions import ACTIONS, ActionName
from phasemark.window.bridge import Bridge
from phasemark.window.message_bar import MessageBar
from phasemark.window.trial_desk import TrialDesk
from phasemark.window.trial_table import TrialTable
from phasemark.worker import Worker

_EMPTY = "This study has no recordings yet. Add some with the command 'phasemark add', then open it again."


class MainWindow(QMainWindow):
    """Draws what the session says and sends it edits; holds nothing of the study itself."""

    def __init__(self) -> None:
        super().__init__()
        self._session: Session | None = None
        self._bridge = Bridge(self)
        self._job: object = None
        self._desk = TrialDesk()
        self._trials = TrialTable()
        self._messages = MessageBar()
        self._actions: dict[ActionName, QAction] = {}
        self._place()
        self._make_actions()
        self._desk.problem.connect(self.say_problem)
        self._desk.hovered.connect(self._hover.setText)
        self._show_state()
        self.resize(1400, 860)

    # Parts

    def _place(self) -> None:
        self._list = QTableView()
        self._list.setModel(self._trials)
        self._list.setAccessibleName("Trials of the study")
        self._list.setSelectionBehavior(QTableView.SelectionBehavior.SelectRows)
        self._list.setSelectionMode(QTableView.SelectionMode.SingleSelection)
        self._list.verticalHeader().hide()
        self._list.setShowGrid(False)
        self._list.setFrameShape(QFrame.Shape.NoFrame)
        self._list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._list.horizontalHeader().setHighlightSections(False)
        self._list.horizontalHeader().setStretchLastSection(True)
        self._list.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self._list.verticalHeader().setDefaultSectionSize(self._list.fontMetrics().height() + 6)
        self._list.setTabKeyNavigation(False)
        self._list.selectionModel().currentRowChanged.connect(self._on_trial_chosen)
        right = QWidget()
        column = QVBoxLayout(right)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._messages)
        column.addWidget(self._desk, 1)
        splitter = QSplitter()
        splitter.addWidget(self._list)
        splitter.addWidget(right)
        splitter.setStretchFactor(1, 1)
        splitter.setSizes([330, 1070])
        self.setCentralWidget(splitter)
        self._hover, self._saved = QLabel(), QLabel()
        self._progress = QProgressBar()
        self._progress.setAccessibleName("Progress")
        self._progress.setMaximumWidth(220)
        self._stop = QPushButton("Stop")
        self._stop.setAccessibleName("Stop the work under way")
        self._stop.clicked.connect(self._on_stop)
        bar = self.statusBar()
        bar.addWidget(self._hover, 1)
        for part in (self._progress, self._stop, self._saved):
            bar.addPermanentWidget(part)
        self._progress.hide()
        self._stop.hide()

    def _make_actions(self) -> None:
        menus = {name: self.menuBar().addMenu(name) for name in dict.fromkeys(a.menu for a in ACTIONS)}
        for described in ACTIONS:
            action = QAction(described.text, self)
            action.setShortcut(QKeySequence(described.key))
            action.triggered.connect(getattr(self, described.name.value))
            menus[described.menu].addAction(action)
            self._actions[described.name] = action

    @property
    def desk(self) -> TrialDesk:
        """The trial in view."""
        return self._desk

    @property
    def messages(self) -> MessageBar:
        """What the program says."""
        return self._messages

    @property
    def session(self) -> Session | None:
        """The open study."""
        return self._session

    # The study

    def open_study(self, path: Path) -> bool:
        """Open a study in this window, in place of the one before; whether it could be opened."""
        self.close_study()
        try:
            session, said = open_session(path, Worker(self._bridge.deliver))
        except PhasemarkError as problem:
            self.say_problem(problem)
            return False
        self._session = session
        session.listeners.append(self._on_changed)
        session.told.append(self._messages.say)
        self._desk.set_session(session)
        self._trials.show(session.study, session.rater)
        self._list.resizeColumnsToContents()
        sentences = [*said, *([session.read_only] if session.read_only else [])]
        if not session.study.trials:
            sentences.append(_EMPTY)
        if sentences:
            self._messages.say("\n".join(sentences))
        self._show_state()
        if self._trials.rowCount():
            self.choose_trial(_first_marked(session.study, session.rater))
        return True

    def close_study(self) -> None:
        """Wait until every edit is on the disk and let go of the study."""
        session = self._session
        if session is None:
            return
        self._desk.commit()
        self._desk.set_session(None)
        self._session = None
        try:
            session.close()
        except PhasemarkError as problem:
            self.say_problem(problem)

    def choose_trial(self, trial_id: str) -> None:
        """Bring a trial into view."""
        index = self._trials.index_of(trial_id)
        if index.isValid():
            self._list.setCurrentIndex(index)
            self._list.scrollTo(index)

    def _on_trial_chosen(self, index: QModelIndex) -> None:
        trial = self._trials.trial_at(index)
        if trial is not None:
            self._desk.show_trial(trial.id)

    def _on_changed(self, before: Study, after: Study) -> None:
        session = self._session
        if session is None:
            return
        current = self._desk.trial_id
        self._trials.show(after, session.rater)
        self._desk.study_changed(before, after)
        self.choose_trial(current)
        self._show_state()

    def _show_state(self) -> None:
        session = self._session
        name = "" if session is None else f"{session.study.name}{' (read-only)' if session.read_only else ''} - "
        self.setWindowTitle(f"{name}Phasemark")
        undoable = session.history.undoable if session else None
        redoable = session.history.redoable if session else None
        for described in ACTIONS:
            action = self._actions[described.name]
            action.setEnabled(described.enabled(session))
        self._actions[ActionName.UNDO].setText(f"Undo: {undoable.text}" if undoable else "Undo")
        self._actions[ActionName.REDO].setText(f"Redo: {redoable.text}" if redoable else "Redo")
        self._saved.setText(
            "" if session is None else ("read-only" if session.read_only else self._saved_text(session))
        )

    def _saved_text(self, session: Session) -> str:
        if session.unsaved:
            QTimer.singleShot(50, self, self._show_state)
            return "saving ..."
        return "all edits saved"

    # Commands

    def choose_and_open(self) -> None:
        """Ask for a study's folder and open it."""
        folder = QFileDialog.getExistingDirectory(self, "Open study")
        if folder:
            self.open_study(Path(folder))

    def undo(self) -> None:
        """Take the last edit back and go to its trial."""
        self._desk.commit()
        self._step(lambda session: session.undo())

    def redo(self) -> None:
        """Make the edit that was taken back again and go to its trial."""
        self._desk.commit()
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
            self.choose_trial(entry.trial)

    def mark_study(self) -> None:
        """Mark trials that have no marks yet."""
        if self._session is not None:
            trials = to_mark(self._session, again=False)
            self._start(
                mark(self._session, trials, done=self._marked, failed=self._failed, progressed=self._show_share)
            )

    def _marked(self, marked: Marked) -> None:
        self._ended(f"Marked {len(marked.trials)} trials.", marked.problems)

    def measure_study(self) -> None:
        """Measure what is not measured or stale."""
        if self._session is not None:
            stale = stale_trials(self._session)
            self._start(
                measure(self._session, stale, done=self._measured, failed=self._failed, progressed=self._show_share)
            )

    def _measured(self, measured: Measured) -> None:
        self._ended(f"Measured {measured.count} trials.", measured.problems)

    def export_study(self) -> None:
        """Ask for a folder and write the exports there."""
        folder = QFileDialog.getExistingDirectory(self, "Export to folder")
        if folder:
            self.export_to(Path(folder))

    def export_to(self, folder: Path) -> None:
        """Write the exports into a folder."""
        if self._session is not None:
            self._desk.commit()
            self._start(None)
            export(
                self._session,
                folder,
                done=lambda out: self._ended(f"Wrote {len(out.files)} files to {folder}.", out.problems),
                failed=self._failed,
                progressed=self._show_share,
            )

    def _start(self, job: object) -> None:
        self._job = job
        self._progress.setValue(0)
        self._progress.show()
        self._stop.setVisible(job is not None)

    def _show_share(self, share: float) -> None:
        self._progress.setValue(round(100 * share))

    def _on_stop(self) -> None:
        cancel = getattr(self._job, "cancel", None)
        if cancel is not None:
            cancel()

    def _ended(self, sentence: str, problems: Sequence[PhasemarkError] = ()) -> None:
        self._progress.hide()
        self._stop.hide()
        self._show_state()
        self._messages.say("\n".join((sentence, *map(str, problems))))

    def _failed(self, problem: BaseException) -> None:
        self._progress.hide()
        self._stop.hide()
        if isinstance(problem, Cancelled):
            self._messages.say(str(problem))
        else:
            self.say_problem(problem)

    def say_problem(self, problem: object) -> None:
        """Say an expected failure in its sentence, and any other with details to copy."""
        if isinstance(problem, BaseException) and not isinstance(problem, PhasemarkError):
            details = "".join(traceback.format_exception(problem))
            self._messages.say(f"Something unforeseen went wrong: {problem}", details)
        else:
            self._messages.say(str(problem))

    def closeEvent(self, event: QCloseEvent) -> None:
        """Close only when every edit is on the disk."""
        self.close_study()
        self._bridge.shut()
        super().closeEvent(event)


def _first_marked(study: Study, rater: str) -> str:
    """The trial to begin with: the first that has marks, else the first."""
    trials = sorted(study.trials, key=lambda trial: trial.participant)
    return next((t.id for t in trials if t.marks_of(rater).reps), trials[0].id)
