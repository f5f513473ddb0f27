"""What is done with the whole study from the window: make, open, add, mark, measure, export, settings, demo."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QDialog, QFileDialog
from shiboken6 import isValid

from phasemark.demo import DEMO_NAME
from phasemark.model.errors import Cancelled, PhasemarkError
from phasemark.model.study import Trial
from phasemark.session.changing_settings import change_settings, marks_are_older, names_nowhere, share_filters
from phasemark.session.demo_study import STAGES, DemoFiles, write_demo
from phasemark.session.exporting import Exported, export
from phasemark.session.importing import Arrival, add_recordings
from phasemark.session.marking import Marked, mark, mark_one, to_mark
from phasemark.session.measuring import Measured, measure, stale_trials
from phasemark.session.session import Session
from phasemark.window.adding.add_dialog import AddRecordingsDialog
from phasemark.window.adding.dropped_files import study_or_files
from phasemark.window.new_study_dialog import NewStudyDialog
from phasemark.worker import Worker

if TYPE_CHECKING:
    from phasemark.window.main_window import MainWindow

_BUSY = "Something is still under way; wait for it or stop it first."
_MARKS_OLDER = "The marks were made by the earlier settings. Boundaries placed by hand stay if they are made again."


class StudyCommands(QObject):
    """Commands on the study of a main window."""

    def __init__(self, window: "MainWindow") -> None:
        super().__init__(window)
        self._window = window
        self.dialog: QDialog | None = None
        self._demo: Worker | None = None

    @property
    def _session(self) -> Session | None:
        return self._window.session

    # Dialogs

    def _ask_folder(self, title: str, chosen: Callable[[Path], object]) -> None:
        dialog = QFileDialog(self._window, title)
        dialog.setFileMode(QFileDialog.FileMode.Directory)
        dialog.setOption(QFileDialog.Option.ShowDirsOnly)
        dialog.fileSelected.connect(lambda name: chosen(Path(name)))
        self._open(dialog)

    def _open(self, dialog: QDialog) -> None:
        dialog.finished.connect(dialog.deleteLater)
        self.dialog = dialog
        dialog.open()

    def close_dialog(self) -> None:
        """Put away a dialog that stands on the study that is being closed; what was filled in is dropped."""
        dialog, self.dialog = self.dialog, None
        if isinstance(dialog, AddRecordingsDialog) and isValid(dialog):
            dialog.done(QDialog.DialogCode.Rejected)

    def ask_new_study(self) -> None:
        """Ask for name and place of a new study, make and open it."""
        dialog = NewStudyDialog(Path.home(), self._window)

        door = self._window.door

        def refuse(problem: BaseException) -> None:
            if isValid(dialog):
                dialog.refuse(str(problem))

        def make(folder: Path) -> None:
            dialog.wait()
            door.make(folder, dialog.accept, refuse)

        dialog.wanted.connect(make)
        dialog.rejected.connect(door.abandon)
        self._open(dialog)

    def ask_study(self) -> None:
        """Ask for a study's folder and open it."""
        self._ask_folder("Open study", self._window.open_study)

    def ask_export(self) -> None:
        """Ask for a folder and write the exports there."""
        self._ask_folder("Export to folder", self.export_to)

    def ask_demo_place(self) -> None:
        """Ask for a folder and write the demo study there."""
        self._ask_folder("Folder for the demo study", lambda place: self.write_demo_in(place / DEMO_NAME))

    def ask_recordings(self) -> None:
        """Ask for recordings to add."""
        self.add_files(())

    def add_files(self, files: Sequence[Path]) -> None:
        """Ask what files hold and what they are, then add them."""
        session = self._session
        if session is None:
            self._window.messages.say("Open a study or make a new one first; recordings are added to it.")
            return
        if session.read_only:
            self._window.say_problem(session.read_only)
            return
        dialog = AddRecordingsDialog(
            session.study, session.worker, files, self._window.memory.value.mappings, self._window
        )
        dialog.ready.connect(lambda arrivals: self._on_ready(dialog, arrivals))
        dialog.unforeseen.connect(self._window.say_problem)
        self._open(dialog)

    def take_dropped(self, paths: tuple[Path, ...]) -> None:
        """Open a study that was dropped, or add the files, once the disk has said what they are."""
        window, aside = self._window, self._window.aside

        def seen(dropped: Path | tuple[Path, ...]) -> None:
            if isinstance(dropped, Path):
                window.open_study(dropped)
            else:
                self.add_files(dropped)

        aside.run("looking", lambda _: study_or_files(paths), on=aside.disk, done=seen, failed=window.say_problem)

    def _on_ready(self, dialog: AddRecordingsDialog, arrivals: tuple[Arrival, ...]) -> None:
        mappings = dialog.kept
        self._window.memory.change(lambda kept: replace(kept, mappings=mappings))
        self.add_recordings(arrivals)

    # Long work

    def _begin(self, title: str) -> Session | None:
        """The session, if there is one and nothing else is under way."""
        window, session = self._window, self._session
        if session is None:
            return None
        if window.work.busy:
            window.messages.say(_BUSY)
            return None
        window.desk.gestures.commit()
        window.work.begin(title)
        return session

    def _ended(self, sentence: str, problems: Sequence[PhasemarkError] = ()) -> None:
        self._window.work.end()
        self._window.messages.say("\n".join((sentence, *map(str, problems))))
        self._window.show_state()

    def _failed(self, problem: BaseException) -> None:
        self._window.work.end()
        if isinstance(problem, Cancelled):
            self._window.messages.say(str(problem))
        else:
            self._window.say_problem(problem)

    def _back(self, done: Callable[[Any], None]) -> dict[str, Any]:
        return {"done": done, "failed": self._failed, "progressed": self._window.work.show_share}

    def add_recordings(self, arrivals: tuple[Arrival, ...]) -> None:
        """Add recordings and mark what is new."""
        session = self._begin("Adding recordings")
        if session is not None:
            self._window.work.hold(add_recordings(session, arrivals, **self._back(self._added)))

    def _added(self, trials: tuple[Trial, ...]) -> None:
        notes = [f"{t.recording.source.file}: {note}" for t in trials for note in t.recording.notes]
        count = "1 recording" if len(trials) == 1 else f"{len(trials)} recordings"
        self._ended("\n".join((f"Added {count}. Mark trials without marks next (Ctrl+M).", *notes[:6])))

    def mark_unmarked(self) -> None:
        """Mark trials that have no marks yet."""
        self._mark(again=False)

    def mark_all_again(self) -> None:
        """Mark all trials again; what a hand has placed stays."""
        self._mark(again=True)

    def _mark(self, *, again: bool) -> None:
        session = self._begin("Marking")
        if session is not None:
            self._window.work.hold(mark(session, to_mark(session, again=again), **self._back(self._marked)))

    def mark_trial_again(self) -> None:
        """Mark the trial in view again; what a hand has placed stays."""
        trial_id = self._window.desk.trial_id
        session = self._begin("Marking") if trial_id else None
        if session is not None:
            self._window.work.hold(mark_one(session, trial_id, **self._back(self._marked)))

    def _marked(self, marked: Marked) -> None:
        count = len(marked.trials)
        self._window.settings.say("")
        self._ended(f"Marked {count} {'trial' if count == 1 else 'trials'}.", marked.problems)

    def measure_study(self) -> None:
        """Measure what is not measured or stale."""
        session = self._begin("Measuring")
        if session is not None:
            self._window.work.hold(measure(session, stale_trials(session), **self._back(self._measured)))

    def _measured(self, measured: Measured) -> None:
        count = measured.count
        self._window.measured_anew()
        self._ended(f"Measured {count} {'trial' if count == 1 else 'trials'}.", measured.problems)

    def export_to(self, folder: Path) -> None:
        """Write the exports into a folder; what is stale is measured first."""
        session = self._begin("Exporting")
        if session is None:
            return

        def done(out: Exported) -> None:
            self._window.measured_anew()
            self._ended(f"Wrote {len(out.files)} files to {folder}.", out.problems)

        self._window.work.hold(export(session, folder, **self._back(done)))

    def write_demo_in(self, place: Path) -> None:
        """Write the demo study off this thread, then open it."""
        window = self._window
        if window.work.busy:
            window.messages.say(_BUSY)
            return
        window.work.begin("Writing the demo study")
        worker = self._demo = Worker(window.deliver)

        def done(files: DemoFiles) -> None:
            self._demo_ended()
            window.open_study(files.study)

        def failed(problem: BaseException) -> None:
            self._demo_ended()
            self._failed(problem)

        window.work.hold(
            worker.run(
                "writing the demo study",
                lambda progress: write_demo(place, 1, lambda _: None, _in_stages(progress)),
                on=worker.compute,
                done=done,
                failed=failed,
                progressed=window.work.show_share,
            )
        )

    def _demo_ended(self) -> None:
        worker, self._demo = self._demo, None
        if worker is not None:
            worker.close(wait=False)
            self._window.work.end()

    def stop_demo(self) -> None:
        """Stop writing a demo study, if one is being written."""
        worker, self._demo = self._demo, None
        if worker is not None:
            worker.stop()
            self._window.door.see_off(worker.close)
            self._window.work.end()

    # Settings

    def change_setting(self, key: str, text: str) -> None:
        """Change one setting as one edit; what is refused goes back, and it is said why beside it."""
        window, session = self._window, self._session
        if session is None:
            return
        window.desk.gestures.commit()
        before = session.study
        try:
            change_settings(session, ((key, text),))
        except PhasemarkError as problem:
            window.settings.show_study(session.study, editable=not session.read_only)
            window.settings.refuse(key, str(problem))
            return
        slips = names_nowhere(session.study, ((key, text),))
        if marks_are_older(before, session.study):
            window.settings.say("\n".join((*slips, _MARKS_OLDER)), mark_again=True)
        elif slips:
            window.settings.say("\n".join(slips))

    def share_filters(self, muscle: str) -> None:
        """Give a muscle the filters of all muscles again, as one edit."""
        window, session = self._window, self._session
        if session is None:
            return
        window.desk.gestures.commit()
        try:
            share_filters(session, muscle)
        except PhasemarkError as problem:
            window.say_problem(problem)


def _in_stages(progress: Callable[[float], None]) -> Callable[[str], Callable[[float], None]]:
    """One progress made of those of the stages of writing the demo study, each a part of equal length."""
    begun = count()

    def stage(_title: str) -> Callable[[float], None]:
        place = next(begun)
        return lambda share: progress(min((place + share) / STAGES, 1.0))

    return stage
