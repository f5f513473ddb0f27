"""Checks for signals that were rectified or smoothed before they were recorded."""

from math import nan

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from phasemark.model.recording import Treatment
from phasemark.signal.quality.finding import Check, Finding
from phasemark.signal.quality.inspected import Inspected

_SHARE_BELOW = 0.95


def _reach_ratio(about: Inspected) -> float:
    """How far the 5th percentile lies below the median, over how far the 95th lies above it; of half seconds.

    The median over the half seconds, each by itself, since a drift would bend the values of the whole channel.
    """
    begins = about.windows.begins
    if not len(begins):
        return nan
    windows = sliding_window_view(about.raw, about.windows.length)[begins[::2]]
    low, middle, high = np.quantile(windows, (0.05, 0.5, 0.95), axis=1)
    usable = high > middle
    return float(np.median((middle - low)[usable] / (high - middle)[usable])) if usable.any() else nan


def rectified(about: Inspected) -> Finding | None:
    """Reach of the values below their median over the reach above it: near 1 for EMG, under 0.5 once rectified.

    Rectified Gaussian noise has 0.475 and less where the amplitude changes; a raw signal that lies above zero by its
    offset alone keeps 1.
    """
    ratio, limit = _reach_ratio(about), about.settings.rectified_ratio
    if not np.isfinite(ratio):
        return None
    if about.channel.treatment is Treatment.RECTIFIED:
        sentence = "The channel is stated to be rectified: it has no RMS, only a mean amplitude."
        return Finding(Check.RECTIFIED, ratio, "times", limit, False, sentence)
    flagged = ratio < limit
    if flagged:
        sentence = (
            f"The values reach {ratio:.2f} times as far below their median as above it, like a rectified signal: "
            "if it is one, state so when the recording is added, since band-pass and RMS would be wrong."
        )
    else:
        sentence = f"The values lie evenly around their median ({ratio:.2f} times): the signal is not rectified."
    return Finding(Check.RECTIFIED, ratio, "times", limit, flagged, sentence)


def smoothed(about: Inspected) -> Finding | None:
    """Frequency (Hz) under which 95 % of the power of a half second lies: the median over all half seconds."""
    limit = about.settings.smoothed_hz
    power = about.windows.power[:, 1:]
    total = power.sum(axis=1)
    moving = about.alive
    if not moving.any() or float(about.rate) / 2 <= limit:
        return None
    below = np.cumsum(power[moving], axis=1) < _SHARE_BELOW * total[moving, None]
    figure = float(np.median(about.windows.frequencies[1 + below.sum(axis=1)]))
    if figure < limit:
        sentence = (
            f"95 % of the power lies under {figure:.0f} Hz, where raw EMG has next to none: this is a smoothed signal "
            "(an envelope); filters, RMS and sampling error do not hold for it."
        )
    else:
        sentence = f"95 % of the power lies under {figure:.0f} Hz: the signal is not smoothed."
    return Finding(Check.SMOOTHED, figure, "Hz", limit, figure < limit, sentence)
