"""The whole chain over 16 muscles of 60 s at 2 kHz against the bare scipy and numpy calls it implies, by CPU time.

    python tests/benchmarks/bench_chain.py [runs]

Chain: conditioning with its block sums, envelope, amplitude of 220 segments. Bare: the mean taken away, sosfiltfilt for
high-pass and low-pass with designs made beforehand, a moving mean of squares by uniform_filter1d, RMS and mean
amplitude of the same segments by numpy. Beside it what the chain adds that no plain call gives: sampling errors and
sensitivity of a rep's segments, and the checks of signal quality. The two sides take turns; the least of their times is
compared.
"""

import sys
import time
from collections.abc import Callable

import numpy as np
from bench_conditioning import RATE, SECONDS, designs, recorded
from scipy.ndimage import uniform_filter1d
from scipy.signal import sosfiltfilt

from phasemark.model.marks import LOWERING, RAISING, Boundary, Marks, Phase, Rep
from phasemark.model.recording import EmgChannel, Samples
from phasemark.model.settings import FilterSettings, Settings
from phasemark.model.study import RecordingRef, Trial
from phasemark.results.measure import condition_trial, measure_rep, measured_rep
from phasemark.signal.conditioning import in_millivolts
from phasemark.signal.envelope import envelope, window_samples
from phasemark.signal.quality.channel import channel_findings

SETTINGS = Settings()
REPS = 20


def phase(name: str, begin: int, end: int) -> Phase:
    third = (end - begin) // 3
    return Phase(name, Boundary(begin), Boundary(end), (Boundary(begin + third), Boundary(begin + 2 * third)))


def marked(channels: list[Samples]) -> Trial:
    """A trial of all channels with 20 reps of 2.5 s."""
    emg = tuple(EmgChannel(f"muscle {n}", RATE) for n in range(len(channels)))
    ref = RecordingRef("R1", "recordings/R1.h5", 1, "0" * 64, tuple(len(c) for c in channels), ())
    begins = [2000 + 5500 * n for n in range(REPS)]
    reps = tuple(
        Rep(n, (phase(LOWERING, at, at + 2400), phase(RAISING, at + 2600, at + 5000)))
        for n, at in enumerate(begins, start=1)
    )
    trial = Trial("T001", "P01", ref, emg, exercise="squat")
    return trial.with_marks(Marks("R1", SECONDS * int(RATE), reps, REPS + 1, thirds_rule="rep"))


def chain(trial: Trial, channels: list[Samples]) -> None:
    conditioned = condition_trial(trial, channels, SETTINGS)
    for own in conditioned:
        envelope(own, SETTINGS.envelope)
    for rep in trial.marks[0].reps:
        measure_rep(trial, rep, "rep", conditioned, SETTINGS)


def bare(trial: Trial, channels: list[Samples], spans: list[tuple[int, int]]) -> None:
    parts, window = designs(FilterSettings()), window_samples(SETTINGS.envelope.window_s, RATE)
    for values in channels:
        filtered = values - values.mean()
        for sections in parts:
            filtered = sosfiltfilt(sections, filtered)
        np.sqrt(np.maximum(uniform_filter1d(filtered * filtered, window), 0.0))
        for begin, end in spans:
            part = filtered[begin:end]
            np.sqrt(np.mean(part * part))
            np.mean(np.abs(part))


def cpu_s(work: Callable[[], object]) -> float:
    """Seconds of this process's processors."""
    begin = time.process_time()
    work()
    return time.process_time() - begin


def main(runs: int) -> None:
    channels = recorded()
    trial = marked(channels)
    conditioned = condition_trial(trial, channels, SETTINGS)
    reps = trial.marks[0].reps
    values = [v for rep in reps for v in measure_rep(trial, rep, "rep", conditioned, SETTINGS) if v.channel == 0]
    spans = [piece for value in values for piece in value.segment.pieces]
    pairs = [(cpu_s(lambda: chain(trial, channels)), cpu_s(lambda: bare(trial, channels, spans))) for _ in range(runs)]
    own, plain = (min(times) for times in zip(*pairs, strict=True))
    print(f"{len(channels)} channels, {len(values)} segments each, least of {runs} runs, CPU time")
    print(f"chain {1000 * own:5.0f} ms, bare {1000 * plain:5.0f} ms, ratio {own / plain:.2f}")
    further = cpu_s(lambda: [measured_rep(trial, rep, "rep", conditioned, SETTINGS) for rep in reps[:1]])
    print(f"one rep in all channels with errors and sensitivity, sources made for it: {1000 * further:5.0f} ms")
    checks = cpu_s(
        lambda: [
            channel_findings(in_millivolts(raw, about), own, about, SETTINGS.quality, None)
            for raw, own, about in zip(channels, conditioned, trial.emg, strict=True)
        ]
    )
    print(f"checks of signal quality: {1000 * checks:5.0f} ms")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 7)
