"""Maximum voluntary contractions and the quiet trial of the invented study."""

from dataclasses import dataclass

import numpy as np

from phasemark.demo.activation import MUSCLES, Body, smoothed
from phasemark.demo.plan import TrialPlan
from phasemark.demo.squatting import GRID_HZ
from phasemark.model.recording import Samples

QUIET_S = 10.0


@dataclass(frozen=True, slots=True)
class Effort:
    """One attempt: its plateau from begin_s to end_s (s), and its height as a share of the true maximum."""

    begin_s: float
    end_s: float
    share: float


def _on_grid(seconds: float) -> float:
    return round(seconds * GRID_HZ) / GRID_HZ


def draw_efforts(plan: TrialPlan, draw: np.random.Generator) -> tuple[tuple[Effort, ...], float]:
    """The attempts of a trial, 3 to 5 s of plateau with rest between, and its length (s). One reaches the maximum."""
    at, efforts, best = draw.uniform(1.5, 2.5), [], int(draw.integers(plan.attempts))
    for attempt in range(plan.attempts):
        begin, end = _on_grid(at), _on_grid(at + draw.uniform(3.0, 5.0))
        share = 1.0 if attempt == best else draw.uniform(0.86, 0.97)
        efforts.append(Effort(begin, end, share))
        at = end + draw.uniform(5.0, 7.0)
    return tuple(efforts), _on_grid(efforts[-1].end_s + draw.uniform(1.5, 2.5))


def effort_activation(
    plan: TrialPlan, body: Body, efforts: tuple[Effort, ...], times: Samples, draw: np.random.Generator
) -> Samples:
    """True amplitude (mV RMS) of each muscle at each time of an MVIC trial; shape (muscles, samples).

    Muscles that the effort is not meant for are active with a tenth of their maximum.
    """
    shape = np.zeros_like(times)
    for effort in efforts:  # up in 0.5 s, down in 0.3 s, level between
        corners = [effort.begin_s - 0.5, effort.begin_s, effort.end_s, effort.end_s + 0.3]
        shape += effort.share * np.interp(times, corners, [0.0, 1.0, 1.0, 0.0])
    level = smoothed(shape, 1 / (times[1] - times[0]))
    shares = [1.0 if m.effort == plan.exercise else draw.uniform(0.06, 0.14) for m in MUSCLES]
    return np.stack([level * share * top for share, top in zip(shares, body.maximum_mv, strict=True)])
