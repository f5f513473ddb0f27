"""A new study: its name and the place of its folder.

dialog = NewStudyDialog(place, parent)
dialog.wanted.connect(...)     the folder to make (Path); whoever makes it calls wait() while it is being made, and
                               then accept(), or refuse(sentence)
dialog.open()
"""

from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QDialog,
    QFileDialog,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from phasemark.window.visible_edges import keep_edge_seen

_EXPLAINED = "A study is a folder that holds its recordings, marks and results; it moves as one thing."


class NewStudyDialog(QDialog):
    """Asks for a name and a place and says in words what is wrong with them."""

    wanted = Signal(object)

    def __init__(self, place: Path, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("New study")
        self.name, self.place = QLineEdit(), QLineEdit(str(place))
        self.name.setAccessibleName("Name of the study")
        self.name.setPlaceholderText("e.g. Squat heels")
        self.place.setAccessibleName("Folder in which the study's own folder is made")
        self.choose = QPushButton("C&hoose …")
        self.choose.setAccessibleName("Choose the folder")
        self.create_study = QPushButton("Make &study")
        self.create_study.setAccessibleName("Make the study")
        self.create_study.setDefault(True)
        self.cancel = QPushButton("Cancel")
        self.cancel.setAccessibleName("Make no study")
        self.choose.setAutoDefault(False)
        self.cancel.setAutoDefault(False)
        self.status = QLabel()
        self.status.setWordWrap(True)
        self.status.setTextFormat(Qt.TextFormat.PlainText)
        keep_edge_seen(self.name, self.place)
        self._place()
        for field in (self.name, self.place):
            field.textChanged.connect(self._refresh)
        self.choose.clicked.connect(self._on_choose)
        self.create_study.clicked.connect(self._on_create)
        self.cancel.clicked.connect(self.reject)
        self._refresh()

    def _place(self) -> None:
        beside = QHBoxLayout()
        beside.addWidget(self.place, 1)
        beside.addWidget(self.choose)
        form = QFormLayout()
        form.addRow("&Name", self.name)
        label = QLabel("&In folder")
        label.setBuddy(self.place)
        form.addRow(label, beside)
        explained = QLabel(_EXPLAINED)
        explained.setWordWrap(True)
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(self.cancel)
        buttons.addWidget(self.create_study)
        column = QVBoxLayout(self)
        column.addWidget(explained)
        column.addLayout(form)
        column.addWidget(self.status)
        column.addStretch(1)
        column.addLayout(buttons)
        self.setMinimumWidth(64 * self.fontMetrics().averageCharWidth())

    def folder(self) -> Path | None:
        """The folder to make; None while name or place are missing or no name of a folder."""
        name, place = self.name.text().strip(), self.place.text().strip()
        fits = bool(name and place) and Path(name).name == name and not set(name) & set('\\/:*?"<>|')
        return Path(place).expanduser() / name if fits and name not in (".", "..") else None

    def wait(self) -> None:
        """Show that the study is being made; nothing can be typed meanwhile."""
        self._let_type(False)
        self.status.setText("Making the study …")

    def _let_type(self, may: bool) -> None:
        for part in (self.name, self.place, self.choose, self.create_study):
            part.setEnabled(may)

    def refuse(self, sentence: str) -> None:
        """Say why the study could not be made; another name or place may be tried."""
        self._let_type(True)
        self.status.setText(sentence)
        self.create_study.setEnabled(False)
        self.name.setFocus()
        self.name.selectAll()

    def _refresh(self) -> None:
        folder = self.folder()
        self.create_study.setEnabled(folder is not None)
        if folder is not None:
            self.status.setText(f"Makes the folder {folder}.")
        elif not self.name.text().strip():
            self.status.setText("Give the study a name.")
        elif not self.place.text().strip():
            self.status.setText("Say in which folder it is to be.")
        else:
            self.status.setText('A folder cannot be called so; leave out \\ / : * ? " < > and |.')

    def _on_choose(self) -> None:
        chooser = QFileDialog(self, "Folder for the study", self.place.text())
        chooser.setFileMode(QFileDialog.FileMode.Directory)
        chooser.setOption(QFileDialog.Option.ShowDirsOnly)
        chooser.fileSelected.connect(self.place.setText)
        chooser.finished.connect(chooser.deleteLater)
        chooser.open()

    def _on_create(self) -> None:
        folder = self.folder()
        if folder is not None:
            self.wanted.emit(folder)
