"""Recordings brought in from the window: from files to arrivals by mouse and by keys, and what is said on the way."""

from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from add_dialog_driver import CTRL, DOWN, ENTER, SHIFT, TAB, adding, popups_allowed
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent, QGuiApplication
from PySide6.QtWidgets import QAbstractScrollArea, QApplication, QFileDialog, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from phasemark.formats.mapping import EmgColumn, Mapping, MovementColumn, TimeColumn
from phasemark.formats.mapping_json import read_mapping
from phasemark.model.recording import Side, Up
from phasemark.model.study import Exercise, Kind, Load, Study
from phasemark.session.importing import Description
from phasemark.session.kept_mappings import KeptMappings
from phasemark.session.mapping_files import write_mapping
from phasemark.window.adding.add_cells import CellTable, ChoiceBox
from phasemark.window.adding.add_column_model import SKETCH
from phasemark.window.adding.dropped_files import files_among, study_among

STUDY = Study("Heels", exercises=(Exercise("squat flat"), Exercise("squat heels")))
TITLES = "Time [s];Left rectus femoris (mV);Biceps femoris right (uV);Bar height (cm)"


def semicolon_file(folder: Path, name: str, titles: str = TITLES) -> Path:
    """Made-up: four columns with decimal commas under titles with units."""
    times = np.arange(600) / 1000
    values = np.column_stack([times, np.sin(60 * times), 40 * np.cos(50 * times), 40 * (1 - np.cos(9 * times))])
    rows = [";".join(f"{value:.4f}".replace(".", ",") for value in row) for row in values]
    path = folder / name
    path.write_text("\n".join(["Made up", "", titles, *rows]) + "\n", encoding="utf-8")
    return path


@pytest.fixture
def knees(open_data: Path) -> list[Path]:
    """'EMG Dataset in Lower Limb', Sanchez O, Sotelo J (2014), doi 10.24432/C5ZW3P, CC BY 4.0."""
    return [open_data / "knee_emg" / f"{name}.txt" for name in ("1Nsen", "3Nsen", "5Asen")]


KNEE = Mapping(
    tuple(
        EmgColumn(number, muscle, Side.RIGHT, "mV")
        for number, muscle in enumerate(("rectus femoris", "biceps femoris", "vastus medialis", "semitendinosus"), 1)
    ),
    (MovementColumn(5, "knee angle", "deg", Up.SMALLER),),
    Fraction(1000),
)


def test_three_files_without_titles_become_arrivals(qtbot: QtBot, knees: list[Path]) -> None:
    """Columns and recordings are described once by mouse and keys; the one whose angle has the other sign by itself."""
    with adding(qtbot, STUDY, knees) as driver:
        dialog, page = driver.dialog, driver.dialog.columns
        assert not dialog.add.isEnabled()
        assert "1Nsen.txt, say which columns are EMG" in dialog.status.text()
        driver.fill_rows(page.columns, "Used as", 4, "E")
        driver.fill_rows(page.columns, "Side", 4, "r")
        driver.fill_rows(page.columns, "Unit", 4, "m")
        driver.click_cell(page.columns, 0, "Muscle or movement")
        for part in KNEE.emg:
            driver.type(part.muscle)
            driver.press(ENTER)
        driver.fill(page.columns, 4, "Used as", "m")
        driver.fill(page.columns, 4, "Muscle or movement", "knee angle")
        driver.fill(page.columns, 4, "Unit", "deg")
        driver.fill(page.columns, 4, "Given as", "s")
        assert "sampling rate" in dialog.status.text()
        driver.click(dialog.show_open)
        assert page.rate.hasFocus(), "the button leads to what is open"
        driver.type("1000")
        page.choose(dialog.draft.files[1])
        driver.click(page.alone)
        driver.fill(page.columns, 4, "Given as", "l")
        assert "needs its participant" in dialog.status.text()
        driver.click(dialog.show_open)
        rows = dialog.rows.table
        for code in ("P1N", "P3N", "P5A"):
            driver.type(code)
            driver.press(ENTER)
        driver.fill_rows(rows, "Exercise", 3, "knee extension")
        driver.fill(rows, 2, "Load", "5 kg")
        assert dialog.status.text() == "All is described."
        driver.click(dialog.add)
        (arrivals,) = driver.given
        assert not dialog.isVisible()
        assert dialog.kept.mapping_for(("",) * 5) == KNEE
    assert [arrival.file for arrival in arrivals] == [path.resolve() for path in knees]
    assert [arrival.mapping for arrival in arrivals][::2] == [KNEE, KNEE]
    assert arrivals[1].mapping is not None
    assert arrivals[1].mapping.movement[0].up is Up.LARGER
    assert arrivals[1].mapping.emg == KNEE.emg
    assert [arrival.description for arrival in arrivals] == [
        Description("P1N", exercise="knee extension"),
        Description("P3N", exercise="knee extension"),
        Description("P5A", exercise="knee extension", load=Load(Decimal(5), "kg")),
    ]


