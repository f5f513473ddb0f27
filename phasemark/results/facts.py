"""What is known of a trial's signals apart from any marks: quality, baseline noise, attempts at a reference."""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import isfinite, isnan

from phasemark.model.clock import first_sample
from phasemark.model.codec import json_text
from phasemark.model.intervals import Interval, Purpose
from phasemark.model.normalisation import ReferenceRule
from phasemark.model.recording import EmgChannel, Samples
from phasemark.model.settings import Settings
from phasemark.model.study import Kind, Study, Trial
from phasemark.signal.attempts import Attempt, highest_window, over_interval, plateau
from phasemark.signal.conditioning import Conditioned, in_millivolts
from phasemark.signal.efforts import efforts, within
from phasemark.signal.quality.alike import PairFinding, alike_findings
from phasemark.signal.quality.channel import channel_findings
from phasemark.signal.quality.finding import Check, Finding
from phasemark.signal.quality.movement import movement_findings

# Raised whenever a rule changes so that the same inputs give other facts.
FACTS_VERSION = 4
ATTEMPTS_AT = {Kind.MVIC, Kind.REFERENCE}
CALM_S = 1
_NOT_CALM = (Check.ARTEFACT, Check.LOST, Check.CLIPPING)
# Checks that hold a figure against the signal's own RMS: at rest that is the noise, and so it should be.
_NOT_AT_REST = (Check.NOISE, Check.OFFSET, Check.DRIFT)


@dataclass(frozen=True, slots=True)
class ChannelFacts:
    """Of one EMG channel: findings of the quality checks, its attempts at a reference, its baseline noise.

    attempts are those of MVIC and reference trials, one for each effort in order of time; noise is the amplitude over
    the trial's baseline (an interval placed by hand, or the calm part of a quiet trial), None where it has none.
    """

    findings: tuple[Finding, ...] = ()
    attempts: tuple[Attempt, ...] = ()
    noise: Attempt | None = None


@dataclass(frozen=True, slots=True)
class TrialFacts:
    """Facts of one trial, one entry for each EMG channel; key says what they were computed from."""

    trial: str
    key: str
    channels: tuple[ChannelFacts, ...]
    movement: tuple[Finding, ...] = ()
    alike: tuple[PairFinding, ...] = ()


def holds_baseline(trial: Trial) -> bool:
    """Whether a trial tells the baseline noise: a quiet trial, or one with an interval placed for it."""
    return trial.kind is Kind.QUIET or any(i.purpose is Purpose.BASELINE for i in trial.intervals)


def facts_key(trial: Trial, settings: Settings, noise: Sequence[float | None]) -> str:
    """Hash of all that a trial's facts depend on; noise is the baseline RMS (mV) of each channel that is known."""
    normalisation = settings.normalisation
    attempts_at = trial.kind in ATTEMPTS_AT
    inputs = {
        "version": FACTS_VERSION,
        "recording": trial.recording.sha256,
        "kind": trial.kind,
        "emg": trial.emg,
        "movement": trial.movement,
        "filters": [settings.filter_for(channel.muscle) for channel in trial.emg],
        "rule": [normalisation.rule, normalisation.window_s, normalisation.plateau_s] if attempts_at else None,
        "quality": settings.quality,
        "intervals": [[i.purpose, i.begin, i.end, i.muscle, i.side] for i in trial.intervals],
        "noise": list(noise),
    }
    return hashlib.sha256(json_text(inputs).encode()).hexdigest()[:32]


def trial_facts(
    trial: Trial,
    values: tuple[tuple[Samples, ...], tuple[Samples, ...]],
    conditioned: Sequence[Conditioned],
    settings: Settings,
    noise: Sequence[float | None],
) -> TrialFacts:
    """All facts of a trial. values: those stored of its EMG channels and of its movement traces.

    conditioned: the EMG channels filtered; noise: the baseline RMS (mV) of each channel in this session under the
    same filters, None where it is not known.
    """
    emg_values, movement_values = values
    channels = []
    for place, channel in enumerate(trial.emg):
        own = conditioned[place]
        findings = channel_findings(
            in_millivolts(emg_values[place], channel), own, channel, settings.quality, noise[place]
        )
        if trial.kind is Kind.QUIET:
            findings = tuple(finding for finding in findings if finding.check not in _NOT_AT_REST)
        channels.append(
            ChannelFacts(findings, _attempts(trial, channel, own, settings), _baseline(trial, channel, own, findings))
        )
    movement = tuple(
        finding
        for held, trace in zip(movement_values[:1], trial.movement[:1], strict=True)
        for finding in movement_findings(held, trace, settings.quality)
    )
    alike = alike_findings(conditioned, trial.emg, settings.quality)
    return TrialFacts(trial.id, facts_key(trial, settings, noise), tuple(channels), movement, alike)


