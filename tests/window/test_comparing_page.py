"""The page of the comparison on a small study whose truth is known: the plan first, then the answer and its traces."""

import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from comparing_driver import WAIT, fill_plan, keep_plan, open_page, page_of, settle, shown_in_ledger
from curls_study import make_study
from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialog
from pytestqt.qtbot import QtBot
from two_curls_study import ALONE, LIKE, LOUD, PEOPLE, STRONG, WEAK, make_two_curls
from whole_window import (
    CTRL,
    LEFT,
    NO_KEYS,
    RETURN,
    SHIFT,
    answer_with_folder,
    nameless,
    press,
    session_of,
    trigger,
    window_on,
)

from phasemark.model.mark_edits import exclude_rep
from phasemark.model.plan import PrimaryTest
from phasemark.session.comparison_tables import Column
from phasemark.session.plan_choices import plan_choices, plan_of
from phasemark.session.planning import set_plan
from phasemark.window.actions import ON_THE_TRIAL, ActionName
from phasemark.window.comparing.people_view import A, B
from phasemark.window.long_work import Stoppable
from phasemark.window.main_window import MainWindow

pytestmark = pytest.mark.usefixtures("nothing_remembered")
KEY = Qt.Key


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_two_curls(tmp_path_factory.mktemp("curls") / "two curls")


@pytest.fixture
def study(written: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(written, tmp_path / "two curls"))


@pytest.fixture
def window(qtbot: QtBot, study: Path) -> Iterator[MainWindow]:
    with window_on(qtbot, study) as window:
        yield window


# The plan first


def test_results_are_hidden_until_a_plan_is_kept(qtbot: QtBot, window: MainWindow, study: Path) -> None:
    page = open_page(qtbot, window)
    assert page.shows_form
    assert page.results.model.rowCount() == 0
    assert shown_in_ledger(study) == []
    fill_plan(page)
    page.form.keep.click()
    settle(qtbot, window)
    plan = session_of(window).study.plan
    assert page.shows_results
    assert plan is not None
    assert (plan.a, plan.b) == (STRONG, WEAK)
    assert shown_in_ledger(study) == [f"compared {STRONG} with {WEAK} (as planned)"]


def test_the_key_opens_the_page_and_escape_puts_it_away(qtbot: QtBot, window: MainWindow) -> None:
    press(KEY.Key_R, CTRL | SHIFT)
    settle(qtbot, window)
    assert page_of(window).isVisible()
    assert not window.desk.isVisible()
    press(KEY.Key_Escape)
    assert window.desk.isVisible()
    assert not page_of(window).isVisible()


@pytest.mark.parametrize(
    ("lacking", "said"),
    [
        (lambda form: form.primary_muscle.setCurrentIndex(0), "primary comparison"),
        (lambda form: form.smallest.setText("much"), "number above zero"),
        (lambda form: form.smallest.setText("-1"), "number above zero"),
        (lambda form: form.b.setCurrentIndex(form.a.currentIndex()), "two different levels"),
        (lambda form: [box.setChecked(False) for box in form.thirds.boxes], "at least one muscle"),
        (lambda form: form.muscles.boxes[0].setChecked(False), "is not among those of the plan"),
    ],
    ids=["no primary", "no number", "negative", "same level", "no third", "primary not in the family"],
)
def test_a_plan_that_lacks_something_is_not_kept(qtbot: QtBot, window: MainWindow, lacking: object, said: str) -> None:
    page = open_page(qtbot, window)
    fill_plan(page)
    lacking(page.form)  # type: ignore[operator]
    page.form.keep.click()
    assert said in page.form.said.text()
    assert page.form.said.isVisible()
    assert page.shows_form
    assert session_of(window).study.plan is None


