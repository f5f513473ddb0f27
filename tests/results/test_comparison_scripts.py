"""The ready scripts for mixed models: the Python one is run beside an export, and held against the paired results."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from made_cells import THIRDS, WHEN, key, plan
from numpy.typing import NDArray
from one_trial import measured, trial
from scipy import stats

from phasemark.model.plan import AgainstLoad, AnalysisPlan
from phasemark.results.comparison.cells import PERCENT, RepValue, cells_from
from phasemark.results.comparison.exports import comparison_texts
from phasemark.results.comparison.formed_plan import formed_plan
from phasemark.results.comparison.mixed_scripts import PYTHON_SCRIPT, R_SCRIPT, mixed_scripts
from phasemark.results.comparison.report import compare_numbers
from phasemark.results.comparison.tables import columns_of, rep_rows, value_rows
from phasemark.results.csv_text import csv_text
from phasemark.statistics.repeated_measures import within_anova

PEOPLE = 8


def _table(seed: int = 3, reps: int = 6, gap: bool = False) -> NDArray[np.float64]:
    """Values of (people, levels, thirds and the whole, reps), each person with an effect of their own."""
    draw = np.random.default_rng(seed)
    own = draw.normal(40, 8, (PEOPLE, 1, 1, 1))
    effect = np.array([0.5, -0.5])[None, :, None, None] * draw.normal(6, 4, (PEOPLE, 1, 1, 1))
    table = own + effect + draw.normal(0, 2, (PEOPLE, 2, 4, 1)) + draw.normal(0, 3, (PEOPLE, 2, 4, reps))
    if gap:
        table[0, 0] = np.nan
    return table


def _write(folder: Path, table: NDArray[np.float64], asked: AnalysisPlan, group: str = "") -> None:
    levels, thirds = (asked.a, asked.b), (*THIRDS, "whole")
    factors = tuple(("group", "trained" if n % 2 else "novice") for n in range(PEOPLE))
    trials = [trial(f"T{n}", participant=f"P{n}", factors=(factors[n],)) for n in range(PEOPLE)]
    study = measured(*trials).study
    values = cells_from(
        (
            RepValue(key(f"P{who}", levels[level], thirds[third]), f"T{who}{level}", 1, rep + 1, float(value))
            for (who, level, third, rep), value in np.ndenumerate(table)
        ),
        PERCENT,
    )
    for name, rows in (
        ("comparison_values.csv", list(value_rows(study, values, asked.factor))),
        ("comparison_reps.csv", list(rep_rows(study, values, asked.factor))),
    ):
        (folder / name).write_text(csv_text(columns_of(rows), rows), encoding="utf-8")
    for name, text in mixed_scripts(asked, group).items():
        (folder / name).write_text(text, encoding="utf-8")


def _run(folder: Path) -> pd.DataFrame:
    done = subprocess.run(
        [sys.executable, "-W", "error", str(folder / PYTHON_SCRIPT)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    return pd.read_csv(folder / "mixed_model_python.csv", keep_default_na=False)


@pytest.mark.slow
def test_complete_data_give_the_paired_t_test_and_the_analysis_of_variance(tmp_path: Path) -> None:
    """On complete, balanced data t with n - 1 degrees of freedom is the paired one; over thirds its square is F."""
    asked, table = plan(), _table()
    _write(tmp_path, table, asked)
    found = _run(tmp_path).set_index(["model", "effect"])
    effect = "exercise: present - absent"
    reps = found.loc[("repetitions", effect)]
    a, b = (table[:, level, 3].mean(axis=-1) for level in (0, 1))
    paired = stats.ttest_rel(a, b)
    assert float(reps["estimate"]) == pytest.approx((a - b).mean(), rel=1e-6)
    assert float(reps["t"]) == pytest.approx(paired.statistic, rel=2e-3)
    assert float(reps["p"]) == pytest.approx(paired.pvalue, rel=2e-2)
    low, high = paired.confidence_interval(0.95)
    assert (float(reps["low"]), float(reps["high"])) == pytest.approx((low, high), rel=1e-2)
    anova = within_anova(table[:, :, :3].mean(axis=-1), ["exercise", "third"])
    thirds = found.loc[("thirds", effect)]
    assert float(thirds["t"]) ** 2 == pytest.approx(anova.effect("exercise").f, rel=5e-3)
    assert int(thirds["df"]) == PEOPLE - 1


@pytest.mark.slow
def test_who_has_one_condition_only_is_taken_in_and_groups_are(tmp_path: Path) -> None:
    """A missing cell leaves the others; a factor between people has an interaction with the condition."""
    asked = plan(a="more 'or' \"less\"", b="ünder", factor="depth")  # names need no care
    _write(tmp_path, _table(gap=True), asked, "group_group")
    found = _run(tmp_path)
    reps = found[found["model"] == "repetitions"]
    assert len(reps) == 2
    assert list(reps["participants"].astype(int)) == [PEOPLE, PEOPLE]
    assert list(reps["participants_with_both"].astype(int)) == [PEOPLE - 1, PEOPLE - 1]
    assert list(reps["df"].astype(int)) == [PEOPLE - 3, PEOPLE - 3]
    assert reps["effect"].str.contains("C(group, Sum)", regex=False).sum() == 1
    assert reps["effect"].str.startswith("depth: more 'or' \"less\" - ünder").all()


def test_scripts_are_filled_in_whole() -> None:
    """Nothing is left open; names stand as in the tables, where what looks like a formula has an apostrophe."""
    for name, text in mixed_scripts(plan(a="=1+1"), "group_x").items():
        assert re.search("@[A-Z]+@", text) is None, name
        assert '"\'=1+1"' in text
        assert '"group_x"' in text
    compile(mixed_scripts(plan())[PYTHON_SCRIPT], PYTHON_SCRIPT, "exec")


@pytest.mark.slow
@pytest.mark.skipif(shutil.which("Rscript") is None, reason="R is not here: the R script was not run")
@pytest.mark.parametrize("group", ["", "group_group"])
def test_the_r_script_gives_the_paired_t_test(tmp_path: Path, group: str) -> None:
    """Kenward and Roger's df are n - 1 on complete data; with two equal groups the effect is that over both."""
    _write(tmp_path, _table(), plan(), group)
    done = subprocess.run(["Rscript", R_SCRIPT], cwd=tmp_path, capture_output=True, text=True, check=False)
    if "there is no package called" in done.stderr:
        pytest.skip("lmerTest is not here: the R script was not run")
    assert done.returncode == 0, done.stderr
    found = pd.read_csv(tmp_path / "mixed_model_R.csv")
    a, b = (_table()[:, level, 3].mean(axis=-1) for level in (0, 1))
    reps = found[found["model"] == "repetitions"].iloc[0]
    assert reps["estimate"] == pytest.approx((a - b).mean(), rel=1e-6)
    assert reps["df"] == pytest.approx(PEOPLE - (2 if group else 1), rel=1e-2)
    if not group:
        assert reps["t"] == pytest.approx(stats.ttest_rel(a, b).statistic, rel=1e-3)