def facts_under(
    known: TrialFacts, trial: Trial, conditioned: Mapping[int, Conditioned], settings: Settings
) -> TrialFacts:
    """What is known of a trial, with attempts and noise as they are under other filters or windows; findings stay.

    conditioned: the channels that are asked about, by their place in the trial; the others stay as known.
    """
    channels = list(known.channels)
    for place, own in conditioned.items():
        channel = trial.emg[place]
        attempts, noise = (
            _attempts(trial, channel, own, settings),
            _baseline(trial, channel, own, channels[place].findings),
        )
        channels[place] = replace(channels[place], attempts=attempts, noise=noise)
    return replace(known, channels=tuple(channels))


def interval_of(trial: Trial, channel: EmgChannel, purpose: Purpose) -> Interval | None:
    """The interval for a purpose that a person placed for this channel, else for all channels."""
    found = [i for i in trial.intervals if i.purpose is purpose and i.is_for(channel.muscle, channel.side)]
    return max(found, key=lambda interval: bool(interval.muscle), default=None)


def _over(trial: Trial, channel: EmgChannel, conditioned: Conditioned, interval: Interval) -> Attempt:
    begin, end = (first_sample(place, trial.clock, channel.rate) for place in (interval.begin, interval.end))
    return over_interval(conditioned, begin, end)


def _attempts(trial: Trial, channel: EmgChannel, conditioned: Conditioned, settings: Settings) -> tuple[Attempt, ...]:
    if trial.kind not in ATTEMPTS_AT:
        return ()
    placed = interval_of(trial, channel, Purpose.PLATEAU)
    if placed is not None:
        return (_over(trial, channel, conditioned, placed),)
    rules = settings.normalisation
    parts = [within(conditioned, stretch) for stretch in efforts(conditioned, rules.window_s)]
    if rules.rule is ReferenceRule.PLATEAU:
        return tuple(plateau(part, rules.plateau_s, rules.window_s) for part in parts)
    return tuple(highest_window(part, rules.window_s) for part in parts)


def _baseline(
    trial: Trial, channel: EmgChannel, conditioned: Conditioned, findings: Sequence[Finding]
) -> Attempt | None:
    """The amplitude over an interval that a person placed, else over the calm part of a quiet trial."""
    placed = interval_of(trial, channel, Purpose.BASELINE)
    if placed is not None:
        return _over(trial, channel, conditioned, placed)
    if trial.kind is not Kind.QUIET:
        return None
    noise = over_interval(conditioned, *calm_stretch(findings, len(conditioned.values), channel))
    return None if isnan(noise.mean_amplitude) else noise


def calm_stretch(findings: Sequence[Finding], length: int, channel: EmgChannel) -> tuple[int, int]:
    """The longest stretch [begin, end) of a channel without a flagged artefact, lost signal or clipping in it.

    The whole channel of so many samples where none is flagged, or no stretch of CALM_S is left. (Common practice, no
    source: an artefact in a quiet trial is no noise of the baseline.)
    """
    faults = sorted(
        place for finding in findings if finding.flagged and finding.check in _NOT_CALM for place in finding.places
    )
    best, here = (0, 0), 0
    for begin, end in (*faults, (length, length)):
        best = max(best, (here, begin), key=lambda stretch: stretch[1] - stretch[0])
        here = max(here, end)
    long_enough = best[1] - best[0] >= CALM_S * channel.rate
    return best if long_enough else (0, length)


def baseline_of(study: Study, facts: Mapping[str, TrialFacts], trial: Trial, channel: EmgChannel) -> Attempt | None:
    """The baseline noise that belongs to a channel of a trial; None where its session has none.

    That of the trial itself where an interval was placed in it; else of the nearest trial of the same participant and
    session that has one, counted in the order of the study's trials, the earlier of two equally near.
    """
    here = study.place(trial.id)
    holders = [t for t in study.trials_of(trial.participant, trial.session) if t.id in facts and holds_baseline(t)]
    near = sorted(
        ((t, study.place(t.id)) for t in holders), key=lambda at: (at[0].id != trial.id, abs(at[1] - here), at[1])
    )
    for other, _ in near:
        if other.excluded is not None:
            continue
        for own, known in zip(other.emg, facts[other.id].channels, strict=True):
            if (own.muscle, own.side) == (channel.muscle, channel.side) and known.noise is not None:
                return known.noise
    return None


def noise_rms(study: Study, facts: Mapping[str, TrialFacts], trial: Trial) -> tuple[float | None, ...]:
    """Baseline RMS (mV) of each channel of a trial, None where there is none.

    A trial that holds the baseline itself has none for its own quality: it would be compared with itself.
    """
    if holds_baseline(trial):
        return (None,) * len(trial.emg)
    found = (baseline_of(study, facts, trial, channel) for channel in trial.emg)
    return tuple(None if noise is None or not isfinite(noise.rms) else noise.rms for noise in found)
