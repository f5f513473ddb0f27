"""Checks for whether the sampling rate holds the band of EMG."""

import numpy as np

from phasemark.model.clock import rate_text
from phasemark.signal.quality.finding import Check, Finding
from phasemark.signal.quality.inspected import PERCENT, Inspected

_FROM_HZ = 20.0
_TOP = 0.9
_QUARTER = 0.25
_RISES = 4.0  # active over quiet half seconds, in power, before the muscle's own spectrum can be told


def sampling_rate(about: Inspected) -> Finding:
    """The sampling rate (Hz) against the least for surface EMG."""
    rate, limit = float(about.rate), about.settings.rate_hz
    if rate < limit:
        sentence = (
            f"{rate_text(about.rate)} Hz holds EMG only up to {rate / 2:g} Hz, and its band reaches to about "
            f"{limit / 2:g} Hz: the amplitude is that of a part of the band; record faster."
        )
    else:
        sentence = f"{rate_text(about.rate)} Hz holds EMG up to {rate / 2:g} Hz."
    return Finding(Check.RATE, rate, "Hz", limit, rate < limit, sentence)


def bandwidth(about: Inspected) -> Finding | None:
    """Share of the muscle's power (from 20 Hz on) in the highest tenth of the frequencies that the rate can hold.

    The muscle's spectrum is that of the strongest quarter of the half seconds less that of the weakest, so that the
    flat noise of a baseline is none of it; None where the two differ by less than 6 dB. A flat spectrum has a tenth.
    """
    frequencies = about.windows.frequencies
    band = frequencies >= _FROM_HZ
    power = about.windows.power[:, band]
    count = max(1, int(_QUARTER * len(power)))
    if len(power) < 2 or not band.any():
        return None
    order = np.argsort(power.sum(axis=1))
    quiet, active = (power[order[part]].mean(axis=0) for part in (slice(count), slice(-count, None)))
    if active.sum() <= _RISES * quiet.sum():
        return None
    muscle = np.maximum(active - quiet, 0.0)
    half = float(about.rate) / 2
    top = frequencies[band] >= _TOP * half
    share, limit = PERCENT * float(muscle[top].sum() / muscle.sum()), PERCENT * about.settings.bandwidth_share
    what = f"{share:.2g} % of the muscle's power lies between {_TOP * half:g} and {half:g} Hz"
    if share > limit:
        sentence = (
            f"{what}, the highest the sampling can hold: the band is cut off or folded back there; record faster."
        )
    else:
        sentence = f"{what}: the sampling holds its band."
    return Finding(Check.BANDWIDTH, share, "%", limit, share > limit, sentence)
