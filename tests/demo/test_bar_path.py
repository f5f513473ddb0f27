"""The path of the bar: its generating function, and that the true boundaries lie where the sampled height says."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from phasemark.demo import InventedTrial, TruthRow
from phasemark.demo.bar_path import BarPath, Moving, Stretch
from phasemark.model.study import Kind

RAISE = Stretch(Moving.RAISING, 1.0, 3.0, 0.0, 1.0, 0.0, 1.0, rep=1)


@pytest.fixture(scope="module")
def tasks(study: list[InventedTrial]) -> list[InventedTrial]:
    return [trial for trial in study if trial.kind is Kind.TASK]


def _metres(trial: InventedTrial) -> tuple[np.ndarray, np.ndarray]:
    (trace,), (height,) = trial.recording.movement, trial.recording.movement_values
    return np.arange(len(height)) / 100, height / (100 if trace.unit == "cm" else 1)


def _spans(trial: InventedTrial) -> list[TruthRow]:
    return [row for row in trial.truth if row.muscle == "erector spinae" and row.complete]


def test_a_plain_raising_is_a_raised_cosine() -> None:
    """Closed form: a third of the way after arccos(1/3)/pi = 0.3918265520 of the time, two thirds after the rest."""
    assert RAISE.crossing(1 / 3) == pytest.approx(1 + 2 * 0.3918265520, abs=1e-9)
    assert RAISE.crossing(2 / 3) == pytest.approx(1 + 2 * 0.6081734480, abs=1e-9)
    assert RAISE.height(np.array([1.0, 2.0, 3.0])) == pytest.approx([0.0, 0.5, 1.0])


def test_a_level_out_of_reach_is_crossed_at_an_end() -> None:
    assert (RAISE.crossing(-0.1), RAISE.crossing(1.1)) == (1.0, 3.0)
    lowering = replace(RAISE, moving=Moving.LOWERING, start=1.0, stop=0.0)
    assert (lowering.crossing(1.1), lowering.crossing(-0.1)) == (1.0, 3.0)


@given(skew=st.floats(-0.35, 0.35), stick=st.floats(-0.5, 0.5), level=st.floats(0.01, 0.99), lowering=st.booleans())
def test_a_phase_never_goes_back_and_is_at_the_level_where_it_crosses(
    skew: float, stick: float, level: float, lowering: bool
) -> None:
    """Whatever the shape of its speed, within what the invented participants show."""
    start, stop = (1.0, 0.0) if lowering else (0.0, 1.0)
    stretch = replace(RAISE, start=start, stop=stop, skew=skew, stick=stick)
    heights = stretch.height(np.linspace(1.0, 3.0, 400))
    assert np.all(np.diff(heights) * (stop - start) > 0)
    assert stretch.height(np.array([stretch.crossing(level)]))[0] == pytest.approx(level, abs=1e-9)


def test_a_false_start_comes_back_to_where_it_began() -> None:
    dip = Stretch(Moving.FALSE_START, 0.0, 1.0, 1.4, 1.4, 0.9, 1.4, dip=0.04)
    assert dip.height(np.array([0.0, 0.5, 1.0])) == pytest.approx([1.4, 1.36, 1.4])


def test_a_path_is_continuous() -> None:
    """Stretches meet: the height after a border is the height before it."""
    path = BarPath((RAISE, replace(RAISE, begin_s=3.0, end_s=5.0, start=1.0, stop=0.2)), 5.0)
    assert np.abs(np.diff(path.height(np.linspace(1.0, 5.0, 4000)))).max() < 0.002


def test_thirds_lie_where_the_sampled_height_crosses_them(tasks: list[InventedTrial]) -> None:
    """Levels from highest and lowest sampled height of the rep; 3 mm, four times the sensor's noise, are allowed."""
    for trial in tasks:
        times, height = _metres(trial)
        spans = _spans(trial)
        for rep in (s for s in spans if s.phase == "rep"):
            inside = height[(times >= rep.begin_s) & (times <= rep.end_s)]
            low, high = np.percentile(inside, [0, 100])
            for span in spans:
                if span.rep == rep.rep and span.third == "middle":
                    reached = np.interp([span.begin_s, span.end_s], times, height)
                    expected = low + (high - low) * np.array([1, 2]) / 3
                    assert sorted(reached) == pytest.approx(expected, abs=0.0045)


def test_phases_turn_where_the_sampled_height_is_lowest(tasks: list[InventedTrial]) -> None:
    """Touch-and-go: the lowest point of a parabola over 0.3 s of samples lies within 0.03 s of the true turn."""
    for trial in tasks:
        if dict(trial.factors)["turnaround"] != "touch-and-go":
            continue
        times, height = _metres(trial)
        for span in _spans(trial):
            if span.phase == "lowering" and span.third == "whole":
                near = np.abs(times - span.end_s) <= 0.15
                curve = np.polyfit(times[near] - span.end_s, height[near], 2)
                assert curve[0] > 0
                assert abs(-curve[1] / (2 * curve[0])) < 0.03


def test_the_bar_rests_outside_reps_and_moves_inside(tasks: list[InventedTrial]) -> None:
    """Between the end of a rep and the begin of the next no sample leaves the top by more than a tenth of the range."""
    for trial in tasks:
        times, height = _metres(trial)
        reps = [s for s in _spans(trial) if s.phase == "rep"]
        travel = height.max() - height.min()
        for before, after in pairwise(reps):
            resting = height[(times >= before.end_s) & (times <= after.begin_s)]
            assert resting.size == 0 or np.ptp(resting) < 0.1 * travel


def test_truth_is_in_order_and_within_the_recording(tasks: list[InventedTrial]) -> None:
    """Thirds of a phase join without a hole and together are the whole phase."""
    for trial in tasks:
        spans = [row for row in trial.truth if row.muscle == "biceps femoris"]
        length = len(trial.recording.emg_values[0]) / 2000
        assert all(0 <= row.begin_s < row.end_s <= length for row in spans)
        for whole in (r for r in spans if r.third == "whole" and r.phase != "rep"):
            inside = [r for r in spans if r.third != "whole" and whole.begin_s <= r.begin_s < whole.end_s]
            assert [r.begin_s for r in inside] == [whole.begin_s, *[r.end_s for r in inside[:-1]]]
            assert inside[-1].end_s == whole.end_s
