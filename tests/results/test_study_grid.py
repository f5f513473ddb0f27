"""The study as a grid: which columns there are, what each cell says is still to do, and the order of work."""

from dataclasses import replace
from decimal import Decimal

import pytest
from one_trial import MOVEMENT, WHY, marked, trial

from phasemark.model.mark_edits import check_rep, exclude_rep
from phasemark.model.marks import Marks
from phasemark.model.study import Kind, Load, Study, Trial
from phasemark.model.study_edits import edit_marks
from phasemark.results.study_conditions import natural_key
from phasemark.results.study_grid import (
    NO_COMPLETE_REP,
    BesideMarks,
    Cell,
    Grid,
    State,
    TrialProgress,
    next_trial,
    study_grid,
    trial_progress,
)

BASE = trial()


def one(trial_id: str, participant: str = "P01", exercise: str = "squat", **facts: object) -> Trial:
    """A marked trial of 3 complete reps and an incomplete one."""
    return replace(BASE, id=trial_id, participant=participant, exercise=exercise, **facts)  # type: ignore[arg-type]


def grid(*trials: Trial, problems: dict[str, str] | None = None) -> Grid:
    return study_grid(Study("any", trials), "R1", BesideMarks(problems or {}))


def checked(of: Trial, *reps: int) -> Trial:
    """The trial with reps checked by R1."""
    marks = of.marks_of("R1")
    for rep in reps:
        marks = check_rep(marks, rep, WHY)
    return of.with_marks(marks)


def excluded(of: Trial, *reps: int) -> Trial:
    """The trial with reps excluded by R1."""
    marks = of.marks_of("R1")
    for rep in reps:
        marks = exclude_rep(marks, rep, WHY)
    return of.with_marks(marks)


def titles(of: Grid) -> list[str]:
    return [condition.text for condition in of.conditions]


# What a trial's state is


def test_marks_of_a_rule_are_to_be_checked_rep_by_rep() -> None:
    """Complete reps count, the incomplete one does not; all checked is checked."""
    assert trial_progress(BASE, "R1") == TrialProgress("T001", "", State.TO_CHECK, 0, 3)
    assert trial_progress(checked(BASE, 1, 3), "R1") == TrialProgress("T001", "", State.TO_CHECK, 2, 3)
    assert trial_progress(checked(BASE, 1, 2, 3), "R1") == TrialProgress("T001", "", State.CHECKED, 3, 3)


def test_each_rater_has_work_of_their_own() -> None:
    """What one rater checked says nothing of another's marks."""
    assert trial_progress(checked(BASE, 1, 2, 3), "R2").state is State.NO_MARKS


def test_an_excluded_rep_needs_no_check() -> None:
    """A person has decided about it; where all are excluded the trial has nothing to do."""
    assert trial_progress(excluded(checked(BASE, 1, 2), 3), "R1") == TrialProgress("T001", "", State.CHECKED, 2, 2)
    assert trial_progress(excluded(BASE, 1, 2, 3), "R1").state is State.EXCLUDED


def test_marking_that_found_nothing_complete_is_a_problem_of_tasks() -> None:
    """It is not 'no marks': marking again would not help. In a warm-up nothing is lost."""
    found = replace(BASE, marks=())
    found = found.with_marks(Marks("R1", found.length, phase_rule="turning points"))
    assert trial_progress(found, "R1") == TrialProgress("T001", "", State.PROBLEM, note=NO_COMPLETE_REP)
    assert trial_progress(marked(BASE, reps=0), "R1").state is State.PROBLEM
    assert trial_progress(replace(found, kind=Kind.WARM_UP), "R1").state is State.RECORDED


def test_hand_made_marks_without_a_rule_are_marks() -> None:
    """A rep added by hand before any automatic marking is not 'no marks'."""
    by_hand = BASE.with_marks(replace(BASE.marks_of("R1"), phase_rule=""))
    assert trial_progress(by_hand, "R1").state is State.TO_CHECK


