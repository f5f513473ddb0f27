"""What an edit changed can be written down, applied again and taken back."""

import json
from decimal import Decimal
from fractions import Fraction

import pytest

from phasemark.model.changes import PART_TYPES, apply, assemble, differences, parts
from phasemark.model.codec import from_plain, json_text
from phasemark.model.errors import BadCall, BadData
from phasemark.model.mark_edits import Address, add_rep, delete_rep, move_boundary
from phasemark.model.marks import LOWERING, RAISING, Boundary, Phase, Place
from phasemark.model.recording import EmgChannel, MovementTrace, Side
from phasemark.model.study import Exercise, Load, RecordingRef, Study, Trial
from phasemark.model.study_edits import add_trials, edit_marks, remove_trial, with_exercise, with_rater


@pytest.fixture
def study() -> Study:
    ref = RecordingRef("r1", "recordings/r1.h5", 10, "ab", (5000,), (250,))
    trial = Trial(
        "T001",
        "P01",
        ref,
        (EmgChannel("vastus medialis", Fraction(111111, 100), Side.LEFT),),
        (MovementTrace("knee angle", Fraction(50), "deg"),),
        exercise="squat",
        load=Load(Decimal("62.5"), "kg"),
        factors=(("heels", "flat"),),
    )
    phases = (
        Phase(LOWERING, Boundary(10), Boundary(100), (Boundary(40), Boundary(60))),
        Phase(RAISING, Boundary(100), Boundary(200), (Boundary(140), Boundary(160))),
    )
    return Study("heels", (trial.with_marks(add_rep(trial.marks_of("R1"), phases)),))


EDITS = {
    "a boundary moved": lambda s: edit_marks(
        s, "T001", "R1", lambda m: move_boundary(m, Address(1, 0, Place.END), 120)
    ),
    "a rep deleted": lambda s: edit_marks(s, "T001", "R1", lambda m: delete_rep(m, 1)),
    "a trial removed": lambda s: remove_trial(s, "T001"),
    "a second rater": lambda s: with_rater(s, "R2"),
    "an exercise": lambda s: with_exercise(s, Exercise("pull-down", LOWERING, LOWERING)),
}


@pytest.mark.parametrize("edit", EDITS.values(), ids=EDITS.keys())
def test_an_edit_written_down_as_text_leads_to_the_same_study_and_back(study: Study, edit) -> None:  # noqa: ANN001
    after = edit(study)
    changes = differences(study, after)
    assert changes
    for change in changes:
        for value in (change.before, change.after):
            if value is not None:
                assert from_plain(json.loads(json_text(value)), PART_TYPES[change.key.part]) == value
    assert apply(study, changes) == after
    assert apply(after, differences(after, study)) == study


def test_moving_one_boundary_changes_one_part(study: Study) -> None:
    """A line of the ledger stays small however many reps a trial has."""
    after = EDITS["a boundary moved"](study)
    assert [c.key.part for c in differences(study, after)] == ["rep"]


def test_changes_of_another_state_are_refused(study: Study) -> None:
    changes = differences(study, EDITS["a rep deleted"](study))
    with pytest.raises(BadData, match="not as this change found it"):
        apply(EDITS["a boundary moved"](study), changes)


def test_a_study_taken_apart_and_put_together_is_the_same(study: Study) -> None:
    assert assemble(parts(study)) == study
    loose = {k: v for k, v in parts(study).items() if k.part != "marks"}
    with pytest.raises(BadData):
        assemble(loose)


def test_two_trials_with_one_id_are_refused(study: Study) -> None:
    with pytest.raises(BadCall):
        add_trials(study, study.trials)
