"""Rows of the comparison's tables: every statistic in a column of its own name, with n, family and correction."""

from collections.abc import Iterable, Iterator, Mapping
from math import isfinite, nan

from phasemark.model.recording import Side
from phasemark.model.study import Study
from phasemark.results.comparison.cells import CellKey, CellValues, Place
from phasemark.results.comparison.compared import ComparedCell, Comparison, Detail
from phasemark.results.comparison.levels import between_people, tasks
from phasemark.results.comparison.report import Report
from phasemark.results.comparison.thirds_anova import MuscleAnova
from phasemark.results.csv_text import Cell
from phasemark.statistics.crossover import Crossover
from phasemark.statistics.one_sample import OneSampleT
from phasemark.statistics.percent import Ratio
from phasemark.statistics.values import Interval

Row = dict[str, Cell]
CORRECTION = "Holm"


def columns_of(rows: Iterable[Mapping[str, Cell]]) -> tuple[str, ...]:
    """The columns of rows that need not all have the same ones, in the order met."""
    return tuple(dict.fromkeys(name for row in rows for name in row))


def _place(place: Place) -> Row:
    side = "" if place.side is Side.NONE else str(place.side)
    return {"muscle": place.muscle, "side": side, "phase": str(place.phase), "third": place.third}


def _interval(name: str, interval: Interval | None) -> Row:
    return {
        f"{name}_low": None if interval is None else interval.low,
        f"{name}_high": None if interval is None else interval.high,
    }


def comparison_rows(report: Report) -> list[Row]:
    """comparison.csv: one row a muscle, side, phase and third."""
    comparison = report.comparison
    return [_cell_row(comparison, cell, report.order.effects.get(cell.place)) for cell in comparison.cells]


def _cell_row(comparison: Comparison, cell: ComparedCell, order: Crossover | None) -> Row:
    plan, difference = comparison.plan, cell.difference
    row: Row = {
        **_place(cell.place),
        "factor": plan.factor, "a": plan.a, "b": plan.b, "outcome": str(plan.outcome), "unit": comparison.unit,
        "primary": cell.primary, "planned": comparison.planned,
        "n": cell.n, "participants": " ".join(cell.participants), "left_out": " ".join(cell.left_out),
        "n_more_in_a": cell.more_in_a, "n_more_in_b": cell.more_in_b,
        "mean_a": cell.spread_a.mean, "sd_between_people_a": cell.spread_a.sd,
        "sd_between_reps_a": cell.spread_a.between_reps,
        "mean_b": cell.spread_b.mean, "sd_between_people_b": cell.spread_b.sd,
        "sd_between_reps_b": cell.spread_b.between_reps,
        "difference": difference.mean, "difference_unit": comparison.difference_unit,
        "difference_sd": difference.sd, "difference_se": difference.se,
        "confidence": plan.confidence, **_interval("difference", difference.interval),
        "t": difference.t, "df": difference.df if cell.n else None, "p_paired_t": difference.p,
        "missing": difference.missing,
    }  # fmt: skip
    return row | (_detail_row(comparison, cell.detail) if cell.detail else {}) | _order_row(order)


def _detail_row(comparison: Comparison, detail: Detail) -> Row:
    ranks, shift, flips, effect = detail.ranks, detail.shift, detail.flips, detail.effect
    return {
        "test": str(comparison.plan.test), "p": detail.p, "p_holm": detail.p_holm,
        "family": detail.family, "correction": CORRECTION,
        "verdict": detail.said,
        "wilcoxon_w_plus": ranks.w_plus if ranks else None, "wilcoxon_w_minus": ranks.w_minus if ranks else None,
        "p_wilcoxon_exact": ranks.p_exact if ranks else None,
        "rank_biserial": ranks.rank_biserial if ranks else None,
        "hodges_lehmann": shift.estimate if shift else None,
        **_interval("hodges_lehmann", shift.interval if shift else None),
        "p_sign_flip": flips.p if flips else None, "sign_flip_exact": flips.exact if flips else None,
        **_ratio("ratio_of_means_percent", detail.ratio),
        "fieller_g": detail.ratio.fieller_g if detail.ratio else None,
        **_ratio("geometric_mean_ratio_percent", detail.geometric),
        "d_z": effect.d_z if effect else None, **_interval("d_z", effect.d_z_interval if effect else None),
        "g_z": effect.g_z if effect else None, **_interval("g_z", effect.g_z_interval if effect else None),
        "g_av": effect.g_av if effect else None, **_interval("g_av", effect.g_av_interval if effect else None),
        **_equivalence_row(detail),
        "power": detail.needed.power, "participants_for_smallest_effect": detail.needed.participants,
        "smallest_detectable_difference": detail.needed.detectable,
    }  # fmt: skip


def _ratio(name: str, ratio: Ratio | None) -> Row:
    return {name: ratio.percent if ratio else None, **_interval(name, ratio.percent_interval if ratio else None)}


def _equivalence_row(detail: Detail) -> Row:
    held = detail.equivalence
    return {
        "smallest_effect": held.high if held else None,
        "equivalence_interval_level": held.interval.level if held else None,
        **_interval("equivalence", held.interval if held else None),
        "p_equivalence": held.p if held else None,
        "p_equivalence_holm": detail.p_equivalent_holm,
    }


