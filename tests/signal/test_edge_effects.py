"""Ends of a recording against the same samples within a longer one: how far the reflection reaches."""

from fractions import Fraction

import numpy as np
import pytest

from phasemark.demo.shaped_noise import emg_noise
from phasemark.model.recording import EmgChannel, Samples
from phasemark.model.settings import FilterSettings
from phasemark.signal.butterworth import high_pass
from phasemark.signal.conditioning import condition
from phasemark.signal.edge_effects import edge_samples, edge_stretches

RATE = Fraction(2000)
BEGIN, END = 10_000, 22_000
BANDS = [
    FilterSettings(remove_offset=False),
    FilterSettings(remove_offset=False, order=2),
    FilterSettings(remove_offset=False, order=8),
    FilterSettings(remove_offset=False, highpass_hz=30.0),
    FilterSettings(remove_offset=False, highpass_hz=5.0),
    FilterSettings(remove_offset=False, highpass_hz=None),
    FilterSettings(remove_offset=False, lowpass_hz=None),
]
NOTCHES = [
    FilterSettings(remove_offset=False, notch_hz=50.0, notch_harmonics=3),
    FilterSettings(remove_offset=False, notch_hz=60.0, notch_q=10.0),
]


def _difference(x: Samples, filters: FilterSettings) -> tuple[Samples, float]:
    """Filtered after cutting less cut after filtering, and the RMS of the latter."""
    channel = EmgChannel("soleus", RATE)
    whole = condition(x, channel, filters).values[BEGIN:END]
    return condition(x[BEGIN:END], channel, filters).values - whole, float(np.sqrt(np.mean(whole**2)))


def _at(difference: Samples, place: int, width: int = 20) -> Samples:
    """The differences around so many samples from either end."""
    return np.concatenate((difference[place : place + width], difference[::-1][place : place + width]))


@pytest.mark.parametrize("filters", BANDS)
def test_beyond_the_stretch_no_value_is_off_by_more_than_the_bound(filters: FilterSettings) -> None:
    """The bound of the rule, 0.5 % of the sum of |h| times the largest difference of reflection and truth.

    On EMG, and on a walk at random whose slow parts are the worst that a high-pass meets.
    """
    reach = edge_samples(filters, RATE)
    impulse = np.zeros(40_001)
    impulse[20_000] = 1.0
    total = np.abs(condition(impulse, EmgChannel("soleus", RATE), filters).values).sum()
    for seed in range(4):
        draw = np.random.default_rng(seed)
        emg = emg_noise(30_000, 2000.0, (60.0, 120.0), draw)
        for x in (emg, emg + np.cumsum(draw.normal(0, 0.1, 30_000))):
            difference, _ = _difference(x, filters)
            inside = np.abs(difference[reach:-reach]).max()
            largest = 4 * np.abs(x[BEGIN - 4000 : END + 4000]).max()  # |2 end - mirrored - truth|
            assert inside <= 0.005 * total * largest


@pytest.mark.parametrize("filters", BANDS + NOTCHES)
def test_emg_is_off_by_1_to_3_percent_of_its_rms_where_the_stretch_ends_and_by_far_more_within(
    filters: FilterSettings,
) -> None:
    """Root mean square over 12 seeds, both ends: under 3 % there, three times that nearer."""
    reach = edge_samples(filters, RATE)
    ends, starts = [], []
    for seed in range(12):
        x = emg_noise(30_000, 2000.0, (60.0, 120.0), np.random.default_rng(seed))
        difference, rms = _difference(x, filters)
        ends.append(_at(difference, reach) / rms)
        starts.append(_at(difference, 0, max(reach // 4, 1)) / rms)
    at_end, at_start = (float(np.sqrt(np.mean(np.square(part)))) for part in (ends, starts))
    assert at_end < 0.03
    assert at_start > 3 * at_end


def test_how_long_the_stretches_are() -> None:
    """Measured: 55 ms with 20-450 Hz, 37 ms with 30 Hz, and some 0.57 s with a notch at 50 Hz of quality 30."""
    assert edge_samples(FilterSettings(), RATE) / 2 == pytest.approx(54.5, abs=1)
    assert edge_samples(FilterSettings(highpass_hz=30.0), RATE) / 2 == pytest.approx(36.5, abs=1)
    assert edge_samples(FilterSettings(notch_hz=50.0), RATE) / 2 == pytest.approx(571, abs=5)
    assert edge_samples(FilterSettings(), Fraction(4000)) == pytest.approx(
        2 * edge_samples(FilterSettings(), RATE), abs=3
    )
    assert edge_samples(FilterSettings(highpass_hz=None, lowpass_hz=None), RATE) == 0


def test_beyond_the_stretch_lies_the_stated_share_of_the_impulse_response() -> None:
    reach = edge_samples(FilterSettings(lowpass_hz=None), RATE)
    impulse = np.zeros(20_001)
    impulse[10_000] = 1.0
    answer = np.abs(high_pass(impulse, RATE, 20.0, 4))
    assert answer[: 10_001 - reach].sum() < 0.005 * answer.sum() <= answer[: 10_002 - reach].sum()


def test_every_piece_between_gaps_has_a_stretch_at_both_ends() -> None:
    reach = edge_samples(FilterSettings(), RATE)
    x = np.zeros(5000)
    x[2000:2100] = np.nan
    x[2250:2300] = np.nan
    expected = ((0, reach), (2000 - reach, 2000), (2100, 2250), (2300, 2300 + reach), (5000 - reach, 5000))
    assert edge_stretches(x, FilterSettings(), RATE) == expected


def test_nothing_has_no_ends() -> None:
    assert edge_stretches(np.full(100, np.nan), FilterSettings(), RATE) == ()
    assert edge_stretches(np.zeros(0), FilterSettings(), RATE) == ()
    off = FilterSettings(highpass_hz=None, lowpass_hz=None)
    assert edge_stretches(np.zeros(100), off, RATE) == ()
