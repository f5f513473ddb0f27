"""Isometric exercises: where the stretch of a hold lies, by rule and by hand, and what its values count for."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from one_trial import WHY
from scipy.signal import butter, sosfiltfilt

from phasemark.model.clock import first_sample
from phasemark.model.intervals import Interval, Purpose
from phasemark.model.marks import ChannelExclusion, Marks
from phasemark.model.normalisation import Approach, NormalisationSettings
from phasemark.model.recording import EmgChannel, Samples, Side, Treatment
from phasemark.model.settings import FilterSettings, HoldSettings, Settings
from phasemark.model.study import Exercise, Kind, RecordingRef, Study, Trial
from phasemark.results.holds import hold_by_rule, is_hold, measure_hold
from phasemark.results.measure import TrialResults, condition_trial, results_key
from phasemark.results.numbers import Numbers
from phasemark.results.rows import segment_rows
from phasemark.results.study_grid import (
    HOLD_MEASURED,
    HOLD_TO_MEASURE,
    NO_HOLD,
    BesideMarks,
    State,
    hold_note,
    study_grid,
    trial_progress,
)
from phasemark.results.summary import summarise

RATES = (Fraction(2000), Fraction(1000), Fraction(2000), Fraction(4000, 3))
MUSCLES = ("rectus abdominis", "obliquus externus", "erector spinae", "gluteus maximus")
RAW = Settings(filter=FilterSettings(highpass_hz=None, lowpass_hz=None, remove_offset=False))
PLANK = Exercise("plank", isometric=True)


def signal(rate: Fraction, levels: list[tuple[float, float]], seed: int = 0) -> Samples:
    """Noise of these (mV, seconds) one after the other."""
    level = np.concatenate([np.full(round(seconds * rate), mv) for mv, seconds in levels])
    return np.asarray(np.random.default_rng(seed).normal(0, 1, len(level)) * level)


def plank(*values: Samples, kind: Kind = Kind.TASK, rates: tuple[Fraction, ...] = RATES) -> Trial:
    """A trial of a plank whose channels hold these values, each at its own rate."""
    emg = tuple(EmgChannel(name, rate) for name, rate, _ in zip(MUSCLES, rates, values, strict=False))
    ref = RecordingRef("R1", "recordings/R1.h5", 1, "0" * 64, tuple(len(v) for v in values), ())
    return Trial("T001", "P01", ref, emg, kind=kind, exercise="plank")


def by_rule(*values: Samples, window_s: float = 3.0, settings: Settings = RAW) -> tuple[float, float] | None:
    """Begin and end (s) of the stretch that the rule finds."""
    trial = plank(*values)
    found = hold_by_rule(trial, condition_trial(trial, values, settings), window_s)
    return None if found is None else (float(found[0] / trial.clock), float(found[1] / trial.clock))


def test_the_middle_of_the_longest_stretch_over_half_is_found_at_mixed_rates() -> None:
    """Up from 2 to 4 s and from 6 to 16 s: the middle 3 s of the second, 9.5 to 12.5 s (within a quarter second)."""
    levels = [(0.01, 2.0), (0.5, 2.0), (0.01, 2.0), (0.5, 10.0), (0.01, 3.0)]
    values = [signal(rate, levels, seed) for seed, rate in enumerate(RATES)]
    found = by_rule(*values)
    assert found is not None
    assert found == pytest.approx((9.5, 12.5), abs=0.25)
    assert found[1] - found[0] == pytest.approx(3.0, abs=1e-9)


@pytest.mark.parametrize("active", [1, 2, 3])
def test_muscles_that_are_quiet_throughout_do_not_hide_the_hold(active: int) -> None:
    """Of four muscles one is up from 5 to 12 s; the others' noise is of one level all the time (20 s)."""
    up = [(0.01, 5.0), (0.3, 7.0), (0.01, 8.0)]
    values = [signal(rate, up if i < active else [(0.002, 20.0)], i) for i, rate in enumerate(RATES)]
    assert by_rule(*values) == pytest.approx((7.0, 10.0), abs=0.3)


