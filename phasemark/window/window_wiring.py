"""What each action of the window does, and what its parts tell one another."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence, QShortcut

from phasemark.model.intervals import Purpose
from phasemark.window.actions import ActionName

if TYPE_CHECKING:
    from phasemark.window.main_window import MainWindow

Does = dict[ActionName, Callable[[], object]]


def what_actions_do(window: "MainWindow") -> Does:
    """What is called when an action is chosen."""
    return {**_on_the_study(window), **_on_reps(window), **_on_the_trial(window)}


def _on_the_study(window: "MainWindow") -> Does:
    commands, judging = window.commands, window.judging
    return {
        ActionName.NEW: commands.ask_new_study,
        ActionName.OPEN: commands.ask_study,
        ActionName.ADD: commands.ask_recordings,
        ActionName.SETTINGS: lambda: window.toggle_page(window.settings),
        ActionName.QUALITY: lambda: window.toggle_page(judging.quality),
        ActionName.REFERENCES: lambda: window.toggle_page(judging.references),
        ActionName.COMPARE: window.toggle_comparison,
        ActionName.EXPORT: commands.ask_export,
        ActionName.QUIT: window.close,
        ActionName.UNDO: window.undo,
        ActionName.REDO: window.redo,
        ActionName.MARK: commands.mark_unmarked,
        ActionName.MARK_TRIAL: commands.mark_trial_again,
        ActionName.MARK_AGAIN: commands.mark_all_again,
        ActionName.MEASURE: commands.measure_study,
    }


def _on_reps(window: "MainWindow") -> Does:
    reps = window.reps
    return {
        ActionName.ACCEPT: reps.accept,
        ActionName.ACCEPT_TRIAL: reps.accept_trial,
        ActionName.PREVIOUS_REP: reps.previous,
        ActionName.TAKE_BACK_ACCEPTANCE: reps.take_back_acceptance,
        ActionName.EXCLUDE: reps.ask_exclusion,
        ActionName.TAKE_BACK_EXCLUSION: reps.take_back_exclusion,
        ActionName.COMPLETE: reps.toggle_complete,
        ActionName.DRAW_REP: reps.draw,
        ActionName.ADD_REP: reps.add,
        ActionName.DELETE_REP: reps.delete,
        ActionName.SPLIT_REP: reps.split,
        ActionName.MERGE_REP: reps.merge,
    }


def _on_the_trial(window: "MainWindow") -> Does:
    trials, intervals, plot = window.trials, window.intervals, window.desk.plot
    return {
        ActionName.NEXT_TRIAL: lambda: window.grid.step(1),
        ActionName.PREVIOUS_TRIAL: lambda: window.grid.step(-1),
        ActionName.FIT_ALL: plot.fit_all,
        ActionName.BLIND: trials.toggle_blind,
        ActionName.REMOVE_TRIAL: trials.ask_removal,
        ActionName.ENLARGE: lambda: plot.enlarge(1),
        ActionName.REDUCE: lambda: plot.enlarge(-1),
        ActionName.FIT_SCALES: plot.fit_scales,
        ActionName.HOLD_SCALES: trials.toggle_held_scales,
        ActionName.FILTERED: window.toggle_filtered,
        ActionName.BASELINE: lambda: intervals.ask(Purpose.BASELINE, alone=False),
        ActionName.PLATEAU: lambda: intervals.ask(Purpose.PLATEAU, alone=False),
        ActionName.HOLD: lambda: intervals.ask(Purpose.HOLD, alone=False),
        ActionName.BASELINE_OF_ONE: lambda: intervals.ask(Purpose.BASELINE, alone=True),
        ActionName.PLATEAU_OF_ONE: lambda: intervals.ask(Purpose.PLATEAU, alone=True),
        ActionName.HOLD_OF_ONE: lambda: intervals.ask(Purpose.HOLD, alone=True),
        ActionName.PLACED: intervals.show_placed,
    }


def connect_parts(window: "MainWindow") -> None:
    """Let the parts of a window tell one another what they have to."""
    desk, reps, intervals, trials = window.desk, window.reps, window.intervals, window.trials
    judging, comparing = window.judging, window.comparing
    for part in (desk, reps, intervals, trials, judging, comparing, window.settings_feed):
        part.problem.connect(window.say_problem)
    for speaker in (reps, intervals, comparing):
        speaker.said.connect(window.messages.say)
    for guide in (reps, trials, judging):
        guide.goTo.connect(window.show_trial)
    window.grid.trialChosen.connect(window.show_trial)
    desk.failed.connect(window.trial_failed)
    comparing.goTo.connect(window.trace_value)
    comparing.measured.connect(window.measured_anew)
    judging.measureWanted.connect(window.commands.measure_study)
    judging.settingsWanted.connect(window.show_setting)
    comparing.page.done.connect(window.toggle_comparison)
    for page in (window.settings, judging.quality, judging.references):
        page.done.connect(lambda page=page: window.toggle_page(page))
    window.door.failed.connect(window.say_problem)
    _connect_pages(window)
    for plot in (desk.plot, desk.figure):  # one key for each repetition, while the traces have the focus
        for name in ("Return", "Enter"):
            key = QShortcut(QKeySequence(name), plot)
            key.setContext(Qt.ShortcutContext.WidgetShortcut)
            key.activated.connect(reps.accept)


def _connect_pages(window: "MainWindow") -> None:
    start, empty, settings, commands = window.start, window.empty, window.settings, window.commands
    start.newStudy.connect(commands.ask_new_study)
    start.openStudy.connect(commands.ask_study)
    start.demoStudy.connect(commands.ask_demo_place)
    start.recentChosen.connect(window.open_study)
    empty.addRecordings.connect(commands.ask_recordings)
    empty.filesDropped.connect(commands.take_dropped)
    settings.changed.connect(commands.change_setting)
    settings.markAgain.connect(commands.mark_all_again)
    settings.shared.connect(commands.share_filters)
    settings.filteredWanted.connect(window.toggle_filtered)
