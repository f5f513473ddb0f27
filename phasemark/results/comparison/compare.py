"""Two levels of a factor compared over participants, at each place: muscle, side, phase and third."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from math import nan, sqrt

import numpy as np

from phasemark.model.errors import BadCall
from phasemark.model.plan import AnalysisPlan, PrimaryTest
from phasemark.model.recording import Side
from phasemark.results.comparison.cells import CellKey, CellValues, Place
from phasemark.results.comparison.compared import ComparedCell, Comparison, Detail, Spread
from phasemark.results.comparison.needed import needed
from phasemark.results.comparison.verdict import Verdict, in_words, verdict
from phasemark.statistics.effect_size import paired_effect_sizes
from phasemark.statistics.equivalence import tost_paired
from phasemark.statistics.holm import holm
from phasemark.statistics.one_sample import OneSampleT
from phasemark.statistics.paired import paired_t
from phasemark.statistics.percent import geometric_mean_ratio, ratio_of_means
from phasemark.statistics.permutation import sign_flips
from phasemark.statistics.signed_ranks import hodges_lehmann, signed_ranks
from phasemark.statistics.values import no_interval


def compare_cells(values: CellValues, plan: AnalysisPlan, *, brief: bool = False, planned: bool = True) -> Comparison:
    """Carry out a plan on participants' cells: every muscle, side, phase and third of its family.

    Participants without both levels at a place are left out there, and named. In brief only differences, their
    intervals and t tests are computed, about 20 times as fast; thousands of variants of whole tables are faster still
    as arrays (`brief.differences`). Where nothing was planned beforehand no comparison is the primary one:
    each is judged by its corrected p.

    Raises:
        BadCall: nobody has a value on one of the plan's two levels.
    """
    people = _people(values, plan)
    family = family_of(values, plan)
    primary = _primary_place(family, plan) if planned else None
    cells = [_compared(values, plan, place, people, primary=place == primary) for place in family]
    if not brief:
        cells = _in_detail(cells, plan, effect_applies=values.effect_applies)
    sides = _side_said(family, plan) if planned else ()
    said = (*values.said, *sides, *missing_said(cells, plan, people))
    return Comparison(plan, values.unit, tuple(cells), said, planned)


def _people(values: CellValues, plan: AnalysisPlan) -> tuple[str, ...]:
    """Everybody with any value on either of the two levels."""
    for level in (plan.a, plan.b):
        if not any(key.level == level for key in values.values):
            raise BadCall(
                f"There is no measured value of {plan.factor} {level!r}; measured are "
                f"{', '.join(dict.fromkeys(key.level for key in values.values)) or 'none'}."
            )
    return tuple(sorted({key.participant for key in values.values if key.level in (plan.a, plan.b)}))


def family_of(values: CellValues, plan: AnalysisPlan) -> tuple[Place, ...]:
    """The places that a plan names and that have a value on one of its levels, in its order."""
    there = {(k.muscle, k.side, k.phase, k.third) for k in values.values if k.level in (plan.a, plan.b)}
    return tuple(
        Place(muscle, side, phase, third)
        for muscle in plan.muscles
        for side in Side
        for phase in plan.phases
        for third in plan.thirds
        if (muscle, side, phase, third) in there
    )


def _primary_place(family: Iterable[Place], plan: AnalysisPlan) -> Place | None:
    wanted = (plan.primary_muscle, plan.primary_phase, plan.primary_third)
    return next((place for place in family if (place.muscle, place.phase, place.third) == wanted), None)


def _compared(
    values: CellValues, plan: AnalysisPlan, place: Place, people: Sequence[str], *, primary: bool
) -> ComparedCell:
    of_a, of_b = values.of(place, plan.a), values.of(place, plan.b)
    both = tuple(who for who in people if who in of_a and who in of_b)
    a, b = (tuple(of[who] for who in both) for of in (of_a, of_b))
    left_out = tuple(who for who in people if who not in both)
    empty = OneSampleT(
        0, nan, nan, nan, nan, 0, nan, no_interval(plan.confidence), f"nobody has both {plan.a} and {plan.b}"
    )
    spreads = (nan, nan), (nan, nan)
    difference = empty
    if both:
        found = paired_t(a, b, level=plan.confidence)
        difference, spreads = found.difference, ((found.mean_a, found.sd_a), (found.mean_b, found.sd_b))
    of_reps = [_between_reps(values, place, level, both) for level in (plan.a, plan.b)]
    spread_a, spread_b = (Spread(*spread, reps) for spread, reps in zip(spreads, of_reps, strict=True))
    return ComparedCell(place, primary, both, left_out, a, b, spread_a, spread_b, difference)


def _between_reps(values: CellValues, place: Place, level: str, people: Sequence[str]) -> float:
    keys = (CellKey(who, level, place.muscle, place.side, place.phase, place.third) for who in people)
    found = [spread for key in keys if (spread := values.between_reps[key]) == spread]
    return sqrt(float(np.mean(np.square(found)))) if found else nan


def _in_detail(cells: Sequence[ComparedCell], plan: AnalysisPlan, *, effect_applies: bool) -> list[ComparedCell]:
    """The cells with their detail, the p values corrected over all of them."""
    detailed = [_detail(cell, plan, effect_applies=effect_applies) for cell in cells]
    adjusted = holm([detail.p for detail in detailed])
    equivalent = holm([_p_equivalent(detail) for detail in detailed])
    family = sum(detail.p == detail.p for detail in detailed)
    return [
        replace(
            cell,
            detail=_decided(cell, plan, replace(detail, p_holm=float(p), p_equivalent_holm=float(q), family=family)),
        )
        for cell, detail, p, q in zip(cells, detailed, adjusted, equivalent, strict=True)
    ]


def _p_equivalent(detail: Detail) -> float:
    return nan if detail.equivalence is None else detail.equivalence.p


def _detail(cell: ComparedCell, plan: AnalysisPlan, *, effect_applies: bool) -> Detail:
    a, b, level = cell.a, cell.b, plan.confidence
    smallest = plan.smallest_effect if effect_applies else nan
    required = needed(cell.difference.sd, cell.n, smallest, alpha=1 - level)
    nothing = Verdict.NOT_SETTLED
    if not cell.n:
        return Detail(nan, nan, 0, None, None, None, None, None, None, None, nan, required, nothing, "")
    ranks, flips = signed_ranks(a, b), sign_flips(a, b)
    equivalence = tost_paired(a, b, -smallest, smallest, alpha=1 - level) if effect_applies else None
    p = {
        PrimaryTest.PAIRED_T: cell.difference.p,
        PrimaryTest.WILCOXON: ranks.p_exact,
        PrimaryTest.SIGN_FLIP: flips.p,
    }[plan.test]
    return Detail(
        p, nan, 0, ranks, hodges_lehmann(a, b, level=level), flips,
        ratio_of_means(a, b, level=level), geometric_mean_ratio(a, b, level=level),
        paired_effect_sizes(a, b, level=level), equivalence, nan, required, nothing, "",
    )  # fmt: skip


def _decided(cell: ComparedCell, plan: AnalysisPlan, detail: Detail) -> Detail:
    p = detail.p if cell.primary else detail.p_holm
    p_equivalent = _p_equivalent(detail) if cell.primary else detail.p_equivalent_holm
    difference, alpha = cell.difference.mean, 1 - plan.confidence
    found = verdict(difference, p, p_equivalent, alpha)
    said = in_words(found, plan.a, plan.b, difference=difference, p=p, alpha=alpha)
    return replace(detail, verdict=found, said=said)


def _side_said(family: Sequence[Place], plan: AnalysisPlan) -> tuple[str, ...]:
    sides = dict.fromkeys(place.side for place in family if place.muscle == plan.primary_muscle)
    if len(sides) < 2:
        return ()
    first = next(iter(sides))
    return (f"{plan.primary_muscle} was recorded on two sides; the primary comparison is that of the {first} one.",)


def missing_said(cells: Sequence[ComparedCell], plan: AnalysisPlan, people: Sequence[str]) -> tuple[str, ...]:
    """Sentences about missing cells: who lacks a level, everywhere or at which places, and so is left out."""
    said = []
    nowhere = [who for who in people if all(who in cell.left_out for cell in cells)]
    if nowhere:
        said.append(f"Without values on both levels, and so left out: {', '.join(nowhere)}.")
    by_people: dict[tuple[str, ...], list[str]] = {}
    for cell in cells:
        here = tuple(who for who in cell.left_out if who not in nowhere)
        if here:
            by_people.setdefault(here, []).append(cell.place.text)
    said += [
        f"Left out, as a value is missing on one level or both: {', '.join(here)} at {'; '.join(places)}."
        for here, places in by_people.items()
    ]
    absent = [muscle for muscle in plan.muscles if not any(cell.place.muscle == muscle for cell in cells)]
    if absent:
        said.append(f"Nothing was measured of {', '.join(absent)} on these levels.")
    return tuple(said)
