"""Where a swing leaves its rest and regains it: the speed rule, robust to drift, noise and hesitation."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from phasemark.model.recording import Samples
from phasemark.model.settings import PhaseSettings

CORE_SHARE = 0.20
"""Share of the peak speed that certainly belongs to the phase; what is slower may be rest, drift or run-up."""
SMOOTH_SHARE = 0.06
"""Speed is averaged over this share of the phase's duration, so that slow phases stand out of the noise."""
LEAST_REST_S = 0.6
"""A rest shorter than this (s) does not tell how fast it drifts or how noisy it is."""
REST_SHARE = 0.15
"""A rest moves by less than this share of the range; what moves further belongs to the phase."""
OUTER_SHARE = 0.12
"""The peak speed of a phase is sought between these shares of its range, where no false start reaches."""
GAIN = 0.02
"""What lies beyond a stop shorter than a pause belongs to the phase if it covers this share of the range."""


@dataclass(frozen=True, slots=True, eq=False)
class Side:
    """One side of a swing, seen from its rest: path and speed turned so that the movement rises away from it.

    path, speed: shape (n,), from turning point to turning point; step_s: time (s) between samples.
    """

    path: Samples
    speed: Samples
    step_s: float
    settings: PhaseSettings

    @property
    def range(self) -> float:
        """Range of motion of the swing."""
        return float(self.path[-1] - self.path[0])


Runs = list[tuple[int, int]]


def _runs(above: NDArray[np.bool_]) -> Runs:
    flips = np.flatnonzero(np.diff(np.concatenate(([0], above.astype(np.int8), [0]))))
    return list(zip(flips[::2].tolist(), flips[1::2].tolist(), strict=True))


def averaged(values: Samples, width: int) -> Samples:
    """Centred moving average over 2 * width + 1 samples; at the ends the window narrows and stays centred."""
    if width < 1:
        return values
    sums = np.concatenate(([0.0], np.cumsum(values)))
    places = np.arange(len(values))
    half = np.minimum(width, np.minimum(places, len(values) - 1 - places))
    return np.asarray((sums[places + half + 1] - sums[places - half]) / (2 * half + 1))


def _largest(runs: Runs, path: Samples) -> float:
    """Displacement of the run that covers most."""
    return max(float(path[min(end, len(path) - 1)] - path[begin]) for begin, end in runs)


def _begin_of_phase(runs: Runs, main: int, side: Side) -> int:
    """First sample of the phase, going back from the run of peak speed over stops.

    A run further back belongs if only a stop shorter than a pause parts it and it covers a real share of
    the range, or if it is a turning point's worth by itself: then the movement stopped on its way.
    A false start that comes back covers nothing on balance.
    """
    path, size = side.path, side.range
    first = main
    for run in range(main - 1, -1, -1):
        gain = float(path[runs[first][0]] - path[runs[run][0]])
        largest = _largest(runs[run:first], path)
        stop_s = (runs[first][0] - runs[run][1]) * side.step_s
        brief = stop_s < side.settings.pause_s and gain >= GAIN * size
        own = largest >= side.settings.prominence * size and gain >= largest / 2
        if brief or own:
            first = run
    return runs[first][0]


def peak_place(path: Samples, speed: Samples) -> int:
    """Sample of the peak speed of a rising swing, left out what comes back: false starts and settling."""
    share = (path - path[0]) / (path[-1] - path[0])
    middle = int(np.argmax(share >= 0.65))
    begin = int(np.flatnonzero(share[: middle + 1] <= OUTER_SHARE)[-1])
    end = middle + int(np.argmax(share[middle:] >= 1 - OUTER_SHARE)) + 1
    return begin + int(np.argmax(speed[begin:end]))


def _leaving(side: Side, threshold: float) -> int:
    """First sample of the phase above a threshold of speed."""
    runs = _runs(side.speed > threshold)
    peak = peak_place(side.path, side.speed)
    main = next(i for i, (begin, end) in enumerate(runs) if begin <= peak < end)
    return _begin_of_phase(runs, main, side)


@dataclass(frozen=True, slots=True)
class _Rest:
    """What a rest does of itself: its drift (unit/s, toward the movement) and the noise of its speed (SD)."""

    drift: float = 0.0
    noise: float = 0.0


def _rest(side: Side, core: int) -> _Rest:
    """Drift and noise of the rest before the core of a phase; zero where it is too short to tell.

    Drift is taken from the outer half, since a gradual departure fills the inner one.
    """
    far = np.flatnonzero(side.path[:core] - side.path[0] > REST_SHARE * side.range)
    end = int(far[0]) if len(far) else core
    rest = side.speed[: max(0, end - round(0.1 * (len(side.path) - core)))]
    if len(rest) * side.step_s < LEAST_REST_S:
        return _Rest()
    outer = rest[: len(rest) // 2]
    fast = rest - averaged(rest, round(0.1 / side.step_s))
    return _Rest(max(0.0, float(np.median(outer))), 1.4826 * float(np.median(np.abs(fast))))


def _crossing(side: Side, sample: int, threshold: float) -> float:
    """Place between samples where the speed passes the threshold before a sample above it."""
    if sample == 0:
        return 0.0
    below, above = float(side.speed[sample - 1]), float(side.speed[sample])
    return sample - 1 + (threshold - below) / (above - below) if below < threshold else float(sample)


def onset(side: Side) -> float:
    """Place (samples after the turning point) where a swing leaves its rest; 0 where it is in motion from the first.

    The threshold is speed_share of the peak speed above the rest's own drift. Where the noise of the rest
    would pass it, the place is extrapolated from two higher thresholds, along a straight line of speed.
    """
    peak = float(side.speed[peak_place(side.path, side.speed)])
    core = _leaving(side, CORE_SHARE * peak)
    rest = _rest(side, core)
    wanted = min(side.settings.speed_share * peak + rest.drift, CORE_SHARE * peak)
    safe = min(rest.drift + 3 * rest.noise, CORE_SHARE * peak)
    if safe <= wanted:
        return _crossing(side, _leaving(side, wanted), wanted)
    low = _crossing(side, _leaving(side, safe), safe)
    high = _crossing(side, _leaving(side, 2 * safe), 2 * safe)
    return max(0.0, low - max(0.0, high - low) * (safe - wanted) / safe)


def phase_places(path: Samples, speed: Samples, step_s: float, settings: PhaseSettings) -> tuple[float, float]:
    """Where the phase of a rising swing begins and ends, as places between the samples of path and speed.

    path, speed: shape (n,), from one turning point to the next, turned so that the movement rises.
    """
    if float(speed[peak_place(path, speed)]) <= 0:
        return 0.0, float(len(path) - 1)
    core = int(np.count_nonzero(speed > CORE_SHARE * float(speed[peak_place(path, speed)])))
    smooth = averaged(averaged(speed, round(SMOOTH_SHARE * core / 2)), round(SMOOTH_SHARE * core / 2))
    begin = onset(Side(path, smooth, step_s, settings))
    end = len(path) - 1 - onset(Side(-path[::-1], smooth[::-1], step_s, settings))
    return begin, end
