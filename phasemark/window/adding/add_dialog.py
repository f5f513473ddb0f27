"""Adding recordings: files, how their columns are used, what they are; what comes of it are arrivals.

    dialog = AddRecordingsDialog(session.study, session.worker, files, kept, parent)
    dialog.ready.connect(...)          a tuple of session.importing.Arrival, once, just before it is accepted
    dialog.kept                        then the mappings to keep for the next time (KeptMappings)
    dialog.open()                      never exec

The dialog reads files on the worker's disk thread and holds nothing of the study.
"""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QDialog, QFileDialog, QHBoxLayout, QLabel, QPushButton, QTabWidget, QVBoxLayout, QWidget

from phasemark.formats.mapping import Mapping
from phasemark.formats.preview import Preview
from phasemark.model.study import Study
from phasemark.session.arrivals import ArrivalsDraft, FileDraft
from phasemark.session.column_plan import mapping_from
from phasemark.session.glance import Sketches
from phasemark.session.kept_mappings import KeptMappings
from phasemark.session.mapping_files import read_mapping, write_mapping
from phasemark.window.adding.add_columns_page import ColumnsPage
from phasemark.window.adding.add_looking import Looking
from phasemark.window.adding.add_rows_page import RowsPage
from phasemark.window.adding.dropped_files import files_among, local_paths
from phasemark.worker import Worker

_REALLY = "Close without adding? What you filled in will be lost; close once more to do so."
_COLUMNS, _ROWS = 0, 1