def test_all_tables_of_a_comparison_read_as_tables() -> None:
    """Every file of the export by its name; one row a place, with n, family and correction; plan.json has it all."""
    trials = [
        trial(
            f"T{n}{exercise}", participant=f"P{n}", exercise=exercise, order=1 + (exercise == ("squat", "lunge")[n % 2])
        )
        for n in range(4)
        for exercise in ("squat", "lunge")
    ]
    numbers = measured(*trials).numbers
    asked = formed_plan(numbers, "exercise", "squat", "lunge", WHEN)
    report = compare_numbers(numbers, asked)
    texts = comparison_texts(report, numbers.study, "R1", {"numpy": "2"}, {"history": ["a line"]})
    assert set(texts) == {
        "comparison.csv", "comparison_values.csv", "comparison_reps.csv", "anova.csv", "trends.csv", "plan.json",
        PYTHON_SCRIPT, R_SCRIPT,
    }  # fmt: skip
    assert "a line" in texts["plan.json"]
    rows = texts["comparison.csv"].splitlines()
    assert len(rows) == 1 + 2 * (2 * 4 + 1)  # muscles x (two phases with thirds, and the rep)
    assert all(f",{len(rows) - 1},Holm," in row for row in rows[1:])
    assert AgainstLoad.REP in texts["comparison_values.csv"]
    assert not any(text.count("nan") for name, text in texts.items() if name.endswith(".csv"))
