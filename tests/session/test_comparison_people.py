"""Participants of a comparison and why one is missing; what a plan can name; when results were shown."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from small_study import Open, arrival, new

from phasemark.model.errors import BadCall
from phasemark.model.marks import ChannelExclusion
from phasemark.model.plan import AgainstLoad
from phasemark.model.recording import Side
from phasemark.model.study import Trial
from phasemark.model.study_edits import with_trial
from phasemark.results.comparison.cells import Place
from phasemark.results.comparison.reading import cell_values
from phasemark.session.comparing import Asked, compare
from phasemark.session.comparison_history import comparison_history, look_up_history
from phasemark.session.comparison_people import PersonRow, people_at
from phasemark.session.measuring import measure, stale_trials
from phasemark.session.plan_choices import PlanDraft, draft_of, plan_choices, plan_of
from phasemark.session.planning import set_plan

MUSCLE = "rectus femoris"
PLACE = Place(MUSCLE, Side.NONE, AgainstLoad.AGAINST, "whole")


@pytest.fixture
def at(tmp_path: Path) -> Iterator[Open]:
    """Two people who did both sets of a factor, marked and measured: T001 to T004."""
    found = new(tmp_path / "study")
    facts = [(who, height) for who in ("P1", "P2") for height in ("low", "high")]
    found.add(*(arrival(n, who, factors=(("heels", height),)) for n, (who, height) in enumerate(facts)))
    found.mark()
    found.wait(lambda **back: measure(found.session, stale_trials(found.session), **back))
    yield found
    found.session.close()


def draft(at: Open) -> PlanDraft:
    return replace(plan_choices(at.session).draft, primary_muscle=MUSCLE, smallest_effect="0.01")


def people(at: Open) -> dict[str, PersonRow]:
    """Everybody at the place, measured anew where that is needed."""
    at.wait(lambda **back: measure(at.session, stale_trials(at.session), **back))
    plan = plan_of(draft(at), at.session.decision())
    values = cell_values(at.session.numbers(), plan)
    return {row.participant: row for row in people_at(at.study, at.session.rater, values, plan, PLACE)}


def edit(at: Open, trial_id: str, change: Callable[[Trial], Trial]) -> None:
    at.session.edit("changed", with_trial(at.study, change(at.study.trial(trial_id))), trial_id)


def test_a_value_is_the_mean_of_its_reps_and_each_leads_to_its_trial(at: Open) -> None:
    row = people(at)["P1"]
    reps = row.of_level("high")
    assert [(rep.trial, rep.rep) for rep in reps] == [("T002", 1), ("T002", 2), ("T002", 3)]
    assert [rep.rep_id for rep in reps] == [rep.id for rep in at.study.trial("T002").marks_of("R1").reps]
    high, low = row.b, row.a
    if plan_choices(at.session).draft.a == "high":
        high, low = row.a, row.b
    assert high == pytest.approx(sum(rep.value for rep in reps) / 3)
    assert abs(row.difference) == pytest.approx(abs(high - low))


def test_an_excluded_trial_is_missing_with_its_reason(at: Open) -> None:
    edit(at, "T003", lambda trial: replace(trial, excluded=at.session.decision("fell")))
    assert people(at)["P2"].why == "low: excluded (T003: fell)"


def test_an_excluded_channel_is_missing_with_its_reason(at: Open) -> None:
    out = ChannelExclusion(MUSCLE, Side.NONE, at.session.decision("came off"))
    edit(at, "T004", lambda trial: replace(trial, excluded_channels=(out,)))
    assert people(at)["P2"].why == f"high: {MUSCLE} is excluded (came off)"


def test_a_trial_without_marks_is_missing_as_such(at: Open) -> None:
    edit(at, "T001", lambda trial: replace(trial, marks=()))
    assert people(at)["P1"].why == "low: not marked"


def test_reps_that_do_not_count_are_missing_as_such(at: Open) -> None:
    def none_complete(trial: Trial) -> Trial:
        marks = trial.marks_of("R1")
        return trial.with_marks(replace(marks, reps=tuple(replace(rep, complete=False) for rep in marks.reps)))

    edit(at, "T001", none_complete)
    assert people(at)["P1"].why == "low: no repetition counts, or none has this part"


def test_who_did_one_only_comes_last(at: Open) -> None:
    at.add(arrival(9, "P0", factors=(("heels", "low"),)))
    at.mark()
    found = people(at)
    assert list(found) == ["P1", "P2", "P0"]
    assert found["P0"].why == "high: no task trial"


# The plan's form


def test_a_form_offers_what_the_study_has(at: Open) -> None:
    choices = plan_choices(at.session)
    assert choices.levels == {"heels": ("high", "low")}
    assert choices.muscles == ("vastus medialis", MUSCLE)
    assert choices.unit == "mV"
    assert not choices.planned
    assert choices.draft.primary_muscle == choices.draft.smallest_effect == ""


def test_a_plan_goes_through_its_form_unchanged(at: Open) -> None:
    plan = plan_of(replace(draft(at), confidence=0.9, exclusion_rules="none"), at.session.decision())
    set_plan(at.session, plan)
    choices = plan_choices(at.session)
    assert choices.planned
    assert choices.draft == draft_of(plan)
    assert replace(plan_of(choices.draft, plan.decision), decision=plan.decision) == plan


def test_what_a_plan_names_is_offered_also_where_the_study_lost_it(at: Open) -> None:
    set_plan(at.session, plan_of(replace(draft(at), a="higher", thirds=("whole", "first")), at.session.decision()))
    choices = plan_choices(at.session)
    assert "higher" in choices.levels["heels"]
    assert "first" in choices.thirds


@pytest.mark.parametrize("typed", ["", "five", "0", "-2", "nan", "inf"])
def test_a_smallest_effect_is_a_number_above_zero(at: Open, typed: str) -> None:
    with pytest.raises(BadCall, match="number above zero"):
        plan_of(replace(draft(at), smallest_effect=typed), at.session.decision())


# When results were shown


def test_the_ledger_says_when_results_were_shown_and_what_was_planned_after(at: Open) -> None:
    at.synced()
    assert comparison_history(at.session.path).shown == ()
    at.wait(lambda **back: compare(at.session, Asked("low", "high", "heels"), **back))
    set_plan(at.session, plan_of(draft(at), at.session.decision("late")))
    found = at.wait(lambda **back: look_up_history(at.session, **back))
    assert [(one.rater, one.what) for one in found.shown] == [("R1", "low with high (exploratory)")]
    assert [(change.after_results, change.reason) for change in found.changes] == [(True, "late")]
