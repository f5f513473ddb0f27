"""Within-subject analyses against print, statsmodels and pingouin."""

from typing import Any

import numpy as np
import pandas as pd
import pingouin
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published_numbers import EIGHT, HOWELL, MCCARTHY, REACTION, Numbers, long_table
from statsmodels.stats.anova import AnovaRM

from phasemark.model.errors import BadCall, BadData
from phasemark.statistics.paired import paired_t
from phasemark.statistics.repeated_measures import Effect, within_anova


def test_headache_weeks_of_howell() -> None:
    """Howell, 8th ed., ch. 14: SS 2449.20, 230.40, F 85.04, epsilons .6845, 1.0756 printed; the rest recomputed."""
    found = within_anova(HOWELL, ["week"])
    week = found.effect("week")
    assert (week.ss, week.ss_error, week.ms, week.ms_error) == pytest.approx((2449.20, 230.40, 612.30, 7.20), abs=1e-9)
    assert (week.df, week.df_error, found.n, found.df_participants) == (4, 32, 9, 8)
    assert week.f == pytest.approx(85.04, abs=0.005)
    assert week.f == pytest.approx(85.0416667, abs=1e-7)
    assert found.ss_participants == pytest.approx(486.711111, abs=1e-6)
    spherical = week.sphericity
    assert spherical.greenhouse_geisser == pytest.approx(0.6844574603, abs=1e-10)
    assert spherical.huynh_feldt == pytest.approx(1.0756241192, abs=1e-10)
    assert week.df * spherical.greenhouse_geisser == pytest.approx(2.737830, abs=1e-6)
    assert week.df_error * spherical.greenhouse_geisser == pytest.approx(21.902639, abs=1e-6)
    assert week.p == pytest.approx(1.3944e-16, rel=1e-4)
    assert week.p_greenhouse_geisser == pytest.approx(5.7729e-12, rel=1e-4)
    assert week.p_huynh_feldt == week.p  # an epsilon above 1 corrects nothing
    assert spherical.mauchly_w == pytest.approx(0.2823546, abs=1e-7)
    assert spherical.mauchly_p == pytest.approx(0.53, abs=0.02)  # .523 or .537 by the terms taken
    assert week.eta_squared_partial == pytest.approx(0.9140170, abs=1e-7)
    assert week.eta_squared_generalised == pytest.approx(0.7735184, abs=1e-7)


def test_mccarthy_scores_where_the_correction_changes_the_verdict() -> None:
    """Maxwell, Delaney & Kelley (2018), 3rd ed., Table 11.5: SS 552, 2006, 6624, F 3.03, p .043 are printed."""
    assert MCCARTHY.mean(axis=0) == pytest.approx([103, 107, 110, 112])
    found = within_anova(MCCARTHY, ["age"])
    age = found.effect("age")
    assert (age.ss, age.ss_error, found.ss_participants) == pytest.approx((552, 2006, 6624), abs=1e-9)
    assert (age.df, age.df_error, found.df_participants) == (3, 33, 11)
    assert (age.f, age.p) == pytest.approx((3.026919, 0.0432186), abs=1e-6)
    epsilon = age.sphericity.greenhouse_geisser
    assert (epsilon, age.sphericity.huynh_feldt) == pytest.approx((0.6095445, 0.7248502), abs=1e-7)
    assert (3 * epsilon, 33 * epsilon) == pytest.approx((1.828633, 20.114968), abs=1e-6)
    assert (age.p_greenhouse_geisser, age.p_huynh_feldt) == pytest.approx((0.0747874, 0.0635377), abs=1e-7)
    assert age.sphericity.mauchly_w == pytest.approx(0.2426472, abs=1e-7)
    assert age.sphericity.mauchly_p == pytest.approx(0.0174, abs=0.02)  # .0172 or .0177 by the terms taken
    assert (age.eta_squared_partial, age.eta_squared_generalised) == pytest.approx((0.2157936, 0.0601176), abs=1e-7)
    assert age.p < 0.05 < age.p_greenhouse_geisser


