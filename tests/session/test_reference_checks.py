"""References through the session: plain numpy over efforts and trials, drift, the task's own, rectified input."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from small_study import Open, new, recording

from phasemark.model.intervals import Purpose
from phasemark.model.normalisation import Approach, NormalisationSettings
from phasemark.model.recording import EmgChannel, Recording, Side, Source, Treatment
from phasemark.model.settings import FilterSettings, Settings
from phasemark.model.study import Kind
from phasemark.model.study_edits import with_settings
from phasemark.results.exports import all_segment_rows
from phasemark.results.numbers import Numbers
from phasemark.results.referencing import comparison_warnings
from phasemark.session.importing import Arrival, Description
from phasemark.session.judging import place_interval
from phasemark.session.measuring import measure, stale_trials

Values = NDArray[np.float64]
RATE = 2000
RAW = Settings(filter=FilterSettings(highpass_hz=None, lowpass_hz=None, remove_offset=False))
CHANNEL = EmgChannel("vastus medialis", Fraction(RATE), Side.LEFT)


def efforts(*levels: float, seed: int) -> Values:
    """Efforts of 3 s at these levels (mV) with 2 s of rest before each and at the end."""
    level = np.concatenate([*(np.repeat([0.005, mv], [2 * RATE, 3 * RATE]) for mv in levels), np.full(2 * RATE, 0.005)])
    return np.asarray(np.random.default_rng(seed).normal(0, 1, len(level)) * level)


def mvic(values: Values, channel: EmgChannel = CHANNEL) -> Recording:
    return Recording((channel,), (values,), source=Source("mvic.txt", "invented"))


def task(level: float = 1.0, seed: int = 1, channel: EmgChannel = CHANNEL) -> Recording:
    """Three squats; level multiplies its EMG."""
    made = recording(seed=seed, emg=(channel,))
    return replace(made, emg_values=tuple(level * v for v in made.emg_values))


@pytest.fixture
def measured(tmp_path: Path) -> Any:
    """Makes a study of recordings with what they are, in their order, marks and measures it, and gives it open."""
    held: list[Open] = []

    def make(*of: tuple[Recording, dict[str, Any]], settings: Settings = RAW) -> Open:
        at = new(tmp_path / f"study{len(held)}")
        held.append(at)
        at.session.edit("settings", with_settings(at.study, settings))
        for made, facts in of:
            at.add(Arrival(Description("P01", **{"exercise": "squat", **facts}), recording=made))
        at.mark()
        at.wait(lambda **back: measure(at.session, stale_trials(at.session), **back))
        return at

    yield make
    for at in held:
        at.session.close()


Make = Callable[..., Open]


def moving_rms(values: Values, count: int = RATE // 2 + 1) -> Values:
    """RMS over windows of 500 ms, the first and the last sample 500 ms apart, by plain numpy."""
    return np.sqrt(np.convolve(values**2, np.ones(count) / count, mode="valid"))


def moving_mean(values: Values, count: int = RATE // 2 + 1) -> Values:
    return np.convolve(np.abs(values), np.ones(count) / count, mode="valid")


def rows(numbers: Numbers) -> list[dict[str, Any]]:
    return [dict(row) for row in all_segment_rows(numbers)]


KNEE = {"kind": Kind.MVIC, "exercise": "knee extension"}


def test_percent_is_of_the_highest_half_second_of_all_efforts_of_all_trials(measured: Make) -> None:
    """RMS and mean amplitude each of their own highest window; values over 100 percent are kept."""
    first, second = efforts(0.25, 0.31, 0.28, seed=2), efforts(0.30, 0.33, seed=3)
    at = measured((mvic(first), KNEE), (mvic(second), KNEE), (task(2.0), {}))
    numbers = at.session.numbers()
    highest = max(moving_rms(first).max(), moving_rms(second).max())
    highest_mean = max(moving_mean(first).max(), moving_mean(second).max())
    (normaliser,) = numbers.normalisers.values()
    assert len(normaliser.attempts) == 5
    assert (normaliser.rms, normaliser.mean_amplitude) == pytest.approx((highest, highest_mean), rel=1e-9)
    found = rows(numbers)
    assert len(found) > 20
    for row in found:
        assert row["rms_percent"] == pytest.approx(100 * row["rms_mV"] / highest, rel=1e-9)
        assert row["mean_amplitude_percent"] == pytest.approx(100 * row["mean_amplitude_mV"] / highest_mean, rel=1e-9)
    assert max(row["rms_percent"] for row in found) > 130


def test_maxima_before_and_after_the_sets_give_the_drift_at_one_position(measured: Make) -> None:
    """A second position after the sets, far lower, is no drift of the first."""
    before, after = efforts(0.40, seed=4), efforts(0.32, 0.30, seed=5)
    other = {"kind": Kind.MVIC, "exercise": "knee flexion"}
    of = [(mvic(before), KNEE), (task(), {}), (mvic(after), KNEE), (mvic(efforts(0.04, seed=6)), other)]
    (found,) = measured(*of).session.numbers().normalisers.values()
    assert found.drift is not None
    assert found.drift.rms == pytest.approx(moving_rms(after).max() / moving_rms(before).max(), rel=1e-9)
    assert 0.7 < found.drift.rms < 0.9
    (none,) = measured(*of[:2], of[3]).session.numbers().normalisers.values()
    assert none.drift is None


@pytest.mark.parametrize("approach", [Approach.TASK_MEAN, Approach.TASK_PEAK])
def test_the_tasks_own_reference_is_one_for_all_exercises_unless_asked_otherwise(
    measured: Make, approach: Approach
) -> None:
    """Of the rows of whole reps the mean or the highest envelope; one for each exercise warns (Besomi et al. 2020)."""
    rules = NormalisationSettings(approach=approach)
    of = [(task(1.0, 7), {}), (task(2.0, 8), {"exercise": "lunge"})]
    numbers = measured(*of, settings=replace(RAW, normalisation=rules)).session.numbers()
    found = rows(numbers)
    whole = [row for row in found if (row["phase"], row["third"]) == ("rep", "whole")]
    column = "rms_mV" if approach is Approach.TASK_MEAN else "peak_envelope_mV"
    pick = np.mean if approach is Approach.TASK_MEAN else np.max
    reference = pick([row[column] for row in whole])
    for row in found:
        assert row["rms_percent"] == pytest.approx(100 * row["rms_mV"] / reference, rel=1e-9)
    assert comparison_warnings(numbers.study, numbers.normalisers) == ()
    each = replace(rules, per_exercise=True)
    apart = measured(*of, settings=replace(RAW, normalisation=each)).session.numbers()
    for exercise in ("squat", "lunge"):
        own = pick([row[column] for row in whole if row["exercise"] == exercise])
        for row in rows(apart):
            if row["exercise"] == exercise:
                assert row["rms_percent"] == pytest.approx(100 * row["rms_mV"] / own, rel=1e-9)
    (warning,) = comparison_warnings(apart.study, apart.normalisers)
    assert f"Each exercise is normalised to its own {approach}" in warning
    none = {whose: replace(found, reference=None) for whose, found in apart.normalisers.items()}
    assert not any("its own" in text for text in comparison_warnings(apart.study, none))


def test_a_new_baseline_leaves_nothing_stale_behind(measured: Make) -> None:
    """The checks of every trial of the session are held against the baseline: one pass measures them all again."""
    at = measured((task(), {}), (mvic(efforts(1.0, 2.0, seed=3)), {"kind": Kind.MVIC}))
    (before,) = at.session.numbers().normalisers.values()
    trial = at.study.trials[0]
    place_interval(at.session, trial, Purpose.BASELINE, begin=0, end=RATE // 2)
    assert at.wait(lambda **back: measure(at.session, stale_trials(at.session), **back)).count == 1
    assert stale_trials(at.session) == ()
    (after,) = at.session.numbers().normalisers.values()
    assert after.rms == before.rms


def test_no_reference_is_made_while_a_trial_that_may_hold_it_is_not_measured(measured: Make) -> None:
    at = measured((task(), {}), (mvic(efforts(1.0, seed=3)), {"kind": Kind.MVIC}))
    at.add(Arrival(Description("P01", exercise="squat", kind=Kind.MVIC), recording=mvic(efforts(2.0, seed=4))))
    numbers = at.session.numbers()
    (found,) = numbers.normalisers.values()
    assert found.reference is None
    assert f"Not measured as the study is now: {at.study.trials[2].id}" in found.said[0]
    assert all(np.isnan(row["rms_percent"]) for row in rows(numbers))
    at.wait(lambda **back: measure(at.session, stale_trials(at.session), **back))
    (found,) = at.session.numbers().normalisers.values()
    assert found.rms == pytest.approx(2, rel=0.1)


def test_a_muscle_without_a_reference_is_in_mv_and_a_comparison_says_so(measured: Make) -> None:
    numbers = measured((task(), {})).session.numbers()
    assert all(np.isnan(row["rms_percent"]) and row["rms_mV"] > 0 for row in rows(numbers))
    assert "no reference for vastus medialis; reported in mV only" in comparison_warnings(
        numbers.study, numbers.normalisers
    )[0]  # fmt: skip


def test_rectified_input_is_not_filtered_and_has_a_mean_amplitude_only_in_percent_too(measured: Make) -> None:
    """Under the default filters: the mean of the values as they are stored, over that of the highest half second."""
    channel = replace(CHANNEL, treatment=Treatment.RECTIFIED)
    values = np.abs(efforts(0.30, 0.35, seed=9))
    made = task(1.0, 10, channel)
    made = replace(made, emg_values=(np.abs(made.emg_values[0]),))
    at = measured((mvic(values, channel), KNEE), (made, {}), settings=Settings())
    found = rows(at.session.numbers())
    assert len(found) > 20
    highest = moving_mean(values).max()
    for row in found:
        begin, end = (round(row[name] * RATE) for name in ("begin_s", "end_s"))
        if row["phase"] != "rep without pause":
            assert row["mean_amplitude_mV"] == pytest.approx(made.emg_values[0][begin:end].mean(), rel=1e-9)
        assert row["mean_amplitude_percent"] == pytest.approx(100 * row["mean_amplitude_mV"] / highest, rel=1e-9)
        for column in ("rms_mV", "rms_percent", "reference_rms_mV", "rms_sampling_error_mV", "median_frequency_hz"):
            assert np.isnan(row[column]), column
        assert "already rectified: no RMS" in row["note"]
