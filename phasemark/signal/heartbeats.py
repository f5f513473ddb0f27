"""Where the heart beats in surface EMG of trunk muscles: candidates of QRS complexes, and the regular row among them.

In strong EMG single beats cannot be seen. So the whole row is found at once: among candidates, each as high as it
stands out of the EMG around it, the row that adds up to most while its intervals change little from beat to beat
(dynamic programming, as beat trackers of music do: Ellis 2007, J New Music Res 36:51-60, from memory). How strong
the EMG is, is told by the frequencies above those of the heart. A second round looks for the mean waveform of the
first one's clearest beats.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from phasemark.model.clock import Rate
from phasemark.model.recording import Samples
from phasemark.signal.butterworth import high_pass, low_pass
from phasemark.signal.gaps import valid_pieces

SLOWEST_HZ, FASTEST_HZ = 0.7, 3.0
"""Rates of the heart that are looked for: 42 to 180 beats a minute; the refractory time is 1 / 3 s."""
LEAST_RATE_HZ = 200
"""A slower sampling rate does not hold the QRS complex (common practice, no source)."""

LEAST_BEATS = 5
LEAST_AGREEMENT, LEAST_HEIGHT = 0.88, 4.5
"""From which on a row is a heart's. Set on noise and on leg muscles, without a heart: some row is always found,
of waveforms that agree by 0.75 to 0.9, since they were chosen for that, and stand 2 to 4 SD out of the EMG."""

_MORE_IN_SHORT_ROWS = 0.4  # over the number of beats: 0.05 for 8 of them
_BAND_HZ = (8.0, 30.0)  # most of the QRS complex's power, little of EMG's (common practice, no source)
_BAND_ORDER = 8
_COARSE_HZ = 200  # rate that is worked at
_APART_S = 0.12  # candidates lie further apart
_AROUND = 24  # candidates whose heights tell how high one stands out: some 4 s
_NOISE_SHARE = 40.0  # percentile of their heights that is taken for noise
_HIGHEST = 1.5  # first round: logarithm of height over noise above which it counts no more, as in a lone artefact
_HIGH_HZ = 70.0  # what is above comes from muscles
_LEVEL_S = 0.25  # time over which their level is taken
_MOST = 6.0  # later rounds: most that a candidate adds to or takes from a row
_ROUNDS = 2
_CHANGE = 60.0  # cost of the squared logarithm of two neighbouring intervals' ratio: 1 / (2 SD^2) of an SD of 9 %
_CLEARER = 75.0  # percentile over beats at which a row is judged
_WAVE_S = 0.08  # half the length of the waveform that is looked for

Places = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Coarse:
    """The signal in the band of the QRS complex at a low rate, every step-th sample, missing ones 0, and its pieces.

    level is the RMS of what is above that band, around each sample.
    """

    values: Samples
    level: Samples
    step: int
    rate_hz: float
    pieces: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Beats:
    """A row of beats, samples (fractional) of the signal's rate, and two signs of whether it is a heart's.

    agreement: correlation (-1 to 1) of a beat's waveform with the mean of all others; height: its likeness to the
    mean waveform over the SD of the EMG's. Both are upper quartiles over beats: in strong EMG the others are buried.
    """

    at: Samples
    agreement: float
    height: float

    @property
    def needed_agreement(self) -> float:
        """The agreement from which on a row is a heart's: more in a short row, whose agreement is more of chance."""
        return LEAST_AGREEMENT + _MORE_IN_SHORT_ROWS / max(len(self.at), 1)

    @property
    def is_heart(self) -> bool:
        """Whether the row is taken for a heart's: long enough, its waveforms alike, and well above the EMG."""
        return len(self.at) >= LEAST_BEATS and self.agreement >= self.needed_agreement and self.height >= LEAST_HEIGHT


def _coarse(values: Samples, rate: Rate) -> Coarse:
    """values: shape (samples,), NaN where missing."""
    step = max(1, int(rate / _COARSE_HZ))
    slow = low_pass(values, rate, _BAND_HZ[1], _BAND_ORDER)[::step].copy()
    slow = high_pass(slow, rate / step, _BAND_HZ[0], 4)
    pieces = valid_pieces(slow)
    level = _level(values, rate, step)
    return Coarse(np.nan_to_num(slow, copy=False), level, step, float(rate / step), pieces)


def _level(values: Samples, rate: Rate, step: int) -> Samples:
    from scipy.ndimage import uniform_filter1d

    power = np.nan_to_num(np.square(high_pass(values, rate, _HIGH_HZ, 4)), copy=False)
    mean = uniform_filter1d(power, max(1, round(_LEVEL_S * float(rate))))[::step]
    return np.sqrt(np.maximum(mean, np.finfo(np.float64).tiny))


