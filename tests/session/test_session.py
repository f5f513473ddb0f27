"""The live object: edits, history, notices, read-only studies, threads."""

import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from small_study import Open, renamed

from phasemark.model.errors import BadCall, Unavailable
from phasemark.model.mark_edits import delete_rep, exclude_rep
from phasemark.model.marks import Marks
from phasemark.model.settings_text import with_setting
from phasemark.model.study import Study
from phasemark.session.changing_settings import change_settings, marks_are_older, names_nowhere
from phasemark.session.excluding import channels_named, exclude, rep_numbered
from phasemark.session.measuring import Measured, measure, stale_trials
from phasemark.session.session import known_trial


def test_listeners_hear_of_each_change_once_with_both_values(at: Open) -> None:
    heard: list[tuple[Study, Study]] = []
    at.session.listeners.append(lambda old, new: heard.append((old, new)))
    before = at.study
    after = renamed(before, "b")
    assert at.session.edit("renamed", after)
    assert not at.session.edit("renamed", replace(after))  # an equal value is no change
    at.session.undo()
    at.session.redo()
    assert [(old.name, new.name) for old, new in heard] == [("study", "b"), ("b", "study"), ("study", "b")]
    assert heard[0] == (before, after)


def test_history_knows_what_was_done_and_where(at: Open) -> None:
    """The window names the edit and goes to its trial; a new edit drops what had been undone."""
    at.session.edit_marks("deleted repetition 2", "T002", lambda marks: delete_rep(marks, 2))
    at.session.edit("renamed", renamed(at.study, "b"))
    assert (undone := at.session.undo()) is not None
    assert (undone.text, undone.trial) == ("renamed", "")
    assert (undone := at.session.undo()) is not None
    assert (undone.text, undone.trial) == ("deleted repetition 2", "T002")
    assert at.session.undo() is None
    assert (redone := at.session.redo()) is not None
    assert redone.trial == "T002"
    at.session.edit("renamed", renamed(at.study, "c"))
    assert at.session.redo() is None
    assert len(at.study.trial("T002").marks_of("R1").reps) == 2


def test_edit_of_marks_that_changes_nothing_is_none(at: Open) -> None:
    def same(marks: Marks) -> Marks:
        return replace(marks)

    assert not at.session.edit_marks("nothing", "T001", same)
    assert at.session.history.undoable is None


@pytest.mark.parametrize("act", ["edit", "undo", "redo"])
def test_read_only_study_refuses_every_change_with_a_sentence(
    folder: Path, opened: Callable[..., Open], act: str
) -> None:
    """Held by another session here: it says who holds it, and the value on screen stays as it was."""
    first = opened(folder)
    second = opened(folder)
    assert second.session.read_only.endswith("so it is read-only here.")
    before = second.study
    if act == "edit":
        with pytest.raises(Unavailable, match=r"is open on .* so it is read-only here"):
            second.session.edit("renamed", renamed(before, "b"))
    else:
        assert getattr(second.session, act)() is None  # nothing was done in this sitting, so nothing is refused
    assert second.study == before
    assert first.session.edit("renamed", renamed(before, "b"))


@pytest.mark.parametrize("act", ["edit", "undo", "redo", "keep_results", "save", "close"])
def test_another_thread_is_found_out(at: Open, act: str) -> None:
    problems: list[BaseException] = []
    arguments = {"edit": ("renamed", renamed(at.study, "b")), "keep_results": ([],)}.get(act, ())

    def use() -> None:
        try:
            getattr(at.session, act)(*arguments)
        except AssertionError as problem:
            problems.append(problem)

    other = threading.Thread(target=use)
    other.start()
    other.join()
    assert [str(problem) for problem in problems] == ["a session is used from its own thread only"]


def test_results_are_stale_after_an_edit_and_current_again_after_undo(at: Open) -> None:
    assert at.wait(lambda **back: measure(at.session, stale_trials(at.session), **back)) == Measured(2)
    assert stale_trials(at.session) == ()
    at.session.edit("settings", with_setting(at.study, "filter.lowpass_hz", "300"))
    assert [t.id for t in stale_trials(at.session)] == ["T001", "T002"]
    at.session.undo()
    assert stale_trials(at.session) == ()
    at.session.edit_marks("deleted", "T001", lambda marks: delete_rep(marks, 1))
    assert [t.id for t in stale_trials(at.session)] == ["T001"]
    at.session.edit_marks("excluded", "T002", lambda m: exclude_rep(m, 1, at.session.decision("because")))
    assert [t.id for t in stale_trials(at.session)] == ["T001"]


def test_results_are_there_again_after_reopening(at: Open, folder: Path, opened: Callable[..., Open]) -> None:
    at.wait(lambda **back: measure(at.session, stale_trials(at.session), **back))
    before = dict(at.session.results)
    at.session.close()
    again = opened(folder)
    assert stale_trials(again.session) == ()
    assert repr(sorted(again.session.results.items())) == repr(sorted(before.items()))


