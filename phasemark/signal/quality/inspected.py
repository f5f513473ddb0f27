"""A channel laid out for its checks: what several of them read is computed once."""

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from phasemark.model.clock import Rate, seconds
from phasemark.model.quality_settings import QualitySettings
from phasemark.model.recording import EmgChannel, Samples
from phasemark.signal.conditioning import Conditioned
from phasemark.signal.quality.finding import Places
from phasemark.signal.quality.spectra import WindowSpectra, window_spectra

PERCENT = 100.0
_ROUNDING = 1e-20


@dataclass(frozen=True, slots=True, eq=False)
class Inspected:
    """One channel under inspection: raw values (mV, offset and all), what the filters made of it, its thresholds.

    values and counts: its distinct values, rising, and how often each occurs. mean (mV) and rms (mV, without the
    mean) are those of the raw values; windows are spectra of their half seconds.
    """

    raw: Samples
    conditioned: Conditioned
    channel: EmgChannel
    settings: QualitySettings
    values: Samples
    counts: NDArray[np.intp]
    mean: float
    rms: float
    windows: WindowSpectra

    @property
    def alive(self) -> NDArray[np.bool_]:
        """Which windows hold more than the rounding of a channel that stays at one value."""
        return np.asarray(self.windows.between(0, np.inf) > _ROUNDING * (self.rms**2 + self.mean**2))

    @property
    def rate(self) -> Rate:
        """Rate of the channel (Hz)."""
        return self.channel.rate

    def ms(self, samples: int) -> float:
        """So many samples as ms."""
        return 1000 * seconds(samples, self.rate)


def inspected(raw: Samples, conditioned: Conditioned, channel: EmgChannel, settings: QualitySettings) -> Inspected:
    """A channel of raw mV values of shape (samples,) laid out for its checks."""
    valid = raw[np.isfinite(raw)]
    values, counts = np.unique(valid, return_counts=True)
    mean = float(valid.mean()) if len(valid) else 0.0
    rms = sqrt(float(np.mean((valid - mean) ** 2))) if len(values) > 1 else 0.0
    windows = window_spectra(raw, channel.rate)
    return Inspected(raw, conditioned, channel, settings, values, counts, mean, rms, windows)


def merged(places: Places) -> Places:
    """Places in order, those that overlap or touch made one."""
    found: list[tuple[int, int]] = []
    for begin, end in sorted(places):
        if found and begin <= found[-1][1]:
            found[-1] = (found[-1][0], max(end, found[-1][1]))
        else:
            found.append((begin, end))
    return tuple(found)