@pytest.mark.parametrize("kind", [Kind.MVIC, Kind.QUIET])
def test_what_has_nothing_to_mark_is_recorded(kind: Kind) -> None:
    """MVIC and quiet trials ask for no marks, but a problem or an exclusion of them is shown."""
    rest = replace(BASE, kind=kind, marks=(), movement=MOVEMENT)
    assert trial_progress(rest, "R1").state is State.RECORDED
    assert trial_progress(rest, "R1", problem="the recording is missing").state is State.PROBLEM
    assert trial_progress(replace(rest, excluded=WHY), "R1").state is State.EXCLUDED


def test_a_problem_outweighs_checks_and_an_exclusion_outweighs_a_problem() -> None:
    """An excluded trial has nothing to do, whatever is wrong with it."""
    done = checked(BASE, 1, 2, 3)
    found = trial_progress(done, "R1", problem="the recording is missing")
    assert found == TrialProgress("T001", "", State.PROBLEM, 3, 3, "the recording is missing")
    out = trial_progress(replace(done, excluded=WHY), "R1", problem="the recording is missing")
    assert (out.state, out.note) == (State.EXCLUDED, WHY.reason)


def test_marks_of_earlier_settings_are_to_be_made_again() -> None:
    """Whether checked or not; not where there is nothing to do, or something worse."""
    assert trial_progress(BASE, "R1", older=True) == TrialProgress("T001", "", State.OLDER, 0, 3)
    done = checked(BASE, 1, 2, 3)
    assert trial_progress(done, "R1", older=True) == TrialProgress("T001", "", State.OLDER, 3, 3)
    assert trial_progress(done, "R1", problem="missing", older=True).state is State.PROBLEM
    assert trial_progress(replace(done, excluded=WHY), "R1", older=True).state is State.EXCLUDED
    assert trial_progress(excluded(BASE, 1, 2, 3), "R1", older=True).state is State.EXCLUDED
    assert trial_progress(replace(BASE, marks=()), "R1", older=True).state is State.NO_MARKS
    shown = study_grid(Study("any", (done, one("T2", "P02"))), "R1", BesideMarks(older={"T001"}))
    assert [row[0].state for row in shown.cells] == [State.OLDER, State.TO_CHECK]
    assert shown.cells[0][0].to_do
    assert (shown.total.checked, shown.total.trials) == (0, 2)


def test_findings_to_decide_stand_beside_any_state_and_hold_up_nothing() -> None:
    """What is still to do stays what marks say; an excluded trial has nothing left to decide."""
    done = checked(BASE, 1, 2, 3)
    assert trial_progress(done, "R1", findings=2) == TrialProgress("T001", "", State.CHECKED, 3, 3, findings=2)
    assert trial_progress(BASE, "R1", older=True, findings=1) == TrialProgress(
        "T001", "", State.OLDER, 0, 3, findings=1
    )
    assert trial_progress(replace(done, excluded=WHY), "R1", findings=2).findings == 0
    other = replace(one("T2", set=2), marks=done.marks)
    shown = study_grid(Study("any", (done, other)), "R1", BesideMarks(findings={"T001": 2, "T2": 1, "gone": 5}))
    assert (shown.cells[0][0].findings, shown.findings) == (3, 3)
    assert not shown.cells[0][0].to_do
    assert next_trial(shown, "", 1, only_to_do=True) is None


# What a cell's state is


def test_a_cell_says_the_most_urgent_of_its_sets() -> None:
    """What is left to do in any set is left to do in the cell; an excluded set does not hold it up."""
    sets = [one("T1", set=1), one("T2", set=2), one("T3", set=3)]
    assert grid(checked(sets[0], 1, 2, 3), sets[1]).cells[0][0].state is State.TO_CHECK
    assert grid(sets[0], replace(sets[1], marks=())).cells[0][0].state is State.NO_MARKS
    assert grid(*sets, problems={"T2": "missing"}).cells[0][0].state is State.PROBLEM
    done = grid(checked(sets[0], 1, 2, 3), replace(sets[1], excluded=WHY)).cells[0][0]
    assert (done.state, done.checked, done.reps, done.to_do) == (State.CHECKED, 3, 3, False)


