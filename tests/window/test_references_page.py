"""The page of references: what is said of a reference, its attempts side by side, what a person asks for."""

from dataclasses import replace

import numpy as np
import pytest
from judged_rows import attempt, picture, reference, told
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from whole_window import nameless, press

from phasemark.model.intervals import Interval, Purpose
from phasemark.model.marks import Decision
from phasemark.model.normalisation import Approach, ReferenceChoice, ReferenceDecision
from phasemark.model.recording import Side
from phasemark.results.study_grid import State
from phasemark.session.attempt_sketches import Sketch
from phasemark.window.judging.attempts_view import AttemptsView
from phasemark.window.judging.positions_model import LEAST_ONE
from phasemark.window.judging.references_model import A_SAID, R_FROM, R_RMS, R_SIGN, SIGN_ROLE, AttemptsModel
from phasemark.window.judging.references_page import ReferencesPage

WHY = Decision("R2", "2026-01-01T00:00:00Z", "a steady effort")
HIGH, LOW = attempt(1, 0.5, used=True), attempt(2, 0.3, faults=("movement artefact",), at_edge=True)
QUAD = reference("quad", HIGH, LOW, apart=0.4, notes=("The best two attempts are 40 % apart.",))
HAM = reference("ham", notes=("There is no reference; this muscle is reported in mV.",))


@pytest.fixture
def page(qtbot: QtBot) -> ReferencesPage:
    page = ReferencesPage()
    qtbot.addWidget(page)
    page.resize(700, 900)
    page.show()
    page.activateWindow()
    page.show_picture(picture(QUAD, HAM), unmeasured=0, editable=True)
    QApplication.processEvents()
    return page


def test_each_muscle_has_its_reference_or_is_said_to_be_in_mv(page: ReferencesPage) -> None:
    model = page.model
    assert [model.index(n, R_RMS).data() for n in (0, 1)] == ["0.500", "–"]
    assert [model.index(n, R_FROM).data() for n in (0, 1)] == ["T001 (1)", "reported in mV"]
    assert [model.index(n, R_SIGN).data(SIGN_ROLE) for n in (0, 1)] == [State.PROBLEM, State.NO_MARKS]


def test_the_reference_in_hand_is_said_in_full(page: ReferencesPage) -> None:
    assert page.title.text() == "Quad, P01, session 1"
    assert page.value.text() == "RMS 0.500 mV ± 5.0 %, mean amplitude 0.400 mV ± 5.0 % (± is the sampling error)."
    assert page.notes.text() == "The best two attempts are 40 % apart."
    assert page.rule.text() == "Standardised isometric MVC: the highest RMS."
    page.table.setCurrentIndex(page.model.index(1, 1))
    assert page.value.text() == "No reference: this muscle is reported in mV."
    assert page.drawing.isHidden()


def test_drift_baseline_and_a_persons_choice_are_said(page: ReferencesPage) -> None:
    decision = ReferenceDecision("P01", "1", "quad", Side.NONE, ReferenceChoice.ATTEMPT, WHY, trial="T002")
    changed = replace(QUAD, decision=decision, after_over_before=0.9, noise_rms=0.0021, notes=())
    page.show_picture(picture(changed), unmeasured=0, editable=True)
    assert page.facts.text().splitlines() == [
        "The best two attempts are 40.0 % apart.",
        "After the sets it is 90.0 % of what it was before them.",
        "The baseline of 2.1 µV RMS is subtracted.",
        "R2 chose trial T002: a steady effort.",
    ]
    assert page.model.index(0, R_SIGN).data(SIGN_ROLE) == State.CHECKED
    assert page.by_rule.isEnabled()


def test_what_is_wrong_with_an_attempt_stands_beside_it(page: ReferencesPage) -> None:
    placed = replace(LOW, by_hand=Interval(Purpose.PLATEAU, 100, 200, WHY))
    page.show_picture(picture(replace(QUAD, attempts=(HIGH, placed))), unmeasured=0, editable=True)
    assert page.attempts.index(0, A_SAID).data() == "used"
    assert page.attempts.index(1, A_SAID).data() == (
        "movement artefact in its window, maximum at the edge of the signal, plateau by hand (R2: a steady effort)"
    )


def test_decisions_are_asked_for_the_attempt_in_hand(qtbot: QtBot, page: ReferencesPage) -> None:
    page.attempt_table.setCurrentIndex(page.attempts.index(1, 1))
    with qtbot.waitSignal(page.chooseWanted) as asked:
        page.use.click()
    assert asked.args == [QUAD, LOW]
    with qtbot.waitSignal(page.plateauWanted) as asked:
        page.plateau.click()
    assert asked.args == [QUAD, LOW]
    assert not page.no_plateau.isEnabled()
    assert page.borrow.isHidden()


def test_a_reference_is_borrowed_only_where_another_session_has_one(qtbot: QtBot, page: ReferencesPage) -> None:
    other = replace(HAM, sessions=("2",))
    page.show_picture(picture(other), unmeasured=0, editable=True)
    with qtbot.waitSignal(page.borrowWanted) as asked:
        page.borrow.click()
    assert asked.args == [other]


