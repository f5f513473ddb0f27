"""Analyses of variance of a muscle's cells, against print and the reference libraries."""

import numpy as np
import pandas as pd
import pytest
from made_cells import REACTION, THIRDS, cells, from_values, key, plan
from statsmodels.stats.anova import AnovaRM

from phasemark.model.plan import AgainstLoad
from phasemark.results.comparison.many_levels import pairs_of_levels
from phasemark.results.comparison.tables import anova_rows
from phasemark.results.comparison.thirds_anova import MuscleAnova, muscle_anovas

AGAINST, WITH = AgainstLoad.AGAINST, AgainstLoad.WITH


def _only(found: tuple[MuscleAnova, ...]) -> MuscleAnova:
    assert len(found) == 1
    return found[0]


def test_exercise_by_third_is_the_printed_analysis() -> None:
    """Maxwell & Delaney (2004), 2nd ed., Tables 12.5-12.6: SS and F printed (seen in a public test)."""
    held = _only(muscle_anovas(cells(REACTION), plan()))
    assert held.analysis is not None
    assert (held.factors, held.thirds, held.phases, len(held.participants)) == (
        ("exercise", "third"), THIRDS, (AGAINST,), 10,
    )  # fmt: skip
    for factors, ss, ss_error, f, epsilon, p in (
        (("third",), 289920, 64080, 40.72, 0.9616365, 3.4017e-7),
        (("exercise",), 285660, 76140, 33.77, 1.0, 2.55974e-4),
        (("exercise", "third"), 105120, 20880, 45.31, 0.9039771, 3.4539e-7),
    ):
        effect = held.analysis.effect(*factors)
        assert (effect.ss, effect.ss_error) == pytest.approx((ss, ss_error), abs=1e-6)
        assert effect.f == pytest.approx(f, abs=0.005)
        assert effect.sphericity.greenhouse_geisser == pytest.approx(epsilon, abs=1e-7)
        assert effect.p_greenhouse_geisser == pytest.approx(p, rel=1e-4)
    rows = {row["effect"]: row for row in anova_rows([held])}
    assert rows["exercise x third"]["df_greenhouse_geisser"] == pytest.approx(1.807954, abs=1e-6)
    assert rows["exercise x third"]["df_error_greenhouse_geisser"] == pytest.approx(16.271587, abs=1e-6)
    assert rows["third"]["eta_squared_generalised"] == pytest.approx(0.3901179, abs=1e-7)


def _three_way(seed: int = 5, people: int = 7) -> dict[tuple[str, str, AgainstLoad, str], float]:
    draw = np.random.default_rng(seed)
    return {
        (f"P{who}", level, phase, third): float(value)
        for who in range(people)
        for level in ("absent", "present")
        for phase in (AGAINST, WITH)
        for third, value in zip(("whole", *THIRDS), draw.normal(50, 10, 4), strict=True)
    }


def test_the_three_way_analysis_is_that_of_statsmodels() -> None:
    """Exercise x phase x third over the same cells gives statsmodels' F of all seven effects."""
    table = _three_way()
    values = from_values({key(w, level, third, phase): v for (w, level, phase, third), v in table.items()})
    found = muscle_anovas(values, plan(phases=(AGAINST, WITH)))
    assert [(held.phases, len(held.thirds)) for held in found] == [
        ((AGAINST,), 3), ((WITH,), 3), ((AGAINST, WITH), 1), ((AGAINST, WITH), 3),
    ]  # fmt: skip
    held = found[-1]
    assert held.analysis is not None
    rows = [(*names, value) for names, value in table.items() if names[3] != "whole"]
    frame = pd.DataFrame(rows, columns=["person", "exercise", "phase", "third", "value"])
    reference = AnovaRM(frame, "value", "person", within=["exercise", "phase", "third"]).fit().anova_table
    assert len(held.analysis.effects) == 7
    for effect in held.analysis.effects:
        assert effect.f == pytest.approx(reference.loc[":".join(effect.factors), "F Value"], rel=1e-9)
    whole = found[2].analysis
    assert whole is not None
    wholes = pd.DataFrame(
        [(*n, v) for n, v in table.items() if n[3] == "whole"],
        columns=["person", "exercise", "phase", "third", "value"],
    )
    two = AnovaRM(wholes, "value", "person", within=["exercise", "phase"]).fit().anova_table
    assert whole.effect("exercise", "phase").f == pytest.approx(two.loc["exercise:phase", "F Value"], rel=1e-9)


def test_who_lacks_a_cell_is_left_out_of_the_analysis_and_named() -> None:
    """The analysis is over those with every cell; with fewer than two of them it is missing, and says so."""
    table = REACTION.copy()
    table[3, 1, 0] = np.nan
    held = _only(muscle_anovas(cells(table), plan()))
    assert (held.left_out, len(held.participants)) == (("P04",), 9)
    table[1:, 0, 0] = np.nan
    held = _only(muscle_anovas(cells(table), plan()))
    assert held.analysis is None
    assert "2 participants" in held.missing
    assert next(iter(anova_rows([held])))["missing"] == held.missing


def test_a_factor_called_third_is_told_from_the_thirds() -> None:
    """A study may name a factor 'third'; the analysis still has two factors."""
    assert _only(muscle_anovas(cells(REACTION), plan(factor="third"))).factors == ("third (factor)", "third")


def test_more_than_two_levels_are_compared_pair_by_pair() -> None:
    """Maxwell, Delaney & Kelley (2018), Table 11.5: printed t of all pairs of four ages; Holm over the six."""
    printed = """108 96 110 122  103 117 127 133  96 107 106 107  84 85 92 99  118 125 125 116  110 107 96 91
    129 128 123 128  90 84 101 113  84 104 100 88  96 100 103 105  105 114 105 112  113 117 132 130"""
    table = np.array(printed.split(), dtype=float).reshape(12, 4, 1)
    levels = ("30", "36", "42", "48")
    values = cells(table, levels=levels, thirds=("whole",))
    asked = plan(a="30", b="36", thirds=("whole",))
    found = pairs_of_levels(values, asked, levels)
    assert len(found) == 1
    ts = [pair.test.difference.t for pair in found[0].pairs]
    assert ts == pytest.approx([-1.55, -2.30, -2.44, -1.09, -1.16, -0.896], abs=0.006)
    p = [pair.test.difference.p for pair in found[0].pairs]
    assert p == pytest.approx([0.149, 0.042, 0.033, 0.30, 0.271, 0.39], abs=0.002)
    assert found[0].pairs[2].p_holm == pytest.approx(6 * p[2])
    assert pairs_of_levels(values, asked, levels[:2]) == ()