def test_a_participant_without_a_recording_in_a_condition_has_an_empty_cell() -> None:
    found = grid(one("T1", "P01", "a"), one("T2", "P02", "b"))
    assert found.cells[0][1] == Cell()
    assert found.cells[0][1].state is State.EMPTY
    assert found.cells[0][1].opening() == ""


def test_a_cell_opens_at_what_is_to_do_and_then_goes_round() -> None:
    """First the set that waits; asked again from within, the next one, and from the last the first."""
    cell = grid(checked(one("T1", set=1), 1, 2, 3), one("T2", set=2), one("T3", set=3)).cells[0][0]
    assert cell.opening() == "T2"
    assert cell.opening("elsewhere") == "T2"
    assert [cell.opening(t) for t in ("T1", "T2", "T3")] == ["T2", "T3", "T1"]


# Rows and columns


def test_participants_stand_as_people_count() -> None:
    """P2 before P10, in any letter case, also where codes are numbers alone or of absurd length."""
    codes = ["P10", "p2", "P1", "7", "10", "A", "P02", "9" * 5000]
    assert sorted(codes, key=natural_key) == ["7", "10", "9" * 5000, "A", "P1", "P02", "p2", "P10"]
    found = grid(*(one(f"T{code}", code) for code in ("P10", "P2", "P1")))
    assert found.participants == ("P1", "P2", "P10")


def test_tasks_stand_as_they_first_appear_and_the_rest_after_them() -> None:
    """MVIC and quiet trials have one column each, whatever effort they are called by."""
    found = grid(
        one("T1", exercise="lying", kind=Kind.QUIET),
        one("T2", exercise="knee extension", kind=Kind.MVIC),
        one("T3", exercise="knee flexion", kind=Kind.MVIC),
        one("T4", exercise="squat heels raised"),
        one("T5", exercise="squat heels raised", kind=Kind.WARM_UP),
        one("T6", exercise="squat heels flat"),
        one("T7", exercise="step", kind=Kind.REFERENCE),
    )
    assert titles(found) == ["squat heels raised", "squat heels flat", "warm-up", "reference", "MVIC", "quiet"]
    assert [t.label for t in found.cells[0][4].trials] == ["knee extension", "knee flexion"]


def test_sessions_split_where_a_participant_has_several() -> None:
    """Test and retest of each; the exercise without a retest stays whole."""
    trials = [one(f"{p}{s}{e}", p, e, session=s) for p in ("P1", "P2") for s in ("10", "9") for e in ("a", "b")]
    found = grid(*[t for t in trials if (t.exercise, t.session) != ("b", "9")])
    assert titles(found) == ["a, session 9", "a, session 10", "b"]


def test_counterbalanced_sessions_do_not_split() -> None:
    """Half of the participants did a on the first day, the others on the second: two columns, not four."""
    found = grid(
        one("T1", "P1", "a", session="1"),
        one("T2", "P1", "b", session="2"),
        one("T3", "P2", "b", session="1"),
        one("T4", "P2", "a", session="2"),
    )
    assert titles(found) == ["a", "b"]


def test_loads_split_where_they_recur_and_are_sorted_by_size() -> None:
    """Each participant lifted every load; 2.25 kg is less than 2.5 kg and 10 kg."""
    loads = [Load(Decimal(value), "kg") for value in ("10", "2.5", "2.25")]
    found = grid(*(one(f"{p}{load.value}", p, load=load) for p in ("P1", "P2", "P3") for load in loads))
    assert titles(found) == ["squat, 2.25 kg", "squat, 2.5 kg", "squat, 10 kg"]


def test_loads_chosen_for_each_person_do_not_split() -> None:
    """As columns they would leave a grid of nearly empty cells; the cell tells its trials apart by them."""
    trials = [one(f"{p}{n}", f"P{p}", load=Load(Decimal(20 * n + p), "kg")) for p in range(9) for n in (1, 2)]
    found = grid(*trials)
    assert titles(found) == ["squat"]
    assert [t.label for t in found.cells[3][0].trials] == ["23 kg", "43 kg"]


