"""Noise with the spectrum of surface EMG and an RMS of one."""

import numpy as np
from scipy.fft import irfft, next_fast_len

from phasemark.model.recording import Samples


def spectrum_shape(frequencies: Samples, low_hz: float, high_hz: float) -> Samples:
    """Amplitude of the spectrum of surface EMG at frequencies (Hz).

    The power is k f^2 / ((f^2 + low^2) (f^2 + high^2)^2), the two-corner model of Shwedyk et al. (1977) and Stulen
    and De Luca (1981), from memory; skirts of an amplifier take it to zero below 12 and above 480 Hz.
    """
    model = frequencies / (np.hypot(frequencies, low_hz) * (frequencies**2 + high_hz**2))
    below, above = np.clip((frequencies - 12) / 16, 0, 1), np.clip((480 - frequencies) / 80, 0, 1)
    return np.asarray(model * np.sin(np.pi / 2 * below) * np.sin(np.pi / 2 * above))


def emg_noise(samples: int, rate_hz: float, corners_hz: tuple[float, float], draw: np.random.Generator) -> Samples:
    """Gaussian noise of so many samples with the spectrum of surface EMG; its expected RMS is 1."""
    length = next_fast_len(samples, real=True)
    frequencies = np.arange(length // 2 + 1) * (rate_hz / length)
    shape = spectrum_shape(np.asarray(frequencies, dtype=np.float64), *corners_hz)
    shape *= length / 2 / np.sqrt(np.sum(shape**2))
    parts = draw.standard_normal((2, len(frequencies)))
    return np.asarray(irfft((parts[0] + 1j * parts[1]) * shape, length)[:samples])
