"""Two levels compared over participants, against printed data, the reference libraries, and by hand."""

from dataclasses import replace

import numpy as np
import pingouin
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_cells import MUSCLE, REACTION, THIRDS, cells, from_values, key, plan
from scipy import stats
from statsmodels.stats.multitest import multipletests

from phasemark.model.errors import BadCall
from phasemark.model.plan import AgainstLoad, PrimaryTest
from phasemark.model.recording import Side
from phasemark.results.comparison.brief import differences
from phasemark.results.comparison.cells import MILLIVOLTS, PERCENT, RepValue, cells_from
from phasemark.results.comparison.compare import compare_cells, family_of
from phasemark.results.comparison.compared import ComparedCell, Detail
from phasemark.results.comparison.verdict import Verdict
from phasemark.statistics.paired import paired_t

AGAINST = AgainstLoad.AGAINST


def _detail(cell: ComparedCell) -> Detail:
    assert cell.detail is not None
    return cell.detail


# Maxwell & Delaney (2004), Table 12.1, present - absent at each angle; recomputed from the printed data: mean, SD, t,
# p, Holm p, interval, d_z, percent of the absent mean, ratio of geometric means and its interval.
PER_ANGLE = {
    "lower": (30, 76.157731, 1.2456822, 0.2443331, 0.2443331, -24.480, 84.480, 0.3939193, 6.4935,
              1.0564507, 0.9495795, 1.1753498),
    "middle": (150, 106.770783, 4.4426166, 0.00161736, 0.00323473, 73.621, 226.379, 1.4048787, 29.4118,
               1.2924676, 1.1359709, 1.4705239),
    "upper": (234, 66.030296, 11.2065675, 1.37591e-6, 4.12774e-6, 186.765, 281.235, 3.5438278, 44.3182,
              1.4423051, 1.3557538, 1.5343818),
}  # fmt: skip


@pytest.mark.parametrize("third", THIRDS)
def test_thirds_of_reaction_times(third: str) -> None:
    """Each third's difference, interval, test, Holm over the family, effect size and ratios, as recomputed."""
    mean, sd, t, p, p_holm, low, high, d_z, percent, *geometric = PER_ANGLE[third]
    cell = compare_cells(cells(REACTION), plan()).cell(MUSCLE, AGAINST, third)
    found, detail = cell.difference, _detail(cell)
    assert (found.n, found.df, detail.family) == (10, 9, 3)
    assert (found.mean, found.sd, found.t) == pytest.approx((mean, sd, t), abs=1e-6)
    assert (found.interval.low, found.interval.high) == pytest.approx((low, high), abs=5e-4)
    assert (detail.p, detail.p_holm) == pytest.approx((p, p_holm), rel=1e-5)
    assert detail.effect is not None
    assert detail.effect.d_z == pytest.approx(d_z, abs=1e-7)
    assert detail.ratio is not None
    assert detail.ratio.percent == pytest.approx(percent, abs=5e-5)
    assert detail.geometric is not None
    limits = detail.geometric.interval
    assert [detail.geometric.ratio, limits.low, limits.high] == pytest.approx(geometric, abs=1e-6)


def test_percent_difference_of_the_last_third() -> None:
    """Fieller's interval for pairs and that of the geometric mean, as recomputed (Fieller 1954: from memory)."""
    detail = _detail(compare_cells(cells(REACTION), plan()).cell(MUSCLE, AGAINST, "upper"))
    assert detail.ratio is not None
    assert detail.geometric is not None
    fieller, geometric = detail.ratio.percent_interval, detail.geometric.percent_interval
    assert (fieller.low, fieller.high) == pytest.approx((35.6751, 53.4238), abs=5e-5)
    assert (geometric.low, geometric.high) == pytest.approx((35.5754, 53.4382), abs=5e-5)


