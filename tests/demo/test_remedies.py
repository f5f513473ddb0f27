"""Each disturbance of the invented study with and without its remedy: what it does to RMS, segment by segment.

Bias is RMS over RMS of the clean trial filtered alike, less 1: the muscles are the same in both, so that nothing of
chance is in it but the disturbance itself. Thirds and whole phases of all complete reps of four task trials.
"""

from collections.abc import Collection
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from phasemark.demo import Disturbance, InventedTrial, TrialPlan, invent_trial, plan_study
from phasemark.demo.activation import MUSCLES
from phasemark.demo.invent import EMG_RATE
from phasemark.demo.shaped_noise import spectrum_shape
from phasemark.model.recording import Samples
from phasemark.model.settings import FilterSettings
from phasemark.model.study import Kind
from phasemark.signal.amplitude import amplitude
from phasemark.signal.conditioning import Conditioned, condition
from phasemark.signal.response import response

pytestmark = pytest.mark.slow

ALL = frozenset(Disturbance)
CHAIN = FilterSettings()
RAW = FilterSettings(highpass_hz=None, lowpass_hz=None, remove_offset=False)
CENTRED = replace(RAW, remove_offset=True)
NO_HIGHPASS = replace(CHAIN, highpass_hz=None)
HIGHPASS_30 = replace(CHAIN, highpass_hz=30.0)
NOTCH = replace(CHAIN, notch_hz=50.0, notch_harmonics=3)
TEMPLATE = replace(CHAIN, ecg_template=True)
TEMPLATE_30 = replace(HIGHPASS_30, ecg_template=True)
EVERYTHING = replace(TEMPLATE_30, notch_hz=50.0, notch_harmonics=3)

PLANS = tuple(
    p for p in plan_study(1, 12) if p.kind is Kind.TASK and p.order == 1 and p.participant.number in (1, 5, 8, 11)
)
QUIET = {p.participant.code: p for p in plan_study(1, 12) if p.kind is Kind.QUIET}


def _conditioned(trial: InventedTrial, filters: FilterSettings) -> dict[str, Conditioned]:
    recording = trial.recording
    return {
        channel.muscle: condition(values, channel, filters)
        for channel, values in zip(recording.emg, recording.emg_values, strict=True)
    }


@cache
def _rms(plan: TrialPlan, kinds: frozenset[Disturbance], filters: FilterSettings) -> Samples:
    """RMS (mV) of all segments of complete reps."""
    trial = invent_trial(plan, kinds)
    signals, times = _conditioned(trial, filters), np.arange(len(trial.recording.emg_values[0])) / 2000
    rows = [row for row in trial.truth if row.complete]
    places = np.searchsorted(times, [(row.begin_s, row.end_s) for row in rows])
    return np.array(
        [amplitude(signals[row.muscle], *ends).rms for row, ends in zip(rows, places.tolist(), strict=True)]
    )


def _noise(plan: TrialPlan, kinds: Collection[Disturbance], filters: FilterSettings) -> Samples:
    """Noise RMS (mV) of the participant's quiet trial, for each segment."""
    quiet = invent_trial(QUIET[plan.participant.code], kinds)
    found = {name: amplitude(c, 0, len(c.values)).rms for name, c in _conditioned(quiet, filters).items()}
    return np.array([found[row.muscle] for row in invent_trial(plan, set()).truth if row.complete])


def _bias(kinds: frozenset[Disturbance], filters: FilterSettings) -> tuple[float, float]:
    """Mean bias, and the largest of a segment."""
    clean = replace(filters, ecg_template=False)
    each = [_rms(plan, kinds, filters) / _rms(plan, frozenset(), clean) - 1 for plan in PLANS]
    biases = np.concatenate(each)
    biases = biases[np.isfinite(biases)]
    return float(biases.mean()), float(np.abs(biases).max())


