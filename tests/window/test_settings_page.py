"""Settings in groups that fold, made from what the catalogue says; what is not in it is shown all the same."""

from dataclasses import replace
from pathlib import Path

import pytest
from curls_study import make_study
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QApplication, QComboBox, QLabel
from pytestqt.qtbot import QtBot

from phasemark.model.settings import FilterSettings, MuscleFilter, Settings, ThirdsRule
from phasemark.model.settings_text import settings_lines, with_setting
from phasemark.model.study import Study
from phasemark.session.command_session import open_for_command
from phasemark.window.setting_catalogue import CATALOGUE
from phasemark.window.setting_editors import ChoiceEditor, PartsEditor, TextEditor
from phasemark.window.setting_fields import (
    SettingField,
    SettingGroup,
    plain_field,
    setting_defaults,
    setting_groups,
    setting_values,
)
from phasemark.window.setting_group_box import CHANGED
from phasemark.window.settings_page import SettingsPage

KEY, LEFT = Qt.Key, Qt.MouseButton.LeftButton


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Study:
    folder: Path = make_study(tmp_path_factory.mktemp("settings") / "curls")
    with open_for_command(folder, print) as at:
        return at.session.study


@pytest.fixture
def page(qtbot: QtBot, study: Study) -> SettingsPage:
    shown = SettingsPage()
    qtbot.addWidget(shown)
    shown.resize(320, 700)
    shown.show_study(study, editable=True)
    shown.show()
    return shown


class Studied:
    """Does what the window does with a page: each change is an edit, and the study is shown again."""

    def __init__(self, page: SettingsPage, study: Study) -> None:
        self.page, self.study = page, study
        self.changes: list[tuple[str, str]] = []
        page.changed.connect(self.on_changed)

    def on_changed(self, key: str, text: str) -> None:
        self.changes.append((key, text))
        self.study = with_setting(self.study, key, text)
        self.page.show_study(self.study, editable=True)


def titles(page: SettingsPage) -> list[str]:
    """Groups that are shown."""
    return [box.group.title for box in page._boxes if box.isVisible()]


def choose(editor: object, value: str) -> None:
    """Choose as a person does from the list."""
    assert isinstance(editor, ChoiceEditor)
    at = editor.findData(value)
    assert at >= 0
    editor.setCurrentIndex(at)
    editor.activated.emit(at)


# What there is


def test_every_setting_has_words_of_its_own_in_the_catalogue(study: Study) -> None:
    """A new setting of the model needs one line there; this says which line is missing."""
    values = setting_values(study)
    groups = setting_groups(values, CATALOGUE)
    plain = {plain_field(key) for key in values}
    shown = [field for group in groups for field in group.fields]
    assert [field.key for field in shown if field in plain] == []
    assert sorted(field.key for field in shown) == sorted(values), "each once"
    assert set(dict(settings_lines(study))) <= set(values)


def test_choices_are_those_that_the_model_takes(study: Study) -> None:
    """Every choice of every field can be made, but those that wait for another setting."""
    for group in setting_groups(setting_values(study), CATALOGUE):
        for field in group.fields:
            for choice in field.choices:
                if field.opens is None or choice.value != field.opens[0]:
                    changed = with_setting(study, field.key, choice.value)
                    assert setting_values(changed)[field.key] == choice.value


def test_conditions_name_settings_that_there_are(study: Study) -> None:
    values = setting_values(study)
    for group in setting_groups(values, CATALOGUE):
        for field in group.fields:
            assert field.only_if is None or field.only_if.key in values
            assert field.opens is None or field.opens[1] in values


def test_a_setting_that_the_catalogue_does_not_know_is_shown_beside_its_like(qtbot: QtBot) -> None:
    known = (SettingGroup("Quality", (SettingField("quality.line_hz", "Line", "Hz"),)),)
    values = {"quality.line_hz": "50", "quality.longest_gap_ms": "3", "fatigue.window_s": "1", "tempo[curl]": "2"}
    groups = setting_groups(values, known)
    assert [group.title for group in groups] == ["Quality", "Fatigue", "Tempo"]
    assert groups[0].fields[1] == SettingField("quality.longest_gap_ms", "Longest gap", "ms")
    assert groups[1].fields == (SettingField("fatigue.window_s", "Window", "s"),)
    assert groups[2].fields[0].label == "curl: Tempo"


