"""The chain of filters over 16 muscles of 60 s at 2 kHz against the bare scipy calls it implies, in one process.

    python tests/benchmarks/bench_conditioning.py [runs]

Bare: sosfiltfilt for high-pass, low-pass and notch on the same values with designs made beforehand, and the mean
taken away. Template subtraction implies no scipy call; its own time is given beside.
"""

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray
from scipy.signal import sosfiltfilt

from phasemark.demo.contamination import HUM_HZ
from phasemark.demo.shaped_noise import emg_noise
from phasemark.model.recording import EmgChannel, Samples
from phasemark.model.settings import FilterSettings
from phasemark.signal.butterworth import design
from phasemark.signal.conditioning import condition
from phasemark.signal.notch import notch_sections

RATE = Fraction(2000)
MUSCLES, SECONDS = 16, 60


def recorded() -> list[Samples]:
    """EMG with offset, hum, and a heart as a row of pulses."""
    samples = SECONDS * int(RATE)
    times = np.arange(samples) / float(RATE)
    heart = 0.1 * np.exp(-((((times % 0.62) - 0.3) / 0.01) ** 2))
    hum = 0.02 * np.sin(2 * np.pi * HUM_HZ * times)
    draws = (np.random.default_rng(muscle) for muscle in range(MUSCLES))
    return [0.1 + 0.05 * emg_noise(samples, float(RATE), (60.0, 120.0), draw) + hum + heart for draw in draws]


def designs(filters: FilterSettings) -> list[NDArray[np.float64]]:
    """Sections of one pass of each filter that is on."""
    band = [
        design("highpass", RATE, filters.highpass_hz or 0.0, filters.order),
        design("lowpass", RATE, filters.lowpass_hz or 0.0, filters.order),
    ]
    return [*([notch_sections(filters, RATE)] if filters.notch_hz else []), *band]


def bare(signals: list[Samples], parts: list[NDArray[np.float64]]) -> None:
    """What a script of scipy calls would do."""
    for values in signals:
        filtered = values - values.mean()
        for sections in parts:
            filtered = sosfiltfilt(sections, filtered)


def seconds(work: Callable[[], None]) -> float:
    """How long it takes."""
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


def main() -> None:
    """Time chain and bare calls in turn, print medians and their ratio."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 9
    signals, channel, chain = recorded(), EmgChannel("erector spinae", RATE), FilterSettings()
    notched = replace(chain, notch_hz=HUM_HZ)
    cases = {
        "20-450 Hz": chain,
        "and notch": notched,
        "and notch with 5 lines": replace(notched, notch_harmonics=5),
        "and notch and template": replace(notched, ecg_template=True),
    }
    for name, filters in cases.items():
        parts = designs(filters)

        def ours(filters: FilterSettings = filters) -> None:
            for values in signals:
                condition(values, channel, filters)

        pairs = [(seconds(ours), seconds(lambda parts=parts: bare(signals, parts))) for _ in range(runs + 1)][1:]
        mine, other = (float(np.median([pair[side] for pair in pairs])) for side in (0, 1))
        ratio = float(np.median([a / b for a, b in pairs]))
        print(f"{name:24} {1e3 * mine:5.0f} ms, bare scipy {1e3 * other:5.0f} ms, ratio {ratio:.2f} ({runs} runs)")


if __name__ == "__main__":
    main()
