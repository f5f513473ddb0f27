"""Power-line notch: narrow, zero-phase, with harmonics, its width stated for the whole double pass.

One pass is the second-order notch of scipy.signal.iirnotch (Orfanidis 1996, Introduction to Signal Processing,
as its documentation cites), whose gain is 1 / sqrt(1 + u^2) with u = tan(pi width / rate) sin(w) / (cos(w) -
cos(w0)). The double pass is at -3 dB where u^2 = sqrt(2) - 1, so that tan(pi width / rate) of a pass is multiplied
by sqrt(sqrt(2) - 1) = 0.644; the -3 dB points of the double pass then lie exactly width = hz / quality apart.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import atan, ceil, pi, sqrt, tan

import numpy as np
from numpy.typing import NDArray

from phasemark.model.clock import Rate, rate_text
from phasemark.model.errors import BadData
from phasemark.model.recording import Samples
from phasemark.model.settings import FilterSettings
from phasemark.signal.gaps import valid_pieces

_LEAST_QUALITY = 0.5  # below it the lower -3 dB point would lie under 0 Hz


@dataclass(frozen=True, slots=True)
class Lines:
    """Frequencies (Hz) that a notch takes out at some sampling rate, and those left out since they do not fit it."""

    hz: tuple[float, ...] = ()
    left_out: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class LinePower:
    """Power (mV^2) within a notch's width around one of its frequencies, before and after the notch."""

    hz: float
    before: float
    after: float


def _fits(rate: Rate, hz: float, quality: float) -> bool:
    return hz * (1 + 1 / (2 * quality)) < rate / 2


def notch_lines(filters: FilterSettings, rate: Rate) -> Lines:
    """What the notch takes out at a sampling rate: its frequency and multiples that lie whole below half of it."""
    if filters.notch_hz is None:
        return Lines()
    wanted = [filters.notch_hz * times for times in range(1, filters.notch_harmonics + 1)]
    fitting = tuple(hz for hz in wanted if _fits(rate, hz, filters.notch_q))
    return Lines(fitting, tuple(wanted[len(fitting) :]))


def check_notch(filters: FilterSettings, rate: Rate, subject: str = "the signal") -> None:
    """Refuse a notch whose frequency does not fit a sampling rate; multiples of it that do not fit are left out.

    Raises:
        BadData: one sentence with the reason.
    """
    hz, quality = filters.notch_hz, filters.notch_q
    if hz is None:
        return
    if quality <= _LEAST_QUALITY:
        raise BadData(
            f"A notch at {hz:g} Hz of quality {quality:g} would be {hz / quality:g} Hz wide and reach below 0 Hz: "
            f"filter.notch_q must be above {_LEAST_QUALITY:g}."
        )
    if not _fits(rate, hz, quality):
        limit = float(rate / 2) / (1 + 1 / (2 * quality))
        raise BadData(
            f"The notch at {hz:g} Hz does not fit {subject}, sampled at {rate_text(rate)} Hz: it must be below "
            f"{limit:.6g} Hz; switch the notch off."
        )


def _pass_quality(rate: Rate, hz: float, quality: float) -> float:
    """Quality factor of a single pass, for which the double pass is at -3 dB at points hz / quality apart."""
    half = atan(sqrt(sqrt(2) - 1) * tan(pi * hz / quality / float(rate)))
    return pi * hz / float(rate) / half


def minus_3_db_band(rate: Rate, hz: float, quality: float) -> tuple[float, float]:
    """The two frequencies (Hz) at which the double pass of a notch is at -3 dB; exactly hz / quality apart.

    Of one notch by itself; its neighbours at multiples of hz take a few thousandths of a dB more.
    """
    half = pi * hz / quality / float(rate)  # half of the width, in radians a sample
    middle = 2 * pi * hz / float(rate)
    # cos(w0) - cos(w) = tan(half) sin(w) at the upper point, which is cos(w - half) = cos(w0) cos(half)
    turned = np.arccos(np.cos(middle) * np.cos(half))
    low, high = (float(rate) / (2 * pi) * (turned - half), float(rate) / (2 * pi) * (turned + half))
    return float(low), float(high)


@lru_cache(maxsize=64)
def _sections(rate: Rate, lines: tuple[float, ...], quality: float) -> NDArray[np.float64]:
    from scipy.signal import iirnotch

    rows = []
    for hz in lines:
        b, a = iirnotch(hz, _pass_quality(rate, hz, quality), fs=float(rate))
        rows.append(np.concatenate((b, a)))
    return np.asarray(rows, dtype=np.float64)


def notch_sections(filters: FilterSettings, rate: Rate) -> NDArray[np.float64]:
    """Second-order sections, shape (lines, 6), of ONE pass of the notch; none where it is off.

    Raises:
        BadData: the notch does not fit the rate.
    """
    check_notch(filters, rate)
    lines = notch_lines(filters, rate).hz
    return _sections(rate, lines, filters.notch_q).copy() if lines else np.empty((0, 6))


def settling_samples(filters: FilterSettings, rate: Rate) -> int:
    """Samples in the inverse of the notch's width (0.6 s at 50 Hz and quality 30).

    In less time nothing can tell the line from EMG beside it; 0 where the notch is off.
    """
    return 0 if filters.notch_hz is None else ceil(filters.notch_q / filters.notch_hz * float(rate))