def test_a_muscle_has_the_filters_of_all_until_it_has_its_own(study: Study) -> None:
    muscle = study.trials[0].emg[0].muscle
    key = f"filter[{muscle}].highpass_hz"
    wide = replace(study, settings=replace(study.settings, filter=FilterSettings(highpass_hz=30.0)))
    assert setting_values(wide)[key] == "30.0"
    own = replace(study, settings=Settings(muscle_filters=(MuscleFilter(muscle, FilterSettings(highpass_hz=10.0)),)))
    assert setting_values(own)[key] == "10.0"
    assert setting_defaults(own)[key] == "20.0"


def test_levels_have_the_unit_of_the_movement_trace(page: SettingsPage, study: Study) -> None:
    field = next(f for box in page._boxes for f in box.group.fields if f.key == "phases.fixed_levels")
    assert field.unit == study.trials[0].movement[0].unit


# Folding and finding


def test_groups_fold_by_mouse_and_by_key(page: SettingsPage, qtbot: QtBot) -> None:
    box = page._boxes[0]
    assert not box._body.isVisible()
    qtbot.mouseClick(box.header, LEFT)
    assert box._body.isVisible()
    assert page.field("filter.highpass_hz").isVisible()
    qtbot.keyClick(box.header, KEY.Key_Space)
    assert not box._body.isVisible()
    qtbot.keyClick(box.header, KEY.Key_Return)
    assert box._body.isVisible()


def test_what_is_open_stays_open_when_an_exercise_comes(page: SettingsPage, study: Study, qtbot: QtBot) -> None:
    qtbot.mouseClick(page._boxes[0].header, LEFT)
    more = (*study.trials, replace(study.trials[0], id="T900", exercise="another"))
    page.show_study(replace(study, trials=more), editable=True)
    assert "Exercise another" in titles(page)
    assert page._boxes[0]._body.isVisible()
    assert not page._boxes[1]._body.isVisible()


def test_words_find_settings_wherever_they_are(page: SettingsPage, qtbot: QtBot) -> None:
    before = titles(page)
    page.take_focus()
    qtbot.keyClicks(page.sought, "notch")
    assert all(title.startswith("Filter of") for title in titles(page))
    assert page.field("filter.notch_hz").isVisible()
    assert not page.field("filter.highpass_hz").isVisible()
    page.sought.setText("no such words")
    assert titles(page) == []
    assert page._nothing.isVisible()
    page.sought.clear()
    assert titles(page) == before
    assert not page.field("filter.notch_hz").isVisible(), "folded again"


def test_the_keyboard_reaches_a_field_from_its_group(page: SettingsPage, qtbot: QtBot) -> None:
    page.activateWindow()
    page._boxes[0].header.setChecked(True)
    page._boxes[0].header.setFocus()
    qtbot.keyClick(page._boxes[0].header, KEY.Key_Tab)
    assert QApplication.focusWidget() is page.field("filter.highpass_hz")
    for _ in range(30):
        if QApplication.focusWidget() is page._boxes[1].header:
            break
        qtbot.keyClick(QApplication.focusWidget(), KEY.Key_Tab)
    assert QApplication.focusWidget() is page._boxes[1].header
    qtbot.keyClick(page._boxes[1].header, KEY.Key_Backtab)
    assert QApplication.focusWidget() in page._boxes[0].findChildren(QComboBox)


# What is shown of values


def test_changed_settings_are_told_from_defaults(page: SettingsPage, study: Study) -> None:
    page.show_study(with_setting(study, "filter.highpass_hz", "30"), editable=True)
    box = page._boxes[0]
    assert box.header._aside == "1 changed"
    assert "1 differ" in box.header.accessibleDescription()
    box.header.setChecked(True)
    marked = [label.text() for label in box.findChildren(QLabel) if CHANGED in label.text()]
    assert marked == [f"High-pass (Hz) {CHANGED}"]
    assert "by default 20.0" in page.field("filter.highpass_hz").toolTip()