def test_against_the_reference_libraries() -> None:
    """scipy, statsmodels and pingouin on the same cells: t, Wilcoxon, Holm, g_av's d, two one-sided tests."""
    compared = compare_cells(cells(REACTION), plan(smallest=200))
    a, b = REACTION[:, 1, :], REACTION[:, 0, :]
    raw = [stats.ttest_rel(a[:, n], b[:, n]).pvalue for n in range(3)]
    holm = multipletests(raw, method="holm")[1]
    for n, third in enumerate(THIRDS):
        cell = compared.cell(MUSCLE, AGAINST, third)
        detail = _detail(cell)
        reference = pingouin.ttest(a[:, n], b[:, n], paired=True).iloc[0]
        assert cell.difference.t == pytest.approx(reference["T"], abs=1e-9)
        assert detail.p == pytest.approx(raw[n], rel=1e-9)
        assert detail.p_holm == pytest.approx(holm[n], rel=1e-9)
        tost = pingouin.tost(a[:, n], b[:, n], bound=200, paired=True).iloc[0]
        assert detail.equivalence is not None
        assert detail.equivalence.p == pytest.approx(tost.filter(like="pval").iloc[0], rel=1e-9)
        assert detail.effect is not None
        mean_sd = (a[:, n].std(ddof=1) + b[:, n].std(ddof=1)) / 2
        assert detail.effect.d_av == pytest.approx((a[:, n] - b[:, n]).mean() / mean_sd, rel=1e-12)


def test_swapping_the_levels_turns_every_sign() -> None:
    """The difference is then its negative, and the ratio of geometric means its inverse."""
    there = compare_cells(cells(REACTION), plan())
    back = compare_cells(cells(REACTION), plan(a="absent", b="present"))
    for one, other in zip(there.cells, back.cells, strict=True):
        assert one.difference.mean == -other.difference.mean
        assert one.difference.p == pytest.approx(other.difference.p, rel=1e-12)
        of_one, of_other = _detail(one).geometric, _detail(other).geometric
        assert of_one is not None
        assert of_other is not None
        assert of_one.ratio * of_other.ratio == pytest.approx(1, rel=1e-12)


def test_brief_gives_the_same_differences_and_nothing_else() -> None:
    """What is computed in brief is what is computed in full."""
    full, brief = compare_cells(cells(REACTION), plan()), compare_cells(cells(REACTION), plan(), brief=True)
    assert [cell.difference for cell in full.cells] == [cell.difference for cell in brief.cells]
    assert all(cell.detail is None for cell in brief.cells)


@settings(max_examples=50, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(1, 9), st.floats(0, 0.6), st.sampled_from([0.8, 0.9, 0.95, 0.99]))
def test_differences_on_arrays_are_those_of_the_paired_t_test(
    seed: int, people: int, gaps: float, level: float
) -> None:
    """Thousands at once are each what the paired t test gives of the complete pairs; too few pairs have no limits."""
    draw = np.random.default_rng(seed)
    a, b = draw.normal(50, 10, (2, 4, 5, people))
    a[draw.random(a.shape) < gaps] = np.nan
    found = differences(a, b, level=level)
    for place in np.ndindex(4, 5):
        there = np.isfinite(a[place])
        assert found.n[place] == there.sum()
        if not there.any():
            assert np.isnan(found.mean[place])
            continue
        one = paired_t(a[place][there], b[place][there], level=level).difference
        got = (found.mean[place], found.low[place], found.high[place])
        assert got == pytest.approx((one.mean, one.interval.low, one.interval.high), rel=1e-9, abs=1e-9, nan_ok=True)


def test_the_primary_comparison_is_judged_by_its_own_p_and_the_others_by_holm() -> None:
    """A p between 0.05 / 3 and 0.05 decides where it is primary and not where it is one of a family."""
    draw = np.random.default_rng(3)
    table = draw.normal(0, 1, (12, 2, 3)) + 50
    for third in (0, 1):
        table[:, 1, third] += 0.9 - (table[:, 1, third] - table[:, 0, third]).mean()
    asked = plan(thirds=THIRDS, smallest=0.01)
    compared = compare_cells(cells(table), asked)
    primary = compared.primary
    assert primary is not None
    assert primary.place.third == "lower"
    for cell in compared.cells:
        detail = _detail(cell)
        decisive = detail.p if cell.primary else detail.p_holm
        assert (detail.verdict is Verdict.MORE_IN_A) == (decisive < 0.05)
    p_values = [(_detail(cell).p, _detail(cell).p_holm) for cell in compared.cells[:2]]
    assert any(p < 0.05 <= holm for p, holm in p_values), p_values  # the case that tells the two apart is in it
    exploratory = compare_cells(cells(table), asked, planned=False)
    assert exploratory.primary is None
    assert all(
        _detail(cell).verdict is Verdict.NOT_SETTLED for cell in exploratory.cells if _detail(cell).p_holm >= 0.05
    )


