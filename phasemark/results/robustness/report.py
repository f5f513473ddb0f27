"""The findings of a comparison under every variant, and which of them stand."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from math import nan

import numpy as np
from numpy.typing import NDArray

from phasemark.model.plan import AnalysisPlan
from phasemark.results.comparison.brief import Differences, differences
from phasemark.results.comparison.cells import CellKey, Place
from phasemark.results.robustness.boundaries import FIRST_DRAW, TOGETHER
from phasemark.results.robustness.frame import Frame
from phasemark.results.robustness.people import PersonCells
from phasemark.results.robustness.stands import Reach, agrees, reach, same_direction
from phasemark.results.robustness.variants import Group

PERCENTILES = (2.5, 50.0, 97.5)


@dataclass(frozen=True, slots=True)
class Under:
    """A finding under one variant: n, mean difference a - b and its interval (nan where missing), and what it says.

    agrees: the finding stands in it (stands.agrees). same_direction: the interval is on the same side of zero.
    """

    group: Group
    variant: str
    n: int
    mean: float
    low: float
    high: float
    reach: Reach
    agrees: bool
    same_direction: bool


@dataclass(frozen=True, slots=True)
class Drawn:
    """A finding under independent draws of its boundaries: in how many it stands, and percentiles of the difference.

    low, median and high are the 2.5th, 50th and 97.5th percentile of the mean differences of the draws.
    """

    count: int
    agreeing: int
    same_direction: int
    low: float
    median: float
    high: float

    @property
    def share(self) -> float:
        """The share of the draws in which the finding stands."""
        return self.agreeing / self.count if self.count else nan


@dataclass(frozen=True, slots=True)
class Finding:
    """One comparison under all variants, the planned analysis first; drawn is None where no boundary was drawn.

    stands: it is a finding as planned, and stands in every variant and every draw. keeps_direction: the interval is on
    one and the same side of zero in all of them, however it lies to the smallest effect that matters.
    """

    place: Place
    primary: bool
    under: tuple[Under, ...]
    drawn: Drawn | None

    @property
    def planned(self) -> Under:
        """The analysis as planned."""
        return self.under[0]

    @property
    def stands(self) -> bool:
        """Whether it stands in everything."""
        return all(one.agrees for one in self.under) and (self.drawn is None or self.drawn.agreeing == self.drawn.count)

    @property
    def keeps_direction(self) -> bool:
        """Whether the interval keeps to one side of zero in everything."""
        drawn = self.drawn
        return all(one.same_direction for one in self.under) and (drawn is None or drawn.same_direction == drawn.count)

    @property
    def failing(self) -> tuple[Under, ...]:
        """The variants in which it does not stand."""
        return tuple(one for one in self.under if not one.agrees)


@dataclass(frozen=True, slots=True)
class Robustness:
    """All findings of a comparison under all variants.

    smallest is the smallest effect that matters, 0 where none applies (then an interval only has to keep to its side of
    zero). shift_s is how far (s) boundaries are moved, seed that of the draws. said: what was not varied, and why.
    """

    plan: AnalysisPlan
    unit: str
    difference_unit: str
    smallest: float
    shift_s: float
    seed: int
    findings: tuple[Finding, ...]
    said: tuple[str, ...] = ()

    def finding(self, place: Place) -> Finding:
        """The finding at a place, which must be one of those compared."""
        return next(one for one in self.findings if one.place == place)


def robustness_of(frame: Frame, people: Mapping[str, PersonCells], said: Iterable[str] = ()) -> Robustness:
    """Everybody's cells brought together: each place of the comparison under every variant and draw."""
    comparison = frame.comparison
    findings = tuple(_finding(frame, people, cell.place, primary=cell.primary) for cell in comparison.cells)
    return Robustness(
        frame.plan,
        comparison.unit,
        comparison.difference_unit,
        frame.smallest,
        frame.numbers.study.settings.uncertainty.shift_s,
        frame.seed,
        findings,
        (*frame.variants.said, *frame.said, *said),
    )


def _finding(frame: Frame, people: Mapping[str, PersonCells], place: Place, *, primary: bool) -> Finding:
    names = [variant.name for variant in frame.variants.all]
    by_variant = _differences(
        frame, people, place, len(names), lambda own, key: np.array([own.under[name].get(key, nan) for name in names])
    )
    planned = by_variant.low[0], by_variant.high[0]
    of_variants = [(variant.group, variant.name) for variant in frame.variants.all]
    under = _under(frame, by_variant, of_variants, by_variant.mean[0], planned)
    if not frame.moves:
        return Finding(place, primary, tuple(under), None)
    rows = FIRST_DRAW + frame.draws
    missing = np.full(rows, nan)
    by_row = _differences(frame, people, place, rows, lambda own, key: own.moved.get(key, missing))
    part = slice(1, FIRST_DRAW)
    together = Differences(by_row.n[part], by_row.mean[part], by_row.low[part], by_row.high[part])
    shifted = [(Group.BOUNDARIES, name) for name in move_names(frame)]
    under[1:1] = _under(frame, together, shifted, by_variant.mean[0], planned)
    return Finding(place, primary, tuple(under), _drawn(frame, by_row, by_variant.mean[0], planned))


def move_names(frame: Frame) -> tuple[str, ...]:
    """What the moves of all boundaries together are called: 'all boundaries 50 ms earlier'."""
    by_ms = f"{1000 * frame.numbers.study.settings.uncertainty.shift_s:g} ms"
    return tuple(" ".join((*name.split()[:-1], by_ms, name.split()[-1])) for name in TOGETHER)


def _differences(
    frame: Frame,
    people: Mapping[str, PersonCells],
    place: Place,
    rows: int,
    values: Callable[[PersonCells, CellKey], NDArray[np.float64]],
) -> Differences:
    """Differences a - b over participants at a place, in each of so many rows."""
    levels = []
    for level in (frame.plan.a, frame.plan.b):
        own = [
            values(cells, CellKey(who, level, place.muscle, place.side, place.phase, place.third))
            for who, cells in people.items()
        ]
        levels.append(np.array(own, dtype=np.float64).reshape(len(people), rows).T)
    return differences(levels[0], levels[1], level=frame.plan.confidence)


def _under(
    frame: Frame,
    found: Differences,
    names: Iterable[tuple[Group, str]],
    mean: float,
    planned: tuple[float, float],
) -> list[Under]:
    stand = agrees(planned, found.low, found.high, frame.smallest)
    same = same_direction(mean, found.low, found.high)
    return [
        Under(
            group, name, int(found.n[row]), float(found.mean[row]), float(found.low[row]), float(found.high[row]),
            reach(found.low[row], found.high[row], frame.smallest), bool(stand[row]), bool(same[row]),
        )
        for row, (group, name) in enumerate(names)
    ]  # fmt: skip


def _drawn(frame: Frame, rows: Differences, mean: float, planned: tuple[float, float]) -> Drawn | None:
    means, low, high = (part[FIRST_DRAW:] for part in (rows.mean, rows.low, rows.high))
    if not len(means):
        return None
    there = means[np.isfinite(means)]
    percentiles = np.percentile(there, PERCENTILES).tolist() if len(there) else [nan] * len(PERCENTILES)
    return Drawn(
        len(means),
        int(agrees(planned, low, high, frame.smallest).sum()),
        int(same_direction(mean, low, high).sum()),
        *percentiles,
    )
