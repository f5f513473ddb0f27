"""Median frequency of a segment's spectrum."""

from math import nan

import numpy as np

from phasemark.model.clock import Rate
from phasemark.model.recording import Samples

LEAST_S = 0.5
"""A shorter segment has no median frequency: its spectrum has lines of over 2 Hz (common practice, no source)."""


def median_frequency(values: Samples, rate: Rate) -> float:
    """The frequency (Hz) below which half of the power of a segment lies; nan under 0.5 s or with samples missing.

    values: shape (samples,), band-passed mV. From the periodogram of the segment with its mean removed, a Hann
    window over it; linear between the lines of the spectrum (definition as in the CEDE glossary, McManus et al.
    2021). In a moving task it changes with muscle length and electrode shift and is not a measure of fatigue alone.
    """
    if len(values) < LEAST_S * float(rate) or not np.isfinite(values).all():
        return nan
    centred = (values - values.mean()) * np.hanning(len(values))
    power = np.square(np.abs(np.fft.rfft(centred)))
    total = np.cumsum(power)
    if total[-1] <= 0:
        return nan
    frequencies = np.fft.rfftfreq(len(values), 1 / float(rate))
    return float(np.interp(total[-1] / 2, total, frequencies))