class AddRecordingsDialog(QDialog):
    """Two pages over one draft; the button is enabled once nothing is open, and until then it is said what is."""

    ready = Signal(object)
    unforeseen = Signal(object)

    def __init__(
        self,
        study: Study,
        worker: Worker,
        files: Sequence[Path] = (),
        kept: KeptMappings | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle(f"Add recordings to {study.name}")
        self.setAcceptDrops(True)
        self.draft = ArrivalsDraft(study, kept)
        self.kept = kept or KeptMappings()
        self._asked = False
        self._looking = Looking(worker, self.unforeseen.emit)
        self._choosing: QFileDialog | None = None
        self.columns, self.rows = ColumnsPage(self.draft), RowsPage(self.draft)
        self._place()
        self._connect()
        self.add_files(files)
        letters, lines = self.fontMetrics().averageCharWidth(), self.fontMetrics().lineSpacing()
        self.resize(min(170 * letters, 1240), min(44 * lines, 690))

    def _place(self) -> None:
        self.pages = QTabWidget()
        self.pages.setAccessibleName("Steps of adding recordings")
        self.pages.setDocumentMode(True)
        self.pages.addTab(self.columns, "&1  What the columns hold")
        self.pages.addTab(self.rows, "&2  What the recordings are")
        self.pages.tabBar().setAccessibleName("Steps of adding recordings")
        self.status = QLabel()
        self.status.setWordWrap(True)
        self.status.setTextFormat(Qt.TextFormat.PlainText)
        self.show_open = QPushButton("&Go there")
        self.show_open.setAccessibleName("Go to what is still open")
        self.cancel = QPushButton("Cancel")
        self.cancel.setAccessibleName("Close without adding")
        self.add = QPushButton()
        self.add.setAccessibleName("Add the recordings")
        for button in (self.show_open, self.cancel, self.add):
            button.setAutoDefault(False)
        foot = QHBoxLayout()
        foot.addWidget(self.status, 1)
        for button in (self.show_open, self.cancel, self.add):
            foot.addWidget(button)
        layout = QVBoxLayout(self)
        layout.addWidget(self.pages, 1)
        layout.addLayout(foot)

    def _connect(self) -> None:
        self.columns.changed.connect(self._refresh)
        self.columns.filesWanted.connect(self._choose_files)
        self.columns.removed.connect(self._on_removed)
        self.columns.sketchWanted.connect(self._on_sketch_wanted)
        self.columns.loadWanted.connect(self._choose_mapping)
        self.columns.saveWanted.connect(self._choose_mapping_place)
        self.rows.changed.connect(self._refresh)
        self.rows.refused.connect(self._say)
        self.show_open.clicked.connect(self._on_go_there)
        self.cancel.clicked.connect(self.reject)
        self.add.clicked.connect(self._on_add)

    # Files

    def add_files(self, files: Sequence[Path]) -> None:
        """Take more files in."""
        for file in self.draft.add_files(files):
            self._looking.look(
                file.path,
                lambda preview, file=file: self._on_looked(file, preview),  # type: ignore[misc]
                lambda sentence, file=file: self._on_failed(file, sentence),  # type: ignore[misc]
            )
        self._refresh()

    def _on_looked(self, file: FileDraft, preview: Preview) -> None:
        self.draft.looked(file, preview)
        self._refresh()

    def _on_failed(self, file: FileDraft, sentence: str) -> None:
        self.draft.failed(file, sentence)
        self._refresh()

    def _on_removed(self, file: FileDraft) -> None:
        self.draft.remove(file)
        self._refresh()

    def _on_sketch_wanted(self, file: FileDraft) -> None:
        def seen(drawn: Sketches) -> None:
            self.columns.show_sketches(file, drawn)

        self._looking.sketch(file.path, seen, self._say)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Files are welcome."""
        if local_paths(event.mimeData()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Take the files that were dropped."""
        event.acceptProposedAction()
        paths = local_paths(event.mimeData())
        names = ", ".join(map(str, paths))
        self._looking.do(f"looking for {names}", lambda: files_among(paths), self.add_files, self._say)

    # File dialogs

    def _ask(self, title: str, mode: QFileDialog.FileMode, filters: str) -> QFileDialog:
        chooser = QFileDialog(self, title)
        chooser.setFileMode(mode)
        chooser.setNameFilter(filters)
        chooser.finished.connect(chooser.deleteLater)
        self._choosing = chooser
        return chooser

    def _choose_files(self) -> None:
        chooser = self._ask("Files to add", QFileDialog.FileMode.ExistingFiles, "All files (*)")
        chooser.filesSelected.connect(self._on_files_chosen)
        chooser.open()

    def _on_files_chosen(self, names: list[str]) -> None:
        self.add_files([Path(name) for name in names])

    def _choose_mapping(self) -> None:
        chooser = self._ask("Load mapping", QFileDialog.FileMode.ExistingFile, "Mappings (*.json);;All files (*)")
        chooser.fileSelected.connect(self.load_mapping)
        chooser.open()

    def _choose_mapping_place(self) -> None:
        chooser = self._ask("Save mapping", QFileDialog.FileMode.AnyFile, "Mappings (*.json)")
        chooser.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        chooser.setDefaultSuffix("json")
        chooser.fileSelected.connect(self.save_mapping)
        chooser.open()

    def load_mapping(self, name: str) -> None:
        """Use the columns of the file in hand as a mapping file says."""

        def read(mapping: Mapping) -> None:
            self._say(self.columns.use_mapping(mapping) or f"The columns are used as {Path(name).name} says.")

        self._looking.do(f"reading {name}", lambda: read_mapping(Path(name)), read, self._say)

    def save_mapping(self, name: str) -> None:
        """Write the use of the columns of the file in hand to a mapping file."""
        file = self.columns.file
        plan = self.draft.plan(file) if file else None
        if plan is not None:
            mapping = mapping_from(plan)
            self._looking.do(
                f"writing {name}",
                lambda: write_mapping(Path(name), mapping),
                lambda _: self._say(f"The use of the columns is kept in {Path(name).name}."),
                self._say,
            )

    # What is open

    def _say(self, sentence: str) -> None:
        self.status.setText(sentence)

    def _refresh(self) -> None:
        self._asked = False
        self.columns.refresh()
        self.rows.refresh()
        sentence = self.draft.open_sentence()
        count = len(self.draft.files)
        self.add.setText(f"&Add {count} recording{'s' if count != 1 else ''}")
        self.add.setEnabled(not sentence)
        self.show_open.setVisible(bool(sentence) and bool(self.draft.files))
        self._say(sentence or "All is described.")

    def _on_go_there(self) -> None:
        file = next((f for f in self.draft.files if self.draft.column_problem(f)), None)
        if file is not None:
            self.pages.setCurrentIndex(_COLUMNS)
            self.columns.choose(file)
            self.columns.focus_open()
        else:
            self.pages.setCurrentIndex(_ROWS)
            self.rows.focus_open()

    def _on_add(self) -> None:
        arrivals = self.draft.arrivals()
        self.kept = self.draft.kept()
        self.accept()
        self.ready.emit(arrivals)

    def reject(self) -> None:
        """Close without adding; what was filled in is only dropped when asked for twice."""
        if self.draft.touched and not self._asked:
            self._asked = True
            self._say(_REALLY)
            return
        super().reject()

    def done(self, result: int) -> None:
        """Nothing that is under way comes back to a closed dialog."""
        self._looking.close()
        super().done(result)