def test_a_recording_that_is_held_from_end_to_end_is_one_stretch() -> None:
    assert by_rule(*(signal(rate, [(0.4, 8.0)], i) for i, rate in enumerate(RATES))) == pytest.approx(
        (2.5, 5.5), abs=0.2
    )
    assert by_rule(signal(RATES[0], [(0.4, 3.1)])) == pytest.approx((0.05, 3.05), abs=0.06)


def test_a_single_muscle_is_held_in_spite_of_the_chance_in_its_amplitude() -> None:
    """Twenty draws of noise in a narrow band, whose 100 ms amplitude falls under half of its highest by chance."""
    sections = butter(2, (60, 120), "bandpass", fs=2000, output="sos")
    for seed in range(20):
        values = sosfiltfilt(sections, signal(Fraction(2000), [(0.0, 3.0), (0.4, 9.0), (0.0, 3.0)], seed))
        assert by_rule(np.asarray(values)) == pytest.approx((6.0, 9.0), abs=0.3)


@pytest.mark.parametrize(
    "values",
    [
        signal(Fraction(2000), [(0.01, 5.0), (0.4, 2.0), (0.01, 5.0)]),
        signal(Fraction(2000), [(0.4, 0.3)]),
        np.full(20000, np.nan),
        np.zeros(20000),
    ],
    ids=["held for 2 s", "0.3 s of signal", "no samples", "zeros"],
)
def test_where_nothing_is_held_for_so_long_there_is_no_stretch_and_no_value(values: Samples) -> None:
    assert by_rule(values) is None
    trial = plank(values)
    assert measure_hold(trial, Marks("R1", trial.length), condition_trial(trial, (values,), RAW), RAW).values == ()


def test_a_lost_and_an_excluded_channel_have_no_say() -> None:
    """The second channel is up at another time; excluded, only the first one says where the hold is."""
    one = signal(RATES[0], [(0.01, 3.0), (0.4, 6.0), (0.01, 11.0)])
    other = signal(RATES[1], [(0.01, 12.0), (0.4, 8.0)], 1)
    lost = np.full(40000, np.nan)
    trial = plank(one, other, lost)
    out = ChannelExclusion(MUSCLES[1], Side.NONE, WHY)
    trial = replace(trial, excluded_channels=(out,))
    found = hold_by_rule(trial, condition_trial(trial, (one, other, lost), RAW), 3.0)
    assert found is not None
    assert found[0] / 2000 == pytest.approx(4.5, abs=0.25)


def held(trial: Trial, values: tuple[Samples, ...], settings: Settings) -> TrialResults:
    return measure_hold(trial, Marks("R1", trial.length), condition_trial(trial, values, settings), settings)


def four() -> tuple[Samples, ...]:
    levels = [(0.01, 4.0), (0.5, 8.0), (0.01, 4.0)]
    return tuple(signal(rate, levels, seed) for seed, rate in enumerate(RATES))


def test_values_are_those_of_the_samples_in_the_stretch() -> None:
    """By plain numpy at each channel's own rate; each with its sampling error and its sensitivity."""
    values = four()
    found = held(plank(*values), values, RAW)
    assert [(v.rep, v.channel, v.segment.phase, v.segment.third) for v in found.values] == [
        (0, place, "hold", "whole") for place in range(4)
    ]
    for value, own, rate in zip(found.values, values, RATES, strict=True):
        begin, end = (first_sample(edge, RATES[0], rate) for edge in value.segment.pieces[0])
        assert value.amplitude.rms == pytest.approx(np.sqrt(np.mean(own[begin:end] ** 2)), rel=1e-12)
        assert value.amplitude.mean_amplitude == pytest.approx(np.mean(np.abs(own[begin:end])), rel=1e-12)
        assert value.further is not None
        assert 0 < value.further.error.rms < 0.05
        shift = round(0.05 * rate)
        placings = ((begin - shift, end), (begin + shift, end), (begin, end - shift), (begin, end + shift))
        moved = [np.sqrt(np.mean(own[b:e] ** 2)) for b, e in placings]
        change = max(abs(m - value.amplitude.rms) for m in moved)
        assert value.further.rms_shift == pytest.approx(change, rel=0.05, abs=1e-5)


