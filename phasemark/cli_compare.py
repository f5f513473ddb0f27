"""Commands about the comparison: the analysis plan, and two conditions compared over participants."""

import argparse
from collections.abc import Callable, Sequence
from math import isfinite, isnan
from typing import TYPE_CHECKING

from phasemark.model.errors import BadCall

if TYPE_CHECKING:
    from phasemark.results.comparison.compared import ComparedCell, Comparison
    from phasemark.results.comparison.report import Report
    from phasemark.results.comparison.thirds_anova import MuscleAnova
    from phasemark.results.robustness.report import Robustness

Say = Callable[[str], None]
Progress = Callable[[str], Callable[[float], None]]
Pairs = tuple[tuple[str, str], ...]


def plan(options: argparse.Namespace, say: Say, warn: Say, changes: Pairs) -> int:
    """Show the analysis plan with its history, write one, or change it."""
    from phasemark.session.command_session import Need, open_for_command
    from phasemark.session.plan_text import plan_lines, plan_names_nowhere, with_plan_texts
    from phasemark.session.planning import plan_history, set_plan

    if options.remove and changes:
        raise BadCall("Either change the plan or remove it, not both.")
    writes = bool(changes) or options.remove
    with open_for_command(options.study, warn, need=Need.WRITE if writes else Need.READ, rater=options.rater) as at:
        session = at.session
        if options.remove:
            set_plan(session, None)
        elif changes:
            decision = session.decision(options.reason)
            set_plan(session, with_plan_texts(session.study, session.study.plan, changes, decision))
        study, path = session.study, session.path
    if study.plan is None:
        say("No analysis plan is written down; 'phasemark plan STUDY a=... b=...' writes one.")
    else:
        for key, value in plan_lines(study.plan):
            say(f"{key}={value}")
        for sentence in plan_names_nowhere(study, study.plan):
            warn(sentence)
    for change in plan_history(path):
        say(change.text)
    return 0


def compare(options: argparse.Namespace, say: Say, warn: Say, progress: Progress) -> int:
    """Compare two levels of a factor, print what came of it, and write the tables where asked."""
    from phasemark.session.command_session import Need, open_for_command
    from phasemark.session.comparing import Asked
    from phasemark.session.comparing import compare as compare_in
    from phasemark.session.robustness_job import vary

    asked = Asked(options.a, options.b, options.by, options.smallest, options.group)
    with open_for_command(options.study, warn, need=Need.WRITE_IF_POSSIBLE, rater=options.rater) as at:
        found = at.wait(lambda **back: compare_in(at.session, asked, to=options.to, **back), progress("comparing"))
        varied = None
        if options.robustness:
            varied = at.wait(lambda **back: vary(at.session, asked, to=options.to, **back), progress("varying"))
    for line in report_lines(found.report, found.standing_said):
        say(line)
    if varied is not None:
        for line in robustness_lines(varied.robustness):
            say(line)
    if options.to is not None:
        files = len(found.files) + (len(varied.files) if varied else 0)
        say(f"Wrote {files} files to {options.to}.")
    for problem in found.problems:
        warn(str(problem))
    return max((problem.exit_code for problem in found.problems), default=0)


def report_lines(report: "Report", standing: Sequence[str]) -> list[str]:
    """A comparison as text: how it stands to the plan, its table, analyses of variance, power, and cautions."""
    comparison = report.comparison
    plan = comparison.plan
    return [
        f"A {plan.a}, B {plan.b} ({plan.factor}); {plan.outcome} in {comparison.unit}; differences A - B in "
        f"{comparison.difference_unit} with {100 * plan.confidence:g} % intervals; p: {plan.test}.",
        *standing,
        "",
        *_table(_HEADER, [_row(comparison, cell) for cell in comparison.cells]),
        "",
        *_primary_lines(comparison),
        *_anova_lines(report.anovas),
        *_trend_lines(report),
        "Read with care:",
        *(f"- {sentence}" for sentence in report.cautions),
    ]


def robustness_lines(found: "Robustness") -> list[str]:
    """Which findings stand under other boundaries, raters, thirds, filters and exclusions, as text."""
    from phasemark.results.robustness import words

    return [
        "",
        "Does it stand?",
        *words.summary(found),
        *(words.sentence(found, finding) for finding in found.findings if finding.primary),
        words.definition(found),
        words.moves_said(found),
        *found.said,
    ]


_HEADER = (
    *("", "muscle", "phase", "third", "n", "mean A", "SD", "mean B", "SD", "A - B", "low", "high", "A > B"),
    *("p", "Holm", "percent", "g_av", "verdict"),
)