def test_a_plan_is_kept_as_it_stands_in_the_form(qtbot: QtBot, window: MainWindow) -> None:
    page = open_page(qtbot, window)
    fill_plan(page, "0,02")
    form = page.form
    form.test.setCurrentIndex(form.test.findText("Wilcoxon signed rank"))
    form.confidence.setValue(90)
    form.rules.setPlainText("fewer than three repetitions")
    form.phases.boxes[2].setChecked(True)
    form.keep.click()
    plan = session_of(window).study.plan
    assert plan is not None
    assert (plan.smallest_effect, plan.confidence, plan.test) == (0.02, 0.9, PrimaryTest.WILCOXON)
    assert plan.exclusion_rules == "fewer than three repetitions"
    assert len(plan.phases) == 3
    assert plan.muscles == (LOUD, LIKE)
    assert plan.decision.rater == "R1"
    settle(qtbot, window)


def test_undo_takes_the_plan_away_and_hides_results_and_redo_brings_both_back(qtbot: QtBot, window: MainWindow) -> None:
    page = keep_plan(qtbot, window)
    trigger(window, ActionName.UNDO)
    settle(qtbot, window)
    assert session_of(window).study.plan is None
    assert page.shows_form
    assert "already shown" in page.form.before.text()
    trigger(window, ActionName.REDO)
    settle(qtbot, window)
    assert page.shows_results
    assert page.results.model.rows[0].cell.primary


def test_results_without_a_plan_are_exploratory_on_the_page_and_in_the_ledger(
    qtbot: QtBot, window: MainWindow, study: Path
) -> None:
    page = open_page(qtbot, window)
    page.form.show_without.click()
    settle(qtbot, window)
    band = page.results.band
    assert band.sentence.text().startswith("Exploratory: of ")
    assert "without a plan" in band.plan.text()
    assert band.plan.font().bold()
    assert not any(row.cell.primary for row in page.results.model.rows)
    assert page.results.table.isColumnHidden(Column.SIGN)
    assert shown_in_ledger(study)[0].endswith("(exploratory)")
    page.history.click()
    assert band.history.isVisible()
    assert "results shown" in band.history.text()
    page.change.click()
    fill_plan(page)
    page.form.keep.click()
    settle(qtbot, window)
    assert "after results had been shown" in band.standing.text()
    assert band.standing.font().bold()


def test_a_plan_is_changed_after_results_only_with_a_reason_and_the_change_is_listed(
    qtbot: QtBot, window: MainWindow
) -> None:
    page = keep_plan(qtbot, window)
    page.change.click()
    assert page.shows_form
    assert page.form.smallest.text() == "0.01"
    assert not page.form.show_without.isVisible()
    page.form.smallest.setText("0.03")
    page.form.keep.click()
    assert "say why" in page.form.said.text()
    assert page.shows_form
    page.form.reason.setText("typed wrongly")
    page.form.keep.click()
    settle(qtbot, window)
    qtbot.waitUntil(lambda: "smallest_effect: 0.01 -> 0.03" in page.results.band.history.text())
    assert "after results had been shown (typed wrongly)" in page.results.band.history.text()
    assert page.results.model.scale is not None
    assert page.results.model.scale.smallest == 0.03


def test_cancel_leaves_the_plan_and_its_results(qtbot: QtBot, window: MainWindow) -> None:
    page = keep_plan(qtbot, window)
    before = session_of(window).study.plan
    page.change.click()
    page.form.cancel.click()
    assert page.shows_results
    assert session_of(window).study.plan is before


# The answer


def test_the_answer_finds_what_was_invented_and_says_what_was_not(qtbot: QtBot, window: MainWindow) -> None:
    page = keep_plan(qtbot, window)
    said = page.results.band.sentence.text()
    assert said.startswith("Biceps brachii (right), against the load, whole: RMS is ")
    assert f"mV higher in {STRONG} than in {WEAK}" in said
    assert "4 participants" in said
    rows = {(row.place.muscle, str(row.place.phase), row.place.third): row for row in page.results.model.rows}
    assert rows[LOUD, "against the load", "whole"].texts[Column.VERDICT] == "more in A"
    assert rows[LIKE, "against the load", "whole"].texts[Column.VERDICT] == "similar"
    cautions = page.results.band.cautions.text()
    assert "EMG amplitude is not force" in cautions
    assert "Values are in mV" in cautions
    assert "only 4 participants" in cautions
    assert f"left out: {ALONE}" in cautions