def test_titles_units_and_names_need_no_typing(qtbot: QtBot, tmp_path: Path) -> None:
    files = [semicolon_file(tmp_path, f"{name}_squat_heels_set2.txt") for name in ("P01", "P02")]
    with adding(qtbot, STUDY, files) as driver:
        assert "Proposed from the titles" in driver.dialog.columns._say.text()
        driver.click(driver.dialog.add)
        (arrivals,) = driver.given
    assert [arrival.description for arrival in arrivals] == [
        Description(person, exercise="squat heels", set=2) for person in ("P01", "P02")
    ]
    assert arrivals[0].mapping == Mapping(
        (EmgColumn(2, "rectus femoris", Side.LEFT, "mV"), EmgColumn(3, "Biceps femoris", Side.RIGHT, "uV")),
        (MovementColumn(4, "Bar height", "cm", Up.LARGER),),
        None,
        TimeColumn(1, "s"),
    )


def test_by_keyboard_alone(qtbot: QtBot, tmp_path: Path) -> None:
    """Tab to the second page, choose an exercise of the study's list, a further column, and Alt+A."""
    with adding(qtbot, STUDY, [semicolon_file(tmp_path, f"P0{n}.txt") for n in (1, 2)]) as driver:
        dialog = driver.dialog
        driver.press(Qt.Key.Key_2, Qt.KeyboardModifier.AltModifier)
        assert dialog.pages.currentWidget() is dialog.rows
        for _ in range(8):
            if dialog.rows.table.hasFocus():
                break
            driver.press(TAB)
        driver.press(Qt.Key.Key_Right, times=2)
        driver.press(Qt.Key.Key_F2)
        driver.press(DOWN, times=2)
        driver.press(ENTER)
        driver.press(Qt.Key.Key_Up)
        driver.press(Qt.Key.Key_D, CTRL)
        assert [file.row["exercise"] for file in dialog.draft.files] == ["squat heels", "squat heels"]
        driver.press(TAB)
        assert dialog.rows.factor.hasFocus()
        driver.type("stance")
        driver.press(ENTER)
        driver.press(TAB, SHIFT)
        assert dialog.rows.table.hasFocus()
        driver.press(DOWN)
        driver.press(Qt.Key.Key_End)
        driver.press(Qt.Key.Key_Left)
        driver.type("wide")
        driver.press(ENTER)
        assert dialog.status.text() == "All is described."
        driver.press(Qt.Key.Key_A, Qt.KeyboardModifier.AltModifier)
        qtbot.waitUntil(lambda: bool(driver.given))
        (arrivals,) = driver.given
    assert [arrival.description.factors for arrival in arrivals] == [(), (("stance", "wide"),)]


