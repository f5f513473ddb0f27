"""A study goes into JSON values and tables and comes back the same; what does not fit together is refused."""

from dataclasses import replace

import numpy as np
import pytest
from making_studies import marks, rich_study, trial

from phasemark.model.errors import BadData
from phasemark.model.study import Study
from phasemark.store.content import Content, results_content, results_of, study_content, study_of
from phasemark.store.tables import ResultTable, Table, same_results


def test_a_study_with_something_in_every_field_comes_back() -> None:
    study = rich_study()
    assert study_of(study_content(study)) == study


def test_an_empty_study_and_marks_without_reps_come_back() -> None:
    empty = Study("")
    assert study_of(study_content(empty)) == empty
    bare = Study("x", (trial("T1").with_marks(marks("R9", trial("T1").length)),))
    assert study_of(study_content(bare)) == bare


def test_boundaries_are_one_row_each_in_columns() -> None:
    columns = study_content(rich_study()).tables["boundaries"].columns
    assert list(columns) == ["trial", "rater", "rep", "phase", "name", "place", "sample", "origin"]
    first_rep = [
        i for i in range(8) if (columns["trial"][i], columns["rater"][i], columns["rep"][i]) == ("T001", "R1", 1)
    ]
    assert [columns["place"][i] for i in first_rep] == 2 * ["begin", "first third line", "second third line", "end"]
    assert [int(columns["sample"][i]) for i in first_rep] == [0, 83, 166, 250, 250, 350, 450, 550]
    assert [columns["origin"][i] for i in first_rep] == 2 * ["automatic", "automatic", "hand", "automatic"]


def test_rows_that_belong_to_nothing_are_refused() -> None:
    whole = study_content(rich_study())
    without_reps = {**whole.tables, "reps": study_content(Study("")).tables["reps"]}
    with pytest.raises(BadData, match="belong to no rep"):
        study_of(replace(whole, tables=without_reps))
    with pytest.raises(BadData, match="belong to no trial"):
        study_of(replace(whole, texts={**whole.texts, "marks": []}))
    with pytest.raises(BadData, match="belong to no trial"):
        study_of(replace(whole, texts={**whole.texts, "trials": []}))


@pytest.mark.parametrize("missing", ["study", "settings", "exercises", "trials", "marks"])
def test_a_missing_part_is_said(missing: str) -> None:
    whole = study_content(rich_study())
    with pytest.raises(BadData, match=missing):
        study_of(replace(whole, texts={k: v for k, v in whole.texts.items() if k != missing}))


def test_a_wrong_value_is_said() -> None:
    whole = study_content(rich_study())
    bad = {**whole.tables["boundaries"].columns, "place": ("nowhere",) * len(whole.tables["boundaries"])}
    with pytest.raises((BadData, ValueError), match="nowhere"):
        study_of(replace(whole, tables={**whole.tables, "boundaries": Table(bad)}))


def test_results_come_back_and_none_stay_none() -> None:
    results = ResultTable(
        (("T001", "k1"), ("T002", "k2")),
        {"rms_mV": np.array([0.5, np.nan]), "third": ["a", "b"]},
        {"motion": Table({"rep": np.array([1])})},
    )
    again = results_of(results_content(results))
    assert again is not None
    assert same_results(again, results)
    assert results_of(results_content(None)) is None
    assert results_of(Content()) is None
