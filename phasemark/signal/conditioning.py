"""From stored values to a channel ready for measuring: in mV, without offset, heart and power line, band-passed."""

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from phasemark.model.clock import Rate
from phasemark.model.recording import EmgChannel, Samples, Treatment
from phasemark.model.settings import FilterSettings, Settings
from phasemark.model.units import millivolts_per_value
from phasemark.signal.block_sums import BlockSums, block_sums
from phasemark.signal.butterworth import check_cutoff, high_pass, low_pass
from phasemark.signal.ecg import EcgRemoved, check_ecg, subtract_ecg
from phasemark.signal.gaps import infinite_as_missing
from phasemark.signal.notch import Lines, check_notch, notch, notch_lines


@dataclass(frozen=True, slots=True)
class Removed:
    """What was taken out of a channel beside its offset: heartbeats (None: not asked for) and power lines."""

    ecg: EcgRemoved | None = None
    lines: Lines = field(default_factory=Lines)

    def notes(self) -> tuple[str, ...]:
        """What was taken out and what was not, one sentence each."""
        said = []
        if self.ecg is not None:
            said.append(self.ecg.sentence())
        if self.lines.left_out:
            left_out = ", ".join(f"{hz:g}" for hz in self.lines.left_out)
            said.append(f"The notch leaves out {left_out} Hz: too high for the sampling rate.")
        return tuple(said)


@dataclass(frozen=True, slots=True, eq=False)
class Conditioned:
    """A channel in mV, filtered, with NaN where samples are missing, and the block sums of these values.

    values is read-only, shape (samples,), at the channel's own rate (Hz).
    """

    values: Samples
    rate: Rate
    sums: BlockSums
    treatment: Treatment
    removed: Removed = field(default_factory=Removed)


def check_filters(filters: FilterSettings, channels: Iterable[EmgChannel]) -> None:
    """Refuse filters that do not fit every channel they are for; the slowest one decides.

    Channels recorded already rectified are not filtered and have no say.

    Raises:
        BadData: one sentence that names the channel, its rate and what would fit.
    """
    raw = [channel for channel in channels if channel.treatment is Treatment.RAW]
    if not raw:
        return
    slowest = min(raw, key=lambda channel: channel.rate)
    if filters.ecg_template:
        check_ecg(slowest.rate, slowest.label)
    check_notch(filters, slowest.rate, slowest.label)
    if filters.highpass_hz is not None:
        check_cutoff("highpass", slowest.rate, filters.highpass_hz, slowest.label)
    if filters.lowpass_hz is not None:
        check_cutoff("lowpass", slowest.rate, filters.lowpass_hz, slowest.label, filters.highpass_hz)


def check_settings(settings: Settings, channels: Iterable[EmgChannel]) -> None:
    """Refuse settings whose filters, the study's and those of single muscles, do not fit their channels.

    Raises:
        BadData: as check_filters.
    """
    by_filter: dict[FilterSettings, list[EmgChannel]] = {}
    for channel in channels:
        by_filter.setdefault(settings.filter_for(channel.muscle), []).append(channel)
    for filters, own in by_filter.items():
        check_filters(filters, own)


def in_millivolts(raw: Samples, channel: EmgChannel) -> Samples:
    """Stored values as mV in a new array; missing and infinite values are NaN."""
    factor = millivolts_per_value(channel.unit, 1.0 if channel.gain is None else channel.gain)
    return infinite_as_missing(np.asarray(raw, dtype=np.float64) * factor)


def remove_offset(values: Samples) -> None:
    """Take the mean of the valid samples away from a signal, in place."""
    present = np.isfinite(values)
    valid = values if present.all() else values[present]
    if len(valid):
        values -= float(np.mean(valid))


def _band_passed(values: Samples, rate: Rate, filters: FilterSettings) -> Samples:
    if filters.highpass_hz is not None:
        values = high_pass(values, rate, filters.highpass_hz, filters.order)
    if filters.lowpass_hz is not None:
        values = low_pass(values, rate, filters.lowpass_hz, filters.order)
    return values


def _cleaned(values: Samples, rate: Rate, filters: FilterSettings) -> tuple[Samples, Removed]:
    ecg = None
    if filters.ecg_template:
        values, ecg = subtract_ecg(values, rate)
    return notch(values, rate, filters), Removed(ecg, notch_lines(filters, rate))


def condition(raw: Samples, channel: EmgChannel, filters: FilterSettings) -> Conditioned:
    """A channel made ready for measuring, from its stored values of shape (samples,).

    1. Into mV. A channel recorded already rectified ends here: taking its mean away or band-passing it would
       destroy it.
    2. The mean of the valid samples is taken away (where remove_offset).
    3. The mean heartbeat is subtracted (where ecg_template, and beats are found), from the signal with all its
       frequencies, of which the heart has the low ones.
    4. The notch (where notch_hz), before the band-pass so that its ends see a line as steady as it was recorded.
    5. High-pass, then low-pass, each zero-phase; every piece between gaps by itself, so that nothing is
       interpolated. A piece too short to be filtered (under 10 samples at order 4, under 0.6 s with a notch at 50 Hz
       of quality 30) becomes missing.

    What steps 3 and 4 did is kept in removed.

    Raises:
        BadData: a filter does not fit the channel's rate.
    """
    check_filters(filters, (channel,))
    values, removed = in_millivolts(raw, channel), Removed()
    if channel.treatment is Treatment.RAW:
        if filters.remove_offset:
            remove_offset(values)
        values, removed = _cleaned(values, channel.rate, filters)
        values = _band_passed(values, channel.rate, filters)
    values = np.ascontiguousarray(values)
    values.flags.writeable = False
    return Conditioned(values, channel.rate, block_sums(values), channel.treatment, removed)
