"""Magnitude response of the whole chain of filters: high-pass, low-pass and notch, both passes together."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from phasemark.model.clock import Rate
from phasemark.model.recording import Samples
from phasemark.model.settings import FilterSettings
from phasemark.signal.butterworth import design
from phasemark.signal.notch import minus_3_db_band, notch_lines, notch_sections

FLOOR_DB = -300.0
"""A response below it is given as this: no recording holds it, and a picture cannot show minus infinity."""

_HALF_POWER_DB = -10 * np.log10(2)


def _sections(filters: FilterSettings, rate: Rate) -> list[NDArray[np.float64]]:
    sections = [notch_sections(filters, rate), *band_sections(filters, rate)]
    return [part for part in sections if len(part)]


def band_sections(filters: FilterSettings, rate: Rate) -> list[NDArray[np.float64]]:
    """Second-order sections of one pass of the high-pass and of the low-pass, of those that are on.

    Raises:
        BadData: a cut-off does not fit the rate.
    """
    parts = []
    if filters.highpass_hz is not None:
        parts.append(design("highpass", rate, filters.highpass_hz, filters.order))
    if filters.lowpass_hz is not None:
        parts.append(design("lowpass", rate, filters.lowpass_hz, filters.order))
    return parts


def _decibels(parts: list[NDArray[np.float64]], rate: Rate, frequencies: Samples) -> Samples:
    from scipy.signal import sosfreqz

    total = np.zeros(len(frequencies))
    for sections in parts:
        _, gains = sosfreqz(sections, frequencies, fs=float(rate))
        # a pass forward and one backward: the square of the magnitude, without phase
        total += 40 * np.log10(np.maximum(np.abs(gains), 1e-300))
    return np.maximum(total, FLOOR_DB)


def response(filters: FilterSettings, rate: Rate, frequencies: Samples) -> Samples:
    """Magnitude response (dB) of high-pass, low-pass and notch, both passes, at frequencies (Hz), same shape.

    20 log10 |H|, where |H| is the product of the squared magnitudes of single passes. Never below -300 dB; NaN
    beyond half the rate, where there is no signal. Removal of the offset and of heartbeats has no response.

    Raises:
        BadData: a filter does not fit the rate.
    """
    frequencies = np.asarray(frequencies, dtype=np.float64)
    inside = (frequencies >= 0) & (frequencies <= float(rate / 2))
    result = np.full(frequencies.shape, np.nan)
    result[inside] = _decibels(_sections(filters, rate), rate, frequencies[inside])
    return result


def _crossing(of: Callable[[float], float], passed: float, stopped: float) -> float:
    """Where a response falls through -3 dB between a frequency that is passed and one that is not; by bisection."""
    for _ in range(60):
        middle = (passed + stopped) / 2
        passed, stopped = (middle, stopped) if of(middle) >= _HALF_POWER_DB else (passed, middle)
    return (passed + stopped) / 2


def minus_3_db_points(filters: FilterSettings, rate: Rate) -> tuple[float | None, float | None]:
    """Ends (Hz) of the band that high-pass and low-pass leave, where both together are at -3 dB: lowest, highest.

    Found on the response itself. None where the band has no such end, both None where nothing gets through at more
    than -3 dB (cut-offs that nearly touch). A notch's own band is in notch_bands.

    Raises:
        BadData: a filter does not fit the rate.
    """
    parts = band_sections(filters, rate)
    half = float(rate / 2)
    frequencies = np.geomspace(half * 1e-6, half, 4001)
    decibels = _decibels(parts, rate, frequencies)
    best = int(decibels.argmax())
    if decibels[best] < _HALF_POWER_DB:
        return None, None

    def of(hz: float) -> float:
        return float(_decibels(parts, rate, np.array([hz]))[0])

    low = _crossing(of, float(frequencies[best]), 0.0) if filters.highpass_hz is not None else None
    high = _crossing(of, float(frequencies[best]), half) if filters.lowpass_hz is not None else None
    return low, high


def notch_bands(filters: FilterSettings, rate: Rate) -> tuple[tuple[float, float], ...]:
    """The -3 dB points (Hz) of each frequency that the notch takes out, both passes; none where it is off."""
    return tuple(minus_3_db_band(rate, hz, filters.notch_q) for hz in notch_lines(filters, rate).hz)