def test_titles_sort_the_table_there_and_back_and_the_row_in_hand_stays(qtbot: QtBot, window: MainWindow) -> None:
    page = keep_plan(qtbot, window)
    table, model = page.results.table, page.results.model
    planned = [row.place for row in model.rows]
    in_hand = page.results.row
    assert in_hand is not None
    assert in_hand.cell.primary
    table.horizontalHeader().sectionClicked.emit(Column.DIFFERENCE)
    sizes = [row.cell.difference.mean for row in model.rows]
    assert sizes == sorted(sizes)
    assert page.results.row is in_hand
    table.sort_by(Column.DIFFERENCE)
    assert [row.cell.difference.mean for row in model.rows] == sorted(sizes, reverse=True)
    table.sort_by(Column.DIFFERENCE)
    assert [row.place for row in model.rows] == planned
    assert page.results.row is in_hand


def test_a_row_shows_its_participants_and_who_is_missing_and_why(qtbot: QtBot, window: MainWindow) -> None:
    page = keep_plan(qtbot, window)
    page.results.table.setCurrentIndex(page.results.model.index(3, Column.MUSCLE))
    row, people = page.results.row, page.results.tabs.people
    assert row is not None
    assert [one.participant for one in people.people.rows] == [*PEOPLE, ALONE]
    assert tuple(one.a for one in people.people.rows[:4]) == row.cell.a
    assert people.people.rows[-1].why == f"{STRONG}: no task trial"
    assert page.results.tabs.title.text().casefold() == row.place.text.casefold()
    assert people.picture.figure is not None
    names = [line.name for line in page.results.tabs.statistics.rows]
    for name in ("Wilcoxon signed rank", "sign flips", "two one-sided tests", "g_z", "d_z", "slope, A"):
        assert name in names


@pytest.mark.parametrize(("column", "trial"), [(A, "T004"), (B, "T003")])
def test_a_value_leads_to_its_trial_and_rep(qtbot: QtBot, window: MainWindow, column: int, trial: str) -> None:
    page = keep_plan(qtbot, window)
    people = page.results.tabs.people
    people.table.setCurrentIndex(people.people.index(1, column))
    assert {rep.trial for rep in people.reps.rows} == {trial}
    people.table.setFocus()
    press(RETURN)
    qtbot.waitUntil(lambda: window.desk.trial_id == trial and window.desk.signals is not None, timeout=WAIT)
    assert window.desk.isVisible()
    assert not page.isVisible()


def test_a_double_click_on_a_value_leads_to_its_trial(qtbot: QtBot, window: MainWindow) -> None:
    table = keep_plan(qtbot, window).results.tabs.people.table
    at = table.visualRect(table.model().index(0, B)).center()
    QTest.mouseClick(table.viewport(), LEFT, NO_KEYS, at)
    QTest.mouseDClick(table.viewport(), LEFT, NO_KEYS, at)
    qtbot.waitUntil(lambda: window.desk.isVisible() and window.desk.trial_id == "T001", timeout=WAIT)


def test_a_rep_leads_to_itself(qtbot: QtBot, window: MainWindow) -> None:
    page = keep_plan(qtbot, window)
    people = page.results.tabs.people
    people.table.setCurrentIndex(people.people.index(2, A))
    people.rep_table.activated.emit(people.reps.index(1, 0))
    qtbot.waitUntil(lambda: window.desk.trial_id == "T006" and window.desk.signals is not None, timeout=WAIT)
    assert window.desk.rep_in_hand == people.reps.rows[1].rep_id


def test_return_on_a_comparison_goes_into_its_participants(qtbot: QtBot, window: MainWindow) -> None:
    page = keep_plan(qtbot, window)
    page.results.tabs.tabs.setCurrentWidget(page.results.tabs.statistics_table)
    page.results.table.setFocus()
    press(RETURN)
    assert page.results.tabs.people.table.hasFocus()


# On demand