def test_an_attempt_of_another_session_cannot_be_chosen(page: ReferencesPage) -> None:
    page.show_picture(picture(replace(QUAD, attempts=(replace(HIGH, choosable=False),))), unmeasured=0, editable=True)
    assert not page.use.isEnabled()
    assert not page.plateau.isEnabled()


def test_keys_bring_attempts_into_view(qtbot: QtBot, page: ReferencesPage) -> None:
    page.take_focus()
    press(Qt.Key.Key_Return)
    assert page.attempt_table.hasFocus()
    with qtbot.waitSignal(page.attemptWanted) as asked:
        press(Qt.Key.Key_Down)
    assert asked.args == [LOW]


def test_a_click_on_a_drawing_takes_its_attempt(qtbot: QtBot, page: ReferencesPage) -> None:
    place = page.drawing.boxes(float(page.drawing.width()))[1].center().toPoint()
    with qtbot.waitSignal(page.attemptWanted) as asked:
        QTest.mouseClick(page.drawing, Qt.MouseButton.LeftButton, pos=QPoint(place))
    assert asked.args == [LOW]
    assert page.attempt_table.currentIndex().row() == 1


def test_another_picture_keeps_what_is_in_hand_and_brings_nothing_into_view(page: ReferencesPage) -> None:
    page.table.setCurrentIndex(page.model.index(0, 1))
    page.attempt_table.setCurrentIndex(page.attempts.index(1, 1))
    with told(page.attemptWanted) as asked:
        page.show_picture(picture(HAM, QUAD), unmeasured=0, editable=True)
    assert page.reference == QUAD
    assert page.attempt == LOW
    assert asked == []


def test_empty_pages_say_what_to_do_next(page: ReferencesPage) -> None:
    shown = []
    for state, unmeasured in (
        (picture(blind=True), 0),
        (picture(trials=0), 0),
        (picture(approach=Approach.NONE), 0),
        (picture(), 2),
        (picture(), 0),
    ):
        page.show_picture(state, unmeasured=unmeasured, editable=True)
        shown.append((page.empty.words.text().split(":")[0].split(".")[0].split(";")[0], page.empty.button.isHidden()))
    assert shown == [
        ("Marking is blind", True),
        ("There is no trial yet", True),
        ("Nothing is normalised", True),
        ("No reference is known yet", False),
        ("No trial holds a muscle that could have a reference", True),
    ]


def test_maximal_contractions_come_with_a_caution(page: ReferencesPage) -> None:
    assert page.caution.isVisible()
    page.show_picture(picture(QUAD, approach=Approach.TASK_PEAK), unmeasured=0, editable=True)
    assert not page.caution.isVisible()


def test_ticks_say_which_muscles_a_position_serves(qtbot: QtBot, page: ReferencesPage) -> None:
    page._tabs.setCurrentIndex(1)
    view = page.position_view.table
    view.setFocus()
    view.setCurrentIndex(page.positions.index(0, 1))
    with qtbot.waitSignal(page.positionChanged) as asked:
        press(Qt.Key.Key_Space)
    assert asked.args == ["extension", ("quad", "ham")]
    view.setCurrentIndex(page.positions.index(0, 0))
    with told(page.positionChanged) as changes:
        press(Qt.Key.Key_Space)
    assert changes == []
    assert page.position_view.refusal.text() == LEAST_ONE


def test_muscles_that_no_position_serves_are_named(page: ReferencesPage) -> None:
    held = picture(QUAD)
    page.show_picture(
        replace(held, positions=replace(held.positions, serves=((True, False), (True, False)))),
        unmeasured=0,
        editable=True,
    )
    assert page.position_view.without.text() == "No position serves ham: reported in mV."


def test_everything_has_a_name(page: ReferencesPage) -> None:
    assert nameless(page) == []
    page._tabs.setCurrentIndex(1)
    assert nameless(page) == []


def test_drawings_share_one_scale_and_shade_the_window(qtbot: QtBot) -> None:
    """The level of an attempt of half the RMS lies half as high, whatever its own envelope."""
    model = AttemptsModel()
    sketch = Sketch(np.full(600, np.nan), 6.0)
    view = AttemptsView(model, lambda _: sketch)
    qtbot.addWidget(view)
    model.show_rows((attempt(1, 0.4, used=True), attempt(2, 0.2)))
    view.resize(400, view.heightForWidth(400))
    image = view.grab().toImage()
    heights = []
    for box in view.boxes(400.0):
        middle = round(box.center().x())
        high = view.fontMetrics().height()
        top, bottom = round(box.top() + high + 4), round(box.top() + high + 2 + 4 * high - 3)
        level = next(y for y in range(top, bottom) if image.pixelColor(middle, y).lightness() < 90)
        heights.append(bottom + 2 - level)
    assert heights[1] / heights[0] == pytest.approx(0.5, abs=0.05)


def test_attempts_go_into_further_rows_where_a_row_is_full(qtbot: QtBot) -> None:
    model = AttemptsModel()
    view = AttemptsView(model, lambda _: None)
    qtbot.addWidget(view)
    model.show_rows(tuple(attempt(n, 0.1) for n in range(1, 7)))
    narrow, wide = view.boxes(250.0), view.boxes(900.0)
    assert len({box.top() for box in wide}) == 1
    assert len({box.top() for box in narrow}) > 1
    assert max(box.right() for box in narrow) <= 250.0
