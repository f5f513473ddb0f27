"""Each disturbance lies in the recording where, and as large as, the trial says: with minus without it."""

from itertools import pairwise

import numpy as np
import pytest
from scipy.ndimage import uniform_filter1d

from phasemark.demo import Contamination, Disturbance, InventedTrial
from phasemark.demo.activation import MUSCLES
from phasemark.model.units import millivolts_per_value

NAMES = [muscle.name for muscle in MUSCLES]
Pair = tuple[InventedTrial, InventedTrial]


@pytest.fixture(scope="module")
def pairs(study: list[InventedTrial], clean: list[InventedTrial]) -> list[Pair]:
    return list(zip(study, clean, strict=True))


def _over(pair: Pair, muscle: str) -> np.ndarray:
    """What lies over a muscle's signal, in mV."""
    place = NAMES.index(muscle)
    dirty, clean = (trial.recording for trial in pair)
    difference = dirty.emg_values[place] - clean.emg_values[place]
    return difference * millivolts_per_value(dirty.emg[place].unit, 1.0)


def _all(pairs: list[Pair], wanted: Disturbance) -> list[tuple[Pair, Contamination]]:
    found = [(pair, c) for pair in pairs for c in pair[0].contaminations if c.disturbance is wanted]
    assert found, f"no trial has {wanted}"
    return found


def _size(pair: Pair, muscle: str, wanted: Disturbance) -> float:
    return sum(c.size for c in pair[0].contaminations if c.muscle == muscle and c.disturbance is wanted)


def test_the_muscles_are_the_same_with_and_without(pairs: list[Pair]) -> None:
    """Movement and truth do not depend on what lies over the EMG."""
    for dirty, clean in pairs:
        assert dirty.truth == clean.truth
        assert clean.contaminations == ()
        for one, other in zip(dirty.recording.movement_values, clean.recording.movement_values, strict=True):
            assert np.array_equal(one, other)


def test_every_channel_has_electrode_noise(pairs: list[Pair]) -> None:
    """Differences of neighbouring samples show the white part: their RMS is the noise's times the root of two."""
    found = _all(pairs, Disturbance.NOISE)
    assert len(found) == 4 * len(pairs)
    for pair, c in found:
        kinds = {o.disturbance for o in pair[0].contaminations if o.muscle == c.muscle}
        if kinds <= {Disturbance.NOISE, Disturbance.OFFSET, Disturbance.DRIFT}:
            steps = np.diff(_over(pair, c.muscle))
            assert np.sqrt(np.mean(steps**2) / 2) == pytest.approx(c.size, rel=0.03)


def test_offset_is_the_mean_of_what_lies_over(pairs: list[Pair]) -> None:
    for pair, c in _all(pairs, Disturbance.OFFSET):
        if not _size(pair, c.muscle, Disturbance.DRIFT):
            assert np.mean(_over(pair, c.muscle)) == pytest.approx(c.size, abs=0.004)


def test_drift_wanders_slowly_as_far_as_it_says(pairs: list[Pair]) -> None:
    """Highest deviation from the offset, after a moving mean of 0.05 s."""
    for pair, c in _all(pairs, Disturbance.DRIFT):
        over = _over(pair, c.muscle) - _size(pair, c.muscle, Disturbance.OFFSET)
        slow = uniform_filter1d(over, 100)
        assert np.abs(slow).max() == pytest.approx(c.size, rel=0.05)


def test_hum_is_fifty_hertz_and_its_third_harmonic(pairs: list[Pair]) -> None:
    """Amplitude of the two lines from a least-squares fit; nothing of it in the other channels."""
    for pair, c in _all(pairs, Disturbance.HUM):
        for muscle in NAMES:
            over = _over(pair, muscle)
            angles = 2 * np.pi * np.arange(len(over)) / 2000
            lines = [2 * abs(np.mean((over - over.mean()) * np.exp(-1j * hz * angles))) for hz in (50, 150)]
            rms = np.sqrt(sum(line**2 for line in lines) / 2)
            assert rms == pytest.approx(c.size if muscle == c.muscle else 0, abs=0.0004)
            assert muscle != c.muscle or lines[1] == pytest.approx(lines[0] / 4, rel=0.1)


def test_artefacts_swing_after_each_stated_time(pairs: list[Pair]) -> None:
    """Within 0.2 s of each time the deviation reaches nine tenths of the size; before the first it is small."""
    for pair, c in _all(pairs, Disturbance.ARTEFACT):
        over = _over(pair, c.muscle)
        over = over - np.median(over)
        times = np.arange(len(over)) / 2000
        for at in c.times_s:
            assert np.abs(over[(times >= at) & (times < at + 0.2)]).max() > 0.9 * c.size
        assert np.abs(over[times < min(c.times_s)]).max() < 0.2 * c.size
        assert np.abs(over).max() < 1.2 * c.size


def test_hearts_beat_at_each_stated_time(pairs: list[Pair]) -> None:
    """The R wave stands 50 ms after each time, and intervals are those of an effort (85 to 140 a minute)."""
    for pair, c in _all(pairs, Disturbance.HEART):
        over = _over(pair, c.muscle)
        over = over - np.median(over)
        times = np.arange(len(over)) / 2000
        for at in c.times_s:
            wave = over[(times >= at) & (times < at + 0.12)]
            assert np.argmax(wave) / 2000 == pytest.approx(0.05, abs=0.006)
            assert wave.max() == pytest.approx(c.size, rel=0.25)
        intervals = [b - a for a, b in pairwise(c.times_s)]
        assert 60 / 160 < min(intervals) < max(intervals) < 60 / 70


def test_a_dropout_is_missing_and_said(pairs: list[Pair]) -> None:
    """NaN exactly from the stated time on for the stated time; every other sample of the study is there."""
    dropouts = _all(pairs, Disturbance.DROPOUT)
    for pair, c in dropouts:
        missing = np.isnan(pair[0].recording.emg_values[NAMES.index(c.muscle)])
        times = np.arange(len(missing)) / 2000
        (start,) = c.times_s
        assert np.array_equal(missing, (times >= start) & (times < start + c.size))
        assert any(c.muscle in note for note in pair[0].recording.notes)
    gaps = sum(np.isnan(values).any() for dirty, _ in pairs for values in dirty.recording.emg_values)
    assert gaps == len(dropouts)
