"""The invented study as a whole: what it holds, and that the same seed invents it again."""

import csv
import io

import numpy as np
import pytest

from phasemark.demo import (
    FLAT,
    RAISED,
    TRUTH_COLUMNS,
    InventedTrial,
    invent,
    invent_trial,
    plan_study,
    truth_csv,
    truth_rows,
)
from phasemark.model.study import Kind


def _tasks(study: list[InventedTrial]) -> list[InventedTrial]:
    return [trial for trial in study if trial.kind is Kind.TASK]


def _same(one: InventedTrial, other: InventedTrial) -> bool:
    values = zip(
        (*one.recording.emg_values, *one.recording.movement_values),
        (*other.recording.emg_values, *other.recording.movement_values),
        strict=True,
    )
    return one.truth == other.truth and all(np.array_equal(a, b, equal_nan=True) for a, b in values)


def test_a_trial_is_the_same_whatever_was_made_before_it() -> None:
    """Each trial has a random stream of its own: made alone or last, it is the same to the last bit."""
    plans = plan_study(1, 2)
    in_order = list(invent(participants=2))
    for place in (15, 4, 0):
        assert _same(invent_trial(plans[place]), in_order[place])


def test_fewer_participants_are_the_first_of_more(study: list[InventedTrial]) -> None:
    first = next(invent(participants=1))
    assert _same(first, study[0])


def test_another_seed_invents_another_study() -> None:
    one, other = (invent_trial(plan_study(seed, 1)[4]) for seed in (1, 2))
    assert not np.array_equal(one.recording.emg_values[0][:1000], other.recording.emg_values[0][:1000])
    assert one.truth != other.truth


def test_every_participant_does_the_whole_protocol(study: list[InventedTrial]) -> None:
    """One quiet trial, three MVIC trials, two sets of each exercise in a counterbalanced order."""
    people = sorted({trial.participant for trial in study})
    assert people == [f"P{n:02d}" for n in range(1, 13)]
    flat_first = 0
    for person in people:
        own = [trial for trial in study if trial.participant == person]
        assert [t.kind for t in own] == [Kind.QUIET, *[Kind.MVIC] * 3, *[Kind.TASK] * 4]
        tasks = sorted(_tasks(own), key=lambda t: t.order or 0)
        assert [t.order for t in tasks] == [1, 2, 3, 4]
        assert sorted((t.exercise, t.set) for t in tasks) == [(FLAT, 1), (FLAT, 2), (RAISED, 1), (RAISED, 2)]
        flat_first += tasks[0].exercise == FLAT
        assert len({(t.load, t.factors) for t in tasks}) == 1
    assert flat_first == 6


def test_task_trials_are_as_long_as_sets_of_eight_are(study: list[InventedTrial]) -> None:
    lengths = [len(trial.recording.emg_values[0]) / 2000 for trial in _tasks(study)]
    assert 20 < min(lengths) <= max(lengths) < 50


def test_every_set_has_eight_complete_reps_and_some_have_cut_off_ones(study: list[InventedTrial]) -> None:
    cut_off = 0
    for trial in _tasks(study):
        assert {row.rep for row in trial.truth if row.complete} == set(range(1, 9))
        cut_off += any(not row.complete for row in trial.truth)
    assert cut_off == 4  # participants 3, 5, 8 (both ends of one trial) and 11: see the plan


def test_some_turn_around_at_once_and_some_pause(study: list[InventedTrial]) -> None:
    """Touch-and-go: raising begins at the very sample where lowering ends; paused: 0.45 s later or more."""
    for trial in _tasks(study):
        whole = [r for r in trial.truth if r.third == "whole" and r.muscle == "erector spinae" and r.complete]
        ends = {r.rep: r.end_s for r in whole if r.phase == "lowering"}
        pauses = [r.begin_s - ends[r.rep] for r in whole if r.phase == "raising"]
        if dict(trial.factors)["turnaround"] == "touch-and-go":
            assert pauses == [0.0] * 8
        else:
            assert min(pauses) > 0.44


def test_units_differ_where_the_plan_says(study: list[InventedTrial]) -> None:
    """Participant 5 is stored in uV and participant 7's bar in cm; amplitudes are alike in mV, heights in m."""
    for trial in study:
        unit = "uV" if trial.participant == "P05" else "mV"
        assert {channel.unit for channel in trial.recording.emg} == {unit}
        for trace, height in zip(trial.recording.movement, trial.recording.movement_values, strict=True):
            metres = height / 100 if trace.unit == "cm" else height
            assert trace.unit == ("cm" if trial.participant == "P07" else "m")
            assert 0.5 < metres.min() < metres.max() < 1.7


def test_truth_text_holds_every_row(study: list[InventedTrial]) -> None:
    """The text reads back to the same numbers, six decimals of a second."""
    trials = study[3:6]
    rows = list(csv.DictReader(io.StringIO(truth_csv(trials))))
    assert tuple(rows[0]) == TRUTH_COLUMNS
    expected = [(trial, row) for trial in trials for row in trial.truth]
    assert len(rows) == len(expected) == sum(len(truth_rows(trial)) for trial in trials)
    for read, (trial, row) in zip(rows, expected, strict=True):
        assert (read["participant"], read["exercise"], int(read["rep"])) == (trial.participant, trial.exercise, row.rep)
        assert (read["phase"], read["third"], read["muscle"]) == (row.phase, row.third, row.muscle)
        assert float(read["begin_s"]) == pytest.approx(row.begin_s, abs=1e-6)
        assert float(read["rms_mV"]) == pytest.approx(row.rms_mv, rel=1e-5)