# Maxwell & Delaney (2004), 2nd ed., Tables 12.5-12.6, p 578: SS, SS error and F printed (values seen in a public test);
# then exact F, p, partial and generalised eta squared, epsilons, corrected df and p, Mauchly's W recomputed.
REACTION_EFFECTS = [
    (("angle",), (289920, 64080, 2, 18, 40.72), (40.7191011, 2.08676e-7, 0.8189831, 0.3901179),
     (0.9616365, 1.2175636, 1.923273, 17.309457, 3.4017e-7, 0.9601060)),
    (("noise",), (285660, 76140, 1, 9, 33.77), (33.7659574, 2.55974e-4, 0.7895522, 0.3866017),
     (1, 1, 1, 9, 2.55974e-4, np.nan)),
    (("noise", "angle"), (105120, 20880, 2, 18, 45.31), (45.3103448, 9.42409e-8, 0.8342857, 0.1882656),
     (0.9039771, 1.1178698, 1.807954, 16.271587, 3.4539e-7, 0.8937773)),
]  # fmt: skip


@pytest.mark.parametrize(("factors", "printed", "exact", "corrected"), REACTION_EFFECTS)
def test_reaction_times_of_maxwell_and_delaney(
    factors: tuple[str, ...], printed: tuple[float, ...], exact: tuple[float, ...], corrected: tuple[float, ...]
) -> None:
    effect = within_anova(REACTION, ["noise", "angle"]).effect(*factors)
    *sums, f = printed
    assert [effect.ss, effect.ss_error, effect.df, effect.df_error] == pytest.approx(sums, abs=1e-6)
    assert effect.f == pytest.approx(f, abs=0.005)
    assert effect.f == pytest.approx(exact[0], abs=1e-7)
    assert effect.p == pytest.approx(exact[1], rel=1e-5)
    assert (effect.eta_squared_partial, effect.eta_squared_generalised) == pytest.approx(exact[2:], abs=1e-7)
    spherical, (gg, hf, df, df_error, p, w) = effect.sphericity, corrected
    assert (spherical.greenhouse_geisser, spherical.huynh_feldt) == pytest.approx((gg, hf), abs=1e-7)
    assert (effect.df * gg, effect.df_error * gg) == pytest.approx((df, df_error), abs=1e-5)
    assert effect.p_greenhouse_geisser == pytest.approx(p, rel=1e-4)
    assert spherical.mauchly_w == pytest.approx(w, abs=1e-7, nan_ok=True)


def test_reaction_time_cells() -> None:
    """Cell means and SDs of Maxwell & Delaney (2004), Table 12.1; SS of participants recomputed."""
    assert REACTION.mean(axis=0).ravel() == pytest.approx([462, 510, 528, 492, 660, 762])
    expected = [56.921, 86.023, 78.994, 88.544, 109.545, 116.790]
    assert REACTION.std(axis=0, ddof=1).ravel() == pytest.approx(expected, abs=5e-4)
    assert within_anova(REACTION, ["noise", "angle"]).ss_participants == pytest.approx(292140, abs=1e-6)


# statsmodels 0.15.0's own test data, asserted there against R ezANOVA; epsilons, corrected p and W by pingouin.
EIGHT_EFFECTS = [
    (("a",), 432, 40.14159, 3.905263e-4, 1, 3.905263e-4, np.nan),
    (("b",), 672, 29.21739, 1.007549e-5, 0.5677831, 5.3326e-4, 0.2387639),
    (("a", "b"), 224, 17.10545, 1.741322e-4, 0.6162553, 2.0461e-3, 0.3772959),
]


@pytest.mark.parametrize("expected", EIGHT_EFFECTS)
def test_eight_people_where_sphericity_fails(
    expected: tuple[Any, ...],
) -> None:
    factors, ss, f, p, epsilon, p_corrected, w = expected
    effect = within_anova(EIGHT, ["a", "b"]).effect(*factors)
    assert effect.ss == pytest.approx(ss, abs=1e-9)
    assert effect.f == pytest.approx(f, abs=5e-6)
    assert effect.p == pytest.approx(p, rel=1e-6)
    assert effect.sphericity.greenhouse_geisser == pytest.approx(epsilon, abs=1e-7)
    assert effect.p_greenhouse_geisser == pytest.approx(p_corrected, rel=1e-4)
    assert effect.sphericity.mauchly_w == pytest.approx(w, abs=1e-7, nan_ok=True)


def test_pingouins_second_example() -> None:
    """Its data set rm_anova2, 10 x 2 x 3; figures recomputed with it and statsmodels."""
    table = pingouin.read_dataset("rm_anova2")
    values = table.sort_values(["Subject", "Time", "Metric"])["Performance"].to_numpy(dtype=float).reshape(10, 2, 3)
    found = within_anova(values, ["time", "metric"])
    effects = [found.effect("time"), found.effect("metric"), found.effect("time", "metric")]
    assert [effect.f for effect in effects] == pytest.approx([33.85228, 26.95919, 12.63227], abs=5e-6)
    epsilons = [effect.sphericity.greenhouse_geisser for effect in effects]
    assert epsilons == pytest.approx([1, 0.9691030, 0.7271664], abs=1e-7)


