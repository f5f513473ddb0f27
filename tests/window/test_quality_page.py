"""The page of signal quality: what is listed, what is said of a row, what a person's keys and clicks ask for."""

from dataclasses import replace

import pytest
from judged_rows import accepted, row, table, told
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from whole_window import nameless, press

from phasemark.model.marks import Decision
from phasemark.results.study_grid import State
from phasemark.session.judgement_tables import QualityRow, QualityTable
from phasemark.signal.quality.finding import Check
from phasemark.window.judging.quality_model import DECIDED, FIGURE, LIMIT, SIGN, SIGN_ROLE, TRIAL, QualityModel, Which
from phasemark.window.judging.quality_page import QualityPage

DOWN = Qt.Key.Key_Down
ARTEFACT, NOISE, OFFSET = (
    row("T001", 1, Check.ARTEFACT, flagged=True),
    row("T002", 0, Check.NOISE, flagged=True),
    row("T001", 0, Check.OFFSET),
)
THREE = QualityTable((ARTEFACT, NOISE, OFFSET))


@pytest.fixture
def page(qtbot: QtBot) -> QualityPage:
    page = QualityPage()
    qtbot.addWidget(page)
    page.resize(700, 700)
    page.show()
    page.activateWindow()
    page.show_table(THREE, editable=True)
    QApplication.processEvents()
    return page


def listed(page: QualityPage) -> list[QualityRow]:
    return list(page.model.rows)


def set_filter(page: QualityPage, which: Which) -> None:
    page.which.setCurrentIndex(tuple(Which).index(which))


def test_what_is_still_to_decide_is_listed_first_and_all_on_demand(page: QualityPage) -> None:
    assert listed(page) == [ARTEFACT, NOISE]
    set_filter(page, Which.ALL)
    assert listed(page) == [ARTEFACT, NOISE, OFFSET]
    assert "2 still to decide" in page.count.text()


def test_only_checks_of_the_trial_in_view_are_listed_where_that_is_asked_for(page: QualityPage) -> None:
    page.set_trial("T002")
    page.scope.setCurrentIndex(0)
    assert listed(page) == [NOISE]
    assert page.table.isColumnHidden(TRIAL)
    page.set_trial("T001")
    assert listed(page) == [ARTEFACT]


def test_words_find_rows_whatever_their_order(page: QualityPage) -> None:
    set_filter(page, Which.ALL)
    page.sought.setText("MUSCLE 0 off")
    assert listed(page) == [OFFSET]


def test_accepted_and_excluded_rows_have_a_list_of_their_own(page: QualityPage) -> None:
    out = replace(NOISE, excluded=Decision("R1", "2026-01-01T00:00:00Z", "came off"))
    page.show_table(QualityTable((accepted(ARTEFACT), out, OFFSET)), editable=True)
    assert listed(page) == []
    set_filter(page, Which.DECIDED)
    model = page.model
    assert [model.index(n, SIGN).data(SIGN_ROLE) for n in (0, 1)] == [State.CHECKED, State.EXCLUDED]
    texts = [model.index(n, DECIDED).data() for n in (0, 1)]
    assert texts == ["accepted by R2: looked at", "excluded by R1: came off"]


def test_limits_say_which_side_is_sound() -> None:
    model = QualityModel()
    model.show(THREE)
    assert [model.index(n, LIMIT).data() for n in (0, 1)] == ["≤ 1 times", "≥ 1 times"]


def test_the_row_in_hand_is_said_in_full_and_its_place_is_asked_for(qtbot: QtBot, page: QualityPage) -> None:
    with qtbot.waitSignal(page.placeWanted) as asked:
        page.table.setCurrentIndex(page.model.index(0, 1))
    assert asked.args == [ARTEFACT, 0]
    assert "muscle 1" in page.title.text()
    assert page.sentence.text() == ARTEFACT.sentence
    assert "the limit is ≤ 1 times" in page.verdict.text()
    with qtbot.waitSignal(page.placeWanted) as asked:
        page.later.click()
    assert asked.args == [ARTEFACT, 1]
    assert page.place_words.text() == "Place 2 of 2: 7.00–7.25 s"
    assert not page.later.isEnabled()
    words = page.place_words
    assert words.width() >= words.fontMetrics().horizontalAdvance(words.text())


def test_arrows_go_through_the_places_and_escape_puts_the_page_away(qtbot: QtBot, page: QualityPage) -> None:
    page.take_focus()
    with qtbot.waitSignal(page.placeWanted) as asked:
        press(DOWN)
    assert asked.args == [NOISE, 0]
    with qtbot.waitSignal(page.done):
        press(Qt.Key.Key_Escape)


def test_several_rows_are_decided_at_once(qtbot: QtBot, page: QualityPage) -> None:
    page.take_focus()
    QTest.keyClick(page.table, DOWN, Qt.KeyboardModifier.ShiftModifier)
    with qtbot.waitSignal(page.acceptWanted) as asked:
        page.accept.click()
    assert asked.args == [(ARTEFACT, NOISE)]