def _peaks(heights: Samples, apart: int) -> Places:
    from scipy.signal import find_peaks

    found, _ = find_peaks(heights, distance=max(1, apart))
    return np.asarray(found, dtype=np.int64)


def _standing_out(heights: Samples) -> Samples:
    """Logarithm of heights of candidates over the noise around each, bounded both ways."""
    from scipy.ndimage import percentile_filter

    noise = percentile_filter(heights, _NOISE_SHARE, size=2 * _AROUND + 1, mode="nearest")
    smallest = np.finfo(np.float64).tiny
    return np.clip(np.log(np.maximum(heights, smallest) / np.maximum(noise, smallest)), -_HIGHEST, _HIGHEST)


def _best_row(times: Samples, gains: Samples, begin: float, end: float) -> Places:
    """The row of candidates whose gains add up to most, less the cost of changing intervals; empty where there is none.

    times: of candidates (s), rising. A row begins within one longest interval of begin and ends so before end.
    Best sums are kept for each pair of neighbours in a row, since the cost needs both intervals.
    """
    shortest, longest = 1 / FASTEST_HZ, 1 / SLOWEST_HZ
    firsts = np.searchsorted(times, times - longest, side="left")
    lasts = np.searchsorted(times, times - shortest, side="right")
    width = int((lasts - firsts).max(initial=0))
    if not width:
        return np.empty(0, dtype=np.int64)
    sums = np.full((len(times), width), -np.inf)
    intervals = np.ones((len(times), width))  # their logarithms; of no row where the sum is not finite
    before = np.full((len(times), width), -1, dtype=np.int64)
    for place in range(len(times)):
        earlier = np.arange(firsts[place], lasts[place])
        if not len(earlier):
            continue
        own = np.log(times[place] - times[earlier])
        longer = sums[earlier] - _CHANGE * (own[:, None] - intervals[earlier]) ** 2
        best = longer.argmax(axis=1)
        value = longer[np.arange(len(earlier)), best]
        opening = np.where(times[earlier] <= begin + longest, gains[earlier], -np.inf)
        opens = opening >= value
        here = slice(0, len(earlier))
        sums[place, here] = gains[place] + np.where(opens, opening, value)
        intervals[place, here] = own
        before[place, here] = np.where(opens, -1, best)
    return _traced(sums, before, firsts, int(np.searchsorted(times, end - longest)))


def _traced(sums: Samples, before: Places, firsts: Places, from_place: int) -> Places:
    closing = sums[from_place:]
    if not np.isfinite(closing).any():
        return np.empty(0, dtype=np.int64)
    place, back = (int(n) for n in np.unravel_index(int(closing.argmax()), closing.shape))
    place += from_place
    row = [place]
    while True:
        earlier, back = int(firsts[place]) + back, int(before[place, back])
        row.append(earlier)
        if back < 0:
            return np.asarray(row[::-1], dtype=np.int64)
        place = earlier


def _row(coarse: Coarse, heights: Samples, gain_of: Callable[[Places], Samples]) -> tuple[Places, Samples]:
    """Samples of the coarse signal at which the heart beats, each with its gain.

    heights: at whose peaks a beat can be; gain_of: what each of those adds to a row.
    """
    places, gains = [np.empty(0, dtype=np.int64)], [np.empty(0)]
    for begin, end in coarse.pieces:
        candidates = begin + _peaks(heights[begin:end], int(_APART_S * coarse.rate_hz))
        if len(candidates):
            gain = gain_of(candidates)
            row = _best_row(candidates / coarse.rate_hz, gain, begin / coarse.rate_hz, end / coarse.rate_hz)
            places.append(candidates[row])
            gains.append(gain[row])
    return np.concatenate(places), np.concatenate(gains)


def _noise(coarse: Coarse, likeness: Samples) -> Samples:
    """SD of the likeness where there is EMG alone, around each sample; beats are too few to change the median."""
    return np.asarray(np.median(np.abs(likeness) / coarse.level) / 0.6745 * coarse.level)


def _evidence(coarse: Coarse, likeness: Samples, size: float) -> Callable[[Places], Samples]:
    """For places, the logarithm of how much likelier their likeness is with a wave of a size there than without.

    Of Gaussian noise as strong as the EMG around each place; bounded both ways.
    """
    noise = _noise(coarse, likeness)

    def gain_of(places: Places) -> Samples:
        gains = (likeness[places] * size - size**2 / 2) / np.square(noise[places])
        return np.asarray(np.clip(gains, -_MOST, _MOST))

    return gain_of