def _uneven(shape: tuple[int, ...], seed: int) -> Numbers:
    """Random scores whose cells differ in mean, spread and correlation, so that sphericity does not hold."""
    generator = np.random.default_rng(seed)
    cells = int(np.prod(shape[1:]))
    mixing = generator.normal(size=(cells, cells))
    return (generator.normal(size=(shape[0], cells)) @ mixing + generator.normal(size=cells)).reshape(shape)


@pytest.mark.parametrize("shape", [(5, 2), (9, 4), (6, 2, 2), (12, 2, 3), (7, 4, 3), (8, 2, 2, 3), (11, 3, 2, 4)])
def test_random_data_agree_with_statsmodels(shape: tuple[int, ...]) -> None:
    names = ["one", "two", "three"][: len(shape) - 1]
    values = _uneven(shape, seed=sum(shape))
    found = within_anova(values, names)
    table = AnovaRM(long_table(values, names), "value", "person", within=names).fit().anova_table
    assert len(found.effects) == len(table) == 2 ** len(names) - 1
    for name, row in table.iterrows():
        effect = found.effect(*str(name).split(":"))
        expected = (row["F Value"], row["Num DF"], row["Den DF"], row["Pr > F"])
        assert (effect.f, effect.df, effect.df_error, effect.p) == pytest.approx(expected, rel=1e-8)


@pytest.mark.filterwarnings("ignore:The inplace keyword")  # pingouin 0.7 with pandas 3.1
@pytest.mark.parametrize("shape", [(5, 3), (9, 4), (20, 6), (12, 2, 3), (12, 3, 2), (15, 4, 3)])
def test_random_data_agree_with_pingouin_on_sphericity(shape: tuple[int, ...]) -> None:
    names = ["one", "two"][: len(shape) - 1]
    values = _uneven(shape, seed=sum(shape))
    table = pingouin.rm_anova(
        long_table(values, names), dv="value", within=names if len(names) > 1 else names[0], subject="person",
        detailed=True, effsize="ng2", correction=True,
    )  # fmt: skip
    found = within_anova(values, names)
    for _, row in table[table["Source"] != "Error"].iterrows():
        effect = found.effect(*str(row["Source"]).split(" * "))
        assert effect.ss == pytest.approx(row["SS"], rel=1e-8)
        assert effect.f == pytest.approx(row["F"], rel=1e-8)
        assert effect.eta_squared_generalised == pytest.approx(row["ng2"], rel=1e-8)
        assert effect.sphericity.greenhouse_geisser == pytest.approx(row["eps"], rel=1e-8)
        if effect.df > 1:
            assert effect.p_greenhouse_geisser == pytest.approx(row["p_GG_corr"], rel=1e-7)


@pytest.mark.parametrize("shape", [(6, 3), (12, 4), (30, 5)])
def test_random_data_agree_with_pingouin_on_mauchly_and_huynh_feldt(shape: tuple[int, int]) -> None:
    values = _uneven(shape, seed=shape[0])
    effect = within_anova(values, ["one"]).effects[0]
    _, w, _, _, p = pingouin.sphericity(pd.DataFrame(values))
    assert effect.sphericity.mauchly_w == pytest.approx(w, rel=1e-9)
    assert effect.sphericity.mauchly_p == pytest.approx(p, abs=0.02)
    huynh_feldt = pingouin.epsilon(pd.DataFrame(values), correction="hf")
    assert min(1.0, effect.sphericity.huynh_feldt) == pytest.approx(huynh_feldt, rel=1e-9)


SCORES = st.lists(st.lists(st.integers(0, 50), min_size=6, max_size=6), min_size=4, max_size=8)


def _same(one: Effect, other: Effect) -> bool:
    return (one.f, one.p_greenhouse_geisser, one.sphericity.greenhouse_geisser) == pytest.approx(
        (other.f, other.p_greenhouse_geisser, other.sphericity.greenhouse_geisser), rel=1e-6, abs=1e-9, nan_ok=True
    )