def test_rows_can_be_pasted_copied_and_cleared(qtbot: QtBot, tmp_path: Path) -> None:
    with adding(qtbot, STUDY, [semicolon_file(tmp_path, f"{n}.txt") for n in (1, 2)]) as driver:
        driver.page(1)
        table = driver.dialog.rows.table
        QGuiApplication.clipboard().setText("A1\ttask\tlunge\t2\t1\nA2\tmvic\t\t2\t\nA3\n")
        driver.click_cell(table, 0, "Participant")
        driver.press(Qt.Key.Key_V, CTRL)
        assert driver.dialog.draft.open_sentence() == ""
        first, second = (arrival.description for arrival in driver.dialog.draft.arrivals())
        assert first == Description("A1", exercise="lunge", session="2", set=1)
        assert second == Description("A2", Kind.MVIC, session="2")
        driver.click_cell(table, 0, "Participant")
        driver.press(Qt.Key.Key_Right, SHIFT)
        driver.press(Qt.Key.Key_C, CTRL)
        assert QGuiApplication.clipboard().text() == "A1\ttask"
        driver.click_cell(table, 0, "Participant")
        driver.press(Qt.Key.Key_Delete)
        assert "needs its participant" in driver.dialog.status.text()
        assert not driver.dialog.add.isEnabled()


def test_one_cell_fills_the_empty_ones_below(qtbot: QtBot, tmp_path: Path) -> None:
    names = ("P01_squat_flat", "P02", "P03_squat_heels", "P04")
    with adding(qtbot, STUDY, [semicolon_file(tmp_path, f"{name}.txt") for name in names]) as driver:
        driver.page(1)
        driver.click_cell(driver.dialog.rows.table, 0, "Exercise")
        driver.click(driver.dialog.rows.fill)
        written = [file.row["exercise"] for file in driver.dialog.draft.files]
    assert written == ["squat flat", "squat flat", "squat heels", "squat flat"]


