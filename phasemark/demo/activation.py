"""The known EMG amplitude of the invented muscles, by phase, height and exercise.

Levels are shares of the amplitude in a maximum voluntary contraction. All numbers are invented; they only have
the order of size that is common practice in squats (no source).
"""

from dataclasses import dataclass
from math import log, sqrt

import numpy as np
from scipy.ndimage import uniform_filter1d

from phasemark.demo.bar_path import BarPath, Moving, Stretch
from phasemark.demo.plan import RAISED, SETS, TASK_REPS, Participant, TrialPlan, traits_stream
from phasemark.model.marks import LOWERING, RAISING
from phasemark.model.recording import Samples, Side


@dataclass(frozen=True, slots=True)
class Muscle:
    """An invented muscle: name, side, shares of maximum (lower, middle, upper third) in each phase, standing."""

    name: str
    side: Side
    lowering: tuple[float, float, float]
    raising: tuple[float, float, float]
    standing: float
    effort: str
    corners_hz: tuple[float, float]


MUSCLES = (
    Muscle("vastus medialis", Side.RIGHT, (0.34, 0.26, 0.16), (0.58, 0.46, 0.24), 0.030,
           "MVIC knee extension", (55.0, 115.0)),
    Muscle("vastus lateralis", Side.RIGHT, (0.36, 0.28, 0.17), (0.60, 0.48, 0.26), 0.035,
           "MVIC knee extension", (60.0, 125.0)),
    Muscle("biceps femoris", Side.RIGHT, (0.10, 0.09, 0.08), (0.18, 0.22, 0.16), 0.020,
           "MVIC knee flexion", (70.0, 140.0)),
    Muscle("erector spinae", Side.LEFT, (0.26, 0.22, 0.18), (0.42, 0.34, 0.24), 0.060,
           "MVIC trunk extension", (50.0, 100.0)),
)  # fmt: skip

THIRDS = ("lower", "middle", "upper")
# With raised heels, and nowhere else: (muscle, phase, third) to the ratio of amplitudes, raised to flat.
HEEL_EFFECTS = {
    ("vastus medialis", RAISING, "lower"): 1.25,
    ("vastus medialis", LOWERING, "lower"): 1.10,
    **{("erector spinae", phase, third): 0.88 for phase in (LOWERING, RAISING) for third in THIRDS},
}
# How the effects differ between people, and what is added by chance; SDs of the logarithm of amplitude, but for
# RESPONSE_SD: the response of a participant's muscle to the heels is this far around one times its effect's logarithm.
RESPONSE_SD = 0.25
TRIAL_SD = 0.03
REP_SD = 0.06
_BLEND = 0.06  # share of the range over which the level of one third passes into the next
_SMOOTHING_S = 0.06  # no muscle changes its amplitude faster than two moving means of this length


def implied_d_z(ratio: float) -> float:
    """Size of an effect of the heels that a study of participants' means should show, without EMG's own chance.

    Mean over SD of the logarithm of raised : flat over participants: log(ratio), spread by RESPONSE_SD between people
    and by TRIAL_SD and REP_SD over the sets and repetitions of both exercises.
    """
    size = log(ratio)
    chance = 2 * (TRIAL_SD**2 + REP_SD**2 / TASK_REPS) / SETS
    return abs(size) / sqrt((RESPONSE_SD * size) ** 2 + chance)


@dataclass(frozen=True, slots=True)
class Body:
    """What the electrodes see of one participant: mV RMS at maximum, and the own response to the heels, by muscle."""

    maximum_mv: tuple[float, ...]
    response: tuple[float, ...]


def body_of(seed: int, participant: Participant) -> Body:
    """The body of a participant; gains of electrodes differ about threefold between people."""
    draw = traits_stream(seed + 1_000_003, participant)
    maxima = np.exp(draw.normal(np.log(0.40), 0.35, len(MUSCLES)))
    response = draw.normal(1.0, RESPONSE_SD, len(MUSCLES))
    return Body(tuple(maxima.tolist()), tuple(response.tolist()))


def _third_levels(muscle: Muscle, phase: str, raised: bool, response: float) -> list[float]:
    levels = muscle.lowering if phase == LOWERING else muscle.raising
    if not raised:
        return list(levels)
    effects = [HEEL_EFFECTS.get((muscle.name, phase, third), 1.0) for third in THIRDS]
    return [level * effect**response for level, effect in zip(levels, effects, strict=True)]


def _by_height(levels: list[float], share: Samples) -> Samples:
    """Level at a share of the range (0 bottom to 1 top), constant in each third but for a short passage."""
    half = _BLEND / 2
    places = [1 / 3 - half, 1 / 3 + half, 2 / 3 - half, 2 / 3 + half]
    return np.interp(share, places, [levels[0], levels[1], levels[1], levels[2]])


def _in_stretch(muscle: Muscle, stretch: Stretch, share: Samples, raised: bool, response: float) -> Samples:
    lowering = _third_levels(muscle, LOWERING, raised, response)
    raising = _third_levels(muscle, RAISING, raised, response)
    if stretch.moving is Moving.TOP:
        return np.full_like(share, muscle.standing)
    if stretch.moving is Moving.BOTTOM:
        return np.full_like(share, (lowering[0] + raising[0]) / 2)
    return _by_height(raising if stretch.moving is Moving.RAISING else lowering, share)


def smoothed(level: Samples, rate_hz: float) -> Samples:
    """An amplitude made as smooth in time as muscles are."""
    width = round(_SMOOTHING_S * rate_hz)
    once = uniform_filter1d(level, width, mode="nearest")
    return np.asarray(uniform_filter1d(once, width, mode="nearest"))


def _rep_factors(draw: np.random.Generator) -> Samples:
    """Row per rep (0: outside complete reps) and column per muscle: chance from rep to rep, and rising fatigue."""
    chance = np.exp(draw.normal(0, REP_SD, (TASK_REPS + 1, len(MUSCLES))))
    fatigue = 1 + 0.012 * np.arange(TASK_REPS + 1)
    trial = np.exp(draw.normal(0, TRIAL_SD, len(MUSCLES)))
    return np.asarray(chance * fatigue[:, None] * trial)


def task_activation(plan: TrialPlan, path: BarPath, times: Samples, draw: np.random.Generator) -> Samples:
    """True amplitude (mV RMS) of each muscle at each time; shape (muscles, samples)."""
    body, factors = body_of(plan.seed, plan.participant), _rep_factors(draw)
    raised = plan.exercise == RAISED
    levels = np.empty((len(MUSCLES), len(times)))
    for stretch, here in path.pieces(times):
        share = (stretch.height(times[here]) - stretch.low) / (stretch.high - stretch.low)
        for row, muscle in enumerate(MUSCLES):
            level = _in_stretch(muscle, stretch, share, raised, body.response[row])
            levels[row, here] = level * body.maximum_mv[row] * factors[stretch.rep, row]
    rate_hz = 1 / (times[1] - times[0])
    return np.stack([smoothed(level, rate_hz) for level in levels])
