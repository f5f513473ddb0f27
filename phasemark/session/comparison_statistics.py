"""All further statistics of one comparison as lines of a table: a name, a value, and what to know of it."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import isfinite

from phasemark.results.comparison.cells import Place
from phasemark.results.comparison.compared import ComparedCell, Comparison, Detail
from phasemark.results.comparison.report import Report
from phasemark.results.comparison.thirds_anova import MuscleAnova
from phasemark.results.comparison.trends import BOTH, PlaceTrend
from phasemark.results.segments import WHOLE
from phasemark.session.comparison_words import (
    NOTHING,
    interval_words,
    number_words,
    p_equals,
    plain_number,
    with_interval,
)
from phasemark.statistics.one_sample import OneSampleT
from phasemark.statistics.percent import Ratio
from phasemark.statistics.repeated_measures import Effect
from phasemark.statistics.values import Interval


@dataclass(frozen=True, slots=True)
class StatisticLine:
    """One line; group is the heading that it stands under."""

    group: str
    name: str
    value: str
    note: str = ""


def statistic_lines(report: Report, cell: ComparedCell) -> tuple[StatisticLine, ...]:
    """Everything that is told of a comparison beside its row in the table."""
    comparison = report.comparison
    lines = [*_paired(comparison, cell)]
    if cell.detail is not None:
        lines += [*_sensitivity(comparison, cell.detail), *_equivalence(comparison, cell.detail)]
        lines += [*_sizes(cell.detail), *_power(comparison, cell, cell.detail)]
    lines += [*_order(report, cell.place), *_trends(report, cell.place), *_anovas(report, cell.place)]
    lines += _pairs(report, cell.place)
    return tuple(lines)


def _sized(size: float, interval: Interval) -> str:
    """An effect size, which has no unit, with its interval."""
    if not isfinite(size):
        return NOTHING
    ends = f" ({plain_number(interval.low)} to {plain_number(interval.high)})" if isfinite(interval.low) else ""
    return f"{plain_number(size)}{ends}"


def _tested(test: OneSampleT | None, unit: str) -> tuple[str, str]:
    """The mean with its interval and p, and of how many; what is missing is said."""
    if test is None:
        return NOTHING, ""
    value = with_interval(number_words(test.mean, unit, signed=True), test.interval, unit)
    return (f"{value}, {p_equals(test.p)}" if isfinite(test.p) else value), test.missing or f"n {test.n}"


def _paired(comparison: Comparison, cell: ComparedCell) -> Iterator[StatisticLine]:
    plan, unit, difference, group = comparison.plan, comparison.unit, cell.difference, "Paired difference"
    if isfinite(difference.t):
        yield StatisticLine(
            group, "paired t", f"t({difference.df}) = {plain_number(difference.t)}, {p_equals(difference.p)}",
            f"SD of differences {number_words(difference.sd, comparison.difference_unit)}",
        )  # fmt: skip
    elif difference.missing:
        yield StatisticLine(group, "paired t", NOTHING, difference.missing)
    yield StatisticLine(
        group, "participants with more", f"{cell.more_in_a} in A, {cell.more_in_b} in B", f"of {cell.n} with both"
    )
    for letter, level, spread in (("A", plan.a, cell.spread_a), ("B", plan.b, cell.spread_b)):
        yield StatisticLine(
            group,
            f"SD between reps, {letter}",
            number_words(spread.between_reps, unit),
            f"within participants, {level}",
        )


def _sensitivity(comparison: Comparison, detail: Detail) -> Iterator[StatisticLine]:
    group, unit = "Sensitivity to the test", comparison.difference_unit
    if detail.ranks is not None:
        yield StatisticLine(
            group, "Wilcoxon signed rank", f"W+ = {detail.ranks.w_plus:g}, {p_equals(detail.ranks.p_exact)}",
            detail.ranks.missing or f"exact; rank-biserial {plain_number(detail.ranks.rank_biserial)}",
        )  # fmt: skip
    if detail.shift is not None:
        shift = detail.shift
        value = with_interval(number_words(shift.estimate, unit, signed=True), shift.interval, unit)
        coverage = "" if shift.missing else f"median of Walsh averages; coverage {100 * shift.coverage:.1f} %"
        yield StatisticLine(group, "Hodges-Lehmann", value, shift.missing or coverage)
    if detail.flips is not None:
        flips = detail.flips
        how = f"all {2**flips.n} patterns" if flips.exact else f"{flips.draws} patterns drawn"
        yield StatisticLine(group, "sign flips", p_equals(flips.p), how)


def _equivalence(comparison: Comparison, detail: Detail) -> Iterator[StatisticLine]:
    held, unit, group = detail.equivalence, comparison.difference_unit, "Equivalence"
    if held is None:
        yield StatisticLine(
            group,
            "two one-sided tests",
            NOTHING,
            "no smallest effect that matters is named in the unit of this comparison",
        )
        return
    bounds = f"±{number_words(held.high, unit)} {unit}"
    yield StatisticLine(group, "two one-sided tests", p_equals(held.p), f"against {bounds}")
    yield StatisticLine(
        group, "after Holm's correction", p_equals(detail.p_equivalent_holm), "decides beside the primary one"
    )
    level = f"{100 * held.interval.level:g} % interval"
    yield StatisticLine(
        group, level, interval_words(held.interval, unit, signed=True), f"within {bounds} is equivalent"
    )


def _sizes(detail: Detail) -> Iterator[StatisticLine]:
    group, effect = "Effect sizes", detail.effect
    if effect is not None:
        for name, size, interval, note in (
            ("g_av", effect.g_av, effect.g_av_interval, "over the mean of both SDs, corrected for small samples"),
            ("d_av", effect.d_av, effect.d_av_interval, "the same, not corrected"),
            ("g_z", effect.g_z, effect.g_z_interval, "over the SD of the differences, corrected for small samples"),
            ("d_z", effect.d_z, effect.d_z_interval, "the same, not corrected"),
        ):
            yield StatisticLine(group, name, _sized(size, interval), note)
    yield from _ratio_line("ratio of means", detail.ratio, "Fieller's interval")
    yield from _ratio_line("ratio of geometric means", detail.geometric, "from logarithms")


def _ratio_line(name: str, ratio: Ratio | None, note: str) -> Iterator[StatisticLine]:
    if ratio is not None:
        value = number_words(ratio.percent, "%", signed=True)
        shown = NOTHING if value == NOTHING else f"{with_interval(value, ratio.percent_interval, '%')} %"
        yield StatisticLine("Effect sizes", name, shown, ratio.missing or note)


def _power(comparison: Comparison, cell: ComparedCell, detail: Detail) -> Iterator[StatisticLine]:
    group, unit, need = f"Power {detail.needed.power:g}", comparison.difference_unit, detail.needed
    yield StatisticLine(
        group, f"smallest that these {cell.n} can show", f"{number_words(need.detectable, unit)} {unit}",
        "by the SD of differences at hand, itself uncertain",
    )  # fmt: skip
    if need.participants is not None:
        yield StatisticLine(
            group, "participants for the smallest effect", str(need.participants),
            f"for {number_words(comparison.plan.smallest_effect, unit)} {unit}",
        )  # fmt: skip


def _order(report: Report, place: Place) -> Iterator[StatisticLine]:
    held, unit, group = report.order.effects.get(place), report.comparison.difference_unit, "Order"
    if held is None:
        yield StatisticLine(group, "order effects", NOTHING, "both orders are needed, with the order of trials known")
        return
    yield StatisticLine(group, "A first, B first", f"{held.n_a_first}, {held.n_b_first}", "participants")
    for name, test, note in (
        ("A − B without the order", held.condition, "condition with the period taken out"),
        ("period", held.period, "second less first, with the condition taken out"),
        ("carry-over", held.carry_over, "weak test; not parted from a difference between the groups"),
    ):
        value = with_interval(number_words(test.difference, unit, signed=True), test.interval, unit)
        yield StatisticLine(group, name, f"{value}, {p_equals(test.p)}" if isfinite(test.p) else value, note)


def _trends(report: Report, place: Place) -> Iterator[StatisticLine]:
    unit, plan = report.comparison.difference_unit, report.comparison.plan
    names = {plan.a: "A", plan.b: "B", BOTH: "both", "a - b": "A − B"}
    for held in report.trends:
        if held.place == place and held.slope is not None:
            yield from _trend(held, names.get(held.level, held.level), unit)


def _trend(held: PlaceTrend, name: str, unit: str) -> Iterator[StatisticLine]:
    group, one = f"Change over {held.over}", held.over.removesuffix("s")
    value, note = _tested(held.slope, unit)
    yield StatisticLine(group, f"slope, {name}", value, f"each {one}; {note}")
    value, note = _tested(held.last_less_first, unit)
    yield StatisticLine(group, f"last less first, {name}", value, note)


def _anovas(report: Report, place: Place) -> Iterator[StatisticLine]:
    for held in report.anovas:
        if (held.muscle, held.side) == (place.muscle, place.side):
            yield from _anova(held)


def _anova(held: MuscleAnova) -> Iterator[StatisticLine]:
    parts = "thirds" if held.thirds != (WHOLE,) else "whole phases"
    many = f", all {len(held.levels)} levels" if len(held.levels) > 2 else ""
    group = f"Analysis of variance: {' and '.join(held.phases)}, {parts}{many} (n {len(held.participants)})"
    if held.analysis is None:
        yield StatisticLine(group, " × ".join(held.factors), NOTHING, held.missing)
        return
    for effect in held.analysis.effects:
        yield StatisticLine(group, " × ".join(effect.factors), *_effect(effect))


def _effect(effect: Effect) -> tuple[str, str]:
    if not isfinite(effect.f):
        return NOTHING, effect.missing
    epsilon = effect.sphericity.greenhouse_geisser
    df, error = (f"{part * epsilon:.3g}" for part in (effect.df, effect.df_error))
    value = f"F({df}, {error}) = {plain_number(effect.f)}, {p_equals(effect.p_greenhouse_geisser)}"
    corrected = f"Greenhouse-Geisser ε {plain_number(epsilon)}; " if effect.df > 1 else ""
    return value, f"{corrected}partial η² {plain_number(effect.eta_squared_partial)}"


def _pairs(report: Report, place: Place) -> Iterator[StatisticLine]:
    unit = report.comparison.difference_unit
    for held in report.pairs:
        if held.place != place:
            continue
        for pair in held.pairs:
            value, note = _tested(pair.test.difference, unit)
            name = f"{held.levels[pair.a]} less {held.levels[pair.b]}"
            yield StatisticLine("All levels, pair by pair", name, value, f"Holm {p_equals(pair.p_holm)}; {note}")
