"""Signals under changed settings: what does not differ is kept, and what comes of it is as if made anew."""

from dataclasses import replace

import numpy as np
import pytest
from known_rep import EMG, known

from phasemark.model.recording import Treatment
from phasemark.model.settings import EnvelopeSettings, FilterSettings, MuscleFilter, PhaseSettings, Settings
from phasemark.session.trial_signals import TrialSignals, compute_signals, stored_of
from phasemark.signal.edge_effects import edge_samples


def made(settings: Settings, before: TrialSignals | None = None) -> TrialSignals:
    trial, known_signals, _ = known()
    return compute_signals(trial, stored_of(known_signals), settings, before)


OWN = (MuscleFilter("soleus", FilterSettings(highpass_hz=40.0)),)


@pytest.mark.parametrize(
    ("settings", "kept"),
    [
        (Settings(muscle_filters=OWN), (False, True, False, True, True)),
        (Settings(envelope=EnvelopeSettings(window_s=0.2)), (True, True, False, False, True)),
        (Settings(phases=PhaseSettings(movement_lowpass_hz=3.0)), (True, True, True, True, False)),
        (Settings(filter=FilterSettings(lowpass_hz=300.0)), (False, False, False, False, True)),
    ],
)
def test_only_what_a_setting_concerns_is_made_anew(settings: Settings, kept: tuple[bool, ...]) -> None:
    """Kept: both filtered channels, both envelopes, the movement; values are those of a fresh start either way."""
    before = made(Settings())
    after, fresh = made(settings, before), made(settings)
    same = (
        *(a is b for a, b in zip(after.conditioned, before.conditioned, strict=True)),
        *(a is b for a, b in zip(after.envelopes, before.envelopes, strict=True)),
        after.movement is before.movement,
    )
    assert same == kept
    for one, other in zip(after.conditioned, fresh.conditioned, strict=True):
        np.testing.assert_array_equal(one.values, other.values)
    for shape, as_new in zip(after.envelopes, fresh.envelopes, strict=True):
        np.testing.assert_array_equal(shape.values, as_new.values)
    assert after.movement is not None
    assert fresh.movement is not None
    np.testing.assert_array_equal(after.movement.position, fresh.movement.position)


def test_signals_of_other_channels_are_not_taken_over() -> None:
    trial, signals, _ = known()
    before = compute_signals(trial, stored_of(signals), Settings())
    louder = replace(trial, emg=(replace(EMG[0], unit="V"), EMG[1]))
    after = compute_signals(louder, stored_of(signals), Settings(), before)
    np.testing.assert_allclose(after.conditioned[0].values, 1000 * before.conditioned[0].values, rtol=1e-7, atol=1e-9)


def test_edges_are_as_far_from_the_ends_and_from_gaps_as_the_filters_reach() -> None:
    trial, signals, _ = known()
    stored = stored_of(signals)
    values = stored.emg_values[0].copy()
    values[6000:6100] = np.nan
    found = compute_signals(trial, replace(stored, emg_values=(values, stored.emg_values[1])), Settings())
    reach, end = edge_samples(FilterSettings(), EMG[0].rate), len(values)
    assert found.edges[0] == ((0, reach), (6000 - reach, 6000), (6100, 6100 + reach), (end - reach, end))
    rectified = replace(trial, emg=(replace(EMG[0], treatment=Treatment.RECTIFIED), EMG[1]))
    assert compute_signals(rectified, stored, Settings()).edges[0] == ()


def test_what_is_made_later_is_made_once() -> None:
    signals = made(Settings())
    assert signals.sources() is signals.sources()
    assert signals.filtered() is signals.filtered()
    for pyramid, channel in zip(signals.filtered(), signals.conditioned, strict=True):
        np.testing.assert_array_equal(pyramid.values, channel.values)
    for source, shape in zip(signals.sources(), signals.envelopes, strict=True):
        assert source.envelope is shape.values
