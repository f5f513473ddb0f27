"""Families of invented recordings: each a function of a seeded generator."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
from synthetic import Case, Script, Shape, Up, cosine, hesitant, jerk, recorded, skewed

Range = tuple[float, float]
SHAPES = (jerk, cosine, skewed(1.4), skewed(0.75))


def _sign(rng: np.random.Generator) -> float:
    return float(rng.choice([-1.0, 1.0]))


def _shape(rng: np.random.Generator) -> Shape:
    return SHAPES[rng.integers(len(SHAPES))]


def _set(
    rng: np.random.Generator,
    count: int | None = None,
    *,
    size: float = 50.0,
    pause: Range = (0.0, 1.0),
    rest: Range = (0.0, 1.5),
    tempo: Range = (0.6, 2.5),
    lead: Range = (0.5, 3.0),
) -> Script:
    """A set of reps of either order, with paused or immediate turnarounds."""
    way = _sign(rng)
    script = Script().hold(rng.uniform(*lead))
    for _ in range(count or rng.integers(3, 9)):
        stop = rng.uniform(*pause) if rng.random() < 0.6 else 0.0
        script.rep(
            rng.uniform(*tempo), rng.uniform(*tempo), way * size * rng.uniform(0.9, 1.1), pause=stop, shape=_shape(rng)
        )
        script.hold(rng.uniform(*rest) if rng.random() < 0.7 else 0.0)
    return script.hold(rng.uniform(*lead))


def plain(rng: np.random.Generator) -> Case:
    return recorded(_set(rng), rng)


def touch_and_go(rng: np.random.Generator) -> Case:
    return recorded(_set(rng, pause=(0, 0.05), rest=(0, 0.05), tempo=(0.5, 1.6)), rng, noise=0.05)


def paused(rng: np.random.Generator) -> Case:
    return recorded(_set(rng, pause=(0.5, 3), rest=(0.5, 3)), rng, noise=0.1)


def drifting(rng: np.random.Generator) -> Case:
    """Holds that sag or creep by up to 15 % of the range, at up to 12 % of the range a second."""
    way = _sign(rng)
    script = Script().hold(rng.uniform(0.5, 2), 50 * rng.uniform(-0.08, 0.08))
    for _ in range(rng.integers(3, 7)):
        hold = rng.uniform(1.0, 3.0)
        rate = rng.choice([-1.0, 1.0]) * rng.uniform(0.0, min(0.12, 0.15 / hold))
        script.rep(rng.uniform(1, 3), rng.uniform(1, 3), way * 50, pause=hold, drift=50 * rate * hold)
        hold = rng.uniform(1.0, 3.0)
        rate = rng.choice([-1.0, 1.0]) * rng.uniform(0.0, min(0.06, 0.08 / hold))
        script.hold(hold, 50 * rate * hold)
    return recorded(script, rng, noise=0.05)


def noisy(rng: np.random.Generator) -> Case:
    """White noise of up to 1 % of the range and sway of 0.6 %."""
    return recorded(_set(rng), rng, noise=rng.uniform(0.1, 0.5), wobble=(0.3, rng.uniform(0.3, 2)))


def tremor(rng: np.random.Generator) -> Case:
    return recorded(_set(rng), rng, noise=0.05, wobble=(rng.uniform(0.1, 0.3), rng.uniform(4, 9)))


def chattering(rng: np.random.Generator) -> Case:
    """Quantised to 0.1 to 0.4 with chatter, at 1000 Hz."""
    step = rng.choice([0.1, 0.2, 0.4])
    return recorded(
        _set(rng, tempo=(0.8, 3.0)), rng, rate=Fraction(1000), clock=Fraction(1000), step=step, chatter=step * 0.6
    )


def sample_and_hold(rng: np.random.Generator) -> Case:
    return recorded(_set(rng), rng, rate=Fraction(1000), clock=Fraction(1000), step=0.1, held=20)


def false_starts(rng: np.random.Generator) -> Case:
    way = _sign(rng)
    script = Script().hold(rng.uniform(0.5, 2))
    for _ in range(rng.integers(3, 7)):
        if rng.random() < 0.6:
            script.false_start(rng.uniform(0.5, 1.2), way * 50 * rng.uniform(0.08, 0.24), rng.uniform(0.3, 1.0))
        script.rep(rng.uniform(0.8, 2), rng.uniform(0.8, 2), way * 50, pause=rng.uniform(0, 1)).hold(
            rng.uniform(0.3, 1.5)
        )
        if rng.random() < 0.3:
            script.false_start(rng.uniform(0.5, 1.2), way * 50 * rng.uniform(0.08, 0.24), rng.uniform(0.3, 1.0))
    return recorded(script, rng, noise=0.1)


def partial(rng: np.random.Generator) -> Case:
    """Reps of 40 to 70 % of the range beside full ones, the reduced ones up to two thirds of all."""
    way, script = _sign(rng), Script().hold(rng.uniform(0.5, 2))
    count = rng.integers(4, 9)
    reduced = rng.permutation(count) < rng.integers(1, max(2, 2 * count // 3))
    for less in reduced:
        size = 50 * (rng.uniform(0.4, 0.7) if less else rng.uniform(0.93, 1.05))
        script.rep(rng.uniform(0.7, 2), rng.uniform(0.7, 2), way * size, pause=rng.choice([0, rng.uniform(0.3, 1)]))
        script.hold(rng.choice([0, rng.uniform(0.3, 1)]))
    return recorded(script.hold(1), rng, noise=0.1)


def partial_and_false(rng: np.random.Generator) -> Case:
    way, script = _sign(rng), Script().hold(rng.uniform(0.5, 2))
    for i in range(6):
        if rng.random() < 0.4:
            script.false_start(rng.uniform(0.5, 1.0), way * 50 * rng.uniform(0.05, 0.18), rng.uniform(0.3, 1.0))
        script.rep(1.0, 1.2, way * 50 * (rng.uniform(0.45, 0.7) if i % 2 else 1.0), pause=rng.uniform(0, 0.6)).hold(
            rng.uniform(0.3, 1)
        )
    return recorded(script, rng, noise=0.1)


def tempos(rng: np.random.Generator) -> Case:
    """Slow and fast reps in one recording, 10 to 1."""
    way, script = _sign(rng), Script().hold(1)
    for _ in range(6):
        base = float(np.exp(rng.uniform(np.log(0.45), np.log(4.5))))
        script.rep(base, base * rng.uniform(0.7, 1.4), way * 50, pause=rng.uniform(0, 1), shape=_shape(rng)).hold(
            rng.uniform(0, 1.5)
        )
    return recorded(script.hold(1), rng, noise=0.1)


def slow(rng: np.random.Generator) -> Case:
    """Phases of 4 to 8 s with noise and holds."""
    script = _set(rng, 4, tempo=(4, 8), pause=(0.5, 3), rest=(0.5, 3))
    return recorded(script, rng, noise=0.15)


def cut_off(rng: np.random.Generator) -> Case:
    """Recordings that begin and end in mid-movement."""
    script = _set(rng, 5, lead=(0.2, 0.3), pause=(0, 0.5), rest=(0, 0.5), tempo=(1.0, 2.0))
    return recorded(script, rng, noise=0.1, cut=(rng.uniform(0.7, 2.0), rng.uniform(0.7, 2.0)))


def lead_in(rng: np.random.Generator) -> Case:
    """One way in and one way out, 1.3 to 4 times the range: standing up before the set, sitting down after it."""
    way = _sign(rng)
    far = 50 * rng.uniform(1.3, 4) * way
    script = (
        Script(start=float(far))
        .hold(rng.uniform(0.5, 2))
        .move(rng.uniform(1, 3), -far, counts=False)
        .hold(rng.uniform(0.5, 3))
    )
    for _ in range(rng.integers(3, 8)):
        script.rep(
            rng.uniform(0.8, 2), rng.uniform(0.8, 2), way * 50 * rng.uniform(0.9, 1.1), pause=rng.uniform(0, 0.8)
        ).hold(rng.uniform(0.0, 1))
    script.hold(rng.uniform(0.5, 2)).move(rng.uniform(1, 3), far * rng.choice([0, 1]) + 0.01, counts=False)
    return recorded(script.hold(rng.uniform(0.5, 2)), rng, noise=0.1)


def lead_in_away(rng: np.random.Generator) -> Case:
    """As lead_in, from the other side: the way in goes the way a rep does first."""
    way = _sign(rng)
    far = -50 * rng.uniform(1.3, 4) * way
    script = (
        Script(start=float(far))
        .hold(rng.uniform(0.5, 2))
        .move(rng.uniform(1, 3), -far, counts=False)
        .hold(rng.uniform(0.5, 3))
    )
    for _ in range(rng.integers(3, 8)):
        script.rep(
            rng.uniform(0.8, 2), rng.uniform(0.8, 2), way * 50 * rng.uniform(0.9, 1.1), pause=rng.uniform(0, 0.8)
        ).hold(rng.uniform(0.0, 1))
    script.hold(rng.uniform(0.5, 2)).move(rng.uniform(1, 3), far * rng.choice([0, 1]) + 0.01, counts=False)
    return recorded(script.hold(rng.uniform(0.5, 2)), rng, noise=0.1)


def there_and_back(rng: np.random.Generator) -> Case:
    """A large excursion there and back before the set (walking to the bar), 2.5 to 4 times the range."""
    way = _sign(rng)
    far = 50 * rng.uniform(2.5, 4) * rng.choice([-1, 1])
    script = Script().hold(1).move(2, far, counts=False).hold(rng.uniform(0, 2)).move(2, -far, counts=False).hold(1.5)
    for _ in range(rng.integers(4, 8)):
        script.rep(rng.uniform(0.8, 2), rng.uniform(0.8, 2), way * 50, pause=rng.uniform(0, 0.8)).hold(
            rng.uniform(0.0, 1)
        )
    return recorded(script.hold(1), rng, noise=0.1)


def mostly_rest(rng: np.random.Generator) -> Case:
    """Two or three quick reps in a minute of rest."""
    script = _set(rng, int(rng.integers(2, 4)), tempo=(0.5, 0.8), pause=(0, 0.2), rest=(0, 0.3), lead=(25, 35))
    return recorded(script, rng, noise=0.2)


def single(rng: np.random.Generator) -> Case:
    return recorded(_set(rng, 1), rng, noise=0.1)


def hesitating(rng: np.random.Generator) -> Case:
    """Moves that stop on their way for 0.2 to 0.8 s."""
    way, script = _sign(rng), Script().hold(1)
    for _ in range(5):
        whole = rng.uniform(1.5, 3)
        shape = hesitant(rng.uniform(0.2, 0.8), whole, rng.uniform(0.3, 0.7)) if rng.random() < 0.5 else jerk
        script.rep(whole, rng.uniform(0.8, 2), way * 50, pause=rng.uniform(0.3, 1), shape=shape, shape2=jerk).hold(
            rng.uniform(0.4, 1)
        )
    return recorded(script.hold(1), rng, noise=0.1)


def shifting(rng: np.random.Generator) -> Case:
    """The rest level moves from rep to rep by up to 15 % of the range."""
    way, script = _sign(rng), Script().hold(1)
    for _ in range(6):
        script.rep(
            rng.uniform(0.8, 2),
            rng.uniform(0.8, 2),
            way * 50,
            pause=rng.uniform(0, 1),
            back=-way * 50 * rng.uniform(0.87, 1.13),
        ).hold(rng.uniform(0, 1))
    return recorded(script.hold(1), rng, noise=0.1)


def rates(rng: np.random.Generator) -> Case:
    rate = rng.choice(
        [Fraction(25), Fraction(30), Fraction(50), Fraction("148.148"), Fraction(240), Fraction(1000), Fraction(2000)]
    )
    clock = rng.choice([Fraction(1000), Fraction("1925.926"), Fraction(2000)])
    up = rng.choice([Up.LARGER, Up.SMALLER])
    return recorded(_set(rng), rng, rate=rate, clock=max(clock, rate), noise=0.05, up=up)


def overshooting(rng: np.random.Generator) -> Case:
    """Each move overshoots by 4 to 8 % and settles."""
    way, script = _sign(rng), Script().hold(1)
    for _ in range(5):
        over = rng.uniform(0.04, 0.08) * 50 * way
        script.reps += 1
        for size in (way * 50, -way * 50):
            script.move(rng.uniform(0.8, 1.5), size, rep=script.reps).move(
                0.25, -over if size * way > 0 else over, counts=False
            )
            script.move(0.3, over * (0.7 if size * way > 0 else -0.7), counts=False).hold(rng.uniform(0.4, 1.2))
    return recorded(script.hold(1), rng, noise=0.1)


def swaying(rng: np.random.Generator) -> Case:
    """Slow sway of 1 to 2 % of the range at 0.2 to 0.7 Hz over everything."""
    return recorded(_set(rng), rng, noise=0.05, wobble=(rng.uniform(0.5, 1.0), rng.uniform(0.2, 0.7)))


def creeping_sensor(rng: np.random.Generator) -> Case:
    """A sensor whose zero creeps by 20 to 60 % of the range over the trial."""
    case = recorded(_set(rng), rng, noise=0.1)
    creep = np.linspace(0, 50 * rng.uniform(0.2, 0.6) * rng.choice([-1, 1]), len(case.values))
    return replace(case, values=case.values + creep)


def coarse(rng: np.random.Generator) -> Case:
    """An encoder that steps by 2 % of the range."""
    return recorded(_set(rng), rng, step=1.0)


def spiking(rng: np.random.Generator) -> Case:
    """Single samples far off, up to twice the range, in some places."""
    case = recorded(_set(rng), rng, noise=0.05)
    values = case.values.copy()
    places = rng.integers(0, len(values), 5)
    values[places] += rng.uniform(-100, 100, 5)
    return replace(case, values=values)


def short_gaps(rng: np.random.Generator) -> Case:
    """Missing stretches of 20 to 180 ms anywhere."""
    case = recorded(_set(rng), rng, noise=0.05)
    values = case.values.copy()
    for place in rng.integers(0, len(values) - 30, 6):
        values[place : place + rng.integers(2, 19)] = np.nan
    return replace(case, values=values)


def walking_up(rng: np.random.Generator) -> Case:
    """Small steps of 8 to 18 % of the range before and after the set."""
    way = _sign(rng)
    script = Script().hold(0.5)
    for _ in range(rng.integers(4, 10)):
        script.move(0.4, rng.uniform(4, 9), counts=False).move(0.4, -rng.uniform(4, 9), counts=False)
    script.hold(rng.uniform(0.3, 1.5))
    for _ in range(rng.integers(2, 8)):
        script.rep(rng.uniform(0.8, 2), rng.uniform(0.8, 2), way * 50, pause=rng.uniform(0, 1)).hold(rng.uniform(0, 1))
    script.hold(0.5)
    for _ in range(rng.integers(4, 10)):
        script.move(0.4, rng.uniform(4, 9), counts=False).move(0.4, -rng.uniform(4, 9), counts=False)
    return recorded(script.hold(0.5), rng, noise=0.1)


def bouncing(rng: np.random.Generator) -> Case:
    """A bounce of 8 to 20 % at the turnaround."""
    way, script = _sign(rng), Script().hold(1)
    for _ in range(5):
        script.reps += 1
        back = 50 * way * rng.uniform(0.08, 0.2)
        script.move(rng.uniform(0.8, 1.5), 50 * way, rep=script.reps)
        script.move(0.3, -back, counts=False).move(0.3, back, counts=False).hold(rng.uniform(0.3, 1))
        script.move(rng.uniform(0.8, 1.5), -50 * way, rep=script.reps).hold(rng.uniform(0.3, 1))
    return recorded(script.hold(1), rng, noise=0.1)


def lead_in_partial(rng: np.random.Generator) -> Case:
    """Standing up or sitting down around a set that holds reps of 50 to 70 %."""
    way = _sign(rng)
    far = 50 * rng.uniform(1.3, 3) * _sign(rng)
    script = Script(start=float(far)).hold(1).move(rng.uniform(1, 3), -far, counts=False).hold(rng.uniform(0.5, 3))
    for i in range(rng.integers(4, 8)):
        size = 50 * (rng.uniform(0.5, 0.7) if i % 2 else rng.uniform(0.95, 1.05))
        script.rep(rng.uniform(0.8, 2), rng.uniform(0.8, 2), way * size, pause=rng.uniform(0, 0.8)).hold(
            rng.uniform(0, 1)
        )
    script.hold(1).move(rng.uniform(1, 3), far, counts=False)
    return recorded(script.hold(1), rng, noise=0.1)


def long_drift(rng: np.random.Generator) -> Case:
    """Holds of 5 to 10 s that sag by up to 25 %."""
    way, script = _sign(rng), Script().hold(1)
    for _ in range(4):
        drift = -way * 50 * rng.uniform(0.05, 0.25)
        script.rep(rng.uniform(1, 2), rng.uniform(1, 2), way * 50, pause=rng.uniform(5, 10), drift=drift)
        script.hold(rng.uniform(1, 3))
    return recorded(script.hold(1), rng, noise=0.1)


def uneven_sides(rng: np.random.Generator) -> Case:
    """Slow lowering and quick raising, 5 to 1."""
    way, script = _sign(rng), Script().hold(1)
    for _ in range(5):
        script.rep(rng.uniform(3, 5), rng.uniform(0.4, 0.8), way * 50, pause=rng.choice([0, 0.5]), shape=_shape(rng))
        script.hold(rng.choice([0, 0.8]))
    return recorded(script.hold(1), rng, noise=0.1)


def fast(rng: np.random.Generator) -> Case:
    """Phases of 0.2 to 0.5 s, touch and go."""
    script = _set(rng, 10, tempo=(0.2, 0.5), pause=(0, 0.05), rest=(0, 0.05), lead=(0.5, 2))
    return recorded(script, rng, noise=0.1)


def tiring(rng: np.random.Generator) -> Case:
    """Twelve reps whose range falls from full to half while they slow down."""
    way, script = _sign(rng), Script().hold(1)
    for share in np.linspace(1, rng.uniform(0.45, 0.6), 12):
        script.rep(0.8 / share, 0.9 / share**2, way * 50 * share, pause=rng.choice([0, 0.4])).hold(rng.uniform(0, 0.8))
    return recorded(script.hold(1), rng, noise=0.15)


def two_sets(rng: np.random.Generator) -> Case:
    """Two sets in one recording, with a larger movement away and back between them."""
    way, script = _sign(rng), Script().hold(1)
    for part in range(2):
        for _ in range(4):
            script.rep(rng.uniform(0.8, 1.5), rng.uniform(0.8, 1.5), way * 50, pause=rng.uniform(0, 0.6))
            script.hold(rng.uniform(0.1, 0.8))
        if part == 0:
            far = -way * 50 * rng.uniform(1.5, 2.5)
            script.hold(1).move(2, far, counts=False).hold(rng.uniform(3, 10)).move(2, -far, counts=False).hold(1)
    return recorded(script.hold(1), rng, noise=0.1)


def very_noisy(rng: np.random.Generator) -> Case:
    """White noise of 2 to 4 % of the range."""
    return recorded(_set(rng, tempo=(0.8, 2.0), pause=(0.3, 1.5), rest=(0.3, 1.5)), rng, noise=rng.uniform(1, 2))


def slow_sensor(rng: np.random.Generator) -> Case:
    """A sensor of 10 or 20 Hz, each value written 50 or 100 times."""
    held = int(rng.choice([50, 100]))
    return recorded(_set(rng), rng, rate=Fraction(1000), clock=Fraction(1000), step=0.2, held=held)


def short(rng: np.random.Generator) -> Case:
    """Recordings of one or two reps that begin and end with the movement."""
    script = _set(rng, int(rng.integers(1, 3)), lead=(0.0, 0.3), tempo=(0.8, 2))
    return recorded(script, rng, noise=0.05)


def slow_touch_and_go(rng: np.random.Generator) -> Case:
    """Minimum-jerk phases of 1 to 4 s that turn at once at the bottom, and mostly at the top."""
    way, script = _sign(rng), Script().hold(1.5)
    for _ in range(5):
        script.rep(rng.uniform(1, 4), rng.uniform(1, 4), way * 50 * rng.uniform(0.9, 1.1))
        script.hold(rng.choice([0, 0, rng.uniform(0.5, 2)]))
    return recorded(script.hold(1.5), rng, noise=0.05)


def tempo_4210(rng: np.random.Generator) -> Case:
    """A tempo of 4-2-1-0: lowered in 4 s, held for 2 s, raised in 1 s, and down again at once."""
    script = Script().hold(2)
    for _ in range(5):
        first, stop, second = (rng.uniform(0.9, 1.1) * seconds for seconds in (4, 2, 1))
        script.rep(first, second, -50 * rng.uniform(0.95, 1.05), pause=stop)
    return recorded(script.hold(2), rng, noise=0.05)


def slow_curls(rng: np.random.Generator) -> Case:
    """Curls with phases of about 4 s that turn at the top at once, short holds below."""
    script = Script().hold(2)
    for _ in range(4):
        script.rep(rng.uniform(3.5, 4.5), rng.uniform(3.5, 4.5), 120 * rng.uniform(0.95, 1.05))
        script.hold(rng.uniform(0.3, 1))
    return recorded(script.hold(2), rng, noise=0.12)


def walked_out(rng: np.random.Generator) -> Case:
    """A bar lifted off, walked out in steps, and squatted in slow reps that turn at once."""
    script = Script().hold(1).move(0.8, 6, counts=False).hold(0.5)
    for _ in range(3):
        script.move(0.4, -3, counts=False).move(0.4, 3, counts=False)
    script.hold(1.5)
    for _ in range(5):
        script.rep(rng.uniform(1.8, 2.5), rng.uniform(1.5, 2.2), -55 * rng.uniform(0.95, 1.05))
        script.hold(rng.uniform(0.4, 1.5))
    for _ in range(3):
        script.move(0.4, -3, counts=False).move(0.4, 3, counts=False)
    return recorded(script.hold(0.5).move(0.8, -6, counts=False).hold(1), rng, noise=0.08)


FAMILIES = {
    f.__name__: f
    for f in (plain, touch_and_go, paused, drifting, noisy, tremor, chattering, sample_and_hold, false_starts, partial,
              partial_and_false, tempos, slow, cut_off, lead_in, lead_in_away, there_and_back, mostly_rest, single,
              hesitating, shifting, rates, overshooting, swaying, creeping_sensor, coarse, spiking, short_gaps,
              walking_up, bouncing, lead_in_partial, long_drift, uneven_sides, fast, tiring,
              two_sets, very_noisy, slow_sensor, short, slow_touch_and_go, tempo_4210, slow_curls, walked_out)
}  # fmt: skip