def test_curves_and_robustness_are_worked_out_on_demand_for_the_row_in_hand(qtbot: QtBot, window: MainWindow) -> None:
    page = keep_plan(qtbot, window)
    tabs = page.results.tabs
    tabs.tabs.setCurrentWidget(tabs.curves)
    assert tabs.curves.asks
    tabs.curves.note.button.click()
    settle(qtbot, window)
    figure = tabs.curves.picture.figure
    assert figure is not None
    assert [block.title for block in figure.blocks] == ["biceps brachii (right)"]
    tabs.over.setCurrentIndex(1)
    assert tabs.curves.picture.figure is not figure
    tabs.tabs.setCurrentWidget(tabs.robustness)
    tabs.robustness.note.button.click()
    settle(qtbot, window)
    assert tabs.robustness.variants.rows[0].variant == "as planned"
    assert len(tabs.robustness.variants.rows) > 5
    assert tabs.robustness.said.text().startswith("Biceps brachii (right), against the load, whole: ")
    assert page.results.band.stands.text().startswith("Robustness: ")
    assert page.results.band.stands.isVisible()
    other = next(n for n, row in enumerate(page.results.model.rows) if row.place.muscle == LIKE)
    page.results.table.setCurrentIndex(page.results.model.index(other, 1))
    assert tabs.robustness.said.text().startswith("Triceps brachii")
    assert not tabs.curves.asks


def test_work_can_be_stopped_and_asked_for_again(qtbot: QtBot, window: MainWindow) -> None:
    page = keep_plan(qtbot, window)
    view = page.results.tabs.robustness
    page.results.tabs.tabs.setCurrentWidget(view)
    view.note.button.click()
    page.work.stop.click()
    settle(qtbot, window)
    assert view.asks
    assert "Stopped" in view.note.words.text()
    assert view.note.button.isVisible()
    assert page.shows_results