def test_a_factor_splits_within_participants_and_a_group_does_not() -> None:
    """Stance changes from trial to trial, group from person to person; a trial without stance says so."""
    trials = [
        one(f"{p}{stance}", p, factors=(("group", p), *([("stance", stance)] if stance else [])))
        for p in ("P1", "P2")
        for stance in ("wide", "narrow", "")
    ]
    assert titles(grid(*trials)) == ["squat, no stance", "squat, stance narrow", "squat, stance wide"]


def test_what_goes_with_the_session_does_not_split_again() -> None:
    """Heavier in the second session: session alone tells the columns apart."""
    trials = [
        one(f"{p}{s}", p, session=s, load=Load(Decimal(kg), "kg"))
        for p in ("P1", "P2")
        for s, kg in (("1", 40), ("2", 50))
    ]
    assert titles(grid(*trials)) == ["squat, session 1", "squat, session 2"]


def test_trials_that_nothing_tells_apart_are_called_by_their_ids() -> None:
    assert [t.label for t in grid(one("T1"), one("T2")).cells[0][0].trials] == ["trial T1", "trial T2"]


def test_an_empty_study_is_an_empty_grid() -> None:
    assert grid() == Grid()
    assert next_trial(grid(), "", 1) is None


# Totals and the order of work


def test_totals_count_trials_that_can_be_checked() -> None:
    """Excluded trials are not waited for, recorded ones are counted apart."""
    found = grid(
        checked(one("T1", "P1", set=1), 1, 2, 3),
        one("T2", "P1", set=2),
        replace(one("T3", "P2"), excluded=WHY),
        one("T4", "P3", marks=()),
        one("T5", "P1", kind=Kind.MVIC),
    )
    assert [(t.checked, t.trials, t.recorded) for t in found.totals] == [(1, 3, 0), (0, 0, 1)]
    assert (found.total.checked, found.total.trials, found.total.recorded) == (1, 3, 1)
    assert found.states == {State.TO_CHECK, State.CHECKED, State.EXCLUDED, State.NO_MARKS, State.RECORDED, State.EMPTY}


def test_work_goes_on_participant_by_participant() -> None:
    """Row by row, set by set, there and back; at the ends there is no further one."""
    found = grid(one("B2", "P2", "b"), one("A2", "P2", "a"), one("a1", "P1", "a", set=2), one("a0", "P1", "a", set=1))
    assert titles(found) == ["b", "a"]
    forth = ["a0", "a1", "B2", "A2"]
    assert [next_trial(found, t, 1) for t in ["", *forth]] == [*forth, None]
    assert [next_trial(found, t, -1) for t in ["", *forth[::-1]]] == [*forth[::-1], None]


def test_work_can_pass_over_what_is_done() -> None:
    found = grid(one("T1", set=1), checked(one("T2", set=2), 1, 2, 3), one("T3", set=3), one("T4", kind=Kind.MVIC))
    assert next_trial(found, "T1", 1, only_to_do=True) == "T3"
    assert next_trial(found, "T3", 1, only_to_do=True) is None
    assert next_trial(found, "T3", -1, only_to_do=True) == "T1"


def test_one_edit_changes_one_cell() -> None:
    """All other cells are equal to what they were, so that a view repaints one."""
    study = Study("any", tuple(one(f"{p}{e}", p, e) for p in ("P1", "P2") for e in "ab"))
    after = edit_marks(study, "P2a", "R1", lambda marks: check_rep(marks, 1, WHY))
    old, new = study_grid(study, "R1"), study_grid(after, "R1")
    differing = [(r, c) for r in range(2) for c in range(2) if old.cells[r][c] != new.cells[r][c]]
    assert differing == [(1, 0)] == [new.place_of("P2a")]
    assert new.place_of("gone") is None
