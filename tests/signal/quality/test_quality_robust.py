"""Whatever a channel holds, every finding can be shown, stored and marked on the trace."""

import json
from collections.abc import Callable
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from quality_cases import emg, findings, in_bursts

from phasemark.model.codec import from_plain, json_text
from phasemark.model.errors import BadCall
from phasemark.model.quality_settings import QualitySettings
from phasemark.model.recording import EmgChannel, MovementTrace, Samples, Treatment
from phasemark.model.settings import FilterSettings
from phasemark.signal.conditioning import condition
from phasemark.signal.quality.alike import alike_findings
from phasemark.signal.quality.finding import Check, Finding
from phasemark.signal.quality.movement import movement_findings

RATES = (Fraction(100), Fraction(200), Fraction(1000), Fraction(111111, 100), Fraction(2000), Fraction(10000))


def _sound(found: list[Finding], samples: int) -> None:
    for finding in found:
        assert np.isfinite(finding.figure)
        assert np.isfinite(finding.threshold)
        assert finding.sentence.endswith(".")
        assert "nan" not in finding.sentence
        assert "inf" not in finding.sentence.split()
        assert all(0 <= begin < end <= samples for begin, end in finding.places)
        assert all(a[1] <= b[0] for a, b in zip(finding.places, finding.places[1:], strict=False))
        assert from_plain(json.loads(json_text(finding)), Finding) == finding


def _spike(values: Samples) -> Samples:
    alone = np.zeros_like(values)
    alone[len(values) // 2] = 5.0
    return alone


def _in_pieces(values: Samples) -> Samples:
    values[len(values) // 4 : len(values) // 2] = np.nan
    return values


ODD: dict[str, Callable[[Samples], Samples]] = {
    "noise": lambda x: x,
    "constant": lambda x: np.full_like(x, 0.3),
    "zero": np.zeros_like,
    "missing": lambda x: np.full_like(x, np.nan),
    "gaps": lambda x: np.where(x > 0.05, np.nan, x),
    "pieces": _in_pieces,
    "two values": np.sign,
    "one spike": _spike,
    "huge": lambda x: 1e9 * x,
    "tiny": lambda x: 1e-9 * x,
    "ramp": lambda x: np.linspace(-1, 1, len(x)),
    "flat, then noise": lambda x: np.where(np.arange(len(x)) < 0.7 * len(x), 3.3, x),
}
KINDS = tuple(ODD)


def _odd(kind: str, samples: int, seed: int) -> Samples:
    return ODD[kind](0.1 * np.random.default_rng(seed).standard_normal(samples))


@given(
    kind=st.sampled_from(KINDS),
    rate=st.sampled_from(RATES),
    seconds=st.sampled_from((0.003, 0.02, 0.3, 0.6, 1.2, 3.0)),
    treatment=st.sampled_from(Treatment),
    noise_rms=st.sampled_from((None, 0.0, 0.002)),
    seed=st.integers(0, 1000),
)
@settings(max_examples=250, deadline=None)
def test_every_finding_of_an_odd_channel_is_finite_and_lies_in_it(
    *, kind: str, rate: Fraction, seconds: float, treatment: Treatment, noise_rms: float | None, seed: int
) -> None:
    values = _odd(kind, max(1, round(seconds * float(rate))), seed)
    found = findings(values, rate, treatment=treatment, noise_rms=noise_rms)
    _sound(list(found.values()), len(values))
    assert Check.LOST in found


@given(kind=st.sampled_from(KINDS), seconds=st.sampled_from((0.01, 0.05, 0.5, 4.0)), seed=st.integers(0, 1000))
@settings(max_examples=80, deadline=None)
def test_every_finding_of_an_odd_movement_trace_is_finite_and_lies_in_it(kind: str, seconds: float, seed: int) -> None:
    values = _odd(kind, max(1, round(seconds * 100)), seed)
    trace = MovementTrace("knee angle", Fraction(100), "deg")
    _sound(list(movement_findings(values, trace, QualitySettings())), len(values))


@given(kinds=st.lists(st.sampled_from(KINDS), min_size=1, max_size=5), seed=st.integers(0, 1000))
@settings(max_examples=80, deadline=None)
def test_every_pair_of_odd_channels_has_a_share_or_none(kinds: list[str], seed: int) -> None:
    rng = np.random.default_rng(seed)
    channels = [EmgChannel(f"muscle {n}", RATES[2 + n % 2]) for n in range(len(kinds))]
    values = [_odd(kind, int(rng.integers(5, 3000)), seed + n) for n, kind in enumerate(kinds)]
    high = FilterSettings(lowpass_hz=400)
    conditioned = [condition(v, c, high) for v, c in zip(values, channels, strict=True)]
    pairs = alike_findings(conditioned, channels, QualitySettings())
    _sound([pair.finding for pair in pairs], 0)
    assert all(0 <= pair.first < pair.second < len(kinds) for pair in pairs)
    assert all(0 <= pair.finding.figure <= 100 for pair in pairs)


def test_an_empty_channel_has_findings_too() -> None:
    _sound(list(findings(np.empty(0)).values()), 0)
    movement_findings(np.empty(0), MovementTrace("knee angle", Fraction(100)), QualitySettings())


@pytest.mark.parametrize("factor", [1e-3, -1.0, 40.0])
def test_no_figure_hangs_on_the_gain(factor: float) -> None:
    """Shares, ratios and decibels stay the same when the amplifier's gain (or its sign) differs."""
    values = in_bursts(emg(10), rest=0.01) + 0.05 + 0.01 * np.sin(2 * np.pi * 50 * np.arange(20000) / 2000)
    before, after = findings(values), findings(factor * values)
    assert before.keys() == after.keys()
    for check in before.keys() - {Check.RECTIFIED}:
        assert after[check].figure == pytest.approx(before[check].figure, rel=1e-6, abs=1e-9), check


def test_good_emg_is_not_flagged_at_any_usual_rate() -> None:
    for rate in (Fraction(1000), Fraction(2000), Fraction(4000)):
        values = np.round(in_bursts(emg(12, rate=rate), rate), 5)
        assert not [f.sentence for f in findings(values, rate).values() if f.flagged]


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("line_share", 1.1),
        ("line_share", -0.1),
        ("lost_ms", float("nan")),
        ("artefact_ratio", float("inf")),
        ("line_hz", 0.0),
        ("clipping_run_samples", 1),
    ],
)
def test_thresholds_that_make_no_sense_are_refused_by_name(name: str, value: float) -> None:
    with pytest.raises(BadCall, match=f"quality.{name}"):
        QualitySettings(**{name: value})  # type: ignore[arg-type]
