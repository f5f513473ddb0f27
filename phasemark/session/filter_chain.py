"""What the filters of a study do: their magnitude response at a trial's rate, and what notch and template took out."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import isfinite, log10

import numpy as np

from phasemark.model.clock import Rate
from phasemark.model.errors import BadData
from phasemark.model.recording import EmgChannel, Samples, Treatment
from phasemark.model.settings import FilterSettings, Settings
from phasemark.model.study import Study, Trial
from phasemark.session.trial_signals import TrialSignals
from phasemark.signal.conditioning import check_filters, in_millivolts, remove_offset
from phasemark.signal.ecg import EcgRemoved, subtract_ecg
from phasemark.signal.notch import LinePower, line_powers, notch_lines
from phasemark.signal.response import minus_3_db_points, notch_bands, response

LOWEST_HZ = 1.0
_POINTS, _NOTCH_POINTS = 480, 33


@dataclass(frozen=True, slots=True, eq=False)
class FilterChain:
    """The magnitude response of filters at a rate (Hz): decibels at frequencies (Hz), rising, both shape (points,).

    subject says whose rate it is. low_hz and high_hz are the -3 dB points of high-pass and low-pass together, None
    where there is none; notches are frequency and -3 dB points of each notch, left_out the multiples that do not fit.
    refused is why there is no response, empty where there is one.
    """

    filters: FilterSettings
    rate: Rate
    subject: str
    frequencies: Samples
    decibels: Samples
    low_hz: float | None = None
    high_hz: float | None = None
    notches: tuple[tuple[float, float, float], ...] = ()
    left_out: tuple[float, ...] = ()
    refused: str = ""


def chain_of(study: Study, trial: Trial | None, muscle: str = "") -> FilterChain | None:
    """The filters of a muscle, or ('') of all that have none of their own, at the slowest rate that they are for.

    That is the rate in the trial where it has such a channel, else in the study; None where no channel is filtered.
    """
    filters = study.settings.filter_for(muscle) if muscle else study.settings.filter
    here = [] if trial is None else _concerned(study.settings, trial, muscle)
    elsewhere = () if here else study.trials
    found = here or [channel for other in elsewhere for channel in _concerned(study.settings, other, muscle)]
    if not found:
        return None
    slowest = min(found, key=lambda channel: channel.rate)
    where = slowest.label if here else f"{slowest.label}, not in this trial"
    try:
        check_filters(filters, (slowest,))
    except BadData as problem:
        empty = np.empty(0)
        return FilterChain(filters, slowest.rate, where, empty, empty, refused=str(problem))
    return _chain(filters, slowest.rate, where)


def _concerned(settings: Settings, trial: Trial, muscle: str) -> list[EmgChannel]:
    """The channels of a trial that the filters are for."""
    own = {entry.muscle for entry in settings.muscle_filters}
    raw = [channel for channel in trial.emg if channel.treatment is Treatment.RAW]
    mine = [c for c in raw if (c.muscle == muscle if muscle else c.muscle not in own)]
    return mine or ([] if muscle else raw)


@lru_cache(maxsize=32)
def _chain(filters: FilterSettings, rate: Rate, subject: str) -> FilterChain:
    half = float(rate / 2)
    bands = notch_bands(filters, rate)
    lines = notch_lines(filters, rate)
    near = [
        np.linspace(hz - 6 * (hz - low), hz + 6 * (high - hz), _NOTCH_POINTS)
        for hz, (low, high) in zip(lines.hz, bands, strict=True)
    ]
    grid = np.concatenate([np.geomspace(LOWEST_HZ, half, _POINTS), np.linspace(0, half, _POINTS), lines.hz, *near])
    frequencies = np.unique(np.clip(grid, 0.0, half))
    low, high = minus_3_db_points(filters, rate)
    notches = tuple((hz, *band) for hz, band in zip(lines.hz, bands, strict=True))
    return FilterChain(
        filters, rate, subject, frequencies, response(filters, rate, frequencies), low, high, notches, lines.left_out
    )


@dataclass(frozen=True, slots=True)
class ChannelRemoved:
    """What notch and template subtraction took out of one channel; ecg is None where it was not asked for."""

    channel: EmgChannel
    lines: tuple[LinePower, ...] = ()
    ecg: EcgRemoved | None = None

    def sentences(self) -> tuple[str, ...]:
        """In words: band power before and after each notch, and what was taken for the heart."""
        said = [_power_words(power) for power in self.lines]
        if self.ecg is not None:
            said.append(self.ecg.sentence())
        return tuple(said)

    def short(self) -> str:
        """The same in a few words."""
        said = [_short_power(power) for power in self.lines]
        if self.ecg is not None and self.ecg.refused:
            said.append("no regular heartbeat, nothing taken out")
        elif self.ecg is not None:
            share = f"{100 * self.ecg.share_of_power:.2g} % of the power"
            said.append(f"{self.ecg.per_minute:.0f} heartbeats a minute taken out, {share}")
        return "; ".join(said)


def _short_power(power: LinePower) -> str:
    if not (isfinite(power.before) and isfinite(power.after)):
        return f"{power.hz:g} Hz: too short to tell"
    return f"{power.hz:g} Hz: {power.before * 1e6:.3g} → {power.after * 1e6:.3g} µV²{_change(power)}"


def _change(power: LinePower) -> str:
    """By how much the notch has lowered the power there."""
    if not (power.before > 0 and power.after > 0):
        return ""
    return f" ({-10 * log10(power.after / power.before):.0f} dB less)"


def _power_words(power: LinePower) -> str:
    if not (isfinite(power.before) and isfinite(power.after)):
        return f"Notch at {power.hz:g} Hz: the signal is too short to tell the power there."
    return (
        f"Notch at {power.hz:g} Hz: band power {power.before * 1e6:.3g} µV² before, "
        f"{power.after * 1e6:.3g} µV² after{_change(power)}."
    )


def takes_out(settings: Settings, channels: Sequence[EmgChannel]) -> bool:
    """Whether a notch or template subtraction is on for any of these channels."""
    filters = (settings.filter_for(channel.muscle) for channel in channels)
    return any(own.notch_hz is not None or own.ecg_template for own in filters)


def removed_from(signals: TrialSignals, settings: Settings) -> tuple[ChannelRemoved, ...]:
    """What was taken out of each raw channel of a trial; for a computing thread.

    The power is that of the signal as the notch meets it: without offset, and without heartbeats where these are taken
    out.
    """
    found = []
    for channel, raw, own in zip(signals.trial.emg, signals.raw, signals.conditioned, strict=True):
        filters = settings.filter_for(channel.muscle)
        if channel.treatment is Treatment.RECTIFIED:
            continue
        lines: tuple[LinePower, ...] = ()
        if filters.notch_hz is not None:
            values = in_millivolts(raw.values, channel)
            if filters.remove_offset:
                remove_offset(values)
            if filters.ecg_template:
                values, _ = subtract_ecg(values, channel.rate)
            lines = line_powers(values, channel.rate, filters)
        found.append(ChannelRemoved(channel, lines, own.removed.ecg))
    return tuple(found)
