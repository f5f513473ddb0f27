"""Invented movement traces with known truth: where each phase begins and ends, and which reps are complete.

A trace is told as a script of holds and moves. Where the truth of a boundary is asked for, the speed rule is
worked out on the moves' closed forms (raised cosine and minimum jerk leave 5 % of their peak speed after 1.5922 %
and 5.9434 % of their duration; Flash and Hogan 1985, value from memory), and phases meet where the movement turns, or
in the middle of a standstill, unless it stands still for 0.2 s.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import pairwise

import numpy as np

from phasemark.model.clock import nearest_sample
from phasemark.model.marks import LOWERING, RAISING, Marks
from phasemark.model.recording import MovementTrace, Samples, Up
from phasemark.model.settings import PhaseSettings
from phasemark.phases.marking import mark_trial
from phasemark.phases.movement import Movement, filtered_movement

PAUSE_S = 0.2
DOUBT_S = 0.1
SLOW_LAG = 0.07
"""Under 5 % of the peak speed for more of its duration at one end than a minimum-jerk movement (0.0594)."""
SETTINGS = PhaseSettings()
Shape = Callable[[Samples], Samples]


def cosine(tau: Samples) -> Samples:
    return (1 - np.cos(np.pi * tau)) / 2


def jerk(tau: Samples) -> Samples:
    return 10 * tau**3 - 15 * tau**4 + 6 * tau**5


def _lag(shape: Shape) -> tuple[float, float]:
    """Share of a move before its speed first, and after it last, exceeds 5 % of its peak."""
    tau = np.linspace(0, 1, 20001)
    speed = np.gradient(shape(tau))
    above = np.flatnonzero(speed > 0.05 * speed.max())
    return float(tau[above[0]]), float(1 - tau[above[-1]])


def skewed(power: float) -> Shape:
    """A minimum-jerk move whose time runs unevenly: power above 1 starts slowly, below 1 ends slowly."""
    return lambda tau: jerk(tau**power)


def hesitant(stop_s: float, whole_s: float, share: float = 0.5) -> Shape:
    """A move that stops on its way at a share of its path."""
    still = stop_s / whole_s
    first = (1 - still) * share

    def path(tau: Samples) -> Samples:
        one = jerk(np.clip(tau / first, 0, 1)) * share
        return one + jerk(np.clip((tau - first - still) / (1 - still - first), 0, 1)) * (1 - share)

    return path


@dataclass(frozen=True)
class Part:
    """A hold (move is False, drifting by `change`) or a move by `change` in seconds; counts says it is a phase."""

    seconds: float
    change: float = 0.0
    move: bool = False
    shape: Shape = jerk
    counts: bool = True
    rep: int = 0


@dataclass
class Script:
    """Parts one after the other, and the height they start from."""

    parts: list[Part] = field(default_factory=list)
    start: float = 0.0
    reps: int = 0

    def hold(self, seconds: float, drift: float = 0.0) -> "Script":
        if seconds > 0:
            self.parts.append(Part(seconds, drift))
        return self

    def move(
        self, seconds: float, change: float, shape: Shape = jerk, *, counts: bool = True, rep: int = 0
    ) -> "Script":
        self.parts.append(Part(seconds, change, True, shape, counts, rep))
        return self

    def rep(
        self,
        first_s: float,
        second_s: float,
        size: float,
        *,
        pause: float = 0.0,
        drift: float = 0.0,
        shape: Shape = jerk,
        back: float | None = None,
        shape2: Shape | None = None,
    ) -> "Script":
        self.reps += 1
        self.move(first_s, size, shape, rep=self.reps)
        self.hold(pause, drift)
        return self.move(second_s, -size - drift if back is None else back, shape2 or shape, rep=self.reps)

    def false_start(self, seconds: float, size: float, rest: float) -> "Script":
        self.move(seconds / 2, size, counts=False).move(seconds / 2, -size, counts=False)
        return self.hold(rest)


@dataclass(frozen=True)
class TruePhase:
    """A phase as it truly is: its word, begin and end (s), and the rep it belongs to (0: none that is complete).

    edges: begin and end by the speed rule, which are as true where it is doubtful whether a pause is one.
    """

    name: str
    begin: float
    end: float
    rep: int
    edges: tuple[float, float]

    def off(self, begin: float, end: float) -> tuple[float, float]:
        """Errors (s) of a begin and an end that were found."""
        true = ((self.begin, self.edges[0]), (self.end, self.edges[1]))
        one, two = (min((f - t for t in ts), key=abs) for f, ts in zip((begin, end), true, strict=True))
        return one, two


def truth(script: Script) -> list[TruePhase]:
    """The phases by the speed rule on the closed forms, parted where the script holds for a pause.

    It is doubtful whether a turn is a pause where the hold differs from PAUSE_S by no more than DOUBT_S, or is
    shorter beside a phase that begins or ends so slowly (SLOW_LAG) that a person would see it stand: both are true.
    """
    time = 0.0
    parts: list[tuple[Part, float]] = []
    for part in script.parts:
        if part.move and part.counts:
            parts.append((part, time))
        time += part.seconds
    lags = [_lag(part.shape) for part, _ in parts]
    edges = [
        [begin + early * part.seconds, begin + (1 - late) * part.seconds]
        for (part, begin), (early, late) in zip(parts, lags, strict=True)
    ]
    met, doubtful = [list(pair) for pair in edges], [list(pair) for pair in edges]
    for i, ((one, begun), (_, next_begun)) in enumerate(pairwise(parts)):
        ended = begun + one.seconds
        hold = next_begun - ended
        if edges[i + 1][0] - edges[i][1] < PAUSE_S or hold < PAUSE_S - 1e-9:
            met[i][1] = met[i + 1][0] = (ended + next_begun) / 2
        slow = hold < PAUSE_S and max(lags[i][1], lags[i + 1][0]) > SLOW_LAG
        unsure = slow or abs(hold - PAUSE_S) <= DOUBT_S
        if not unsure or edges[i + 1][0] - edges[i][1] < PAUSE_S:
            doubtful[i][1], doubtful[i + 1][0] = met[i][1], met[i + 1][0]
        elif hold >= PAUSE_S - 1e-9:
            doubtful[i][1] = doubtful[i + 1][0] = (ended + next_begun) / 2
    return [
        TruePhase(RAISING if part.change > 0 else LOWERING, *true, part.rep, (other[0], other[1]))
        for (part, _), true, other in zip(parts, met, doubtful, strict=True)
    ]


def clean(script: Script, rate: float) -> Samples:
    """The trace without noise: shape (samples,)."""
    total = sum(part.seconds for part in script.parts)
    times = np.arange(int(total * rate)) / rate
    trace = np.full(len(times), script.start, dtype=float)
    begin, level = 0.0, script.start
    for part in script.parts:
        here = (times >= begin) & (times < begin + part.seconds + 1e-12)
        tau = np.clip((times[here] - begin) / part.seconds, 0, 1)
        trace[here] = level + part.change * (part.shape(tau) if part.move else tau)
        begin, level = begin + part.seconds, level + part.change
    return trace


@dataclass(frozen=True)
class Case:
    """A trace as recorded, with its truth."""

    values: Samples
    trace: MovementTrace
    phases: list[TruePhase]
    first_phase: str
    clock: Fraction
    settings: PhaseSettings = SETTINGS

    def movement(self) -> Movement:
        length = nearest_sample(Fraction(len(self.values)) / self.trace.rate, self.clock)
        return filtered_movement(self.values, self.trace, self.clock, length, self.settings)

    def marks(self) -> Marks:
        movement = self.movement()
        return mark_trial(movement, self.settings, self.first_phase, Marks("R1", movement.length))


def recorded(
    script: Script,
    rng: np.random.Generator,
    *,
    rate: Fraction = Fraction(100),
    clock: Fraction = Fraction(2000),
    noise: float = 0.0,
    step: float = 0.0,
    chatter: float = 0.0,
    held: int = 1,
    up: Up = Up.LARGER,
    first: str | None = None,
    cut: tuple[float, float] = (0.0, 0.0),
    wobble: tuple[float, float] = (0.0, 1.0),
) -> Case:
    """What a lab system makes of a script.

    noise: SD of white noise; wobble: amplitude and frequency of sway; step: quantisation step; chatter: SD added
    before quantisation; held: each value repeated so often (a slower sensor written at a faster rate); cut:
    seconds taken off the begin and the end.
    """
    values = clean(script, float(rate))
    times = np.arange(len(values)) / float(rate)
    values = values + wobble[0] * np.sin(2 * np.pi * wobble[1] * times + rng.uniform(0, 6))
    values = values + rng.normal(0, noise, len(values)) + rng.normal(0, chatter, len(values))
    if step:
        values = np.round(values / step) * step
    if held > 1:
        values = np.repeat(values[::held], held)[: len(values)]
    begin, end = round(cut[0] * float(rate)), len(values) - round(cut[1] * float(rate))
    off = begin / float(rate)
    phases = [
        replace(p, begin=p.begin - off, end=p.end - off, edges=(p.edges[0] - off, p.edges[1] - off))
        for p in truth(script)
    ]
    last = (end - begin) / float(rate)
    broken = {p.rep for p in phases if p.begin < 0 or p.end > last} - _still_closed(phases, values[begin:end], rate)
    phases = [
        replace(
            p,
            begin=max(p.begin, 0.0),
            end=min(p.end, last),
            rep=0 if p.rep in broken else p.rep,
            edges=(max(p.edges[0], 0.0), min(p.edges[1], last)),
        )
        for p in phases
        if p.end > 0 and p.begin < last
    ]
    moves = [part for part in script.parts if part.move and part.rep]
    opens = first or (RAISING if moves[0].change > 0 else LOWERING)
    sign = 1.0 if up is Up.LARGER else -1.0
    return Case(sign * values[begin:end], MovementTrace("height", rate, "cm", up), phases, opens, clock)


def _still_closed(phases: list[TruePhase], values: Samples, rate: Fraction) -> set[int]:
    """Reps that lost so little to the recording's edge that they end within 30 % of their range of where they begin."""
    closed = set()
    for number in {p.rep for p in phases}:
        own = [p for p in phases if p.rep == number]
        if len(own) == 2 and own[0].end > 0 and own[1].begin < len(values) / float(rate):
            places = [min(max(round(t * float(rate)), 0), len(values) - 1) for p in own for t in (p.begin, p.end)]
            heights = values[places]
            if abs(heights[-1] - heights[0]) <= 0.3 * np.ptp(heights):
                closed.add(number)
    return closed


