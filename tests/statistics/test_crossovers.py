"""Order effects of two-period crossovers against print and least squares with participants."""

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as models
from hypothesis import given, settings
from hypothesis import strategies as st
from published_numbers import ACTIVE_FIRST, PLACEBO_FIRST

from phasemark.model.errors import BadData
from phasemark.statistics.crossover import Crossover, crossover

ACTIVE = np.concatenate((ACTIVE_FIRST[:, 0], PLACEBO_FIRST[:, 1]))
PLACEBO = np.concatenate((ACTIVE_FIRST[:, 1], PLACEBO_FIRST[:, 0]))
ORDER = np.arange(29) < 17


def _dry_nights() -> Crossover:
    return crossover(ACTIVE, PLACEBO, ORDER)


def test_dry_nights_of_hills_and_armitage() -> None:
    """Hills & Armitage (1979): 2.82 in one order, -1.25 in the other, an effect of 2.04 (all values from memory)."""
    found = _dry_nights()
    assert (found.n_a_first, found.n_b_first, found.condition.df) == (17, 12, 27)
    assert found.condition.difference == pytest.approx(2.04, abs=0.005)
    assert found.condition.difference == pytest.approx((2.8235294 + 1.25) / 2, abs=1e-6)


def test_dry_nights_agree_with_least_squares_over_participants() -> None:
    """Condition and period from a model with a term for each participant; carry-over from one of their sums."""
    found, rows = _dry_nights(), []
    for person, (active, placebo, first) in enumerate(zip(ACTIVE, PLACEBO, ORDER, strict=True)):
        rows += [(person, 1, 1 if first else 2, active), (person, 0, 2 if first else 1, placebo)]
    table = pd.DataFrame(rows, columns=["person", "active", "period", "nights"])
    fitted = models.ols("nights ~ C(person) + active + period", table).fit()
    for name, effect in (("active", found.condition), ("period", found.period)):
        expected = (fitted.params[name], fitted.bse[name], fitted.pvalues[name], *fitted.conf_int().loc[name])
        interval = effect.interval
        assert (effect.difference, effect.se, effect.p, interval.low, interval.high) == pytest.approx(expected)
    sums = pd.DataFrame({"total": ACTIVE + PLACEBO, "active_first": ORDER.astype(float)})
    of_sums = models.ols("total ~ active_first", sums).fit()
    carry_over = found.carry_over
    expected = (of_sums.params["active_first"], of_sums.tvalues["active_first"], of_sums.pvalues["active_first"])
    assert (carry_over.difference, carry_over.t, carry_over.p) == pytest.approx(expected)


def test_a_period_effect_is_kept_out_of_the_condition_effect() -> None:
    """3 better in the second period and no condition effect, 6 people in one order and 2 in the other."""
    person, order = np.random.default_rng(4).normal(10, 3, 8), np.arange(8) < 6
    noise = np.random.default_rng(5).normal(0, 1e-3, 8)
    a, b = person + np.where(order, 0, 3) + noise, person + np.where(order, 3, 0)
    found = crossover(a, b, order)
    assert np.mean(a - b) == pytest.approx(-1.5, abs=0.01)
    assert found.condition.difference == pytest.approx(0, abs=0.01)
    assert found.period.difference == pytest.approx(3, abs=0.01)


SCORES = st.lists(st.tuples(st.integers(0, 50), st.integers(0, 50)), min_size=5, max_size=9)


@settings(deadline=None)
@given(SCORES)
def test_swapping_the_conditions_turns_condition_and_carry_over_and_leaves_the_period(
    scores: list[tuple[int, int]],
) -> None:
    a, b = np.array(scores, dtype=float).T
    order = np.arange(len(a)) % 2 == 0
    one, other = crossover(a, b, order), crossover(b, a, ~order)
    assert other.condition.difference == pytest.approx(-one.condition.difference, abs=1e-9)
    assert other.carry_over.difference == pytest.approx(-one.carry_over.difference, abs=1e-9)
    assert other.period.difference == pytest.approx(one.period.difference, abs=1e-9)
    assert other.period.p == pytest.approx(one.period.p, rel=1e-6, nan_ok=True)


def test_one_order_only_cannot_part_order_and_condition() -> None:
    with pytest.raises(BadData, match="same order"):
        crossover([1, 2, 3], [2, 2, 4], [True, True, True])
    with pytest.raises(BadData, match="order is needed of each"):
        crossover([1, 2, 3], [2, 2, 4], [True, False])


def test_one_person_in_each_order_gives_estimates_without_tests() -> None:
    found = crossover([5.0, 4.0], [2.0, 3.0], [True, False])
    assert found.condition.difference == pytest.approx(2)
    assert np.isnan(found.condition.p)
    assert "too few" in found.condition.missing
