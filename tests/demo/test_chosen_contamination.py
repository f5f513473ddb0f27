"""Disturbances switched on one by one: on every muscle, each the same whatever others there are."""

from itertools import pairwise

import numpy as np
import pytest

from phasemark.demo import Disturbance, TrialPlan, invent_trial, plan_study
from phasemark.demo.activation import MUSCLES
from phasemark.model.recording import Samples
from phasemark.model.study import Kind

STEP_MV = 1e-4  # of the invented converter: each recording is rounded to it
PLANS = [next(plan for plan in plan_study(1, 12) if plan.kind is kind) for kind in (Kind.TASK, Kind.MVIC, Kind.QUIET)]


def _values(plan: TrialPlan, kinds: set[Disturbance] | bool) -> Samples:
    return np.stack(invent_trial(plan, kinds).recording.emg_values)


@pytest.mark.parametrize("plan", PLANS, ids=lambda plan: plan.kind.value)
@pytest.mark.parametrize("kind", list(Disturbance))
def test_a_disturbance_alone_lies_on_every_muscle(plan: TrialPlan, kind: Disturbance) -> None:
    trial = invent_trial(plan, {kind})
    assert [(c.disturbance, c.muscle) for c in trial.contaminations] == [(kind, m.name) for m in MUSCLES]
    over = _values(plan, {kind}) - _values(plan, False)
    for row, contamination in zip(over, trial.contaminations, strict=True):
        if kind is Disturbance.DROPOUT:
            assert np.isnan(row).sum() == pytest.approx(contamination.size * 2000, abs=1)
        else:
            assert np.abs(row).max() >= 0.9 * contamination.size


def test_none_chosen_is_the_clean_trial() -> None:
    for plan in PLANS:
        np.testing.assert_array_equal(_values(plan, set()), _values(plan, False))
        assert invent_trial(plan, set()).contaminations == ()


@pytest.mark.parametrize("plan", PLANS, ids=lambda plan: plan.kind.value)
def test_disturbances_add_up(plan: TrialPlan) -> None:
    """Two together are the sum of each alone, within the converter's step; so is the whole."""
    clean = _values(plan, False)
    alone = {kind: _values(plan, {kind}) - clean for kind in Disturbance}
    for pair in pairwise(Disturbance):
        together = _values(plan, set(pair)) - clean
        np.testing.assert_allclose(together, alone[pair[0]] + alone[pair[1]], atol=2 * STEP_MV)
    whole = _values(plan, set(Disturbance)) - clean
    np.testing.assert_allclose(whole, sum(alone.values()), atol=4 * STEP_MV)


def test_truth_does_not_depend_on_what_lies_over() -> None:
    for plan in PLANS:
        assert invent_trial(plan, set(Disturbance)).truth == invent_trial(plan, False).truth


def test_what_comes_from_skin_cable_and_room_is_as_large_in_all_trials_of_a_participant() -> None:
    sizes = {tuple(c.size for c in invent_trial(plan, set(Disturbance)).contaminations) for plan in PLANS}
    assert len(sizes) == 1


def test_one_heart_beats_under_all_muscles() -> None:
    times = {c.times_s for c in invent_trial(PLANS[0], {Disturbance.HEART}).contaminations}
    assert len(times) == 1