@pytest.mark.parametrize(
    ("shift", "spread", "smallest", "verdict", "said"),
    [
        (5.0, 1.0, 1.0, Verdict.MORE_IN_A, "more in present"),
        (-5.0, 1.0, 1.0, Verdict.MORE_IN_B, "more in absent"),
        (0.0, 1.0, 3.0, Verdict.SIMILAR, "similar"),
        (1.0, 0.5, 3.0, Verdict.SIMILAR, "similar (more in present, by less than matters)"),
        (0.0, 9.0, 3.0, Verdict.NOT_SETTLED, "not settled"),
    ],
)
def test_what_may_be_said(shift: float, spread: float, smallest: float, verdict: Verdict, said: str) -> None:
    """Not significant is not the same as equal: similar is said only where the smallest effect is refuted."""
    ends = np.linspace(-1, 1, 10)
    table = np.full((10, 2, 1), 50.0)
    table[:, 1, 0] += shift + spread * ends
    cell = compare_cells(cells(table, thirds=("lower",)), plan(thirds=("lower",), smallest=smallest)).cells[0]
    assert (_detail(cell).verdict, _detail(cell).said) == (verdict, said)


def test_a_smallest_effect_in_another_unit_is_not_applied() -> None:
    """Without it nothing is called similar and no sample size is given; what can be detected is."""
    values = replace(cells(REACTION, unit=MILLIVOLTS), effect_applies=False)
    for cell in compare_cells(values, plan(smallest=1000)).cells:
        detail = _detail(cell)
        assert detail.equivalence is None
        assert detail.verdict is not Verdict.SIMILAR
        assert detail.needed.participants is None
        assert detail.needed.detectable > 0


@pytest.mark.parametrize("test", list(PrimaryTest))
def test_the_test_that_the_plan_names_decides(test: PrimaryTest) -> None:
    """The p that is corrected and judged is that of the named test."""
    cell = compare_cells(cells(REACTION), plan(test=test)).cell(MUSCLE, AGAINST, "lower")
    detail = _detail(cell)
    expected = {
        PrimaryTest.PAIRED_T: stats.ttest_rel(REACTION[:, 1, 0], REACTION[:, 0, 0]).pvalue,
        PrimaryTest.WILCOXON: detail.ranks and detail.ranks.p_exact,
        PrimaryTest.SIGN_FLIP: detail.flips and detail.flips.p,
    }[test]
    assert detail.p == pytest.approx(expected, rel=1e-12)
    assert len({_detail(compare_cells(cells(REACTION), plan(test=t)).cells[0]).p for t in PrimaryTest}) == 3


def test_who_lacks_a_level_is_left_out_there_and_named() -> None:
    """One lacks a third on one level, one lacks a level altogether, one muscle was never measured."""
    table = REACTION.copy()
    table[1, 0, 2] = np.nan
    table[4, 1, :] = np.nan
    compared = compare_cells(cells(table), plan(muscles=(MUSCLE, "soleus")))
    assert compared.cell(MUSCLE, AGAINST, "lower").left_out == ("P05",)
    upper = compared.cell(MUSCLE, AGAINST, "upper")
    assert (upper.n, upper.left_out) == (8, ("P02", "P05"))
    keep = [n for n in range(10) if n not in (1, 4)]
    expected = stats.ttest_rel(REACTION[keep, 1, 2], REACTION[keep, 0, 2])
    assert upper.difference.t == pytest.approx(expected.statistic, rel=1e-12)
    text = " ".join(compared.said)
    assert "Without values on both levels, and so left out: P05." in compared.said
    assert "P02 at vastus medialis, against the load, upper third." in text
    assert "Nothing was measured of soleus" in text