def test_a_stretch_by_hand_comes_first_and_that_of_a_muscle_before_that_of_all() -> None:
    values = four()
    everyone = Interval(Purpose.HOLD, 9000, 13000, WHY)
    own = Interval(Purpose.HOLD, 10001, 12001, WHY, MUSCLES[1])
    trial = plank(*values)
    for_all = held(replace(trial, intervals=(everyone,)), values, RAW)
    assert {v.segment.pieces for v in for_all.values} == {((9000, 13000),)}
    both = held(replace(trial, intervals=(everyone, own)), values, RAW)
    assert [v.segment.pieces[0] for v in both.values] == [(9000, 13000), (10001, 12001), *[(9000, 13000)] * 2]
    only = held(replace(trial, intervals=(own,)), values, RAW)
    rule = hold_by_rule(trial, condition_trial(trial, values, RAW), 3.0)
    assert [v.segment.pieces[0] for v in only.values] == [rule, (10001, 12001), rule, rule]


def study_of(*trials: Trial, settings: Settings = RAW) -> Study:
    return Study("planks", trials, (PLANK,), settings)


def numbers_of(study: Study, values: tuple[Samples, ...]) -> Numbers:
    return Numbers(study, "R1", {trial.id: held(trial, values, study.settings) for trial in study.trials})


def test_a_hold_is_a_row_of_each_muscle_and_counts_as_a_rep() -> None:
    values = four()
    one = plank(*values)
    two = replace(one, id="T002", set=2, intervals=(Interval(Purpose.HOLD, 9000, 13000, WHY),))
    numbers = numbers_of(study_of(one, two), values)
    rows = [row for trial in (one, two) for row in segment_rows(numbers, trial, {})]
    assert len(rows) == 8
    assert {(row["rep"], row["rep_id"], row["phase"], row["third"], row["counted"]) for row in rows} == {
        (None, 0, "hold", "whole", True)
    }
    assert [rows[0]["origin"], rows[4]["origin"]] == ["automatic", "hand"]
    assert str(rows[0]["phase_rule"]).startswith("middle 3 s of the longest stretch")
    assert rows[4]["duration_s"] == pytest.approx(2.0)
    summary = summarise(rows, {})
    assert [(row["n_trials"], row["n_reps"]) for row in summary] == [(2, 2)] * 4
    assert summary[0]["rms_mV_mean"] == pytest.approx((rows[0]["rms_mV"] + rows[4]["rms_mV"]) / 2)  # type: ignore[operator]


def test_an_excluded_trial_or_channel_is_shown_and_not_counted() -> None:
    values = four()
    out = ChannelExclusion(MUSCLES[2], Side.NONE, WHY)
    for trial, counted in (
        (replace(plank(*values), excluded_channels=(out,)), [True, True, False, True]),
        (replace(plank(*values), excluded=WHY), [False] * 4),
        (plank(*values, kind=Kind.WARM_UP), [False] * 4),
    ):
        rows = list(segment_rows(numbers_of(study_of(trial), values), trial, {}))
        assert [row["counted"] for row in rows] == counted
        assert [row["excluded"] for row in rows] == [not c and trial.kind is Kind.TASK for c in counted]


