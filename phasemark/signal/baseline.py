"""Baseline noise of a channel, and amplitude freed of it."""

from math import isfinite, nan, sqrt

import numpy as np

from phasemark.model.recording import Samples
from phasemark.signal.amplitude import Amplitude, amplitude
from phasemark.signal.conditioning import Conditioned


def noise_of(conditioned: Conditioned, begin: int = 0, end: int | None = None) -> Amplitude:
    """RMS and mean amplitude (mV) of a quiet stretch begin <= i < end of a channel, or of a whole quiet trial.

    The channel is filtered as the signals that it is taken from, or the noise is another.
    """
    return amplitude(conditioned, begin, len(conditioned.values) if end is None else end)


def without_noise(value: float, noise: float) -> float:
    """An amplitude (mV) without the power of independent noise (mV): sqrt(max(value^2 - noise^2, 0)).

    The root difference of squares (Wang et al. 2019, IEEE Trans Neural Syst Rehabil Eng 27:2328-2335); at rest about
    half of all results are above zero. Holds for RMS, and for mean amplitude where signal and noise are both
    Gaussian (their mean amplitudes are the same share of their RMS). nan where either is missing.
    """
    if not (isfinite(value) and isfinite(noise)):
        return nan
    return sqrt(max(value * value - noise * noise, 0.0))


def each_without_noise(values: Samples, noise: float) -> Samples:
    """Many amplitudes (mV) without the power of independent noise, as without_noise."""
    if not isfinite(noise):
        return np.full(np.shape(values), nan)
    return np.asarray(np.sqrt(np.maximum(values * values - noise * noise, 0.0)))


def error_without_noise(value: float, error: float, noise: float, noise_error: float = 0.0) -> float:
    """Relative sampling error of without_noise(value, noise), from the relative errors of both.

    sqrt((value^2 error)^2 + (noise^2 noise_error)^2) / (value^2 - noise^2), by propagation of small errors; not
    determined (nan) where no amplitude is left, or where the error is as large as what is left.
    """
    left = value * value - noise * noise
    if not left > 0:
        return nan
    combined = sqrt((value * value * error) ** 2 + (noise * noise * noise_error) ** 2) / left
    return combined if combined < 1 else nan
