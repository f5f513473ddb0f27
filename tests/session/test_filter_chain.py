"""What filters do to a trial: the response at its slowest rate, refusals, and power taken out by a notch."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from known_rep import EMG, known

from phasemark.model.recording import Treatment
from phasemark.model.settings import FilterSettings, MuscleFilter, Settings
from phasemark.model.study import Study, Trial
from phasemark.results.measure import condition_trial
from phasemark.session.filter_chain import chain_of, removed_from, takes_out
from phasemark.session.trial_signals import TrialSignals
from phasemark.signal.pyramid import build


def study(trial: Trial, **settings: object) -> Study:
    return Study("S", (trial,), settings=Settings(**settings))  # type: ignore[arg-type]


def test_the_chain_is_that_of_the_slowest_channel_and_falls_to_half_the_power_at_its_points() -> None:
    trial, _, _ = known()
    chain = chain_of(study(trial), trial)
    assert chain is not None
    assert chain.rate == EMG[1].rate
    assert chain.subject == "gluteus medius", "no trial is named: marks may be made blind"
    assert (chain.low_hz, chain.high_hz) == (pytest.approx(20.0, abs=0.01), pytest.approx(450.0, abs=0.1))
    at = np.interp([20.0, 450.0, 100.0], chain.frequencies, chain.decibels)
    assert at == pytest.approx([-3.01, -3.01, 0.0], abs=0.05)
    assert (np.diff(chain.frequencies) > 0).all()


def test_a_muscle_has_its_own_chain_and_the_others_lose_its_rate() -> None:
    trial, _, _ = known()
    own = (MuscleFilter("gluteus medius", FilterSettings(highpass_hz=30.0)),)
    other = study(trial, muscle_filters=own)
    of_all, of_one = chain_of(other, trial), chain_of(other, trial, "gluteus medius")
    assert of_all is not None
    assert of_one is not None
    assert of_all.rate == 2000
    assert of_one.low_hz == pytest.approx(30.0, abs=0.01)
    assert chain_of(other, trial, "vastus medialis") is None


def test_without_the_muscle_in_view_the_rest_of_the_study_says_the_rate() -> None:
    trial, _, _ = known()
    short = replace(trial, id="T2", emg=EMG[:1], recording=replace(trial.recording, emg_samples=(16_000,)))
    both = Study("S", (trial, short))
    chain = chain_of(both, short, "gluteus medius")
    assert chain is not None
    assert chain.rate == EMG[1].rate
    assert chain.subject == "gluteus medius, not in this trial"


def test_what_does_not_fit_the_rate_is_refused_with_what_would() -> None:
    trial, _, _ = known()
    chain = chain_of(study(trial, filter=FilterSettings(lowpass_hz=600.0)), trial)
    assert chain is not None
    assert "600 Hz does not fit gluteus medius" in chain.refused
    assert "would fit" in chain.refused
    assert len(chain.decibels) == 0


def test_notches_are_deep_and_have_their_points_and_those_that_do_not_fit_are_named() -> None:
    trial, _, _ = known()
    chain = chain_of(study(trial, filter=FilterSettings(notch_hz=150.0, notch_harmonics=4)), trial)
    assert chain is not None
    assert [hz for hz, _, _ in chain.notches] == [150.0, 300.0, 450.0]
    assert chain.left_out == (600.0,)
    for hz, low, high in chain.notches:
        assert high - low == pytest.approx(hz / 30, rel=1e-6)
        assert np.interp(hz, chain.frequencies, chain.decibels) < -100


def hummed(filters: FilterSettings) -> tuple[TrialSignals, Settings]:
    """Noise of 0.1 mV with 50 Hz of 0.2 mV in the first channel only."""
    trial, before, _ = known()
    times = np.arange(len(before.raw[0].values)) / float(EMG[0].rate)
    values = [before.raw[0].values + 0.2 * np.sin(2 * np.pi * 50 * times), before.raw[1].values]
    settings = Settings(filter=filters)
    conditioned = condition_trial(trial, values, settings)
    return replace(before, raw=tuple(build(v) for v in values), conditioned=conditioned), settings


def test_a_notch_takes_the_power_of_a_line_out_and_says_so() -> None:
    """A sine of amplitude 0.2 mV has the power 0.02 mV^2 (A^2 / 2); the noise beside it little."""
    signals, settings = hummed(FilterSettings(notch_hz=50.0))
    humming, quiet = removed_from(signals, settings)
    (line,) = humming.lines
    assert line.before == pytest.approx(0.02, rel=0.05)
    assert line.after < 0.02 / 100
    assert quiet.lines[0].before < 0.001
    assert "50 Hz: 2" in humming.short()
    assert "dB less" in humming.short()
    assert humming.sentences()[0].startswith("Notch at 50 Hz: band power")


def test_nothing_is_worked_out_where_nothing_is_taken_out_and_a_heart_that_is_not_there_is_said() -> None:
    signals, settings = hummed(FilterSettings())
    assert not takes_out(settings, EMG)
    assert all(one.short() == "" for one in removed_from(signals, settings))
    signals, settings = hummed(FilterSettings(ecg_template=True))
    assert takes_out(settings, EMG)
    assert "no regular heartbeat" in removed_from(signals, settings)[0].short()


def test_what_was_recorded_rectified_is_no_part_of_it() -> None:
    trial, signals, _ = known()
    emg = (replace(EMG[0], treatment=Treatment.RECTIFIED), EMG[1])
    rectified = replace(trial, emg=emg)
    chain = chain_of(study(rectified), rectified, "soleus")
    assert chain is None
    other = replace(signals, trial=rectified)
    assert [one.channel for one in removed_from(other, Settings(filter=FilterSettings(notch_hz=50.0)))] == [EMG[1]]


def test_the_rate_is_exact() -> None:
    trial, _, _ = known()
    chain = chain_of(study(trial), trial)
    assert chain is not None
    assert chain.rate == Fraction("1111.11")
