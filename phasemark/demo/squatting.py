"""How the invented participants squat: tempo, range, pauses, and what goes slightly wrong."""

from dataclasses import dataclass, field

import numpy as np

from phasemark.demo.bar_path import BarPath, Moving, Stretch
from phasemark.demo.plan import PAUSED, TASK_REPS, Participant, TrialPlan, Upset, traits_stream

GRID_HZ = 2000  # stretches begin and end on whole samples of the EMG clock


@dataclass(frozen=True, slots=True)
class Build:
    """What is the same in all squats of a participant: heights (m), durations (s), shape of the speed."""

    top: float
    travel: float
    lowering_s: float
    raising_s: float
    skew: float
    stick: float


def build_of(seed: int, participant: Participant) -> Build:
    """The build of a participant."""
    draw = traits_stream(seed, participant)
    return Build(
        top=draw.uniform(1.30, 1.55),
        travel=draw.uniform(0.45, 0.62),
        lowering_s=draw.uniform(1.3, 1.9),
        raising_s=draw.uniform(1.0, 1.4),
        skew=draw.uniform(-0.15, 0.15),
        stick=draw.uniform(-0.30, 0.10),
    )


@dataclass(slots=True)
class _Drawing:
    """A path while it is being drawn: the stretches so far, and where the last one ended."""

    build: Build
    draw: np.random.Generator
    height: float
    at: int = 0
    low: float = 0.0
    high: float = 0.0
    rep: int = 0
    stretches: list[Stretch] = field(default_factory=list)

    def add(
        self, moving: Moving, seconds: float, stop: float, *, skew: float = 0.0, stick: float = 0.0, dip: float = 0.0
    ) -> None:
        end = self.at + max(1, round(seconds * GRID_HZ))
        self.stretches.append(
            Stretch(
                moving, self.at / GRID_HZ, end / GRID_HZ, self.height, stop, self.low, self.high, self.rep,
                skew, stick, dip,
            )
        )  # fmt: skip
        self.at, self.height = end, stop

    def still(self, moving: Moving, seconds: float) -> None:
        """Stand or hold: the bar drifts a little and sways."""
        drift = self.draw.normal(0, 0.006 * self.build.travel)
        self.add(moving, seconds, self.height + drift, dip=self.draw.uniform(0.001, 0.003))

    def phase(self, moving: Moving, seconds: float, stop: float) -> None:
        """Lower or raise the bar; the speed's shape differs a little from rep to rep."""
        skew = self.build.skew + self.draw.normal(0, 0.04)
        stick = self.build.stick if moving is Moving.RAISING else self.build.stick / 3
        self.add(moving, seconds, stop, skew=skew, stick=stick + self.draw.normal(0, 0.03))

    def false_start(self) -> None:
        """A slight dip, back to standing, and a moment's rest before the real one."""
        dip = self.draw.uniform(0.05, 0.09) * self.build.travel
        self.add(Moving.FALSE_START, self.draw.uniform(0.7, 0.9), self.height, dip=dip)
        self.still(Moving.TOP, self.draw.uniform(0.7, 1.0))


@dataclass(frozen=True, slots=True)
class _RepShape:
    """Tempo and range of one rep, and the pauses (s; 0 is none) at its bottom and after it."""

    number: int
    tempo: float
    reach: float
    bottom_pause: float
    top_pause: float


def _rep_shapes(plan: TrialPlan, draw: np.random.Generator) -> list[_RepShape]:
    slow, fast, reduced = (int(n) + 1 for n in draw.choice(np.arange(1, TASK_REPS - 1), 3, replace=False))
    paused = plan.participant.turnaround == PAUSED
    breaths = set(draw.choice(np.arange(3, TASK_REPS), 2, replace=False).tolist())
    shapes = []
    for number in range(1, TASK_REPS + 1):
        tempo, reach = np.exp(draw.normal(0, 0.07)), 1 + draw.normal(0, 0.025)
        tempo *= 1.6 if Upset.SLOW in plan.upsets and number == slow else 1
        tempo *= 0.72 if Upset.FAST in plan.upsets and number == fast else 1
        reach *= draw.uniform(0.62, 0.72) if Upset.REDUCED in plan.upsets and number == reduced else 1
        bottom = draw.uniform(0.45, 0.9) if paused else 0.0
        top = draw.uniform(0.6, 1.1) if paused or number in breaths else 0.0
        shapes.append(_RepShape(number, tempo, reach, bottom, top if number < TASK_REPS else 0.0))
    return shapes


def _draw_rep(drawing: _Drawing, shape: _RepShape) -> None:
    build, draw = drawing.build, drawing.draw
    top = build.top + draw.normal(0, 0.01 * build.travel)
    bottom = build.top - build.travel * shape.reach
    lift = draw.normal(0, 0.008) * build.travel if shape.bottom_pause else 0.0
    drawing.low, drawing.high = min(bottom, bottom + lift), max(drawing.height, top)
    drawing.rep = shape.number
    drawing.phase(Moving.LOWERING, build.lowering_s * shape.tempo, bottom)
    if shape.bottom_pause:
        drawing.add(Moving.BOTTOM, shape.bottom_pause, bottom + lift, dip=0.0005)
    fatigue = 1 + 0.02 * (shape.number - 1)
    drawing.phase(Moving.RAISING, build.raising_s * shape.tempo * fatigue, top)
    drawing.rep = 0
    if shape.top_pause:
        drawing.still(Moving.TOP, shape.top_pause)


def _draw_opening(drawing: _Drawing, plan: TrialPlan) -> None:
    build, draw = drawing.build, drawing.draw
    drawing.low, drawing.high = build.top - build.travel, build.top
    if Upset.OPENS_MOVING in plan.upsets:
        drawing.height = drawing.low
        drawing.at = -round(draw.uniform(0.3, 0.6) * build.raising_s * GRID_HZ)
        drawing.phase(Moving.RAISING, build.raising_s, build.top)
    drawing.still(Moving.TOP, draw.uniform(1.6, 3.0))
    if Upset.FALSE_START in plan.upsets:
        drawing.false_start()


def squat_path(plan: TrialPlan, draw: np.random.Generator) -> BarPath:
    """The path of the bar in a task trial."""
    build = build_of(plan.seed, plan.participant)
    drawing = _Drawing(build, draw, build.top)
    _draw_opening(drawing, plan)
    for shape in _rep_shapes(plan, draw):
        _draw_rep(drawing, shape)
    drawing.low, drawing.high = build.top - build.travel, build.top
    drawing.still(Moving.TOP, draw.uniform(1.5, 2.8))
    length = drawing.at
    if Upset.CLOSES_MOVING in plan.upsets:
        drawing.phase(Moving.LOWERING, build.lowering_s, drawing.low)
        length += round(draw.uniform(0.35, 0.6) * build.lowering_s * GRID_HZ)
    return BarPath(tuple(drawing.stretches), length / GRID_HZ)