# Exclusions and settings, as commands and window ask for them.


def test_exclusions_are_made_and_taken_back_by_name(at: Open) -> None:
    """A trial, a rep, a channel of a trial, a channel in a rep; each with who, when and why."""
    session = at.session
    trial = known_trial(at.study, "t001")
    rep = rep_numbered(session, trial, 2)
    (channel,) = channels_named(trial, "RECTUS femoris")
    assert exclude(session, trial, rep=None, channels=(), reason=" fell ")
    assert at.study.trial("T001").excluded == replace(session.decision("fell"), at=at.study.trial("T001").excluded.at)  # type: ignore[union-attr]
    trial = at.study.trial("T001")
    assert exclude(session, trial, rep=rep, channels=(), reason="slipped")
    trial = at.study.trial("T001")
    assert exclude(session, trial, rep=None, channels=(channel,), reason="loose")
    trial = at.study.trial("T001")
    assert exclude(session, trial, rep=trial.marks[0].rep(1), channels=(channel,), reason="hum")
    trial = at.study.trial("T001")
    assert [e.decision.reason for e in trial.excluded_channels] == ["loose"]
    assert [(r.excluded and r.excluded.reason, len(r.excluded_channels)) for r in trial.marks[0].reps] == [
        (None, 1),
        ("slipped", 0),
        (None, 0),
    ]
    assert not exclude(session, at.study.trial("T002"), rep=None, channels=(), reason=None)
    for _ in range(4):
        session.undo()
    assert session.undo() is None
    assert not at.study.trial("T001").marks[0].rep(1).excluded_channels


def test_names_that_are_not_there_are_refused_with_those_that_are(at: Open) -> None:
    trial = known_trial(at.study, "T001")
    with pytest.raises(BadCall, match=r"no trial 'T9' in this study; its trials are T001, T002\."):
        known_trial(at.study, "T9")
    with pytest.raises(BadCall, match=r"no muscle 'soleus'; its muscles are vastus medialis \(left\), rectus femoris"):
        channels_named(trial, "soleus")
    with pytest.raises(BadCall, match="no muscle 'vastus medialis'"):
        channels_named(trial, "vastus medialis", "right")
    with pytest.raises(BadCall, match="no repetition 4; it has 3 complete ones"):
        rep_numbered(at.session, trial, 4)
    with pytest.raises(BadCall, match="needs its reason"):
        exclude(at.session, trial, rep=None, channels=(), reason="  ")


def test_settings_change_all_or_none_in_any_order(at: Open) -> None:
    """A high-pass above the old low-pass is fine with a new low-pass beside it; one bad value and nothing changes."""
    before = at.study
    with pytest.raises(BadCall, match=r"no setting 'filter\.lowpas'"):
        change_settings(at.session, [("filter.order", "2"), ("filter.lowpas", "400")])
    with pytest.raises(ValueError, match=r"low-pass at 600 Hz does not fit rectus femoris, sampled at 1000 Hz"):
        change_settings(at.session, [("filter.lowpass_hz", "600")])
    assert at.study == before
    assert change_settings(at.session, [("filter.highpass_hz", "460"), ("filter.lowpass_hz", "480")])
    assert at.study.settings.filter.highpass_hz == 460
    at.session.undo()
    assert at.study == before


def test_counted_repetitions_that_no_trial_has_are_said(at: Open) -> None:
    """Three are marked in each trial; incomplete ones have no number."""

    def said(counted: str) -> tuple[str, ...]:
        change_settings(at.session, [("counted", counted)])
        return names_nowhere(at.study, [("counted", counted)])

    assert said("1,3") == said("all") == said("all but first and last") == ()
    assert said("99") == (
        "No trial has repetition 99: the most complete ones in a trial are 3. So none counts at all.",
    )
    assert said("3,4,5") == ("No trial has repetition 4 or 5: the most complete ones in a trial are 3.",)
    assert names_nowhere(at.study, [("filter.order", "2")]) == ()


def test_a_reference_exercise_that_no_task_trial_has_is_said(at: Open) -> None:
    for exercise, sentences in (("squat", 0), ("", 0), ("nope", 1)):
        change_settings(at.session, [("normalisation.exercise", exercise)])
        said = names_nowhere(at.study, [("normalisation.exercise", exercise)])
        assert len(said) == sentences
    assert "No task trial has the exercise 'nope'" in said[0]


def test_marks_are_known_to_be_older_than_changed_rules(at: Open) -> None:
    before = at.study
    assert marks_are_older(before, with_setting(before, "phases.prominence", "0.2"))
    assert marks_are_older(before, with_setting(before, "first_phase[squat]", "raising"))
    assert not marks_are_older(before, with_setting(before, "against_load[squat]", "lowering"))
    assert not marks_are_older(before, with_setting(before, "filter.order", "2"))
