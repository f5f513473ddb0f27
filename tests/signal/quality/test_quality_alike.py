"""Channels that are alike: copies, cross-talk, strangers."""

from fractions import Fraction

import numpy as np
import pytest
from quality_cases import DEFAULTS, RATE, emg

from phasemark.model.quality_settings import QualitySettings
from phasemark.model.recording import EmgChannel, Samples, Treatment
from phasemark.model.settings import FilterSettings
from phasemark.signal.conditioning import condition
from phasemark.signal.quality.alike import PairFinding, alike_findings


def _pairs(
    *signals: Samples, rates: tuple[Fraction, ...] = (RATE,) * 4, settings: QualitySettings = DEFAULTS
) -> tuple[PairFinding, ...]:
    channels = [EmgChannel(name, rate) for name, rate in zip("abcd", rates, strict=True)][: len(signals)]
    conditioned = [condition(x, c, FilterSettings(lowpass_hz=400)) for x, c in zip(signals, channels, strict=True)]
    return alike_findings(conditioned, channels, settings)


@pytest.mark.parametrize("lag", [-7, 0, 4])
@pytest.mark.parametrize("factor", [1.0, -0.3])
def test_a_copied_channel_is_named_as_one(lag: int, factor: float) -> None:
    """A copy is found with another gain, turned over, and a few samples late."""
    values = emg(10)
    (pair,) = _pairs(values, factor * np.roll(values, lag))
    assert pair.finding.figure > 99
    assert "recorded twice" in pair.finding.sentence


@pytest.mark.parametrize("share", [0.1, 0.5])
def test_cross_talk_has_the_share_of_power_that_was_mixed_in(share: float) -> None:
    """Y = sqrt(c) x + sqrt(1 - c) z has a squared correlation of c with x (closed form)."""
    one, other = emg(60, 1), emg(60, 2)
    (pair,) = _pairs(one, np.sqrt(share) * one + np.sqrt(1 - share) * other)
    assert pair.finding.figure == pytest.approx(100 * share, rel=0.08)
    assert pair.finding.flagged is (share > 0.3)


def test_strangers_have_nothing_in_common() -> None:
    pairs = _pairs(*(emg(30, seed) for seed in range(4)))
    assert [(p.first, p.second) for p in pairs] == [(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)]
    assert max(p.finding.figure for p in pairs) < 2


def test_two_rectified_strangers_are_not_alike_by_their_means() -> None:
    channels = [EmgChannel(name, RATE, treatment=Treatment.RECTIFIED) for name in "ab"]
    conditioned = [condition(np.abs(emg(30, n)), c, FilterSettings()) for n, c in enumerate(channels)]
    (pair,) = alike_findings(conditioned, channels, DEFAULTS)
    assert pair.finding.figure < 2


def test_every_sample_is_compared() -> None:
    assert _pairs(emg(1.25), emg(1.25))[0].finding.figure == pytest.approx(100, rel=1e-9)


def test_a_copy_later_than_the_lag_is_not_looked_for() -> None:
    values = emg(10)
    assert not _pairs(values, np.roll(values, 40))[0].finding.flagged
    assert _pairs(values, np.roll(values, 40), settings=QualitySettings(alike_lag_ms=25))[0].finding.flagged


def test_gaps_and_other_lengths_do_not_hide_a_copy() -> None:
    values = emg(10)
    copy = values[:-3000].copy()
    copy[4000:4500] = np.nan
    (pair,) = _pairs(values, copy)
    assert pair.finding.figure > 70


def test_pairs_that_cannot_be_compared_have_no_finding() -> None:
    values = emg(10)
    assert _pairs(values, values, rates=(RATE, Fraction(1000), RATE, RATE)) == ()
    assert _pairs(values, np.full(20000, np.nan)) == ()
    assert _pairs(values[:1500], values[:1500]) == ()
    assert _pairs(values) == ()
    assert _pairs() == ()
