"""Where a swing leaves and regains its rest: the speed rule, robust to drift, noise and hesitation."""

from dataclasses import dataclass

import numpy as np

from phasemark.model.recording import Samples
from phasemark.model.settings import PhaseSettings

CORE_SHARE = 0.25
"""Share of the peak speed that certainly belongs to the phase; what is slower may be rest, drift or run-up."""
LEAST_REST_S = 0.25
"""A rest shorter than this (s) does not tell how fast it drifts."""
GAIN = 0.05
"""What lies beyond a hesitation belongs to the phase if it covers at least this share of the range."""


@dataclass(frozen=True, slots=True)
class Onset:
    """Where a movement leaves its rest: place between samples, and whether it was in motion from the start."""

    place: float
    cut: bool


def _runs(above: np.ndarray) -> list[tuple[int, int]]:
    flips = np.flatnonzero(np.diff(np.concatenate(([0], above.astype(np.int8), [0]))))
    return list(zip(flips[::2].tolist(), flips[1::2].tolist(), strict=True))


def _first_of_phase(
    runs: list[tuple[int, int]], path: Samples, main: int, threshold: float, step_s: float, prominence: float
) -> int:
    """Which run the phase begins with, going back from the one of peak speed over hesitations.

    A run further back belongs if what lies between its begin and the present begin covers a real share of
    the range (GAIN) at a mean speed above twice the threshold, or so large a share that it would be a
    turning point of its own. A false start that comes back covers nothing on balance.
    """
    size = abs(float(path[-1] - path[0]))
    first = main
    for run in range(main - 1, -1, -1):
        begin, now = runs[run][0], runs[first][0]
        gain = float(path[now] - path[begin])
        took = (now - begin) * step_s
        quick = gain >= GAIN * size and gain >= 2 * threshold * took
        if quick or gain >= prominence * size and _covered(runs[run:first], path) >= gain / 2:
            first = run
    return first


def _covered(runs: list[tuple[int, int]], path: Samples) -> float:
    return sum(float(path[min(end, len(path) - 1)] - path[begin]) for begin, end in runs)


def _leaving(path: Samples, speed: Samples, threshold: float, step_s: float, prominence: float) -> int:
    """First sample above the threshold of the phase (path and speed turned so that it rises)."""
    runs = _runs(speed > threshold)
    peak = int(np.argmax(speed))
    main = next(i for i, (a, b) in enumerate(runs) if a <= peak < b)
    return runs[_first_of_phase(runs, path, main, threshold, step_s, prominence)][0]


def onset(path: Samples, speed: Samples, step_s: float, settings: PhaseSettings) -> Onset:
    """Where a rising swing leaves its rest.

    path and speed: shape (n,), from one turning point to the next, turned so that the movement rises.
    The threshold is speed_share of the peak speed above the rest's own drift, and above the rest's
    noise; it never exceeds CORE_SHARE of the peak. A falling end is found on the arrays turned round.
    """
    peak = float(speed.max())
    least = settings.speed_share * peak
    core = _leaving(path, speed, CORE_SHARE * peak, step_s, settings.prominence)
    run_up = round(0.1 * (len(path) - core))
    rest = speed[: max(0, core - run_up)]
    threshold = least
    if len(rest) * step_s >= LEAST_REST_S:
        drift = max(0.0, float(np.median(rest)))
        spread = 1.4826 * float(np.median(np.abs(rest - np.median(rest))))
        threshold = min(max(least + drift, drift + 3 * spread), CORE_SHARE * peak)
    first = _leaving(path, speed, threshold, step_s, settings.prominence)
    if first == 0:
        return Onset(0.0, True)
    below, above = float(speed[first - 1]), float(speed[first])
    return Onset(first - 1 + (threshold - below) / (above - below), False)