@settings(deadline=None)
@given(SCORES, st.integers(0, 1000))
def test_order_of_participants_levels_and_factors_does_not_matter(scores: list[list[int]], seed: int) -> None:
    values = np.array(scores, dtype=float).reshape(-1, 2, 3)
    found, order = within_anova(values, ["a", "b"]), np.random.default_rng(seed)
    shuffled = within_anova(
        values[order.permutation(len(values))][:, ::-1][:, :, order.permutation(3)].swapaxes(1, 2), ["b", "a"]
    )
    for factors in (("a",), ("b",), ("a", "b")):
        assert _same(found.effect(*factors), shuffled.effect(*factors))


@settings(deadline=None)
@given(SCORES)
def test_all_sums_of_squares_add_up_to_the_total(scores: list[list[int]]) -> None:
    values = np.array(scores, dtype=float).reshape(-1, 2, 3)
    found = within_anova(values, ["a", "b"])
    parts = found.ss_participants + sum(effect.ss + effect.ss_error for effect in found.effects)
    assert parts == pytest.approx(np.sum((values - values.mean()) ** 2), rel=1e-9, abs=1e-9)


@settings(deadline=None)
@given(SCORES)
def test_two_levels_are_the_paired_t_test_squared(scores: list[list[int]]) -> None:
    values = np.array(scores, dtype=float)[:, :2]
    effect, t = within_anova(values, ["a"]).effects[0], paired_t(values[:, 0], values[:, 1]).difference
    assert effect.f == pytest.approx(t.t**2, rel=1e-7, abs=1e-9, nan_ok=True)
    assert effect.p == pytest.approx(t.p, rel=1e-6, nan_ok=True)
    assert (effect.sphericity.greenhouse_geisser, effect.p_greenhouse_geisser) == pytest.approx(
        (1 if not np.isnan(t.t) else np.nan, effect.p), nan_ok=True
    )


def test_false_alarms_under_broken_sphericity_come_back_to_five_percent() -> None:
    """No true effect, spreads 1, 1, 6 over 3 levels, 1500 seeded samples of 8 (Greenhouse & Geisser 1959)."""
    generator = np.random.default_rng(41)
    effects = [within_anova(generator.normal(size=(8, 3)) * [1, 1, 6], ["a"]).effects[0] for _ in range(1500)]
    plain = np.mean([effect.p < 0.05 for effect in effects])
    corrected = np.mean([effect.p_greenhouse_geisser < 0.05 for effect in effects])
    assert plain > 0.065
    assert corrected == pytest.approx(0.05, abs=0.017)


def test_too_few_participants_for_mauchly_or_huynh_feldt_leave_them_missing() -> None:
    effect = within_anova(_uneven((3, 5), 1), ["a"]).effects[0]
    assert np.isnan(effect.sphericity.mauchly_w)
    assert np.isfinite(effect.p_greenhouse_geisser)
    two = within_anova(_uneven((2, 3), 1), ["a"]).effects[0]
    assert two.sphericity.greenhouse_geisser == pytest.approx(0.5)
    assert np.isnan(two.p_huynh_feldt)


def test_an_effect_alike_in_all_has_no_error_and_says_so() -> None:
    values = np.array([1.3, 2.7, 5.1, 0.4])[:, np.newaxis] + np.array([0.1, 0.2, 0.7])
    effect = within_anova(values, ["a"]).effects[0]
    assert np.isnan(effect.f)
    assert effect.ss == pytest.approx(4 * np.sum((np.array([0.1, 0.2, 0.7]) - 1 / 3) ** 2))
    assert "exactly the same effect" in effect.missing
    assert "equal" in within_anova(np.full((4, 3), 0.1), ["a"]).effects[0].missing


def test_a_missing_cell_is_named() -> None:
    values = _uneven((5, 2, 3), 2)
    values[3, 1, 0] = np.nan
    with pytest.raises(BadData, match="participant 4, level of exercise 2, level of third 1"):
        within_anova(values, ["exercise", "third"])


@pytest.mark.parametrize(("shape", "names", "error"), [
    ((1, 3), ["a"], BadData), ((5, 1), ["a"], BadData), ((5, 3), ["a", "b"], BadCall), ((5, 2, 2), ["a", "a"], BadCall),
    ((4, 2, 2, 2, 2), ["a", "b", "c", "d"], BadCall),
])  # fmt: skip
def test_impossible_analyses_are_refused(shape: tuple[int, ...], names: list[str], error: type[Exception]) -> None:
    with pytest.raises(error):
        within_anova(_uneven(shape, 1), names)


def test_an_effect_that_is_not_there_is_refused() -> None:
    with pytest.raises(BadCall, match="c x a"):
        within_anova(REACTION, ["a", "b"]).effect("c", "a")