@pytest.mark.parametrize(
    ("kind", "without", "remedy", "mean_left", "worst_left"),
    [
        (Disturbance.OFFSET, RAW, CENTRED, 0.0005, 0.002),
        (Disturbance.DRIFT, CENTRED, CHAIN, 0.0005, 0.002),
        (Disturbance.HUM, CHAIN, NOTCH, 0.0005, 0.002),
        (Disturbance.ARTEFACT, NO_HIGHPASS, CHAIN, 0.002, 0.2),
        (Disturbance.ARTEFACT, NO_HIGHPASS, HIGHPASS_30, 0.001, 0.06),
        (Disturbance.HEART, CHAIN, HIGHPASS_30, 0.006, 0.25),
        (Disturbance.HEART, CHAIN, TEMPLATE, 0.003, 0.06),
        (Disturbance.HEART, CHAIN, TEMPLATE_30, 0.002, 0.05),
    ],
)
def test_a_remedy_takes_the_bias_of_its_disturbance_away(
    kind: Disturbance, without: FilterSettings, remedy: FilterSettings, mean_left: float, worst_left: float
) -> None:
    mean_before, worst_before = _bias(frozenset({kind}), without)
    mean_after, worst_after = _bias(frozenset({kind}), remedy)
    assert abs(mean_after) < mean_left
    assert worst_after < worst_left
    assert mean_before > 2 * abs(mean_after)
    assert worst_before > 2 * worst_after


def test_power_subtraction_takes_the_bias_of_electrode_noise_away() -> None:
    """sqrt(RMS^2 - noise^2) with the noise of the quiet trial (closed form of independent signals)."""
    kinds = frozenset({Disturbance.NOISE})
    before, after = [], []
    for plan in PLANS:
        clean, noisy = _rms(plan, frozenset(), CHAIN), _rms(plan, kinds, CHAIN)
        before.append(noisy / clean - 1)
        after.append(np.sqrt(noisy**2 - _noise(plan, kinds, CHAIN) ** 2) / clean - 1)
    assert np.mean(np.concatenate(before)) > 0.0001
    assert abs(np.mean(np.concatenate(after))) < 0.0001


def test_a_dropout_is_left_out_of_the_segments_it_lies_in() -> None:
    """0.15 s missing: a segment with 90 % left keeps its RMS within its sampling error, on average without bias."""
    mean, worst = _bias(frozenset({Disturbance.DROPOUT}), CHAIN)
    assert abs(mean) < 0.001
    assert worst < 0.1


def _passed(filters: FilterSettings) -> dict[str, float]:
    """By muscle, the share of RMS that filters leave of its spectrum, from their response alone."""
    frequencies = np.arange(0.0, 1000.0, 0.1)
    gains = 10 ** (response(filters, EMG_RATE, frequencies) / 10)
    powers = {muscle.name: spectrum_shape(frequencies, *muscle.corners_hz) ** 2 for muscle in MUSCLES}
    return {name: float(np.sqrt((power * gains).sum() / power.sum())) for name, power in powers.items()}


@pytest.mark.parametrize("filters", [CHAIN, EVERYTHING], ids=["default", "every remedy"])
def test_with_every_disturbance_on_and_its_remedy_applied_rms_is_the_true_one(filters: FilterSettings) -> None:
    """Against the truth times what the filters' own response leaves of the muscle's spectrum: within 0.8 % on average.

    Half the relative variance of a segment's RMS (some 0.3 %, Jensen) is part of that. With the default filters the
    disturbances raise it by 2 %; the noise of the quiet trial is subtracted in both.
    """
    passed, ratios = _passed(filters), []
    for plan in PLANS:
        truth = [row for row in invent_trial(plan, set()).truth if row.complete]
        expected = np.array([row.rms_mv * passed[row.muscle] for row in truth])
        noise = _noise(plan, {Disturbance.NOISE}, filters)
        ratios.append(np.sqrt(np.maximum(_rms(plan, ALL, filters) ** 2 - noise**2, 0)) / expected - 1)
    bias = float(np.nanmean(np.concatenate(ratios)))
    if filters is EVERYTHING:
        assert abs(bias) < 0.008
    else:
        assert bias > 0.01


def test_what_each_remedy_costs_is_what_its_response_says() -> None:
    """The clean trial through each remedy: 30 Hz takes 2 % of the RMS, three notches 4 % (computed)."""
    for remedy in (HIGHPASS_30, NOTCH):
        cost = np.concatenate([_rms(p, frozenset(), remedy) / _rms(p, frozenset(), CHAIN) - 1 for p in PLANS]).mean()
        expected = np.mean([_passed(remedy)[m.name] / _passed(CHAIN)[m.name] - 1 for m in MUSCLES])
        assert cost == pytest.approx(expected, abs=0.002)
        assert -0.05 < cost < -0.01
