"""Amplitude over repetitions and over sets, on each level by itself: what fatigue or practice does, apart from it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean

from phasemark.model.plan import AnalysisPlan
from phasemark.results.comparison.cells import CellValues, Place, RepValue, place_of
from phasemark.results.comparison.compare import family_of
from phasemark.statistics.one_sample import OneSampleT, one_sample_t
from phasemark.statistics.slope import slope

REPETITIONS, SETS, BOTH = "repetitions", "sets", "both"
Series = list[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class PlaceTrend:
    """Change of amplitude at a place over repetitions (within their set) or sets, tested over participants.

    level is one of the two, BOTH (each participant's mean of the two), or 'a - b' (whether they change differently).
    slope is in the values' unit a repetition or set; last_less_first is the last counted value minus the first. None
    where nobody has two values. Of several sets of a participant the mean is taken, so that everybody counts once.
    """

    place: Place
    over: str
    level: str
    participants: tuple[str, ...]
    slope: OneSampleT | None
    last_less_first: OneSampleT | None


def trends(values: CellValues, plan: AnalysisPlan) -> tuple[PlaceTrend, ...]:
    """Trends at every place of a plan (two-stage analysis; Matthews et al. 1990, BMJ 300:230-235, from memory)."""
    held: dict[Place, dict[str, dict[str, list[RepValue]]]] = {}
    for one in values.rep_values:
        if one.key.level in (plan.a, plan.b) and one.value == one.value:
            of_place = held.setdefault(place_of(one.key), {})
            of_place.setdefault(one.key.level, {}).setdefault(one.key.participant, []).append(one)
    found: list[PlaceTrend] = []
    for place in family_of(values, plan):
        for over, series in ((REPETITIONS, _by_trial), (SETS, _by_set)):
            found += _of_place(place, over, held.get(place, {}), series, plan)
    return tuple(found)


def _by_trial(reps: Sequence[RepValue]) -> list[Series]:
    per_trial: dict[str, Series] = {}
    for one in reps:
        per_trial.setdefault(one.trial, []).append((float(one.rep), one.value))
    return list(per_trial.values())


def _by_set(reps: Sequence[RepValue]) -> list[Series]:
    per_set: dict[int, dict[str, list[float]]] = {}
    for one in reps:
        per_set.setdefault(one.set, {}).setdefault(one.trial, []).append(one.value)
    means = [(float(number), fmean(map(fmean, of.values()))) for number, of in sorted(per_set.items())]
    return [means]


def _slope(series: Series) -> float:
    return slope([place for place, _ in series], [value for _, value in series])


def _last_less_first(series: Series) -> float:
    return max(series)[1] - min(series)[1] if len({place for place, _ in series}) > 1 else float("nan")


def _of_place(
    place: Place,
    over: str,
    held: Mapping[str, Mapping[str, Sequence[RepValue]]],
    series: Callable[[Sequence[RepValue]], list[Series]],
    plan: AnalysisPlan,
) -> list[PlaceTrend]:
    def each(level: str, how: Callable[[Series], float]) -> dict[str, float]:
        found = {}
        for who, reps in held.get(level, {}).items():
            changes = [change for one in series(reps) if (change := how(one)) == change]
            if changes:
                found[who] = fmean(changes)
        return found

    tables = {}
    for how in (_slope, _last_less_first):
        a, b = each(plan.a, how), each(plan.b, how)
        both = sorted(a.keys() & b.keys())
        tables[how] = {
            plan.a: a,
            plan.b: b,
            BOTH: {who: (a[who] + b[who]) / 2 for who in both},
            "a - b": {who: a[who] - b[who] for who in both},
        }
    return [
        PlaceTrend(
            place, over, level, tuple(sorted(slopes)),
            _tested(slopes, plan), _tested(tables[_last_less_first][level], plan),
        )
        for level, slopes in tables[_slope].items()
    ]  # fmt: skip


def _tested(found: Mapping[str, float], plan: AnalysisPlan) -> OneSampleT | None:
    return one_sample_t([found[who] for who in sorted(found)], level=plan.confidence) if found else None
