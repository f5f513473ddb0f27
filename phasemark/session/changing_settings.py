"""Changing settings by KEY=VALUE texts: all of them or none, and only to what the study's recordings allow."""

from collections.abc import Sequence
from dataclasses import replace

from phasemark.model.errors import BadCall
from phasemark.model.settings_text import with_setting
from phasemark.model.study import Kind, Study
from phasemark.model.study_edits import with_settings
from phasemark.session.session import Session
from phasemark.signal.conditioning import check_settings


def changed(study: Study, changes: Sequence[tuple[str, str]]) -> Study:
    """The study with settings changed; the order does not count where one is possible only after another.

    Raises:
        BadCall: no such key, or a value it cannot have.
    """
    left = list(changes)
    while left:
        refused: list[tuple[str, str]] = []
        first: BadCall | None = None
        for key, value in left:
            try:
                study = with_setting(study, key, value)
            except BadCall as problem:
                first = first or problem
                refused.append((key, value))
        if first is not None and len(refused) == len(left):
            raise first
        left = refused
    return study


def change_settings(session: Session, changes: Sequence[tuple[str, str]]) -> bool:
    """Change settings as one edit; returns whether anything changed.

    Raises:
        BadCall: as changed.
        BadData: a filter does not fit the sampling rate of a recording in the study; the sentence says what would.
    """
    after = changed(session.study, changes)
    for emg in dict.fromkeys(trial.emg for trial in after.trials):
        check_settings(after.settings, emg)
    return session.edit("settings: " + ", ".join(f"{key}={value}" for key, value in changes), after)


def share_filters(session: Session, muscle: str) -> bool:
    """Give a muscle the filters of all muscles again in place of its own; whether it had some.

    Raises:
        BadData: these do not fit the sampling rate of one of its channels; the sentence says what would.
    """
    settings = session.study.settings
    others = tuple(own for own in settings.muscle_filters if own.muscle != muscle)
    after = with_settings(session.study, replace(settings, muscle_filters=others))
    for emg in dict.fromkeys(trial.emg for trial in after.trials):
        check_settings(after.settings, emg)
    return session.edit(f"settings: {muscle} has the filters of all muscles again", after)


def names_nowhere(study: Study, changes: Sequence[tuple[str, str]]) -> tuple[str, ...]:
    """A sentence for what a change names and no trial has, as after a slip: a muscle, an exercise, a repetition."""
    muscles = dict.fromkeys(channel.muscle for trial in study.trials for channel in trial.emg)
    exercises = dict.fromkeys(trial.exercise for trial in study.trials if trial.exercise)
    sentences: dict[str, None] = {}
    for key, _ in changes:
        head, bracket, rest = key.partition("[")
        name = rest.rpartition("]")[0]
        what, known = ("muscle", muscles) if head == "filter" else ("exercise", exercises)
        if bracket and study.trials and name not in known:
            there = f"there are {', '.join(known)}" if known else "there are none"
            sentences[f"No trial has the {what} {name!r}, so this changes nothing yet ({there})."] = None
    tasks = dict.fromkeys(trial.exercise for trial in study.trials if trial.kind is Kind.TASK)
    reference_task = study.settings.normalisation.exercise
    if any(key == "normalisation.exercise" for key, _ in changes) and tasks and reference_task not in ("", *tasks):
        there = f"there are {', '.join(tasks)}"
        sentences[f"No task trial has the exercise {reference_task!r}, so it can be no reference ({there})."] = None
    if any(key == "counted" for key, _ in changes):
        sentences.update(dict.fromkeys(_counted_nowhere(study)))
    return tuple(sentences)


def _counted_nowhere(study: Study) -> tuple[str, ...]:
    """A sentence where repetitions are listed as counted that no marked task trial has."""
    tasks = [trial for trial in study.trials if trial.kind is Kind.TASK]
    most = max((len(marks.numbers()) for trial in tasks for marks in trial.marks), default=0)
    listed = study.settings.counted.numbers
    beyond = [number for number in listed if number > most]
    if not most or not beyond:
        return ()
    so = " So none counts at all." if len(beyond) == len(listed) else ""
    numbers = " or ".join(map(str, beyond))
    return (f"No trial has repetition {numbers}: the most complete ones in a trial are {most}.{so}",)


def marks_are_older(before: Study, after: Study) -> bool:
    """Whether there are marks that were made by other rules than those of the study after a change of settings."""
    names = {trial.exercise for trial in after.trials}
    first = any(before.exercise(name).first_phase != after.exercise(name).first_phase for name in names)
    marked = any(marks.phase_rule for trial in after.trials for marks in trial.marks)
    return marked and (first or before.settings.phases != after.settings.phases)
