"""The texts of a comparison's export, by file name. Nothing is written here."""

import json
from collections.abc import Mapping, Sequence
from typing import Any

from phasemark import __version__
from phasemark.model.codec import to_plain
from phasemark.model.study import Study
from phasemark.results.comparison.mixed_scripts import mixed_scripts
from phasemark.results.comparison.report import Report
from phasemark.results.comparison.tables import (
    Row,
    anova_rows,
    columns_of,
    comparison_rows,
    group_column,
    groups_of,
    pair_rows,
    rep_rows,
    trend_rows,
    value_rows,
)
from phasemark.results.csv_text import csv_text
from phasemark.results.measure import RULES_VERSION


def comparison_texts(
    report: Report,
    study: Study,
    rater: str,
    libraries: Mapping[str, str],
    standing: Mapping[str, Any],
    *,
    group: str | None = None,
) -> dict[str, str]:
    """All files of a comparison: name to text; standing says how it stands to the plan (planned, history, ...).

    group is the factor between people that the scripts take in; None is the only one there is, if there is one.
    """
    plan = report.comparison.plan
    groups = tuple(groups_of(study))
    column = group_column(group if group is not None else groups[0]) if group or len(groups) == 1 else ""
    about = {
        "program": {"name": "phasemark", "version": __version__, "rules_version": RULES_VERSION, **libraries},
        "study": study.name,
        "rater": rater,
        "plan": to_plain(plan),
        "planned": report.comparison.planned,
        **standing,
        "unit": report.comparison.unit,
        "cautions": list(report.cautions),
    }
    texts = {
        "comparison.csv": _table(comparison_rows(report)),
        "comparison_values.csv": _table(list(value_rows(study, report.values, plan.factor))),
        "comparison_reps.csv": _table(list(rep_rows(study, report.values, plan.factor))),
        "anova.csv": _table(list(anova_rows(report.anovas))),
        "trends.csv": _table(list(trend_rows(report))),
        "plan.json": json.dumps(about, ensure_ascii=False, indent=2, sort_keys=True) + "\n",
        **mixed_scripts(plan, column),
    }
    if report.pairs:
        texts["pairs.csv"] = _table(list(pair_rows(report)))
    return texts


def _table(rows: Sequence[Row]) -> str:
    return csv_text(columns_of(rows), rows)