def test_a_file_that_is_no_recording_is_said_and_can_be_left_out(qtbot: QtBot, tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("Dear all,\nno numbers here.\n", encoding="utf-8")
    files = [tmp_path / "letter.txt", semicolon_file(tmp_path, "P01_squat_flat.txt"), tmp_path / "gone.txt"]
    with adding(qtbot, STUDY, files) as driver:
        dialog = driver.dialog
        assert dialog.status.text() == "letter.txt holds no rows of numbers; give a recording exported as text."
        assert not dialog.add.isEnabled()
        driver.click(dialog.columns.remove_file)
        assert "gone.txt cannot be read" in dialog.status.text()
        driver.click(dialog.show_open)
        driver.click(dialog.columns.remove_file)
        assert dialog.status.text() == "All is described."
        assert dialog.add.text() == "&Add 1 recording"


def test_sketches_and_first_rows_are_shown_and_share_the_column_in_hand(qtbot: QtBot, tmp_path: Path) -> None:
    with adding(qtbot, STUDY, [semicolon_file(tmp_path, "P01.txt")]) as driver:
        page = driver.dialog.columns
        model = page.columns.model()
        qtbot.waitUntil(lambda: model.index(3, 1).data(SKETCH) is not None)
        assert model.index(3, 1).data(SKETCH).lowest == 0
        assert page.first_rows.model().index(1, 0).data() == "0,0010"
        assert page.first_rows.model().headerData(1, Qt.Orientation.Horizontal) == "2  Left rectus femoris (mV)"
        driver.click_cell(page.columns, 2, "Unit")
        assert page.first_rows.currentIndex().column() == 2
        page.first_rows.setFocus()
        driver.press(Qt.Key.Key_Right)
        assert page.columns.currentIndex().row() == 3


def test_the_sketch_is_painted(qtbot: QtBot, tmp_path: Path) -> None:
    """The trace puts ink where the cell was plain before it arrived."""
    with adding(qtbot, STUDY, [semicolon_file(tmp_path, "P01.txt")]) as driver:
        table = driver.dialog.columns.columns
        index = table.model().index(2, 1)
        qtbot.waitUntil(lambda: index.data(SKETCH) is not None)
        cell = table.visualRect(index)
        image = table.viewport().grab(cell).toImage()
        ground = image.pixelColor(image.width() - 2, image.height() // 2)
        inked = [
            x for x in range(image.width() // 2)
            if any(image.pixelColor(x, y) != ground for y in range(4, image.height() - 4))
        ]  # fmt: skip
    assert len(inked) > 0.8 * (image.width() // 2)


def test_a_mapping_is_loaded_from_a_file_and_saved_to_one(qtbot: QtBot, knees: list[Path], tmp_path: Path) -> None:
    """By the file dialogs that the buttons open; what does not fit is refused in one sentence."""
    write_mapping(tmp_path / "knee.json", KNEE)
    with adding(qtbot, STUDY, knees[:1]) as driver:
        dialog, page = driver.dialog, driver.dialog.columns
        driver.click(page.load)
        _accept_file(qtbot, tmp_path / "knee.json")
        qtbot.waitUntil(lambda: dialog.status.text() == "The columns are used as knee.json says.")
        assert page.rate.text() == "1000"
        driver.click(page.save)
        _accept_file(qtbot, tmp_path / "again.json")
        qtbot.waitUntil(lambda: "kept in again.json" in dialog.status.text())
        write_mapping(tmp_path / "other.json", Mapping((EmgColumn(9, "x", unit="mV"),), (), Fraction(1)))
        dialog.load_mapping(str(tmp_path / "other.json"))
        qtbot.waitUntil(lambda: "no column 9" in dialog.status.text())
        dialog.load_mapping(str(tmp_path / "none.json"))
        qtbot.waitUntil(lambda: "none.json cannot be read" in dialog.status.text())
    assert read_mapping(tmp_path / "again.json") == KNEE


def _accept_file(qtbot: QtBot, path: Path) -> None:
    """Type a name into the file dialog that is open, and Return."""
    qtbot.waitUntil(lambda: isinstance(QApplication.activeModalWidget(), QFileDialog))
    chooser = QApplication.activeModalWidget()
    line = chooser.findChild(QLineEdit, "fileNameEdit")
    line.setText(str(path))
    qtbot.keyClick(line, ENTER)


def test_kept_mappings_are_used_for_the_same_columns(qtbot: QtBot, knees: list[Path]) -> None:
    kept = KeptMappings().with_mapping(("",) * 5, KNEE)
    with adding(qtbot, STUDY, knees, kept) as driver:
        assert "As for the last files with these columns" in driver.dialog.columns._say.text()
        assert "needs its participant" in driver.dialog.status.text()


def test_escape_drops_nothing_that_was_filled_in_before_it_is_pressed_twice(qtbot: QtBot, tmp_path: Path) -> None:
    with adding(qtbot, STUDY, [semicolon_file(tmp_path, "P01.txt")]) as driver:
        driver.page(1)
        driver.fill(driver.dialog.rows.table, 0, "Participant", "P09")
        driver.press(Qt.Key.Key_Escape)
        assert driver.dialog.isVisible()
        assert "close once more" in driver.dialog.status.text()
        driver.press(Qt.Key.Key_Escape)
        assert not driver.dialog.isVisible()
        assert driver.given == []


def test_a_dialog_closed_while_files_are_looked_at_hears_no_more_of_them(qtbot: QtBot, tmp_path: Path) -> None:
    with adding(qtbot, STUDY, []) as driver:
        driver.dialog.add_files([semicolon_file(tmp_path, "P01.txt")])
        driver.dialog.reject()
        qtbot.wait(100)
        assert driver.dialog.draft.files[0].waiting


def drop(*paths: Path) -> QDropEvent:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    event = QDropEvent(
        QPointF(50, 50), Qt.DropAction.CopyAction, data, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    )
    event.data_of_test = data  # type: ignore[attr-defined]  # Qt does not own it
    return event


def test_files_are_dropped_on_the_dialog_and_folders_stand_for_their_files(qtbot: QtBot, tmp_path: Path) -> None:
    folder = tmp_path / "more"
    (folder / "deeper").mkdir(parents=True)
    semicolon_file(folder / "deeper", "no.txt")
    (folder / ".hidden").write_text("", encoding="utf-8")
    names = [semicolon_file(tmp_path, "P01.txt"), semicolon_file(folder, "P02.txt"), semicolon_file(folder, "P03.txt")]
    assert files_among((tmp_path / "P01.txt", folder)) == tuple(names)
    with adding(qtbot, STUDY, []) as driver:
        assert "drop them here" in driver.dialog.status.text()
        driver.dialog.dropEvent(drop(tmp_path / "P01.txt", folder))
        qtbot.waitUntil(lambda: len(driver.dialog.draft.files) == len(names))
        driver.settle()
        assert [file.path for file in driver.dialog.draft.files] == [name.resolve() for name in names]


def test_a_dropped_study_is_told_from_files(tmp_path: Path) -> None:
    study = tmp_path / "study"
    study.mkdir()
    (study / "project.h5").write_bytes(b"")
    assert study_among([study]) == study_among([study / "project.h5"]) == study
    assert study_among([tmp_path]) is None
    assert study_among([study, tmp_path]) is None


def test_what_takes_the_focus_has_a_name(qtbot: QtBot, tmp_path: Path) -> None:
    with adding(qtbot, STUDY, [semicolon_file(tmp_path, "P01.txt")]) as driver:
        for place in (0, 1):
            driver.page(place)
            assert _nameless(driver.dialog) == []


def _nameless(window: QWidget) -> list[str]:
    return [
        f"{type(widget).__name__} in {type(widget.parent()).__name__}"
        for widget in window.findChildren(QWidget)
        if widget.focusPolicy() != Qt.FocusPolicy.NoFocus
        and widget.isVisibleTo(window)
        and not widget.accessibleName()
        and not widget.objectName().startswith("qt_")
        and not (isinstance(widget.parent(), QAbstractScrollArea) and widget.parent().viewport() is widget)
        and widget.parent().metaObject().className() != "QTableView"
        and not isinstance(widget.parent(), CellTable)
    ]


def test_an_open_cell_says_in_words_what_is_missing(qtbot: QtBot, knees: list[Path]) -> None:
    """Not by colour alone: tool tip, description for a screen reader, and the last column."""
    with adding(qtbot, STUDY, knees[:1]) as driver:
        table = driver.dialog.columns.columns
        driver.fill(table, 0, "Used as", "E")
        index = driver.click_cell(table, 0, "Unit")
        words = "choose the unit (V, mV, uV, nV, counts)"
        assert index.data(Qt.ItemDataRole.ToolTipRole) == words
        assert index.data(Qt.ItemDataRole.AccessibleDescriptionRole) == words
        assert words in table.model().index(0, table.model().columnCount() - 1).data()


def test_a_choice_by_mouse_is_taken_at_once(qtbot: QtBot, knees: list[Path]) -> None:
    """A double click shows the list, a click in it chooses and closes the editor."""
    with popups_allowed(), adding(qtbot, STUDY, knees[:1]) as driver:
        table = driver.dialog.columns.columns
        index = driver.click_cell(table, 1, "Used as")
        at = table.visualRect(index).center()
        qtbot.mouseDClick(table.viewport(), Qt.MouseButton.LeftButton, pos=at)
        qtbot.waitUntil(lambda: any(box.view().isVisible() for box in table.findChildren(ChoiceBox)))
        choices = next(box.view() for box in table.findChildren(ChoiceBox))
        qtbot.wait(QApplication.doubleClickInterval() + 50)  # a popup takes no release so soon after it was opened
        item = choices.visualRect(choices.model().index(1, 0)).center()
        qtbot.mouseMove(choices.viewport(), item)
        qtbot.mouseClick(choices.viewport(), Qt.MouseButton.LeftButton, pos=item)
        qtbot.waitUntil(lambda: index.data() == "EMG")
        qtbot.waitUntil(lambda: table.state() == CellTable.State.NoState)