@lru_cache(maxsize=16)
def _fit_of_lines(rate: Rate, lines: tuple[float, ...], samples: int) -> NDArray[np.complex128]:
    """Matrix, shape (lines + 1, samples), that gives the phasors at the first sample of the lines and of 0 Hz.

    By least squares over so many samples.
    """
    angles = np.outer(np.arange(samples), np.asarray(lines) * (2 * pi / float(rate)))
    waves = np.hstack((np.ones((samples, 1)), np.cos(angles), np.sin(angles)))
    parts = np.linalg.pinv(waves)
    count = len(lines)
    phasors = parts[1 : count + 1] - 1j * parts[count + 1 :]
    return np.vstack((parts[:1].astype(np.complex128), phasors))


@lru_cache(maxsize=64)
def _steady_states(rate: Rate, lines: tuple[float, ...], quality: float) -> NDArray[np.complex128]:
    """States, shape (lines + 1, sections, 2), that waves of amplitude 1 of 0 Hz and of each line leave in the sections.

    Of the transposed direct form II, y = b0 x + z0, z0' = b1 x - a1 y + z1, before a sample at which the wave is 1.
    """
    sections = _sections(rate, lines, quality)
    states = np.zeros((len(lines) + 1, len(sections), 2), dtype=np.complex128)
    for row, hz in enumerate((0.0, *lines)):
        turn, wave = np.exp(2j * pi * hz / float(rate)), 1.0 + 0j
        for place, (b0, b1, b2, _, a1, a2) in enumerate(sections):
            gain = (b0 + b1 / turn + b2 / turn**2) / (1 + a1 / turn + a2 / turn**2)
            first = gain - b0
            states[row, place] = wave * first, wave * (first * turn - b1 + a1 * gain)
            wave *= gain
    return states


def _one_pass(x: Samples, rate: Rate, lines: tuple[float, ...], quality: float, settling: int) -> Samples:
    # Begins in the state in which a line that was there for ever, as it is found in the first samples, would have
    # left the filter. From rest the filter would ring for a second and let the line through meanwhile.
    from scipy.signal import sosfilt

    # einsum and not @: a product this small is slowed many times over by threads of its own where cores are busy
    phasors = np.einsum("ls,s->l", _fit_of_lines(rate, lines, settling), x[:settling])
    state = np.einsum("l,lsk->sk", phasors, _steady_states(rate, lines, quality)).real
    filtered, _ = sosfilt(_sections(rate, lines, quality), x, zi=np.ascontiguousarray(state))
    return np.asarray(filtered, dtype=np.float64)


def notch(x: Samples, rate: Rate, filters: FilterSettings) -> Samples:
    """The signal, shape (samples,), without the power line: forward and backward, no lag; x itself where it is off.

    Each frequency hz of notch_lines is taken out with a -3 dB width of hz / notch_q for both passes together. Every
    piece between gaps is filtered by itself; one shorter than settling_samples comes back missing. A pass begins
    with the line as it is found in those first samples, so that a steady line leaves no ringing at the ends. A
    notch takes out the EMG within its width as well.

    Raises:
        BadData: the notch does not fit the rate.
    """
    check_notch(filters, rate)
    lines, quality = notch_lines(filters, rate).hz, filters.notch_q
    if not lines:
        return x
    settling = settling_samples(filters, rate)
    result = np.full(len(x), np.nan)
    for begin, end in valid_pieces(x):
        if end - begin >= settling:
            forward = _one_pass(x[begin:end], rate, lines, quality, settling)
            result[begin:end] = _one_pass(forward[::-1], rate, lines, quality, settling)[::-1]
    return result


def band_power(x: Samples, rate: Rate, hz: float, width: float) -> float:
    """Power (the square of the signal's unit) between hz - width / 2 and hz + width / 2; nan where it cannot be told.

    Mean of periodograms over Hann windows of 4 / width seconds that overlap by half (Welch 1967, IEEE Trans Audio
    Electroacoust 15:70-73), so that a steady line at hz has all its power, half the square of its amplitude,
    within the band. Pieces between gaps shorter than a window have no say; nan where all are, or where the band
    reaches beyond half the rate.

    Raises:
        ValueError: the width is not above zero.
    """
    if not width > 0:
        raise ValueError(f"a band has a width above zero, not {width}")
    from scipy.signal import welch

    window = ceil(4 / width * float(rate))
    if hz + width / 2 > rate / 2:
        return float("nan")
    total, weight = 0.0, 0
    for begin, end in valid_pieces(x):
        if end - begin >= window:
            frequencies, density = welch(x[begin:end], float(rate), nperseg=window, detrend="constant")
            # each line of the spectrum stands for the cell around it, and counts with as much of it as lies within
            apart = frequencies[1]
            inside = np.clip((width / 2 - np.abs(frequencies - hz)) / apart + 0.5, 0.0, 1.0)
            total += float((density * inside).sum() * apart) * (end - begin)
            weight += end - begin
    return total / weight if weight else float("nan")


def line_powers(before: Samples, rate: Rate, filters: FilterSettings) -> tuple[LinePower, ...]:
    """The power around each line of the notch, in a signal (mV) and in what the notch leaves of it."""
    after = notch(before, rate, filters)
    powers = []
    for hz in notch_lines(filters, rate).hz:
        width = hz / filters.notch_q
        powers.append(LinePower(hz, band_power(before, rate, hz, width), band_power(after, rate, hz, width)))
    return tuple(powers)