@pytest.mark.parametrize("approach", [Approach.TASK_PEAK, Approach.TASK_MEAN])
def test_the_tasks_own_reference_comes_from_holds_too(approach: Approach) -> None:
    """A hold normalised to its own mean is 100 percent; to its own highest envelope, less."""
    values = four()
    settings = replace(RAW, normalisation=NormalisationSettings(approach=approach))
    trial = plank(*values)
    rows = list(segment_rows(numbers_of(study_of(trial, settings=settings), values), trial, {}))
    for row in rows:
        if approach is Approach.TASK_MEAN:
            assert row["rms_percent"] == pytest.approx(100)
        else:
            assert 60 < row["rms_percent"] < 100  # type: ignore[operator]


def test_a_rectified_channel_is_held_and_has_a_mean_amplitude_only() -> None:
    values = tuple(np.abs(v) for v in four()[:1])
    trial = plank(*values)
    trial = replace(trial, emg=(replace(trial.emg[0], treatment=Treatment.RECTIFIED),))
    found = held(trial, values, Settings()).values[0]
    begin, end = found.segment.pieces[0]
    assert 5.5 < begin / 2000 < 7.5
    assert np.isnan(found.amplitude.rms)
    assert found.amplitude.mean_amplitude == pytest.approx(np.mean(values[0][begin:end]), rel=1e-12)


def test_results_are_stale_where_anything_the_hold_hangs_on_differs_and_else_not() -> None:
    values = four()
    trial, marks = plank(*values), Marks("R1", 32000)

    def key(one: Trial = trial, settings: Settings = RAW, isometric: bool = True) -> str:
        return results_key(one, marks, settings, isometric=isometric)

    placed = Interval(Purpose.HOLD, 9000, 13000, WHY)
    out = ChannelExclusion(MUSCLES[2], Side.NONE, WHY)
    others = [
        key(replace(trial, intervals=(placed,))),
        key(replace(trial, intervals=(replace(placed, end=13001),))),
        key(replace(trial, intervals=(replace(placed, muscle=MUSCLES[0]),))),
        key(replace(trial, excluded_channels=(out,))),
        key(settings=replace(RAW, hold=HoldSettings(2.0))),
        key(settings=Settings()),
        key(isometric=False),
    ]
    assert len({key(), *others}) == 1 + len(others)
    assert key(replace(trial, intervals=(replace(placed, purpose=Purpose.BASELINE),))) == key()
    assert results_key(trial, replace(marks, phase_rule="other", thirds_rule="time"), RAW, isometric=True) == key()
    assert key(settings=replace(RAW, hold=HoldSettings(2.0)), isometric=False) == key(isometric=False)


def test_only_trials_of_isometric_exercises_that_could_hold_reps_are_holds() -> None:
    values = four()
    study = study_of(plank(*values))
    assert is_hold(study, plank(*values))
    assert is_hold(study, plank(*values, kind=Kind.REFERENCE))
    assert not is_hold(study, plank(*values, kind=Kind.MVIC))
    assert not is_hold(study, replace(plank(*values), exercise="squat"))


def test_the_grid_says_how_far_a_hold_is_measured() -> None:
    trial = plank(*four())
    assert [hold_note(count) for count in (None, 0, 4)] == [HOLD_TO_MEASURE, NO_HOLD, HOLD_MEASURED]
    done = trial_progress(trial, "R1", hold=HOLD_MEASURED)
    assert (done.state, done.note) == (State.RECORDED, HOLD_MEASURED)
    assert trial_progress(trial, "R1", hold=NO_HOLD).state is State.PROBLEM
    assert trial_progress(trial, "R1", problem="the recording is missing", hold=HOLD_MEASURED).state is State.PROBLEM
    assert trial_progress(replace(trial, excluded=WHY), "R1", hold=NO_HOLD).state is State.EXCLUDED
    grid = study_grid(study_of(trial), "R1", BesideMarks(holds={"T001": HOLD_TO_MEASURE}))
    assert grid.cells[0][0].trials[0].note == HOLD_TO_MEASURE
    assert not grid.cells[0][0].to_do
