"""Where a swing leaves its rest and regains it, and where it stands still: robust to drift, noise and hesitation.

A swing's edges lie where its speed passes speed_share of its peak: there a phase begins and ends beside a pause.
Its standstills lie where its speed is zero. Only what stands still for pause_s between two swings is a pause: a slow
movement that turns at once stays under 5 % of its peak for longer than many a pause lasts (a minimum-jerk
movement of 2 s for 0.24 s around its turn), though nothing stands still.

The sway of a body and noise hide speeds near zero, so a standstill is extrapolated from where the speed passes
5 and 20 % of its peak, by a line through two closed forms. With r the time from the one to the other and d the time
for which the phase is faster than 5 %, the standstill lies RISE * r - LENGTH * d outside the place of 5 %:

    shares of the duration          r        d        5 % lies after the begin by
    raised cosine                   0.0482   0.9682   0.0159
    minimum jerk                    0.0681   0.8811   0.0594

A line and no power of speed, as those go further astray with noise. It extrapolates at least by nothing and at most
as for a minimum-jerk movement of its length; not at all where r is half as long again as a minimum-jerk
movement's, since such a phase has come to rest and creeps on; and by a tenth less than the closed forms ask for,
since a pause that is lost costs more than one too many.
"""

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
LOW_SHARE = 0.05
"""Share of the peak speed that a standstill is extrapolated from, with CORE_SHARE."""
RISE, LENGTH = 1.855, 0.076
"""The line that both closed forms lie on."""
MOST = 0.0675
"""A minimum-jerk movement's time under LOW_SHARE at either end, as a share of the time over it."""
CREEP = 0.12
"""A phase that takes more than this share of its length from LOW_SHARE to CORE_SHARE creeps."""
TRUST = 0.9
"""Part of the extrapolation that is taken."""
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


@dataclass(frozen=True, slots=True)
class Departure:
    """Places (samples after the turning point) where a swing passes shares of its peak speed, leaving its rest.

    edge: speed_share, by the settings; low, high: LOW_SHARE and CORE_SHARE. 0 where it is in motion from the first.
    """

    edge: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Places:
    """Where a swing's phase begins and ends by the speed rule, and where it stood still last before and first after.

    Places between samples of the trace; a standstill may lie beyond the swing's turning point.
    """

    begin: float
    end: float
    still_until: float
    still_from: float

    def later(self, samples: int) -> "Places":
        """The same places counted from so many samples earlier."""
        moved = (place + samples for place in (self.begin, self.end, self.still_until, self.still_from))
        return Places(*moved)


def _passing(side: Side, share: float, peak: float, rest: _Rest) -> float:
    """Place (samples after the turning point) where a swing passes a share of its peak speed above its rest's drift.

    Where the noise of the rest would pass that speed, the place is extrapolated from two higher ones, along
    a straight line of speed.
    """
    wanted = min(share * peak + rest.drift, CORE_SHARE * peak)
    safe = min(rest.drift + 3 * rest.noise, CORE_SHARE * peak)
    if safe <= wanted:
        return _crossing(side, _leaving(side, wanted), wanted)
    low = _crossing(side, _leaving(side, safe), safe)
    high = _crossing(side, _leaving(side, 2 * safe), 2 * safe)
    return max(0.0, low - max(0.0, high - low) * (safe - wanted) / safe)


def departure(side: Side) -> Departure:
    """Where a swing leaves its rest."""
    peak = float(side.speed[peak_place(side.path, side.speed)])
    rest = _rest(side, _leaving(side, CORE_SHARE * peak))
    low, high = (_passing(side, share, peak, rest) for share in (LOW_SHARE, CORE_SHARE))
    share = side.settings.speed_share
    return Departure(low if share == LOW_SHARE else _passing(side, share, peak, rest), low, high)


def _beyond(rise: float, length: float) -> float:
    """How far a standstill lies outside the place of LOW_SHARE: the line of the module's text, within its bounds."""
    if rise > CREEP * length:
        return 0.0
    return TRUST * min(max(RISE * rise - LENGTH * length, 0.0), MOST * length)


def phase_places(path: Samples, speed: Samples, step_s: float, settings: PhaseSettings) -> Places:
    """Where a rising swing's phase begins and ends, and where it stands still before and after.

    path, speed: shape (n,), from one turning point to the next, turned so that the movement rises.
    """
    last = float(len(path) - 1)
    peak = float(speed[peak_place(path, speed)])
    if peak <= 0:
        return Places(0.0, last, 0.0, last)
    core = int(np.count_nonzero(speed > CORE_SHARE * peak))
    smooth = averaged(averaged(speed, round(SMOOTH_SHARE * core / 2)), round(SMOOTH_SHARE * core / 2))
    one = departure(Side(path, smooth, step_s, settings))
    other = departure(Side(-path[::-1], smooth[::-1], step_s, settings))
    length = max(0.0, last - other.low - one.low)
    still_until = one.low - _beyond(one.high - one.low, length)
    still_from = last - other.low + _beyond(other.high - other.low, length)
    return Places(one.edge, last - other.edge, still_until, still_from)