def test_after_a_decision_the_next_row_is_taken_and_its_place_asked_for(qtbot: QtBot, page: QualityPage) -> None:
    page.take_focus()
    page.accept.click()
    with qtbot.waitSignal(page.placeWanted) as asked:
        page.show_table(QualityTable((accepted(ARTEFACT), NOISE, OFFSET)), editable=True)
    assert asked.args == [NOISE, 0]
    assert page.row == NOISE


def test_another_change_of_the_study_moves_nothing_in_view(page: QualityPage) -> None:
    page.take_focus()
    with told(page.placeWanted) as places:
        page.show_table(QualityTable((accepted(ARTEFACT), NOISE, OFFSET)), editable=True)
    assert places == []
    assert page.row == NOISE


def test_a_row_stays_in_hand_when_others_come_before_it(page: QualityPage) -> None:
    page.table.setCurrentIndex(page.model.index(1, 1))
    with told(page.placeWanted) as places:
        page.show_table(QualityTable((row("T000", 0, Check.LINE, flagged=True), *THREE.rows)), editable=True)
    assert (page.row, places) == (NOISE, [])


def test_what_can_be_done_is_what_the_rows_allow(page: QualityPage) -> None:
    movement = replace(row("T001", -1, Check.MOVEMENT_GAPS, flagged=True), muscle="movement trace")
    page.show_table(QualityTable((movement,)), editable=True)
    page.take_focus()
    assert [b.isEnabled() for b in (page.accept, page.exclude, page.take_back)] == [True, False, False]
    page.show_table(QualityTable((movement,)), editable=False)
    assert not page.accept.isEnabled()


def test_an_empty_page_says_what_to_do_next(qtbot: QtBot, page: QualityPage) -> None:
    page.show_table(QualityTable((), ("T001",)), editable=True)
    assert "No signal has been checked yet" in page.empty.words.text()
    with qtbot.waitSignal(page.measureWanted):
        page.empty.button.click()
    page.show_table(QualityTable((OFFSET,)), editable=True)
    assert page.empty.words.text() == "No check found anything to look at in the study (1 check)."
    assert page.empty.button.isHidden()
    page.show_table(QualityTable((accepted(ARTEFACT),)), editable=True)
    assert "has been decided" in page.empty.words.text()
    page.show_table(QualityTable(), editable=True)
    assert "add recordings" in page.empty.words.text()


def test_trials_that_are_not_checked_are_said_beside_those_that_are(page: QualityPage) -> None:
    assert page.stale.isHidden() or not page.stale.isVisible()
    page.show_table(QualityTable(THREE.rows, ("T007", "T008")), editable=True)
    assert page.stale.isVisible()
    assert page.stale.text() == "Signals not checked yet: 2 trials as they are now."


def test_a_click_on_a_title_sorts_turns_and_gives_the_order_back(page: QualityPage) -> None:
    set_filter(page, Which.ALL)
    header = page.table.horizontalHeader()
    orders = []
    for _ in range(3):
        header.sectionClicked.emit(FIGURE)
        orders.append([one.figure for one in listed(page)])
    assert orders == [[0.5, 2.0, 2.0], [2.0, 2.0, 0.5], [2.0, 2.0, 0.5]]
    assert not header.isSortIndicatorShown()


def test_alt_and_down_sorts_by_the_column_in_hand(page: QualityPage) -> None:
    page.take_focus()
    page.table.setCurrentIndex(page.model.index(0, TRIAL))
    press(DOWN, Qt.KeyboardModifier.AltModifier)
    assert page.table.horizontalHeader().sortIndicatorSection() == TRIAL
    assert page.table.horizontalHeader().isSortIndicatorShown()


def test_everything_has_a_name(page: QualityPage) -> None:
    page.take_focus()
    assert nameless(page) == []


def test_a_change_in_a_large_study_tells_only_the_row_that_changed(qtbot: QtBot) -> None:
    """24,000 checks: a decision resets nothing, so that scrolling and selection stay."""
    held = table(100, 16)
    assert len(held.rows) == 24_000
    model = QualityModel()
    model.set_filter(Which.ALL, "", "")
    model.show(held)
    rows = list(held.rows)
    rows[123] = accepted(rows[123])
    with told(model.modelReset) as resets, told(model.dataChanged) as changes:
        model.show(QualityTable(tuple(rows)))
    assert resets == []
    assert [(first.row(), last.row()) for first, last, *_ in changes] == [(123, 123)]


def test_titles_of_numbers_stand_over_them(page: QualityPage) -> None:
    page.show_table(THREE, editable=True)
    model, role = page.table.model(), Qt.ItemDataRole.TextAlignmentRole
    for column in range(model.columnCount()):
        of_title = model.headerData(column, Qt.Orientation.Horizontal, role)
        assert of_title == model.data(model.index(0, column), role)