@dataclass(frozen=True)
class Score:
    """How marks compare with the truth: reps found, missed and extra; errors (s) of boundaries of found reps."""

    found: int
    missed: int
    extra: int
    errors: tuple[float, ...]

    def __add__(self, other: "Score") -> "Score":
        return Score(
            self.found + other.found,
            self.missed + other.missed,
            self.extra + other.extra,
            self.errors + other.errors,
        )


def score(case: Case, marks: Marks | None = None) -> Score:
    """Complete reps against the truth's complete reps: found where each phase shares half of the longer one."""
    marks = case.marks() if marks is None else marks
    clock = float(case.clock)
    wanted: dict[int, list[TruePhase]] = {}
    for phase in case.phases:
        if phase.rep:
            wanted.setdefault(phase.rep, []).append(phase)
    left = [rep for rep in marks.reps if rep.complete]
    extra = len(left)
    found, errors = 0, []
    for pair in wanted.values():
        for rep in left:
            spans = [(p.begin.sample / clock, p.end.sample / clock) for p in rep.phases]
            shares = [
                (min(e, t.end) - max(b, t.begin)) / max(e - b, t.end - t.begin)
                for (b, e), t in zip(spans, pair, strict=True)
            ]
            if min(shares) >= 0.5 and all(p.name == t.name for p, t in zip(rep.phases, pair, strict=True)):
                found, extra = found + 1, extra - 1
                left.remove(rep)
                errors += [d for (b, e), t in zip(spans, pair, strict=True) for d in t.off(b, e)]
                break
    return Score(found, len(wanted) - found, extra, tuple(errors))


def mirrored(case: Case) -> Case:
    """The same recording with the trace turned over and `up` with it: nothing may change."""
    other = Up.SMALLER if case.trace.up is Up.LARGER else Up.LARGER
    return replace(case, values=-case.values, trace=replace(case.trace, up=other))