def _row(comparison: "Comparison", cell: "ComparedCell") -> list[str]:
    digits = number_format(comparison)
    detail, place = cell.detail, cell.place
    side = "" if place.side == "none" else f" ({place.side})"
    percent = detail.ratio.percent if detail and detail.ratio else float("nan")
    effect = detail.effect.g_av if detail and detail.effect else float("nan")
    numbers = (
        cell.spread_a.mean, cell.spread_a.sd, cell.spread_b.mean, cell.spread_b.sd, cell.difference.mean,
        cell.difference.interval.low, cell.difference.interval.high,
    )  # fmt: skip
    return [
        "*" if cell.primary else "",
        f"{place.muscle}{side}",
        str(place.phase),
        place.third,
        str(cell.n),
        *(_number(number, digits) for number in numbers),
        f"{cell.more_in_a}/{cell.n}",
        p_text(detail.p if detail else cell.difference.p),
        p_text(detail.p_holm if detail else float("nan")),
        _number(percent, "+.1f"),
        _number(effect, "+.2f"),
        detail.said if detail and detail.said else cell.difference.missing,
    ]


def number_format(comparison: "Comparison") -> str:
    """Digits of the values: one after the point in percent, as many as the smallest means need in mV."""
    return ".1f" if comparison.unit.startswith("%") else ".3g"


def _number(value: float, digits: str) -> str:
    return format(value, digits) if isfinite(value) else "-"


def p_text(p: float) -> str:
    """A p value as it is written: three digits, and never 0."""
    if isnan(p):
        return "-"
    return "<.001" if p < 0.001 else f"{p:.3f}".replace("0.", ".", 1)


def _table(header: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """Columns side by side: words to the left, numbers to the right."""
    widths = [max(len(line[place]) for line in (header, *rows)) for place in range(len(header))]
    words = {0, 1, 2, 3, len(header) - 1}
    return [
        "  ".join(
            cell.ljust(width) if place in words else cell.rjust(width)
            for place, (cell, width) in enumerate(zip(line, widths, strict=True))
        ).rstrip()
        for line in (header, *rows)
    ]


def _primary_lines(comparison: "Comparison") -> list[str]:
    cell = comparison.primary
    if cell is None or cell.detail is None:
        return ["The planned primary comparison has no values.", ""] if comparison.planned else []
    detail, plan = cell.detail, comparison.plan
    digits, unit = number_format(comparison), comparison.difference_unit
    lines = [
        f"* Primary: {cell.place.text}: {detail.said} ({_number(cell.difference.mean, digits)} {unit}, "
        f"{_number(cell.difference.interval.low, digits)} to {_number(cell.difference.interval.high, digits)}, "
        f"p {p_text(detail.p)})."
    ]
    if detail.ranks and detail.flips:
        lines.append(
            f"  As sensitivity: Wilcoxon exact p {p_text(detail.ranks.p_exact)}, sign flips p {p_text(detail.flips.p)}"
            f"{'' if detail.flips.exact else ' (drawn)'}."
        )
    if detail.equivalence:
        level = 100 * detail.equivalence.interval.level
        lines.append(
            f"  Smaller than +-{plan.smallest_effect:g} {unit}: p {p_text(detail.equivalence.p)} (two one-sided tests; "
            f"{level:g} % interval {_number(detail.equivalence.interval.low, digits)} to "
            f"{_number(detail.equivalence.interval.high, digits)})."
        )
    need = detail.needed
    if isfinite(need.detectable):
        more = need.participants
        for_effect = "" if more is None else f"; for {plan.smallest_effect:g} {unit} it would take {more}"
        shown = _number(need.detectable, digits)
        lines.append(f"  With power {need.power:g} these {cell.n} can show {shown} {unit}{for_effect}.")
    return [*lines, ""]


def _anova_lines(anovas: Sequence["MuscleAnova"]) -> list[str]:
    lines = []
    for held in anovas:
        effects = held.analysis.effects if held.analysis else ()
        interactions = [effect for effect in effects if held.factors[0] in effect.factors]
        told = "; ".join(
            f"{' x '.join(effect.factors)} F({effect.df}, {effect.df_error}) = {effect.f:.2f}, p "
            f"{p_text(effect.p_greenhouse_geisser)}"
            for effect in interactions
            if isfinite(effect.f)
        )
        if told:
            side = "" if held.side == "none" else f" ({held.side})"
            where = " and ".join(held.phases) + (", thirds" if len(held.thirds) > 1 else ", whole phases")
            many = f", all {len(held.levels)} levels" if len(held.levels) > 2 else ""
            lines.append(f"{held.muscle}{side}, {where}{many} (n {len(held.participants)}): {told}")
    return ["Within-subject analyses of variance, p by Greenhouse and Geisser:", *lines, ""] if lines else []


def _trend_lines(report: "Report") -> list[str]:
    """The changes over repetitions or sets that stand out in whole phases; all are in trends.csv."""
    digits = ".2g"
    lines = [
        f"{held.place.text}, over {held.over}: {_number(held.slope.mean, digits)} {report.comparison.difference_unit} "
        f"each ({_number(held.slope.interval.low, digits)} to {_number(held.slope.interval.high, digits)}, p "
        f"{p_text(held.slope.p)})"
        for held in report.trends
        if held.level == "both" and held.place.third == "whole" and held.slope is not None and held.slope.p < 0.05
    ]
    title = "Changes over repetitions or sets, on both levels alike (p below .05, not corrected):"
    return [title, *lines, ""] if lines else []
