"""The texts of an export: segments, marks, summaries and settings, by file name. Nothing is written here."""

import json
from collections.abc import Mapping
from typing import Any

from phasemark import __version__
from phasemark.model.codec import to_plain
from phasemark.model.study import Study
from phasemark.results.csv_text import csv_text
from phasemark.results.file_names import file_names
from phasemark.results.measure import RULES_VERSION
from phasemark.results.numbers import Numbers
from phasemark.results.quality_rows import QUALITY_COLUMNS, quality_rows
from phasemark.results.ratio_rows import RATIO_COLUMNS, ratio_rows
from phasemark.results.reference_rows import ATTEMPT_COLUMNS, REFERENCE_COLUMNS, attempt_rows, reference_rows
from phasemark.results.rows import (
    MARK_COLUMNS,
    SEGMENT_COLUMNS,
    TRIAL_COLUMNS,
    columns,
    factor_columns,
    mark_rows,
    segment_rows,
)
from phasemark.results.summary import MEASURES, summarise, summary_columns
from phasemark.results.value_cells import Row

# A factor has one column name in all tables of an export, so that they can be joined by it.
_ALL_COLUMNS = (*TRIAL_COLUMNS, *SEGMENT_COLUMNS, *MARK_COLUMNS, *summary_columns({}), *MEASURES, *RATIO_COLUMNS)


def marks_text(study: Study, raters: tuple[str, ...]) -> str:
    """marks.csv: every boundary of every trial by the raters asked for, measured or not."""
    factors = factor_columns(study, _ALL_COLUMNS)
    rows = [
        row
        for trial in study.trials
        for marks in trial.marks
        if marks.rater in raters
        for row in mark_rows(study, trial, marks, factors)
    ]
    return csv_text(columns(MARK_COLUMNS, factors), rows)


def all_segment_rows(numbers: Numbers) -> list[Row]:
    """Rows of segments.csv for one rater's marks."""
    study = numbers.study
    factors = factor_columns(study, _ALL_COLUMNS)
    return [
        row for trial in study.trials if trial.id in numbers.results for row in segment_rows(numbers, trial, factors)
    ]


def settings_plain(study: Study, rater: str, libraries: Mapping[str, str]) -> dict[str, Any]:
    """settings.json: all that made the numbers, with what every setting and file was, and the analysis plan."""
    named = {trial.exercise for trial in study.trials if trial.exercise} | {e.name for e in study.exercises}
    return {
        "program": {"name": "phasemark", "version": __version__, "rules_version": RULES_VERSION, **libraries},
        "study": study.name,
        "rater": rater,
        "raters": list(study.raters),
        "settings": to_plain(study.settings),
        "analysis_plan": to_plain(study.plan) if study.plan is not None else None,
        "exercises": to_plain(tuple(study.exercise(name) for name in sorted(named))),
        "trials": [_trial_plain(study, trial_id) for trial_id in (t.id for t in study.trials)],
    }


def _trial_plain(study: Study, trial_id: str) -> dict[str, Any]:
    trial = study.trial(trial_id)
    plain: dict[str, Any] = to_plain(trial)
    plain["marks"] = [
        {"rater": m.rater, "reps": len(m.reps), "phase_rule": m.phase_rule, "thirds_rule": m.thirds_rule}
        for m in trial.marks
    ]
    return plain


def export_texts(numbers: Numbers, libraries: Mapping[str, str]) -> dict[str, str]:
    """All files of an export: name to text."""
    study, rater = numbers.study, numbers.rater
    rows = all_segment_rows(numbers)
    factors = factor_columns(study, _ALL_COLUMNS)
    segment_columns = columns((*TRIAL_COLUMNS, *SEGMENT_COLUMNS), factors)
    plain = settings_plain(study, rater, libraries)
    texts = {
        "segments.csv": csv_text(segment_columns, rows),
        "marks.csv": marks_text(study, study.raters),
        "quality.csv": csv_text(QUALITY_COLUMNS, quality_rows(study, numbers.facts)),
        "references.csv": csv_text(REFERENCE_COLUMNS, reference_rows(numbers)),
        "attempts.csv": csv_text(ATTEMPT_COLUMNS, attempt_rows(numbers)),
        "settings.json": json.dumps(plain, ensure_ascii=False, indent=2, sort_keys=True) + "\n",
    }
    if study.settings.ratios:
        texts["ratios.csv"] = csv_text(columns(RATIO_COLUMNS, factors), ratio_rows(study, rows, factors))
    for participant, name in file_names(study.participants()).items():
        own = [row for row in rows if row["participant"] == participant]
        texts[f"segments_{name}.csv"] = csv_text(segment_columns, own)
        texts[f"summary_{name}.csv"] = csv_text(summary_columns(factors), summarise(own, factors))
    return texts
