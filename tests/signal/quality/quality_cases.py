"""Invented signals for the checks of signal quality, and the findings of a channel by name."""

from fractions import Fraction

import numpy as np

from phasemark.model.quality_settings import QualitySettings
from phasemark.model.recording import EmgChannel, Samples, Treatment
from phasemark.model.settings import FilterSettings
from phasemark.signal.conditioning import condition
from phasemark.signal.quality.channel import channel_findings
from phasemark.signal.quality.finding import Check, Finding

RATE = Fraction(2000)
DEFAULTS = QualitySettings()


def times(seconds: float, rate: Fraction = RATE) -> Samples:
    """Times (s) of the samples of so many seconds."""
    return np.arange(round(seconds * float(rate))) / float(rate)


def noise(seconds: float, seed: int = 1, rate: Fraction = RATE) -> Samples:
    """White noise of RMS 1."""
    return np.random.default_rng(seed).standard_normal(round(seconds * float(rate)))


def emg(seconds: float, seed: int = 1, rate: Fraction = RATE) -> Samples:
    """Noise with the spectrum of surface EMG, most of it between 40 and 150 Hz, RMS 0.1 mV."""
    n = round(seconds * float(rate))
    f = np.fft.rfftfreq(n, 1 / float(rate))
    shape = np.sqrt(f**4 / ((f**2 + 60**2) ** 2 * (1 + (f / 120) ** 4)))
    values = np.fft.irfft(np.fft.rfft(np.random.default_rng(seed).standard_normal(n)) * shape, n)
    return np.asarray(0.1 * values / values.std())


def in_bursts(values: Samples, rate: Fraction = RATE, rest: float = 0.02) -> Samples:
    """A signal that is strong every other second and weak between."""
    strong = np.floor(np.arange(len(values)) / float(rate)) % 2 == 1
    return np.asarray(values * np.where(strong, 1.0, rest))


def findings(
    values: Samples,
    rate: Fraction = RATE,
    *,
    noise_rms: float | None = None,
    treatment: Treatment = Treatment.RAW,
    settings: QualitySettings = DEFAULTS,
) -> dict[Check, Finding]:
    """All findings of a channel in mV, filtered 20-450 Hz (up to 45 % of a lower rate)."""
    channel = EmgChannel("vastus medialis", rate, treatment=treatment)
    high = min(450.0, 0.45 * float(rate))
    conditioned = condition(values, channel, FilterSettings(lowpass_hz=high))
    return {f.check: f for f in channel_findings(values, conditioned, channel, settings, noise_rms)}


def flagged(values: Samples, rate: Fraction = RATE, **options: float) -> set[Check]:
    """The checks that flag a channel."""
    return {check for check, finding in findings(values, rate, **options).items() if finding.flagged}  # type: ignore[arg-type]