def test_fields_that_mean_nothing_now_are_hidden(page: SettingsPage, study: Study) -> None:
    studied = Studied(page, study)
    kind = page.show_field("envelope.kind")
    assert page.field("envelope.window_s").isVisible()
    assert not page.field("envelope.lowpass_hz").isVisible()
    choose(kind, "low-pass")
    assert studied.changes == [("envelope.kind", "low-pass")]
    assert not page.field("envelope.window_s").isVisible()
    assert page.field("envelope.lowpass_hz").isVisible()


def test_nothing_can_be_typed_where_nothing_can_be_written(page: SettingsPage, study: Study) -> None:
    page.show_study(study, editable=False)
    assert not page.show_field("filter.highpass_hz").isEnabled()


def test_the_wheel_over_a_choice_changes_nothing(page: SettingsPage, study: Study) -> None:
    studied = Studied(page, study)
    box = page.show_field("filter.order")
    before = box.text()
    at = QPointF(box.rect().center())
    none = Qt.MouseButton.NoButton
    wheel = QWheelEvent(
        at,
        QPointF(box.mapToGlobal(at)),
        QPoint(0, 0),
        QPoint(0, -240),
        none,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(box, wheel)
    assert box.text() == before
    assert studied.changes == []


# Thirds


def levels_of(page: SettingsPage) -> PartsEditor:
    editor = page.field("phases.fixed_levels")
    assert isinstance(editor, PartsEditor)
    return editor


def put(qtbot: QtBot, editor: TextEditor, text: str) -> None:
    """Type over a field, Return."""
    editor.selectAll()
    qtbot.keyClicks(editor, text)
    qtbot.keyClick(editor, KEY.Key_Return)


@pytest.mark.parametrize("rule", [ThirdsRule.TRIAL, ThirdsRule.TIME, ThirdsRule.NONE])
def test_thirds_are_a_choice(page: SettingsPage, study: Study, rule: ThirdsRule) -> None:
    studied = Studied(page, study)
    thirds = page.show_field("phases.thirds")
    assert thirds.text() == "rep"
    assert not levels_of(page).isVisible()
    choose(thirds, rule)
    assert studied.study.settings.phases.thirds is rule


def test_fixed_thirds_take_effect_when_both_levels_are_typed(page: SettingsPage, study: Study, qtbot: QtBot) -> None:
    studied = Studied(page, study)
    page.activateWindow()
    choose(page.show_field("phases.thirds"), "fixed")
    levels = levels_of(page)
    assert levels.isVisible()
    assert studied.changes == []
    assert "as soon as the two levels are typed" in page.said
    assert QApplication.focusWidget() is levels.parts[0]
    put(qtbot, levels.parts[0], "20")
    assert studied.changes == []
    put(qtbot, levels.parts[1], "50")
    assert studied.changes == [("phases.fixed_levels", "20, 50")]
    assert studied.study.settings.phases.thirds is ThirdsRule.FIXED
    assert studied.study.settings.phases.fixed_levels == (20.0, 50.0)
    assert [part.text() for part in levels.parts] == ["20.0", "50.0"]
    assert page.said == ""
    choose(page.field("phases.thirds"), "time")
    assert studied.study.settings.phases.fixed_levels is None
    assert not levels.isVisible()
    choose(page.field("phases.thirds"), "fixed")
    assert [part.text() for part in levels.parts] == ["", ""]


def test_a_choice_that_waits_can_be_taken_back(page: SettingsPage, study: Study, qtbot: QtBot) -> None:
    studied = Studied(page, study)
    thirds = page.show_field("phases.thirds")
    choose(thirds, "fixed")
    put(qtbot, levels_of(page).parts[0], "20")
    page.show_study(studied.study, editable=True)  # any other edit meanwhile
    assert thirds.text() == "fixed"
    assert levels_of(page).parts[0].text() == "20"
    choose(thirds, "rep")
    assert studied.changes == []
    assert not levels_of(page).isVisible()
    assert page.said == ""


def test_everything_has_a_name(page: SettingsPage) -> None:
    for box in page._boxes:
        assert box.header.accessibleName() == box.group.title
        for field in box.group.fields:
            editor = page.field(field.key)
            assert editor.accessibleName().startswith(f"{box.group.title}: ")
            for part in editor.parts if isinstance(editor, PartsEditor) else ():
                assert part.accessibleName()
