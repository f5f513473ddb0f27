"""ECG contamination of trunk muscles: the mean heartbeat taken out, locked to the beats that are detected.

Template subtraction beside a high-pass at 30 Hz (highpass_hz = 30) is what Drake & Callaghan (2006, J Electromyogr
Kinesiol 16:175-187, doi 10.1016/j.jelekin.2005.07.003) found best among 23 ways at 10 to 25 % of maximum.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from phasemark.model.clock import Rate, rate_text
from phasemark.model.errors import BadData
from phasemark.model.recording import Samples
from phasemark.signal.butterworth import high_pass
from phasemark.signal.heartbeats import LEAST_BEATS, LEAST_HEIGHT, LEAST_RATE_HZ, Beats, find_beats

_BEFORE_S, _AFTER_S = 0.10, 0.15  # the QRS complex and its slopes; shorter than any interval between beats
_TAPER_S = 0.03  # over which a template comes and goes, so that no steps are left
_SLOW_HZ = 5.0  # what is slower is no heartbeat that a high-pass would leave: drift, swings of a cable
_NEIGHBOURS = 20  # beats on either side that a template is the mean of
_SCALE_SD = 0.15  # by how much beats of a heart differ in size
_LEAST_SCALE, _MOST_SCALE = 0.5, 1.5
_TINY = float(np.finfo(np.float64).tiny)


@dataclass(frozen=True, slots=True)
class EcgRemoved:
    """What template subtraction took out of a channel.

    beats: samples of the channel; per_minute: rate of the median interval; share_of_power: power of what was taken
    out over power of the signal above 5 Hz before; agreement: how alike the clearer beats are (correlation);
    refused: why nothing was taken out, empty where it was. All numbers are 0 where refused.
    """

    beats: tuple[int, ...] = ()
    per_minute: float = 0.0
    share_of_power: float = 0.0
    agreement: float = 0.0
    refused: str = ""

    def sentence(self) -> str:
        """What was taken out, or why nothing was."""
        if self.refused:
            return self.refused
        return (
            f"ECG contamination: {len(self.beats)} heartbeats, {self.per_minute:.0f} a minute, were subtracted; "
            f"{100 * self.share_of_power:.2g} % of the power above {_SLOW_HZ:g} Hz."
        )


def check_ecg(rate: Rate, subject: str = "the signal") -> None:
    """Refuse template subtraction at a sampling rate that does not hold a QRS complex.

    Raises:
        BadData: one sentence with the reason.
    """
    if rate < LEAST_RATE_HZ:
        raise BadData(
            f"ECG template subtraction does not fit {subject}, sampled at {rate_text(rate)} Hz: it needs at least "
            f"{LEAST_RATE_HZ} Hz; switch it off."
        )


def _refusal(beats: Beats) -> str:
    if len(beats.at) < LEAST_BEATS:
        return f"No regular heartbeat is found, not even {LEAST_BEATS} beats in a row: nothing was subtracted."
    return (
        f"No regular heartbeat is found: what comes nearest agrees by {beats.agreement:.2f} (needed: "
        f"{beats.needed_agreement:.2f}) and stands {beats.height:.1f} SD out of the EMG (needed: {LEAST_HEIGHT:g}); "
        "nothing was subtracted."
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Windows:
    """Samples around each beat, shape (beats, samples of a window): places, values (0 where missing), presence."""

    places: NDArray[np.int64]
    values: Samples
    present: NDArray[np.bool_]


def _windows(x: Samples, at: NDArray[np.int64], rate: Rate) -> _Windows:
    before, after = round(_BEFORE_S * float(rate)), round(_AFTER_S * float(rate))
    places = at[:, None] + np.arange(-before, after + 1)
    inside = (places >= 0) & (places < len(x))
    places = np.clip(places, 0, len(x) - 1)
    values = x[places]
    present = inside & np.isfinite(values)
    return _Windows(places, np.where(present, values, 0.0), present)


def _over_neighbours(rows: Samples) -> Samples:
    """Sum of each row and its neighbours on either side, as far as there are any."""
    sums = np.zeros((len(rows) + 1, rows.shape[1]))
    np.cumsum(rows, axis=0, out=sums[1:])
    place = np.arange(len(rows))
    return np.asarray(sums[np.minimum(place + _NEIGHBOURS + 1, len(rows))] - sums[np.maximum(place - _NEIGHBOURS, 0)])


def _templates(windows: _Windows) -> Samples:
    """The mean heartbeat around each beat, shape as the windows.

    Mean over the beat and its neighbours, each weighted by the inverse of the power by which it differs from that
    mean (three rounds), so that beats in rest say what the heart looks like and those in strong EMG or under an
    artefact hardly do. A beat's own share h in its mean would take that share of its EMG out, none of it would
    leave all of the mean's own noise in; with a share of 1 - sqrt(1 - h) both are even, and the power of the EMG stays.
    """
    weights = np.ones((len(windows.values), 1)) * windows.present
    middle = np.median(windows.values, axis=0)
    for _ in range(3):
        differing = np.where(windows.present, windows.values - middle, 0.0)
        power = np.square(differing).sum(axis=1) / np.maximum(windows.present.sum(axis=1), 1)
        weights = windows.present / np.maximum(power, _TINY)[:, None]
        weights /= weights.max()
        total, summed = _over_neighbours(weights), _over_neighbours(weights * windows.values)
        middle = summed / np.maximum(total, _TINY)
    own = weights / np.maximum(total, _TINY)
    others = (summed - weights * windows.values) / np.maximum(total - weights, _TINY)
    share = 1 - np.sqrt(np.clip(1 - own, 0.0, 1.0))
    return np.asarray(share * windows.values + (1 - share) * others)


def _scales(windows: _Windows, templates: Samples) -> Samples:
    """By how much each template is multiplied: least squares, held to 1 by how much beats differ in size (SD 0.15).

    The stronger the EMG, the less the fit to one beat says and the nearer to 1 its scale stays.
    """
    rest = np.where(windows.present, windows.values - templates, 0.0)
    seen = np.where(windows.present, templates, 0.0)
    size = np.maximum(np.square(seen).sum(axis=1), _TINY)
    fitted = (rest * seen).sum(axis=1) / size
    # Mean square of the same fit at all shifts of the template: how far EMG alone moves it.
    spectra = np.abs(np.fft.rfft(rest, axis=1) * np.fft.rfft(seen, axis=1)) ** 2
    noise = 2 * spectra.sum(axis=1) / rest.shape[1] ** 2 / size**2
    held = 1 + fitted * _SCALE_SD**2 / (_SCALE_SD**2 + noise)
    return np.asarray(np.clip(held, _LEAST_SCALE, _MOST_SCALE))


def _taper(samples: int, rate: Rate) -> Samples:
    edge = round(_TAPER_S * float(rate))
    rise = (1 - np.cos(np.pi * (np.arange(edge) + 0.5) / max(edge, 1))) / 2
    return np.concatenate((rise, np.ones(samples - 2 * edge), rise[::-1]))


def _per_minute(at: Samples, rate: Rate) -> float:
    return 60 * float(rate) / float(np.median(np.diff(at)))


def subtract_ecg(values: Samples, rate: Rate) -> tuple[Samples, EcgRemoved]:
    """A channel without its heartbeats, and what was taken out; the same values where no regular beats are found.

    values: mV, shape (samples,), NaN where missing, not yet band-passed.

    1. Beats are looked for, 42 to 180 a minute (heartbeats.find_beats). Without a regular row nothing is changed.
    2. The template of a beat is the mean over it and 20 beats on either side of what is faster than 5 Hz, from
       0.10 s before to 0.15 s after; beats in strong EMG weigh little in it.
    3. It is scaled to each beat by least squares, comes and goes within 0.03 s, and is subtracted.

    What repeats with the beats in the same way is taken for the heart, whatever it is.

    Raises:
        BadData: the rate is too low.
    """
    check_ecg(rate)
    beats = find_beats(values, rate)
    if not beats.is_heart:
        return values, EcgRemoved(refused=_refusal(beats))
    fast = high_pass(values, rate, _SLOW_HZ, 2)
    at = np.rint(beats.at).astype(np.int64)
    windows = _windows(fast, at, rate)
    templates = _templates(windows)
    taken = templates * _scales(windows, templates)[:, None] * _taper(templates.shape[1], rate)
    taken = np.where(windows.present, taken, 0.0)
    result = values.copy()
    np.subtract.at(result, windows.places, taken)
    share = float(np.square(taken).sum() / max(np.nansum(np.square(fast)), _TINY))
    return result, EcgRemoved(tuple(at.tolist()), _per_minute(beats.at, rate), share, beats.agreement)