def _power(coarse: Coarse) -> Samples:
    from scipy.ndimage import gaussian_filter1d

    return np.asarray(gaussian_filter1d(np.square(coarse.values), 0.02 * coarse.rate_hz))


def _waves(x: Samples, places: Places, half: int) -> Samples:
    """Waveforms, shape (places, 2 half + 1), around places that lie at least half from both ends."""
    return np.asarray(x[places[:, None] + np.arange(-half, half + 1)])


def _inside(places: Places, half: int, length: int) -> NDArray[np.bool_]:
    return np.asarray((places >= half) & (places < length - half))


def _mean_wave(coarse: Coarse, places: Places, gains: Samples, half: int) -> Samples | None:
    """Mean waveform of the half of the beats that stand out most, each brought into step with the clearest."""
    usable = _inside(places, 2 * half, len(coarse.values))
    places, gains = places[usable], gains[usable]
    if len(places) < 4:
        return None
    clear = places[np.argsort(-gains, kind="stable")[: max(4, len(places) // 2)]]
    wave = _waves(coarse.values, clear[:1], half)[0]
    for _ in range(3):
        around = np.lib.stride_tricks.sliding_window_view(_waves(coarse.values, clear, 2 * half), len(wave), axis=1)
        shifts = (around @ wave).argmax(axis=1) - half
        waves = _waves(coarse.values, np.clip(clear + shifts, half, len(coarse.values) - half - 1), half)
        sizes = np.linalg.norm(waves, axis=1, keepdims=True)
        wave = (waves / np.maximum(sizes, np.finfo(np.float64).tiny)).mean(axis=0)
    return np.asarray(wave)


def _between(heights: Samples, places: Places) -> Samples:
    """Places moved to the top of the parabola through each and its neighbours."""
    places = np.clip(places, 1, len(heights) - 2)
    left, middle, right = heights[places - 1], heights[places], heights[places + 1]
    bend = left - 2 * middle + right
    moved = np.divide(left - right, 2 * bend, out=np.zeros_like(bend), where=bend < 0)
    return np.asarray(places + np.clip(moved, -0.5, 0.5))


def _agreement(coarse: Coarse, places: Places, half: int) -> float:
    """Upper quartile over beats of the correlation of a waveform with the mean of all others."""
    places = places[_inside(places, half, len(coarse.values))]
    if len(places) < 3:
        return 0.0
    waves = _waves(coarse.values, places, half)
    sizes = np.linalg.norm(waves, axis=1, keepdims=True)
    waves = waves / np.maximum(sizes, np.finfo(np.float64).tiny)
    others = waves.sum(axis=0) - waves
    sizes = np.linalg.norm(others, axis=1)
    each = (waves * others).sum(axis=1) / np.maximum(sizes, np.finfo(np.float64).tiny)
    return float(np.percentile(each, _CLEARER))


def _size(likeness: Samples, places: Places, gains: Samples, half: int) -> float:
    """Median over the half of the beats that stand out most of the highest likeness near each."""
    clear = places[np.argsort(-gains, kind="stable")[: max(4, len(places) // 2)]]
    near = np.clip(clear[:, None] + np.arange(-half, half + 1), 0, len(likeness) - 1)
    return float(np.median(likeness[near].max(axis=1)))


def find_beats(values: Samples, rate: Rate) -> Beats:
    """The most beat-like regular row in a signal of shape (samples,), NaN where missing.

    Some row is found in any signal long enough: whether it is a heart's says Beats.is_heart. Pieces between gaps
    hold rows of their own.

    Raises:
        BadData: the rate does not hold the band in which EMG is told from the heart; see LEAST_RATE_HZ.
    """
    nothing = Beats(np.empty(0), 0.0, 0.0)
    coarse = _coarse(values, rate)
    half = round(_WAVE_S * coarse.rate_hz)
    power = _power(coarse)
    places, gains = _row(coarse, power, lambda places: _standing_out(power[places] / np.square(coarse.level[places])))
    for _ in range(_ROUNDS):
        wave = _mean_wave(coarse, places, gains, half)
        if wave is None:
            return nothing
        likeness = np.correlate(coarse.values, wave, "same")
        size = _size(likeness, places, gains, half)
        if not size > 0:
            return nothing
        places, gains = _row(coarse, likeness, _evidence(coarse, likeness, size))
    if len(places) < LEAST_BEATS:
        return nothing
    height = float(np.percentile(likeness[places] / _noise(coarse, likeness)[places], _CLEARER))
    return Beats(_between(likeness, places) * coarse.step, _agreement(coarse, places, half), height)
