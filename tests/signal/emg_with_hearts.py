"""EMG of a trunk muscle with the heart over it, both known."""

from dataclasses import dataclass

import numpy as np

from phasemark.demo.shaped_noise import emg_noise
from phasemark.model.recording import Samples

_INTERVALS = {"rest": (1.25, 1.25), "effort": (0.4, 0.4), "medium": (0.6, 0.6), "rising": (0.75, 0.4)}


@dataclass(frozen=True, slots=True, eq=False)
class MixedSignal:
    """values: EMG and heart together (mV); emg: alone; beats: times (s) of the R waves."""

    values: Samples
    emg: Samples
    beats: Samples


def _beats(seconds: float, rhythm: str, draw: np.random.Generator) -> Samples:
    first, last = _INTERVALS[rhythm]
    at, beats = draw.uniform(0.2, 0.4), []
    while at < seconds - 0.1:
        beats.append(at)
        interval = first + (last - first) * at / seconds
        at += interval * float(np.exp(draw.normal(0, 0.03)))
    return np.array(beats)


def _shape(since: Samples) -> Samples:
    """P, Q, R, S and T waves by time from the R wave (s): height over R, width (s)."""
    waves = ((-0.16, 0.1, 0.02), (-0.025, -0.15, 0.008), (0.0, 1.0, 0.009), (0.027, -0.3, 0.01), (0.24, 0.2, 0.04))
    return np.asarray(sum(height * np.exp(-(((since - at) / width) ** 2) / 2) for at, height, width in waves))


def mixed(
    seed: int,
    heart: float,
    level: float,
    *,
    seconds: float = 30,
    rate: float = 2000.0,
    rhythm: str = "medium",
    bursts: float | None = None,
) -> MixedSignal:
    """A signal of EMG with an RMS of level (mV), in so many bursts a second if any, and R waves as high as heart.

    Sizes of beats differ by 5 %. Noise of an electrode, 0.002 mV, is always there.
    """
    draw = np.random.default_rng(seed)
    times = np.arange(round(seconds * rate)) / rate
    strength = np.full(len(times), level)
    if bursts is not None:
        strength *= 0.05 + 0.95 * np.exp(-((((times * bursts) % 1) - 0.3) ** 2) / 2 / 0.1**2)
    emg = strength * emg_noise(len(times), rate, (50.0, 100.0), draw) + 0.002 * draw.standard_normal(len(times))
    beats = _beats(seconds, rhythm, draw)
    sizes = heart * np.exp(draw.normal(0, 0.05, len(beats)))
    over = np.zeros(len(times))
    for beat, size in zip(beats, sizes, strict=True):
        here = slice(*np.searchsorted(times, [beat - 0.4, beat + 0.5]))
        over[here] += size * _shape(times[here] - beat)
    return MixedSignal(emg + over, emg, beats)