@pytest.mark.parametrize("people", [1, 2])
def test_one_or_two_people_are_compared_as_far_as_can_be(people: int) -> None:
    """No spread, no interval, no verdict; and nothing that fails."""
    compared = compare_cells(cells(REACTION[:people]), plan())
    for cell in compared.cells:
        assert cell.n == people
        assert _detail(cell).verdict is Verdict.NOT_SETTLED
    assert np.isnan(compared.cells[0].difference.t) == (people == 1)


def test_nobody_with_both_is_no_pair_and_a_level_nobody_has_is_refused() -> None:
    """Two groups of people give a cell without pairs; a wrong name gives a sentence with those there are."""
    table = REACTION.copy()
    table[:5, 0], table[5:, 1] = np.nan, np.nan
    cell = compare_cells(cells(table), plan()).cells[0]
    assert (cell.n, _detail(cell).verdict) == (0, Verdict.NOT_SETTLED)
    assert cell.difference.missing == "nobody has both present and absent"
    with pytest.raises(BadCall, match="exercise 'lunge'; measured are absent, present"):
        compare_cells(cells(REACTION), plan(a="lunge"))


def test_all_alike_differences_settle_nothing() -> None:
    """Without a spread of differences there is nothing to test against, and that is said."""
    table = np.full((6, 2, 1), 40.0)
    table[:, 1] = 50.0
    cell = compare_cells(cells(table, thirds=("lower",)), plan(thirds=("lower",))).cells[0]
    assert _detail(cell).verdict is Verdict.NOT_SETTLED
    assert "no spread" in cell.difference.missing


def test_the_family_is_what_the_plan_lists_and_was_measured() -> None:
    """Muscles, sides, phases and thirds in the plan's order; a whole rep has no thirds."""
    values = {}
    for who in ("P01", "P02", "P03"):
        for level in ("absent", "present"):
            for third in ("whole", *THIRDS):
                values[key(who, level, third)] = 1.0
            values[key(who, level, "whole", AgainstLoad.REP)] = 1.0
            right = replace(key(who, level, "whole"), side=Side.RIGHT)
            values[right] = 2.0
    asked = plan(phases=(AGAINST, AgainstLoad.REP), thirds=("whole", "upper"))
    found = family_of(from_values(values), asked)
    assert [(place.side, place.phase, place.third) for place in found] == [
        (Side.RIGHT, AGAINST, "whole"), (Side.NONE, AGAINST, "whole"), (Side.NONE, AGAINST, "upper"),
        (Side.NONE, AgainstLoad.REP, "whole"),
    ]  # fmt: skip
    compared = compare_cells(from_values(values), asked)
    assert sum(cell.primary for cell in compared.cells) == 1
    assert "the primary comparison is that of the right one" in " ".join(compared.said)


def test_means_are_over_reps_then_trials_and_spreads_are_named() -> None:
    """Two sets of unequal length count alike; the SD between reps is each person's own, pooled as variances."""
    reps = {"P01": {"T1": [1.0, 2.0, 3.0], "T2": [8.0]}, "P02": {"T3": [4.0, 6.0], "T4": [5.0, float("nan")]}}
    found = []
    for who, trials in reps.items():
        for trial, values in trials.items():
            for number, value in enumerate(values, 1):
                for level, more in (("present", 1.0), ("absent", 0.0)):
                    found.append(RepValue(key(who, level, "lower"), trial + level, 1, number, value + more))
    values = cells_from(found, PERCENT)
    at = key("P01", "absent", "lower")
    assert values.values[at] == pytest.approx((2.0 + 8.0) / 2)
    assert values.between_reps[at] == pytest.approx(np.std([1, 2, 3, 8], ddof=1))
    assert (values.reps[at], values.trials[at]) == (4, 2)
    assert values.reps[key("P02", "absent", "lower")] == 3
    cell = compare_cells(values, plan(thirds=("lower",))).cells[0]
    assert cell.b == pytest.approx((5.0, 5.0))
    variances = np.var([1, 2, 3, 8], ddof=1), np.var([4, 6, 5], ddof=1)
    assert cell.spread_b.between_reps == pytest.approx(np.sqrt(np.mean(variances)))