def _order_row(order: Crossover | None) -> Row:
    return {
        "n_a_first": order.n_a_first if order else None,
        "n_b_first": order.n_b_first if order else None,
        "difference_without_order": order.condition.difference if order else None,
        **_interval("difference_without_order", order.condition.interval if order else None),
        "p_difference_without_order": order.condition.p if order else None,
        "period_effect": order.period.difference if order else None,
        **_interval("period_effect", order.period.interval if order else None),
        "p_period_effect": order.period.p if order else None,
        "p_carry_over": order.carry_over.p if order else None,
    }


def groups_of(study: Study) -> dict[str, dict[str, str]]:
    """Each factor that tells participants apart, with everybody's value of it."""
    return {
        name: {trial.participant: trial.factor(name) for trial in tasks(study)}
        for name in study.factor_names()
        if between_people(study, name)
    }


def _key_row(key: CellKey, factor: str) -> Row:
    place = Place(key.muscle, key.side, key.phase, key.third)
    return {"participant": key.participant, "factor": factor, "level": key.level, **_place(place)}


def group_column(name: str) -> str:
    """The column of a factor between people."""
    return f"group_{name}"


def _group_row(groups: Mapping[str, Mapping[str, str]], participant: str) -> Row:
    return {group_column(name): of.get(participant, "") for name, of in groups.items()}


def value_rows(study: Study, values: CellValues, factor: str) -> Iterator[Row]:
    """comparison_values.csv: every participant's cells, those of levels not compared among them."""
    groups = groups_of(study)
    for key, value in values.values.items():
        yield _key_row(key, factor) | {
            "value": value,
            "unit": values.unit,
            "sd_between_reps": values.between_reps[key],
            "n_reps": values.reps[key],
            "n_trials": values.trials[key],
            **_group_row(groups, key.participant),
        }


def rep_rows(study: Study, values: CellValues, factor: str) -> Iterator[Row]:
    """comparison_reps.csv: the counted reps that the cells are means of."""
    groups = groups_of(study)
    for one in values.rep_values:
        yield _key_row(one.key, factor) | {
            "trial": one.trial,
            "set": one.set,
            "rep": one.rep,
            "value": one.value,
            "unit": values.unit,
            **_group_row(groups, one.key.participant),
        }


def anova_rows(anovas: Iterable[MuscleAnova]) -> Iterator[Row]:
    """anova.csv: one row an effect of each analysis; one row with what is missing where there is no analysis."""
    for held in anovas:
        about: Row = {
            "muscle": held.muscle,
            "side": "" if held.side is Side.NONE else str(held.side),
            "phases": "; ".join(held.phases),
            "thirds": " ".join(held.thirds),
            "levels": "; ".join(held.levels),
            "n": len(held.participants),
            "left_out": " ".join(held.left_out),
        }
        for effect in held.analysis.effects if held.analysis else ():
            yield about | {
                "effect": " x ".join(effect.factors),
                "ss": effect.ss, "df": effect.df, "ss_error": effect.ss_error, "df_error": effect.df_error,
                "f": effect.f, "p": effect.p,
                "greenhouse_geisser_epsilon": effect.sphericity.greenhouse_geisser,
                "df_greenhouse_geisser": effect.df * effect.sphericity.greenhouse_geisser,
                "df_error_greenhouse_geisser": effect.df_error * effect.sphericity.greenhouse_geisser,
                "p_greenhouse_geisser": effect.p_greenhouse_geisser,
                "huynh_feldt_epsilon": effect.sphericity.huynh_feldt,
                "p_huynh_feldt": effect.p_huynh_feldt,
                "mauchly_w": effect.sphericity.mauchly_w, "mauchly_p": effect.sphericity.mauchly_p,
                "eta_squared_partial": effect.eta_squared_partial,
                "eta_squared_generalised": effect.eta_squared_generalised,
                "missing": effect.missing,
            }  # fmt: skip
        if held.analysis is None:
            yield about | {"missing": held.missing}


def _test_row(name: str, test: OneSampleT | None) -> Row:
    return {
        f"{name}_n": test.n if test else 0,
        name: test.mean if test else None,
        **_interval(name, test.interval if test else None),
        f"{name}_t": test.t if test else None,
        f"{name}_df": test.df if test else None,
        f"{name}_p": test.p if test else None,
    }


def trend_rows(report: Report) -> Iterator[Row]:
    """trends.csv: slope, and last less first, over repetitions and sets, at each place on each level."""
    for held in report.trends:
        yield {
            **_place(held.place),
            "over": held.over,
            "level": held.level,
            "unit": report.comparison.difference_unit,
            "participants": " ".join(held.participants),
            **_test_row("slope", held.slope),
            **_test_row("last_less_first", held.last_less_first),
        }


def pair_rows(report: Report) -> Iterator[Row]:
    """pairs.csv: all pairs of more than two levels, at each place."""
    for held in report.pairs:
        for pair in held.pairs:
            yield {
                **_place(held.place),
                "a": held.levels[pair.a],
                "b": held.levels[pair.b],
                "n": len(held.participants),
                "left_out": " ".join(held.left_out),
                "mean_a": pair.test.mean_a,
                "mean_b": pair.test.mean_b,
                "difference": pair.test.difference.mean,
                **_interval("difference", pair.test.difference.interval),
                "difference_unit": report.comparison.difference_unit,
                "t": pair.test.difference.t,
                "df": pair.test.difference.df,
                "p": pair.test.difference.p,
                "p_holm": pair.p_holm if isfinite(pair.p_holm) else nan,
                "family": len(held.pairs),
                "correction": CORRECTION,
            }
