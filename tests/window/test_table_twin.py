"""The table of marks beside the traces: what the mouse does there can be typed here, with one selection for both."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from add_dialog_driver import popups_allowed
from curls_study import make_study
from mouse import click, drag, x_of
from PySide6.QtCore import QModelIndex, QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QStyle, QStyleOptionViewItem
from pytestqt.qtbot import QtBot
from whole_window import (
    CTRL,
    NO_KEYS,
    click_cell,
    last_edit,
    marks_in,
    press,
    retype,
    session_of,
    trial_in,
    window_on,
    write,
)

from phasemark.model.clock import seconds
from phasemark.model.mark_edits import Address, boundary_at
from phasemark.model.marks import Origin, Place
from phasemark.session.command_session import open_for_command
from phasemark.window.main_window import MainWindow
from phasemark.window.marks_table import BOUNDARY, CHECKED, EXCLUDED, PLACED, REP, TIME
from phasemark.window.traces.view_span import Span, whole

KEY = Qt.Key
TURN = Address(1, 0, Place.END)


@pytest.fixture
def study(tmp_path: Path) -> Path:
    return make_study(tmp_path / "curls")


@pytest.fixture
def window(qtbot: QtBot, study: Path) -> Iterator[MainWindow]:
    with window_on(qtbot, study) as window:
        yield window


def cell(window: MainWindow, address: Address, column: int) -> QModelIndex:
    return window.desk.marks_table.index_of(address, column)


def text(window: MainWindow, address: Address, column: int) -> str:
    return str(cell(window, address, column).data())


def begin_of(window: MainWindow, place: int) -> Address:
    return Address(marks_in(window).reps[place].id, 0, Place.BEGIN)


def test_a_typed_time_moves_the_boundary_as_a_drag_does(window: MainWindow) -> None:
    start = boundary_at(marks_in(window), TURN).sample
    retype(window.desk.table_view, cell(window, TURN, TIME), f"{start / 1000 - 0.3:.3f}")
    moved = boundary_at(marks_in(window), TURN)
    assert (moved.sample, moved.origin) == (start - 300, Origin.HAND)
    typed = marks_in(window)
    assert last_edit(window) == "moved raising end of rep 1"
    assert text(window, TURN, PLACED) == "by hand"
    session_of(window).undo()
    plot, clock = window.desk.plot, trial_in(window).clock
    plot.show_span(Span(0.0, 4.0))
    drag(plot, x_of(plot, seconds(start, clock)), x_of(plot, seconds(start - 300, clock)))
    dragged = boundary_at(marks_in(window), TURN).sample
    retype(window.desk.table_view, cell(window, TURN, TIME), f"{(start - 300) / 1000:.3f}")
    assert abs(dragged - (start - 300)) < 20
    assert [b.sample for _, b in marks_in(window).rep(1).phases[1].boundaries()] == [
        b.sample for _, b in typed.rep(1).phases[1].boundaries()
    ], "third lines follow in the same way"


def test_a_decimal_comma_is_understood_and_a_time_beyond_the_neighbours_is_clamped(window: MainWindow) -> None:
    start = boundary_at(marks_in(window), TURN).sample
    retype(window.desk.table_view, cell(window, TURN, TIME), f"{start / 1000 + 0.05:.3f}".replace(".", ","))
    assert boundary_at(marks_in(window), TURN).sample == start + 50
    for wrong in ("999", "-5"):
        retype(window.desk.table_view, cell(window, TURN, TIME), wrong)
        rep = marks_in(window).rep(1)
        samples = [b.sample for phase in rep.phases for _, b in phase.boundaries()]
        assert samples == sorted(samples)
        assert 0 <= rep.begin < rep.end <= marks_in(window).length


@pytest.mark.parametrize("wrong", ["soon", "", "nan", "1e400", "1.2.3"])
def test_text_that_is_no_time_is_refused_in_words_and_moves_nothing(window: MainWindow, wrong: str) -> None:
    before = marks_in(window)
    retype(window.desk.table_view, cell(window, TURN, TIME), wrong or " ")
    assert window.messages.text.startswith("A boundary's time is a number of seconds, not ")
    assert marks_in(window) == before
    assert last_edit(window) == ""


def test_the_box_checks_a_repetition_by_mouse_and_by_space(window: MainWindow) -> None:
    view, address = window.desk.table_view, begin_of(window, 1)
    index = cell(window, address, CHECKED)
    view.scrollTo(index)
    option = QStyleOptionViewItem()
    option.initFrom(view)
    option.rect = view.visualRect(index)
    option.features = QStyleOptionViewItem.ViewItemFeature.HasCheckIndicator
    box = view.style().subElementRect(QStyle.SubElement.SE_ItemViewItemCheckIndicator, option, view)
    QTest.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, NO_KEYS, box.center())
    assert marks_in(window).rep(address.rep).checked is not None
    assert text(window, address, CHECKED) == "R1"
    view.setFocus()
    view.setCurrentIndex(cell(window, address, CHECKED))
    press(KEY.Key_Space)
    assert marks_in(window).rep(address.rep).checked is None


def test_a_reason_typed_excludes_and_an_empty_one_takes_it_back(window: MainWindow) -> None:
    view, address = window.desk.table_view, begin_of(window, 0)
    retype(view, cell(window, address, EXCLUDED), "foot slipped")
    excluded = marks_in(window).rep(address.rep).excluded
    assert excluded is not None
    assert excluded.reason == "foot slipped"
    assert cell(window, address, EXCLUDED).data(Qt.ItemDataRole.ToolTipRole) == "foot slipped"
    click_cell(view, cell(window, address, EXCLUDED))
    press(KEY.Key_F2)
    press(KEY.Key_A, CTRL)
    press(KEY.Key_Delete)
    press(KEY.Key_Return)
    assert marks_in(window).rep(address.rep).excluded is None


def test_escape_leaves_a_cell_as_it_was(window: MainWindow) -> None:
    click_cell(window.desk.table_view, cell(window, TURN, TIME))
    press(KEY.Key_F2)
    write("3")
    press(KEY.Key_Escape)
    assert last_edit(window) == ""


def test_the_selection_is_one_in_table_and_traces(window: MainWindow) -> None:
    plot, view, model = window.desk.plot, window.desk.table_view, window.desk.marks_table
    click_cell(view, cell(window, begin_of(window, 2), BOUNDARY))
    assert plot.selected_address == begin_of(window, 2)
    assert window.desk.rep_in_hand == begin_of(window, 2).rep
    plot.fit_all()
    turn = boundary_at(marks_in(window), TURN).sample
    click(plot, x_of(plot, seconds(turn, trial_in(window).clock)))
    assert model.address_at(view.currentIndex()) == plot.selected_address
    assert plot.selected_address in (TURN, Address(1, 1, Place.BEGIN))
    view.setFocus()
    press(KEY.Key_Down)
    assert plot.selected_address == model.address_at(view.currentIndex())


def test_the_selection_follows_while_a_boundary_is_dragged(window: MainWindow) -> None:
    plot, clock = window.desk.plot, trial_in(window).clock
    turn = seconds(boundary_at(marks_in(window), TURN).sample, clock)
    drag(plot, x_of(plot, turn), x_of(plot, turn - 0.3), let_go=False)
    assert window.desk.plot.selected_address is not None
    shown = float(text(window, window.desk.plot.selected_address, TIME))
    assert abs(shown - (turn - 0.3)) < 0.03, "the table shows where the boundary is now"
    press(KEY.Key_Escape)
    assert abs(float(text(window, TURN, TIME)) - turn) < 0.001


def test_what_is_said_of_a_repetition_stands_in_its_first_line_only(window: MainWindow) -> None:
    assert text(window, begin_of(window, 1), REP) == "2"
    assert [text(window, TURN, column) for column in (REP, CHECKED, EXCLUDED)] == ["", "", ""]
    line = Address(1, 0, Place.FIRST_LINE)
    assert cell(window, line, BOUNDARY).data(Qt.ItemDataRole.AccessibleTextRole) == "raising lower | middle"
    assert text(window, line, BOUNDARY).strip() == "lower | middle"


def test_a_study_held_elsewhere_cannot_be_typed_into(qtbot: QtBot, study: Path) -> None:
    with open_for_command(study, print), window_on(qtbot, study) as window:
        editable = Qt.ItemFlag.ItemIsEditable | Qt.ItemFlag.ItemIsUserCheckable
        model = window.desk.marks_table
        flags = [model.index(r, c).flags() & editable for r in range(model.rowCount()) for c in range(6)]
        assert not any(flags)
        assert not model.setData(cell(window, TURN, TIME), "1.0")
        view = window.desk.table_view
        click_cell(view, cell(window, TURN, TIME))
        press(KEY.Key_F2)
        write("1")
        assert view.state() == view.State.NoState
        assert text(window, TURN, TIME) != "1"


# The overview


def strip_drag(window: MainWindow, from_s: float, to_s: float) -> None:
    """Drag in the overview from one time to another."""
    strip = window.desk.overview
    span = whole(marks_in(window).length / float(trial_in(window).clock))
    left = float(window.desk.plot.lanes_area().left())
    room = strip.width() - left - (window.desk.plot.width() - window.desk.plot.lanes_area().right() - 1)

    def at(time: float) -> QPointF:
        return QPointF(left + (time - span.begin_s) / span.width_s * room, strip.height() / 2)

    from PySide6.QtCore import QEvent
    from PySide6.QtGui import QMouseEvent

    button, none = Qt.MouseButton.LeftButton, Qt.MouseButton.NoButton
    steps = [(QEvent.Type.MouseButtonPress, from_s, button, button)]
    steps += [(QEvent.Type.MouseMove, from_s + (to_s - from_s) * n / 4, none, button) for n in range(1, 5)]
    steps += [(QEvent.Type.MouseButtonRelease, to_s, button, none)]
    for kind, time, pressed, held in steps:
        where = at(time)
        event = QMouseEvent(kind, where, strip.mapToGlobal(where), pressed, held, NO_KEYS)
        QApplication.sendEvent(strip, event)


def test_the_frame_of_the_overview_is_carried_stretched_and_brought_here(window: MainWindow) -> None:
    plot = window.desk.plot
    plot.show_span(Span(2.0, 5.0))
    strip_drag(window, 3.5, 5.5)
    assert plot.span.begin_s == pytest.approx(4.0, abs=0.05)
    assert plot.span.width_s == pytest.approx(3.0, abs=0.01)
    strip_drag(window, plot.span.end_s, plot.span.end_s + 2)
    assert plot.span.width_s == pytest.approx(5.0, abs=0.1)
    strip_drag(window, plot.span.begin_s, plot.span.begin_s + 1)
    assert plot.span.width_s == pytest.approx(4.0, abs=0.1)
    last = marks_in(window).reps[-1]
    middle = seconds((last.begin + last.end) // 2, trial_in(window).clock)
    plot.show_span(Span(0.0, 3.0))
    strip_drag(window, middle, middle)
    assert plot.span.begin_s < middle < plot.span.end_s
    assert window.desk.rep_in_hand == last.id, "a click on a rep takes it in hand"


def test_the_overview_is_carried_by_keys(window: MainWindow) -> None:
    plot, strip = window.desk.plot, window.desk.overview
    plot.show_span(Span(4.0, 6.0))
    strip.setFocus()
    press(KEY.Key_Right)
    assert plot.span == Span(5.0, 7.0)
    press(KEY.Key_Left)
    press(KEY.Key_Left)
    assert plot.span == Span(3.0, 5.0)
    press(KEY.Key_Home)
    assert plot.span.begin_s < 0.1
    press(KEY.Key_End)
    assert plot.span.end_s > 12.5
    assert "Seen are the seconds" in strip.accessibleDescription()


# Settings


def field(window: MainWindow, key: str, value: str) -> None:
    """Type over a field of the settings, Return."""
    window.settings.show_field(key)
    press(KEY.Key_A, CTRL)
    write(value)
    press(KEY.Key_Return)


def test_a_setting_takes_effect_on_the_trial_in_view_and_can_be_undone(qtbot: QtBot, window: MainWindow) -> None:
    press(KEY.Key_Comma, CTRL)
    assert window.settings.isVisibleTo(window)
    assert not window.grid.isVisibleTo(window), "the grid gives its place to the settings"
    before, figure = window.desk.signals, window.desk.figure.figure
    assert figure is not None
    span = window.desk.plot.span
    with qtbot.waitSignal(window.desk.shown, timeout=10_000):
        field(window, "filter.highpass_hz", "100")
    assert session_of(window).study.settings.filter.highpass_hz == 100
    assert window.desk.signals is not before
    now = window.desk.figure.figure
    assert now is not None
    assert now.muscles[0].sides[0].whole.amplitude.rms < figure.muscles[0].sides[0].whole.amplitude.rms
    assert window.desk.plot.span == span, "what is seen stays"
    with qtbot.waitSignal(window.desk.shown, timeout=10_000):
        session_of(window).undo()
    editor = window.settings.field("filter.highpass_hz")
    assert editor.text() == "20.0"
    press(KEY.Key_Comma, CTRL)
    assert window.grid.isVisibleTo(window)
    assert window.desk.plot.hasFocus()


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("filter.lowpass_hz", "600"),
        ("filter.highpass_hz", "soon"),
        ("envelope.window_s", "-1"),
        ("phases.prominence", "2"),
        ("counted", "some"),
    ],
)
def test_a_refused_value_goes_back_and_it_is_said_why(window: MainWindow, key: str, value: str) -> None:
    press(KEY.Key_Comma, CTRL)
    editor = window.settings.field(key)
    held, before = editor.text(), session_of(window).study
    field(window, key, value)
    assert session_of(window).study == before
    assert editor.text() == held
    assert len(window.settings.said) > 10


def test_a_setting_that_marks_were_made_by_offers_to_mark_again(qtbot: QtBot, window: MainWindow) -> None:
    press(KEY.Key_Comma, CTRL)
    with qtbot.waitSignal(window.desk.shown, timeout=10_000):
        field(window, "phases.movement_lowpass_hz", "4")
    assert "earlier settings" in window.settings.said
    qtbot.mouseClick(window.settings.again, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: "Marked 2 trials." in window.messages.text, timeout=10_000)
    assert window.settings.said == ""


def test_a_choice_among_the_settings_is_taken_at_once(window: MainWindow) -> None:
    press(KEY.Key_Comma, CTRL)
    box = window.settings.show_field("pause_in_rep")
    with popups_allowed():
        press(KEY.Key_N)
    box.activated.emit(box.currentIndex())  # type: ignore[union-attr]  # as a box does when a list is left
    assert session_of(window).study.settings.pause_in_rep is False


def test_nothing_of_the_settings_is_cut_off_at_the_side(window: MainWindow) -> None:
    press(KEY.Key_Comma, CTRL)
    area = window.settings._area
    for box in window.settings._boxes:
        box.header.setChecked(True)
    QApplication.processEvents()
    assert area.widget().width() <= area.viewport().width()
    shown = {key: window.settings.field(key) for key in window.settings._values}
    cut = {k: (e.width(), e.minimumSizeHint().width()) for k, e in shown.items() if e.isVisible()}
    assert len(cut) > 40
    assert {key: widths for key, widths in cut.items() if widths[0] < widths[1]} == {}


def test_the_button_puts_the_settings_away(qtbot: QtBot, window: MainWindow) -> None:
    press(KEY.Key_Comma, CTRL)
    qtbot.mouseClick(window.settings.close_button, Qt.MouseButton.LeftButton)
    assert window.grid.isVisibleTo(window)
    assert not window.settings.isVisibleTo(window)


def test_the_other_measure_is_shown_by_a_click(qtbot: QtBot, window: MainWindow) -> None:
    from phasemark.session.rep_figure import Measure

    button = window.desk.measure_choice.button(Measure.MEAN_AMPLITUDE)
    with qtbot.waitSignal(window.desk.measure_choice.chosen) as chosen:
        qtbot.mouseClick(button, Qt.MouseButton.LeftButton, pos=button.rect().center() - button.rect().center() / 2)
    assert chosen.args == [Measure.MEAN_AMPLITUDE]
    assert "mean amplitude" in window.desk.figure.accessibleDescription()
