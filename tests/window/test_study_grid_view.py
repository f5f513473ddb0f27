"""The grid on screen: real mouse and keys open trials, only what changed is painted, all of it fits and is named."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from grids import FLAT, large, mixed, of_state, sets, with_cell
from PySide6.QtCore import QEvent, QObject, QPoint, QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QImage, QMouseEvent, QPainter, QPaintEvent, QPalette
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from phasemark.results.study_grid import Cell, Grid, State
from phasemark.window.grid.grid_cell_delegate import cell_width, signs_in
from phasemark.window.grid.grid_header import GridHeader
from phasemark.window.grid.grid_legend import GridLegend
from phasemark.window.grid.grid_signs import paint_sign, pennant_width, sign_height, sign_width
from phasemark.window.grid.study_grid_view import ALL_DONE, NO_TRIALS, StudyGridView
from phasemark.window.palette import Scheme

LEFT = Qt.MouseButton.LeftButton
Chosen = list[str]


@pytest.fixture
def view(qtbot: QtBot) -> StudyGridView:
    shown = StudyGridView()
    qtbot.addWidget(shown)
    shown.resize(420, 560)
    shown.show_grid(mixed())
    shown.show()
    qtbot.waitExposed(shown)
    return shown


@pytest.fixture
def chosen(view: StudyGridView) -> Chosen:
    said: Chosen = []
    view.trialChosen.connect(said.append)
    return said


def place(view: StudyGridView, row: int, column: int) -> QRectF:
    return QRectF(view.table.visualRect(view.table.model().index(row, column)))


def beside_signs(view: StudyGridView, row: int, column: int) -> QPoint:
    """A place in a cell where there is no sign."""
    box = place(view, row, column)
    return QPointF(box.right() - 3, box.center().y()).toPoint()


def on_sign(view: StudyGridView, row: int, column: int, number: int) -> QPoint:
    cell, metrics = view.grid.cells[row][column], QFontMetricsF(view.table.font())
    return signs_in(cell, place(view, row, column), metrics)[number][1].center().toPoint()


def click(qtbot: QtBot, view: StudyGridView, at: QPoint) -> None:
    qtbot.mouseClick(view.table.viewport(), LEFT, pos=at)


def cursor(view: StudyGridView) -> tuple[int, int]:
    at = view.table.currentIndex()
    return at.row(), at.column()


# Mouse


def test_a_click_opens_the_set_that_waits(view: StudyGridView, chosen: Chosen, qtbot: QtBot) -> None:
    """Set 1 of P02 is checked, set 2 is not."""
    click(qtbot, view, beside_signs(view, 1, 0))
    assert chosen == ["2f.2"]


def test_a_click_on_a_sign_opens_its_set(view: StudyGridView, chosen: Chosen, qtbot: QtBot) -> None:
    for number in (0, 1):
        click(qtbot, view, on_sign(view, 1, 0, number))
    click(qtbot, view, on_sign(view, 0, 2, 2))
    assert chosen == ["2f.1", "2f.2", "1m.3"]


def test_further_clicks_go_from_set_to_set(view: StudyGridView, chosen: Chosen, qtbot: QtBot) -> None:
    """The window puts what was chosen in view; the next click in the same cell takes the next set, in turn."""
    view.trialChosen.connect(view.set_current)
    for _ in range(3):
        click(qtbot, view, beside_signs(view, 1, 0))
    assert chosen == ["2f.2", "2f.1", "2f.2"]


def test_a_double_click_opens_one_trial(view: StudyGridView, chosen: Chosen, qtbot: QtBot) -> None:
    """People who double-click do not end up in another set."""
    view.trialChosen.connect(view.set_current)
    at = beside_signs(view, 1, 0)
    click(qtbot, view, at)
    qtbot.mouseDClick(view.table.viewport(), LEFT, pos=at)
    assert chosen == ["2f.2"]


def test_a_press_that_is_let_go_elsewhere_opens_nothing(view: StudyGridView, chosen: Chosen, qtbot: QtBot) -> None:
    qtbot.mousePress(view.table.viewport(), LEFT, pos=beside_signs(view, 1, 0))
    target, away = view.table.viewport(), QPointF(beside_signs(view, 0, 0))
    move = QMouseEvent(
        QEvent.Type.MouseMove, away, target.mapToGlobal(away), LEFT, LEFT, Qt.KeyboardModifier.NoModifier
    )
    QApplication.sendEvent(target, move)
    qtbot.mouseRelease(target, LEFT, pos=away.toPoint())
    qtbot.mouseClick(target, Qt.MouseButton.RightButton, pos=beside_signs(view, 1, 0))
    click(qtbot, view, beside_signs(view, 2, 2))  # no recording there
    click(qtbot, view, QPoint(target.width() - 2, target.height() - 2))
    assert chosen == []


# Keys


def test_arrows_move_a_cursor_and_enter_opens(view: StudyGridView, chosen: Chosen, qtbot: QtBot) -> None:
    """The selection is the trial in view and stays; the note says what the cursor is on."""
    view.set_current("1f.1")
    view.setFocus()
    for key in (Qt.Key.Key_Down, Qt.Key.Key_Right):
        qtbot.keyClick(view.table, key)
    assert cursor(view) == (1, 1)
    assert view.note == "P02, squat heels raised: problem: the recording is missing"
    assert [(at.row(), at.column()) for at in view.table.selectedIndexes()] == [(0, 0)]
    assert chosen == []
    for key in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
        qtbot.keyClick(view.table, key)
    assert chosen == ["2r.1"] * 3


def test_enter_again_goes_from_set_to_set(view: StudyGridView, chosen: Chosen, qtbot: QtBot) -> None:
    view.trialChosen.connect(view.set_current)
    view.set_current("1m.1")
    for _ in range(4):
        qtbot.keyClick(view.table, Qt.Key.Key_Return)
    assert chosen == ["1m.2", "1m.3", "1m.1", "1m.2"]


def test_keys_step_in_the_order_of_work(view: StudyGridView, chosen: Chosen, qtbot: QtBot) -> None:
    view.trialChosen.connect(view.set_current)
    view.set_current("1f.2")
    for key in (Qt.Key.Key_PageDown, Qt.Key.Key_PageDown, Qt.Key.Key_PageUp):
        qtbot.keyClick(view.table, key, Qt.KeyboardModifier.ControlModifier)
    assert chosen == ["1r.1", "1r.2", "1r.1"]
    view.set_current("10q.1")
    view.step(1)
    assert chosen[3:] == []


def test_tab_leaves_the_table_and_letters_are_left_alone(view: StudyGridView, qtbot: QtBot) -> None:
    view.set_current("1f.1")
    view.setFocus()
    qtbot.keyClicks(view.table, "p1")
    assert cursor(view) == (0, 0)
    qtbot.keyClick(view.table, Qt.Key.Key_Tab)
    assert cursor(view) == (0, 0)


# What is in view


def test_the_trial_in_view_is_selected_wherever_it_is(view: StudyGridView) -> None:
    view.set_current("10r.2")
    assert [(at.row(), at.column()) for at in view.table.selectedIndexes()] == [(3, 1)]
    assert cursor(view) == (3, 1)
    assert view.note == "P10, squat heels raised: 2 trials, no marks"
    view.set_current("not in this study")
    assert view.table.selectedIndexes() == []


def test_a_trial_far_off_is_brought_into_sight(view: StudyGridView) -> None:
    """60 participants by 12 conditions in 300 pixels: the table scrolls, names of participants stay."""
    view.resize(300, 500)
    view.show_grid(large())
    view.set_current("59.11.2")
    box, seen = place(view, 59, 11).toRect(), view.table.viewport().rect()
    assert seen.contains(box)
    assert view.table.verticalHeader().isVisible()
    assert view.table.verticalHeader().width() < 80
    assert view.width() == 300


def test_what_is_in_view_stays_when_rows_come(view: StudyGridView) -> None:
    """An imported participant makes new rows; the selection follows the trial."""
    view.set_current("2f.1")
    before = mixed()
    view.show_grid(
        Grid(("A", *before.participants), before.conditions, (before.cells[0][:0] + (Cell(),) * 4, *before.cells))
    )
    assert [(at.row(), at.column()) for at in view.table.selectedIndexes()] == [(2, 0)]
    assert view.note.startswith("P02")


# The filter


def hidden(view: StudyGridView) -> tuple[list[str], list[str]]:
    rows = [name for n, name in enumerate(view.grid.participants) if view.table.isRowHidden(n)]
    columns = [c.title for n, c in enumerate(view.grid.conditions) if view.table.isColumnHidden(n)]
    return rows, columns


def test_the_filter_hides_what_is_done(view: StudyGridView, qtbot: QtBot) -> None:
    qtbot.mouseClick(view.only_to_do, LEFT, pos=QPoint(8, view.only_to_do.height() // 2))
    assert hidden(view) == (["P01", "P03"], ["MVIC", "quiet"])
    qtbot.keyClick(view.only_to_do, Qt.Key.Key_Space)
    assert hidden(view) == ([], [])


def test_the_filter_keeps_what_is_in_view(view: StudyGridView) -> None:
    """Checking the last repetition does not take the row away from under the user; going on does."""
    view.set_current("2f.2")
    view.only_to_do.setChecked(True)
    done = with_cell(with_cell(mixed(), 1, 0, sets("2f", 8, 8)), 1, 1, of_state("2r", State.EXCLUDED))
    view.show_grid(done)
    assert hidden(view)[0] == ["P01", "P03"]
    view.set_current("10f.1")
    assert hidden(view)[0] == ["P01", "P02", "P03"]
    view.set_current("1m.1")
    assert hidden(view) == (["P02", "P03"], ["quiet"])


def test_with_the_filter_on_steps_pass_over_what_is_done(view: StudyGridView, chosen: Chosen) -> None:
    view.trialChosen.connect(view.set_current)
    view.only_to_do.setChecked(True)
    for _ in range(6):
        view.step(1)
    assert chosen == ["2f.2", "2r.1", "10f.1", "10r.1", "10r.2"]


def test_empty_grids_say_why(view: StudyGridView) -> None:
    def looks() -> QImage:
        return view.table.viewport().grab().toImage()

    view.show_grid(Grid(("P01",), (FLAT,), ((sets("a", 8),),)))
    view.only_to_do.setChecked(True)
    assert view.table.note == ALL_DONE
    done = looks()
    view.show_grid(Grid())
    assert view.table.note == NO_TRIALS
    assert looks() != done
    view.show_grid(mixed())
    assert view.table.note == ""


# Painting


class Paints(QObject):
    """Keeps what the viewport is asked to paint."""

    def __init__(self, target: QWidget) -> None:
        super().__init__(target)
        self.rects: list[QRect] = []
        target.installEventFilter(self)

    def eventFilter(self, _watched: QObject, event: QEvent) -> bool:
        if isinstance(event, QPaintEvent):
            self.rects.extend(event.region())
        return False


def test_an_edit_paints_one_cell(view: StudyGridView) -> None:
    """Also in a large grid, whose other cells are equal but not the same objects."""
    view.show_grid(large())
    view.set_current("3.0.1")
    QApplication.processEvents()
    QApplication.processEvents()
    paints = Paints(view.table.viewport())
    view.show_grid(large())
    QApplication.processEvents()
    assert paints.rects == []
    view.show_grid(with_cell(large(), 3, 0, sets("3.0", 1, 8)))
    QApplication.processEvents()
    assert paints.rects == [place(view, 3, 0).toRect()]
    assert view.note.endswith("9 of 16 repetitions checked (set 1: 1 of 8; set 2: 8 of 8)")


def test_what_is_in_view_looks_other_than_what_is_not(view: StudyGridView) -> None:
    """By more than colour: its sign is underlined and its participant is in bold."""

    def looks(row: int, column: int) -> QImage:
        return view.table.viewport().grab(place(view, row, column).toRect()).toImage()

    view.set_current("1f.1")
    first = looks(0, 0)
    view.set_current("1f.2")
    assert looks(0, 0) != first
    view.set_current("2f.1")
    assert looks(0, 0) != first


INKS = [Scheme(QColor("white"), QColor("black")), Scheme(QColor("#1b1d20"), QColor("#e6e6e6"))]


def _sign(state: State, share: float, scheme: Scheme, size: tuple[int, int]) -> np.ndarray:
    """A sign in black and white: ink wherever it is not the ground."""
    image = QImage(size[0] + 8, size[1] + 8, QImage.Format.Format_Grayscale8)
    image.fill(scheme.base)
    painter = QPainter(image)
    paint_sign(painter, QRectF(4, 4, *size), state, share, scheme)
    painter.end()
    rows = np.frombuffer(image.constBits(), dtype=np.uint8).reshape(image.height(), image.bytesPerLine())
    ground = QColor(scheme.base).lightness()
    return np.abs(rows[:, : image.width()].astype(int) - ground) > 40


@pytest.mark.parametrize("scheme", INKS, ids=["light", "dark"])
@pytest.mark.parametrize("size", [(9, 11), (19, 26)], ids=["small", "large"])
def test_signs_differ_in_shape_without_colour(scheme: Scheme, size: tuple[int, int]) -> None:
    """In black and white any two of them differ in a good part of their ink; so do steps of checking."""
    signs = [_sign(state, 0.0, scheme, size) for state in State]
    signs += [_sign(State.TO_CHECK, share, scheme, size) for share in (0.5,)]
    for one, other in combinations(signs, 2):
        assert (one ^ other).sum() >= 0.18 * max(one.sum(), other.sum())


def test_a_sign_fills_as_repetitions_are_checked() -> None:
    ink = [_sign(State.TO_CHECK, share, INKS[0], (13, 17)).sum() for share in (0, 0.25, 0.5, 0.75, 1)]
    assert ink == sorted(set(ink))


def test_many_trials_of_a_cell_are_counted_not_drawn(view: StudyGridView, chosen: Chosen, qtbot: QtBot) -> None:
    """Six efforts have one sign and their number, and are opened in turn."""
    view.trialChosen.connect(view.set_current)
    view.show_grid(with_cell(mixed(), 0, 2, of_state("1m", State.RECORDED, count=6)))
    assert len(signs_in(view.grid.cells[0][2], place(view, 0, 2), QFontMetricsF(view.table.font()))) == 1
    for _ in range(2):
        click(qtbot, view, on_sign(view, 0, 2, 0))
    assert chosen == ["1m.1", "1m.2"]


def flagged(cell: Cell, *findings: int) -> Cell:
    """The cell with so many findings to decide in each of its trials."""
    return Cell(tuple(replace(t, findings=n) for t, n in zip(cell.trials, findings, strict=True)))


def ink_of(view: StudyGridView, box: QRectF) -> np.ndarray:
    """Where the table is not its ground, in a box of its viewport."""
    image = view.table.viewport().grab(box.toRect()).toImage().convertToFormat(QImage.Format.Format_Grayscale8)
    rows = np.frombuffer(image.constBits(), dtype=np.uint8).reshape(image.height(), image.bytesPerLine())
    ground = view.palette().color(QPalette.ColorRole.Base).lightness()
    return np.abs(rows[:, : image.width()].astype(int) - ground) > 40


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_a_pennant_stands_beside_the_sign_of_its_trial_and_touches_no_other(view: StudyGridView, scale: float) -> None:
    """The signs themselves stay as they are: what is to do is told as before; the count keeps clear of it."""
    font = view.font()
    font.setPointSizeF(font.pointSizeF() * scale)
    view.setFont(font)
    view.show_grid(with_cell(mixed(), 1, 0, sets("2f", 8, 3)))
    QApplication.processEvents()
    box, metrics = place(view, 1, 0), QFontMetricsF(view.table.font())
    before = ink_of(view, box)
    view.show_grid(with_cell(mixed(), 1, 0, flagged(sets("2f", 8, 3), 0, 2)))
    QApplication.processEvents()
    assert place(view, 1, 0) == box, "no column is wider for it"
    more = np.flatnonzero((before ^ ink_of(view, box)).any(axis=0)) + box.left()
    (_, first), (_, second) = signs_in(view.grid.cells[1][0], box, metrics)
    assert len(more) >= 3
    assert second.right() <= more[0]
    assert more[-1] < second.right() + pennant_width(metrics)
    text = np.flatnonzero(before.any(axis=0)) + box.left()
    assert min(x for x in text if x > second.right() + 1) > more[-1] + 1
    assert first.right() + pennant_width(metrics) < second.left()


def test_one_sign_for_many_trials_has_a_pennant_if_any_of_them_has(view: StudyGridView) -> None:
    many = of_state("1m", State.RECORDED, count=6)
    view.show_grid(with_cell(mixed(), 0, 2, many))
    QApplication.processEvents()
    before = ink_of(view, place(view, 0, 2))
    view.show_grid(with_cell(mixed(), 0, 2, flagged(many, 0, 0, 0, 0, 0, 1)))
    QApplication.processEvents()
    assert (before ^ ink_of(view, place(view, 0, 2))).any()


def test_findings_are_in_the_hint_and_in_the_legend_while_there_are_some(view: StudyGridView) -> None:
    legend = view.findChild(GridLegend)
    assert legend is not None
    assert "to decide" not in legend.accessibleDescription()
    view.show_grid(with_cell(mixed(), 1, 0, flagged(sets("2f", 8, 3), 0, 2)))
    said = legend.accessibleDescription().split(", ")
    assert said.index("to check") + 1 == said.index("2 findings to decide"), "after what is to do"
    assert "2 findings to decide: " in legend.toolTip()
    at = view.table.model().index(1, 0)
    assert (
        view.table.model()
        .data(at, Qt.ItemDataRole.ToolTipRole)
        .endswith("set 2: 3 of 8 repetitions checked, 2 findings to decide")
    )
    view.show_grid(mixed())
    assert legend.accessibleDescription().split(", ") == [entry for entry in said if "to decide" not in entry]


# Size of text, names


@pytest.mark.parametrize("grid", [mixed(), large(8, 5)], ids=["mixed", "large"])
@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_cells_and_heads_fit_their_text(view: StudyGridView, grid: Grid, scale: float) -> None:
    """At 100 and 200 per cent: signs and counts, all lines of the heads and codes are whole."""
    font = view.font()
    font.setPointSizeF(font.pointSizeF() * scale)
    view.setFont(font)
    view.resize(300, 640)
    view.show_grid(grid)
    QApplication.processEvents()
    metrics, header = QFontMetricsF(view.table.font()), view.table.horizontalHeader()
    assert isinstance(header, GridHeader)
    assert view.table.rowHeight(0) >= metrics.height()
    for column in range(len(grid.conditions)):
        assert view.table.columnWidth(column) >= max(cell_width(row[column], metrics) for row in grid.cells)
        titles, details = header.head_lines(column)
        assert header.height() >= (len(titles) + len(details) + 1) * metrics.height()
    assert view.table.verticalHeader().width() >= metrics.horizontalAdvance(grid.participants[0])
    assert view.table.viewport().height() >= 3 * view.table.rowHeight(0)


def test_signs_grow_with_the_text(view: StudyGridView) -> None:
    font = view.font()
    small = QFontMetricsF(font)
    font.setPointSizeF(font.pointSizeF() * 2)
    large_text = QFontMetricsF(font)
    assert sign_width(large_text) > 1.6 * sign_width(small)
    assert sign_height(large_text) > 1.6 * sign_height(small)


def test_the_legend_explains_what_is_there_and_flows(view: StudyGridView) -> None:
    """Only the signs that are in the grid; a narrower legend is higher, and the table gives way."""
    legend = view.findChild(GridLegend)
    assert legend is not None
    view.show_grid(with_cell(mixed(), 3, 0, of_state("10f", State.OLDER)))
    assert legend.accessibleDescription() == ", ".join(State)
    assert legend.heightForWidth(150) > legend.heightForWidth(900)
    assert legend.height() >= legend.heightForWidth(legend.width())
    view.resize(view.width(), 200)
    QApplication.processEvents()
    assert legend.height() <= 0.2 * 200 + QFontMetricsF(legend.font()).height()
    view.show_grid(Grid(("P01",), (FLAT,), ((sets("a", 8),),)))
    assert legend.accessibleDescription() == "checked"


def test_everything_has_a_name(view: StudyGridView) -> None:
    """Cells and heads say in a sentence what they show."""
    model, role = view.table.model(), Qt.ItemDataRole.AccessibleTextRole
    assert model.data(model.index(3, 0), role) == "P10, squat heels flat: 3 of 8 repetitions checked"
    assert model.headerData(0, Qt.Orientation.Horizontal, role) == "squat heels flat: 5 of 7 checked"
    assert model.headerData(2, Qt.Orientation.Horizontal, role) == "MVIC: 9 recorded"
    assert model.headerData(3, Qt.Orientation.Vertical, role) == "P10"
    focusable = [w for w in view.findChildren(QWidget) if w.focusPolicy() & Qt.FocusPolicy.TabFocus and w.isVisible()]
    assert view.table in focusable
    assert all(widget.accessibleName() for widget in focusable)


def test_the_ground_is_that_of_the_palette(view: StudyGridView) -> None:
    """In the dark nothing stays light: corner, heads and the room behind the last row."""
    dark = QPalette()
    for role, colour in (
        (QPalette.ColorRole.Base, "#1b1d20"),
        (QPalette.ColorRole.Text, "#e6e6e6"),
        (QPalette.ColorRole.Window, "#25272b"),
        (QPalette.ColorRole.WindowText, "#e6e6e6"),
    ):
        dark.setColor(role, QColor(colour))
    view.setPalette(dark)
    QApplication.processEvents()
    image = view.table.grab().toImage()
    bottom = image.height() - 4
    for at in ((2, 2), (2, bottom), (image.width() - 3, 3), (image.width() // 2, bottom)):
        assert image.pixelColor(*at) == QColor("#1b1d20")
