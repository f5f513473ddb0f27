"""A first start: the start page, a new study with its refusals, and a study without recordings."""

from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent
from PySide6.QtWidgets import QAbstractScrollArea, QFileDialog, QLabel, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from phasemark.model.errors import PhasemarkError
from phasemark.model.marks import LOWERING, RAISING
from phasemark.session.command_session import new_study
from phasemark.window.new_study_dialog import NewStudyDialog
from phasemark.window.palette import scheme_of
from phasemark.window.start_figure import StartFigure
from phasemark.window.start_page import EmptyStudyPage, StartPage


def opened(qtbot: QtBot, place: Path) -> NewStudyDialog:
    dialog = NewStudyDialog(place)
    qtbot.addWidget(dialog)
    dialog.wanted.connect(lambda folder: make(dialog, folder))
    dialog.open()
    dialog.activateWindow()
    qtbot.waitUntil(dialog.isActiveWindow)
    return dialog


def settled(qtbot: QtBot, page: QWidget) -> None:
    """Shown, with all its parts in their places."""
    with qtbot.waitExposed(page):
        page.show()
    qtbot.wait(1)


def make(dialog: NewStudyDialog, folder: Path) -> None:
    """As the window does it: the study is made, or the dialog says why not."""
    try:
        new_study(folder)
    except PhasemarkError as problem:
        dialog.refuse(str(problem))
    else:
        dialog.accept()


def test_a_name_and_return_make_a_study(qtbot: QtBot, tmp_path: Path) -> None:
    dialog = opened(qtbot, tmp_path)
    assert dialog.name.hasFocus()
    assert not dialog.create_study.isEnabled()
    qtbot.keyClicks(dialog.name, "Squat heels")
    assert dialog.status.text() == f"Makes the folder {tmp_path / 'Squat heels'}."
    qtbot.keyClick(dialog.name, Qt.Key.Key_Return)
    assert not dialog.isVisible()
    assert (tmp_path / "Squat heels" / "project.h5").is_file()


def test_what_refuses_a_study_is_said_and_another_name_can_be_tried(qtbot: QtBot, tmp_path: Path) -> None:
    new_study(tmp_path / "Heels")
    dialog = opened(qtbot, tmp_path)
    qtbot.keyClicks(dialog.name, "Heels")
    qtbot.mouseClick(dialog.create_study, Qt.MouseButton.LeftButton)
    assert dialog.isVisible()
    assert "is a study already" in dialog.status.text()
    qtbot.keyClicks(dialog.name, "Toes")
    qtbot.mouseClick(dialog.create_study, Qt.MouseButton.LeftButton)
    assert (tmp_path / "Toes").is_dir()


@pytest.mark.parametrize("name", ["", "a/b", "..", "x?", "C:x", "a\\b"])
def test_a_name_that_is_none_of_a_folder_cannot_be_made(qtbot: QtBot, tmp_path: Path, name: str) -> None:
    dialog = opened(qtbot, tmp_path)
    dialog.name.setText(name)
    assert dialog.folder() is None
    assert not dialog.create_study.isEnabled()
    assert dialog.status.text().endswith(".")


def test_a_place_is_needed_and_can_be_chosen(qtbot: QtBot, tmp_path: Path) -> None:
    dialog = opened(qtbot, tmp_path)
    qtbot.keyClicks(dialog.name, "Heels")
    dialog.place.clear()
    assert dialog.status.text() == "Say in which folder it is to be."
    qtbot.mouseClick(dialog.choose, Qt.MouseButton.LeftButton)
    chooser = dialog.findChild(QFileDialog)
    assert chooser.isVisible()
    chooser.fileSelected.emit(str(tmp_path))
    chooser.reject()
    assert dialog.folder() == tmp_path / "Heels"


def test_the_start_page_leads_on(qtbot: QtBot, tmp_path: Path) -> None:
    page = StartPage()
    qtbot.addWidget(page)
    page.show()
    asked: list[object] = []
    page.newStudy.connect(lambda: asked.append("new"))
    page.openStudy.connect(lambda: asked.append("open"))
    page.demoStudy.connect(lambda: asked.append("demo"))
    page.recentChosen.connect(asked.append)
    page.set_recent([tmp_path / "Old"])
    page.set_recent([tmp_path / "Pull & push", tmp_path / "Heels"])
    settled(qtbot, page)
    for button in (page.new_study, page.open_study, page.demo_study):
        qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    recent = [
        b for b in page.findChildren(QPushButton) if b.isVisibleTo(page) and b.toolTip().startswith(str(tmp_path))
    ]
    assert [button.accessibleName() for button in recent] == ["Open Pull & push", "Open Heels"]
    qtbot.keyClick(recent[0], Qt.Key.Key_Space)
    assert asked == ["new", "open", "demo", tmp_path / "Pull & push"]


def test_a_study_without_recordings_says_what_to_do_next(qtbot: QtBot, tmp_path: Path) -> None:
    page = EmptyStudyPage()
    qtbot.addWidget(page)
    page.set_study("Heels", "")
    settled(qtbot, page)
    dropped: list[object] = []
    page.filesDropped.connect(dropped.append)
    with qtbot.waitSignal(page.addRecordings, timeout=1000):
        qtbot.mouseClick(page.add, Qt.MouseButton.LeftButton)
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(tmp_path / "a.txt"))])
    copy, left, none = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    page.dropEvent(QDropEvent(QPointF(5, 5), copy, data, left, none))
    assert dropped == [(tmp_path / "a.txt",)]
    page.set_study("Heels", "It is open elsewhere.")
    assert not page.add.isEnabled()
    assert not page.acceptDrops()
    assert "It is open elsewhere." in [label.text() for label in page.findChildren(QLabel)]


def test_the_figure_lowers_then_raises_in_the_colours_of_the_phases(qtbot: QtBot) -> None:
    """The tint in the middle of each upper third is the one that the traces use for it."""
    figure = StartFigure()
    qtbot.addWidget(figure)
    figure.resize(600, 200)
    image = figure.grab().toImage()
    scheme = scheme_of(figure.palette())
    ratio = image.width() / 600
    for x, phase in ((200, LOWERING), (400, RAISING)):
        assert image.pixelColor(round(x * ratio), round(12 * ratio)).rgb() == scheme.tint(phase, "upper").rgb()


@pytest.mark.parametrize("size", [9.0, 18.0])
def test_pages_show_their_words_whole_at_any_text_size(qtbot: QtBot, size: float) -> None:
    """At 1280x720 no label is cut, and what takes the focus has a name."""
    for page in (StartPage(), EmptyStudyPage()):
        qtbot.addWidget(page)
        font = page.font()
        font.setPointSizeF(size)
        page.setFont(font)
        page.resize(1280, 720)
        settled(qtbot, page)
        for label in page.findChildren(QLabel):
            if label.isVisibleTo(page):
                assert label.height() >= label.heightForWidth(label.width()), label.text()
        assert [w for w in page.findChildren(QWidget) if _nameless(w)] == []


def _nameless(widget: QWidget) -> bool:
    inside = isinstance(widget.parent(), QAbstractScrollArea) or widget.objectName().startswith("qt_")
    return widget.focusPolicy() != Qt.FocusPolicy.NoFocus and not widget.accessibleName() and not inside