def test_a_comparison_that_was_stopped_waits_until_it_is_asked_for(
    qtbot: QtBot, window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = open_page(qtbot, window)
    hold = page.work.hold

    def stop_at_once(work: Stoppable) -> None:
        hold(work)
        page.work.stop.click()

    monkeypatch.setattr(page.work, "hold", stop_at_once)
    fill_plan(page)
    page.form.keep.click()
    settle(qtbot, window)
    window.show_state()
    settle(qtbot, window)
    assert "Stopped" in page.note.words.text()
    assert not page.shows_results
    monkeypatch.setattr(page.work, "hold", hold)
    page.note.button.click()
    settle(qtbot, window)
    assert page.shows_results


def test_a_plan_that_nobody_has_values_for_can_be_changed(qtbot: QtBot, window: MainWindow) -> None:
    session = session_of(window)
    plan = plan_of(
        replace(plan_choices(session).draft, a="other curl", primary_muscle=LOUD, smallest_effect="1"),
        session.decision(),
    )
    set_plan(session, plan)
    page = open_page(qtbot, window)
    assert "no measured value of exercise 'other curl'" in page.note.words.text()
    page.note.button.click()
    assert page.shows_form
    assert page.form.a.currentText() == "other curl"


def test_an_edit_makes_results_stale_and_they_are_measured_on_demand(qtbot: QtBot, window: MainWindow) -> None:
    page = keep_plan(qtbot, window)
    before = page.results.model.rows[0].cell.a
    session = session_of(window)
    trigger(window, ActionName.COMPARE)
    rep = session.study.trial("T002").marks_of("R1").reps[0].id
    session.edit_marks("excluded", "T002", lambda marks: exclude_rep(marks, rep, session.decision("slipped")))
    trigger(window, ActionName.COMPARE)
    settle(qtbot, window)
    if not page.shows_results:
        assert "not measured" in page.note.words.text()
        page.note.button.click()
        settle(qtbot, window)
    assert page.shows_results
    assert page.results.model.rows[0].cell.a[0] != before[0]
    assert page.results.model.rows[0].cell.a[1:] == before[1:]


def test_unmeasured_trials_are_measured_by_the_button(qtbot: QtBot, tmp_path: Path) -> None:
    with window_on(qtbot, make_two_curls(tmp_path / "study", measured=False)) as window:
        page = open_page(qtbot, window)
        fill_plan(page)
        page.form.keep.click()
        settle(qtbot, window)
        assert "9 trials are not measured" in page.note.words.text()
        assert page.note.button.isVisible()
        page.note.button.click()
        settle(qtbot, window)
        assert page.shows_results


# Obstacles


def test_a_study_of_one_exercise_says_so(qtbot: QtBot, tmp_path: Path) -> None:
    with window_on(qtbot, make_study(tmp_path / "curls")) as window:
        page = open_page(qtbot, window)
        assert "one exercise (curl)" in page.note.words.text()
        assert not page.note.button.isVisible()


def test_a_study_without_marks_says_so(qtbot: QtBot, tmp_path: Path) -> None:
    with window_on(qtbot, make_two_curls(tmp_path / "study", marked=False)) as window:
        assert "Ctrl+M" in open_page(qtbot, window).note.words.text()


def test_nothing_is_shown_while_marking_blind(qtbot: QtBot, window: MainWindow) -> None:
    page = keep_plan(qtbot, window)
    with qtbot.waitSignal(window.desk.shown, timeout=10_000):
        trigger(window, ActionName.BLIND)
    settle(qtbot, window)
    assert not page.shows_results
    assert "not shown while marking blind" in page.note.words.text()
    trigger(window, ActionName.BLIND)
    settle(qtbot, window)
    assert page.shows_results


def test_what_acts_on_a_trial_rests_while_none_is_seen(qtbot: QtBot, window: MainWindow) -> None:
    assert window.action(ActionName.ACCEPT).isEnabled()
    open_page(qtbot, window)
    assert not any(window.action(name).isEnabled() for name in ON_THE_TRIAL)
    trigger(window, ActionName.SETTINGS)
    assert window.settings.isVisible()
    assert window.action(ActionName.ACCEPT).isEnabled()


# Export


def test_tables_and_pictures_are_written_into_a_folder(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> None:
    page = keep_plan(qtbot, window)
    page.export.click()
    (tmp_path / "out").mkdir()
    answer_with_folder(qtbot, tmp_path / "out")
    qtbot.waitUntil(lambda: "files to" in window.messages.text, timeout=WAIT)
    names = {path.name for path in (tmp_path / "out").rglob("*") if path.is_file()}
    assert {"comparison.csv", "plan.json", "anova.csv", "trends.csv"} <= names
    assert {f"paired-values-{width}mm.{kind}" for width in (85, 174) for kind in ("svg", "pdf", "png")} <= names


# Names, and what is left behind


def test_everything_on_the_page_has_a_name(qtbot: QtBot, window: MainWindow) -> None:
    page = open_page(qtbot, window)
    assert nameless(window) == []
    fill_plan(page)
    page.form.keep.click()
    settle(qtbot, window)
    for number in range(page.results.tabs.tabs.count()):
        page.results.tabs.tabs.setCurrentIndex(number)
        assert nameless(window) == []


def test_cells_say_their_numbers_to_a_screen_reader(qtbot: QtBot, window: MainWindow) -> None:
    model = keep_plan(qtbot, window).results.model
    role = Qt.ItemDataRole.AccessibleTextRole
    assert model.data(model.index(0, Column.SIGN), role) == "primary comparison"
    assert model.data(model.index(0, Column.DRAWN), role) == model.rows[0].texts[Column.DIFFERENCE]
    assert model.data(model.index(0, Column.VERDICT), role) == f"more in {STRONG}"
    assert model.headerData(Column.HOLM, Qt.Orientation.Horizontal, role) == "p after Holm's correction"
    assert model.data(QModelIndex(), role) is None


def test_another_study_begins_with_nothing_of_the_one_before(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> None:
    page = keep_plan(qtbot, window)
    page.export.click()
    dialog = window.comparing.dialog
    assert isinstance(dialog, QDialog)
    with qtbot.waitSignal(window.desk.shown, timeout=20_000):
        window.open_study(make_study(tmp_path / "other"))
    assert window.comparing.dialog is None
    assert not page.isVisible()
    assert "one exercise" in open_page(qtbot, window).note.words.text()
