"""Spectra of the half seconds of a channel, and one fine spectrum of the whole, for all checks to read."""

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from phasemark.model.clock import Rate, nearest_sample
from phasemark.model.recording import Samples

WINDOW_S = 0.5
FINE_S = 2.0
SHORTEST_FINE_S = 1.0
_LEAST_SAMPLES = 16
_CHUNK = 256


@dataclass(frozen=True, slots=True, eq=False)
class WindowSpectra:
    """Power spectra of overlapping windows of a channel that hold no missing sample.

    begins: first sample of each window, each of length samples, half of it further on than the last;
    frequencies: Hz, shape (lines,); power: mV^2 at each line, shape (windows, lines), without the window's mean
    and straight trend, a Hann window over it.
    """

    begins: NDArray[np.intp]
    length: int
    frequencies: Samples
    power: Samples

    def between(self, low_hz: float, high_hz: float) -> Samples:
        """Power (mV^2) of each window at low_hz <= f < high_hz, never that of its mean."""
        lines = (self.frequencies >= low_hz) & (self.frequencies < high_hz) & (self.frequencies > 0)
        return np.asarray(self.power[:, lines].sum(axis=1), dtype=np.float64)


def _whole_windows(x: Samples, length: int, step: int) -> NDArray[np.intp]:
    if len(x) < length:
        return np.empty(0, dtype=np.intp)
    begins = np.arange(0, len(x) - length + 1, step)
    missing = np.concatenate(([0], np.cumsum(~np.isfinite(x))))
    return np.asarray(begins[missing[begins + length] == missing[begins]], dtype=np.intp)


def _powers(windows: Samples) -> Samples:
    """Power of each line of each row, scaled so that a row's lines add up to its mean square (over many rows)."""
    length = windows.shape[1]
    ramp = np.arange(length) - (length - 1) / 2
    centred = windows - windows.mean(axis=1, keepdims=True)
    centred -= (centred @ ramp / (ramp @ ramp))[:, None] * ramp
    hann = np.sin(np.pi * (np.arange(length) + 0.5) / length) ** 2
    lines = np.abs(np.fft.rfft(centred * hann, axis=1)) ** 2
    lines *= 2 / (length * (hann @ hann))
    lines[:, 0] /= 2
    if length % 2 == 0:
        lines[:, -1] /= 2
    return np.asarray(lines)


def window_spectra(x: Samples, rate: Rate, window_s: float = WINDOW_S) -> WindowSpectra:
    """The spectra of a channel's windows of window_s seconds; none where it is shorter (or has no whole window)."""
    length = max(nearest_sample(window_s, rate), _LEAST_SAMPLES)
    begins = _whole_windows(x, length, max(1, length // 2))
    frequencies = np.asarray(np.fft.rfftfreq(length, 1 / float(rate)), dtype=np.float64)
    power = np.empty((len(begins), len(frequencies)))
    if len(begins):
        views = sliding_window_view(x, length)
        for at in range(0, len(begins), _CHUNK):
            power[at : at + _CHUNK] = _powers(views[begins[at : at + _CHUNK]])
    return WindowSpectra(begins, length, frequencies, power)


def fine_spectrum(x: Samples, rate: Rate) -> tuple[Samples, Samples] | None:
    """Frequencies (Hz) and mean power (mV^2 a line) of windows of 2 s; of 1 s in a shorter channel; else None."""
    for window_s in (FINE_S, SHORTEST_FINE_S):
        spectra = window_spectra(x, rate, window_s)
        if len(spectra.begins):
            return spectra.frequencies, np.asarray(spectra.power.mean(axis=0))
    return None
