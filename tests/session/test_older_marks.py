"""Marks of earlier settings are known by the rules that they name; marking again makes them today's."""

from dataclasses import replace

import pytest
from small_study import Open, arrival, recording

from phasemark.model.study import Study
from phasemark.model.study_edits import with_trial
from phasemark.results.study_grid import State
from phasemark.session.blinding import grid_of, set_blind
from phasemark.session.changing_settings import change_settings
from phasemark.session.older_marks import older_marks
from phasemark.session.rep_edits import accept_trial


def states(at: Open) -> dict[str, State]:
    """The state of every trial in the grid."""
    return {t.trial: t.state for row in grid_of(at.session).cells for cell in row for t in cell.trials}


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("phases.prominence", "0.4"),
        ("phases.movement_lowpass_hz", "4"),
        ("phases.pause_s", "0.4"),
        ("phases.speed_share", "0.1"),
        ("phases.thirds", "time"),
        ("first_phase[squat]", "raising"),
    ],
)
def test_marks_are_older_until_they_are_made_again(at: Open, key: str, value: str) -> None:
    trials = {trial.id for trial in at.study.trials}
    assert older_marks(at.study, "R1") == set()
    change_settings(at.session, ((key, value),))
    assert older_marks(at.study, "R1") == trials
    assert set(states(at).values()) == {State.OLDER}
    at.mark(again=True)
    assert older_marks(at.study, "R1") == set()
    assert State.OLDER not in states(at).values()


def test_marks_are_today_s_again_when_a_setting_goes_back(at: Open) -> None:
    change_settings(at.session, (("phases.pause_s", "0.4"),))
    at.session.undo()
    assert older_marks(at.study, "R1") == set()


@pytest.mark.parametrize(("key", "value"), [("filter.highpass_hz", "30"), ("envelope.window_s", "0.2")])
def test_other_settings_make_no_marks_older(at: Open, key: str, value: str) -> None:
    change_settings(at.session, ((key, value),))
    assert older_marks(at.study, "R1") == set()


def test_checked_marks_are_older_too_and_the_count_of_checks_stays(at: Open) -> None:
    first = at.study.trials[0].id
    accept_trial(at.session, first)
    assert states(at)[first] is State.CHECKED
    change_settings(at.session, (("phases.pause_s", "0.4"),))
    found = next(t for row in grid_of(at.session).cells for cell in row for t in cell.trials if t.trial == first)
    assert (found.state, found.checked, found.reps) == (State.OLDER, 3, 3)
    at.mark(again=True)
    assert states(at)[first] is State.CHECKED


def test_marks_of_another_rater_and_marks_by_hand_alone_are_not_older(at: Open) -> None:
    change_settings(at.session, (("phases.pause_s", "0.4"),))
    assert older_marks(at.study, "R2") == set()
    trial = at.study.trials[0]
    by_hand = trial.with_marks(replace(trial.marks_of("R1"), phase_rule="", thirds_rule=""))
    study: Study = with_trial(at.study, by_hand)
    assert trial.id not in older_marks(study, "R1")


def test_the_grid_says_so_while_marking_is_blind(at: Open) -> None:
    change_settings(at.session, (("phases.pause_s", "0.4"),))
    set_blind(at.session, True)
    assert set(states(at).values()) == {State.OLDER}


def test_bursts_follow_rules_of_their_own(at: Open) -> None:
    """Settings of the movement trace say nothing of a trial that has none."""
    (burst,) = at.add(arrival(2, "P03", made=recording(seed=2, movement=False)))
    at.mark()
    assert at.study.trial(burst.id).marks_of("R1").phase_rule
    change_settings(at.session, (("phases.pause_s", "0.4"),))
    older = older_marks(at.study, "R1")
    assert older
    assert burst.id not in older
