"""Checks for what lies under the band of EMG: offset, drift, low-frequency power, movement artefacts."""

from math import sqrt

import numpy as np

from phasemark.model.clock import nearest_sample
from phasemark.model.recording import Samples
from phasemark.signal.quality.finding import Check, Finding
from phasemark.signal.quality.inspected import PERCENT, Inspected, merged
from phasemark.signal.quality.spectra import WINDOW_S


def offset(about: Inspected) -> Finding | None:
    """The mean beside the RMS of the signal without it."""
    if about.rms <= 0:
        return None
    ratio, limit = abs(about.mean) / about.rms, about.settings.offset_ratio
    flagged = ratio > limit
    what = f"The mean of {1000 * about.mean:.3g} uV is {ratio:.2g} times the RMS of the signal"
    means = "keep the removal of the offset on; a large one takes up range of the amplifier." if flagged else "small."
    return Finding(Check.OFFSET, ratio, "times", limit, flagged, f"{what}: {means}")


def _second_means(about: Inspected) -> Samples:
    length = nearest_sample(1, about.rate)
    whole = len(about.raw) // length if length else 0
    seconds_each = about.raw[: whole * length].reshape(whole, -1) if whole else np.empty((0, 1))
    enough = np.isfinite(seconds_each).mean(axis=1) >= 0.5
    return np.asarray(np.nanmean(seconds_each[enough], axis=1)) if enough.any() else np.empty(0)


def in_band_rms(about: Inspected) -> float:
    """RMS (mV) of the filtered channel; 0 where it has no valid sample."""
    x = about.conditioned.values
    valid = x[np.isfinite(x)]
    return sqrt(float(np.mean(valid**2))) if len(valid) else 0.0


def drift(about: Inspected) -> Finding | None:
    """Highest minus lowest mean of one second, beside the RMS of the filtered signal; None under two seconds."""
    means, rms = _second_means(about), in_band_rms(about)
    if len(means) < 2 or rms <= 0:
        return None
    wander, limit = float(np.ptp(means)), about.settings.drift_ratio
    ratio = wander / rms
    flagged = ratio > limit
    what = f"The mean of a second wanders by {1000 * wander:.3g} uV, {ratio:.2g} times the RMS of the filtered signal"
    means_this = "the baseline drifts; the high-pass removes it, look whether an electrode came loose."
    return Finding(Check.DRIFT, ratio, "times", limit, flagged, f"{what}: {means_this if flagged else 'little.'}")


def low_frequency(about: Inspected) -> Finding | None:
    """Share of the power of all half seconds that lies under low_frequency_hz (their means and trends taken away)."""
    edge = about.settings.low_frequency_hz
    low, whole = (float(about.windows.between(0, top).sum()) for top in (edge, np.inf))
    if whole <= 0 or edge >= about.rate / 2:
        return None
    share, limit = PERCENT * low / whole, PERCENT * about.settings.low_frequency_share
    what = f"{share:.0f} % of the power lies under {edge:g} Hz"
    means = (
        "more than EMG has there: cables or electrodes move, or the heart beats in it; the high-pass takes out what "
        "is under its cut-off, look at the trace for the rest."
    )
    flagged = share > limit
    sentence = f"{what}, {means}" if flagged else f"{what}, as in EMG."
    return Finding(Check.LOW_FREQUENCY, share, "%", limit, flagged, sentence)


def movement_artefact(about: Inspected) -> Finding | None:
    """Largest amplitude under low_frequency_hz of a half second, over the usual one of the channel.

    The usual one is the median over all half seconds, flat ones aside. Only those count in which more than
    artefact_share of the power lies there (a burst of EMG raises the low frequencies too, but its own more), and
    that amplitude is more than half the RMS of the filtered channel (or it would not matter).
    """
    settings, windows = about.settings, about.windows
    edge, ratio_limit = settings.low_frequency_hz, settings.artefact_ratio
    low, whole = windows.between(0, edge), windows.between(0, np.inf)
    usual = float(np.median(low[about.alive])) if about.alive.any() else 0.0
    if usual <= 0 or edge >= about.rate / 2:
        return None
    share = low / np.where(whole > 0, whole, 1.0)
    ratio = np.sqrt(low / usual)
    counts = (share > settings.artefact_share) & (np.sqrt(low) > in_band_rms(about) / 2)
    figure = float(ratio[counts].max()) if counts.any() else 0.0
    begins = windows.begins[counts & (ratio > ratio_limit)].tolist()
    places = merged(tuple((begin, begin + windows.length) for begin in begins))
    if not places:
        sentence = f"No half second stands out under {edge:g} Hz."
        return Finding(Check.ARTEFACT, figure, "times", ratio_limit, False, sentence)
    worst = int(np.argmax(np.where(counts, ratio, 0)))
    at_s = about.ms(int(windows.begins[worst])) / 1000 + WINDOW_S / 2
    sentence = (
        f"Around {at_s:.1f} s the amplitude under {edge:g} Hz is {figure:.0f} times the usual, "
        f"{PERCENT * float(share[worst]):.0f} % of the power there: a movement artefact, in {len(places)} "
        f"{'place' if len(places) == 1 else 'places'}; leave out what it falls into, or raise the high-pass."
    )
    return Finding(Check.ARTEFACT, figure, "times", ratio_limit, True, sentence, places)
