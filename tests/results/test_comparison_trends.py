"""Change over repetitions and sets, order of the conditions, and power, on each level apart from the other."""

from collections.abc import Callable

import numpy as np
import pytest
from made_cells import cells, key, plan
from numpy.typing import NDArray
from one_trial import measured, trial
from scipy import stats

from phasemark.results.comparison.cautions import order_said
from phasemark.results.comparison.cells import PERCENT, CellValues, RepValue, cells_from
from phasemark.results.comparison.compare import compare_cells
from phasemark.results.comparison.compared import Comparison
from phasemark.results.comparison.needed import needed
from phasemark.results.comparison.order import Order, order_of
from phasemark.results.comparison.trends import BOTH, REPETITIONS, SETS, PlaceTrend, trends
from phasemark.statistics.power import paired_power

PEOPLE = [f"P{n}" for n in range(8)]


def _values(of: Callable[[str, str, int, int], float], sets: int = 2, reps: int = 5) -> CellValues:
    """Reps of every person on both levels, each value of (person, level, set, rep)."""
    return cells_from(
        [
            RepValue(key(who, level, "lower"), f"{who}{level}{number}", number, rep, of(who, level, number, rep))
            for who in PEOPLE
            for level in ("present", "absent")
            for number in range(1, sets + 1)
            for rep in range(1, reps + 1)
        ],
        PERCENT,
    )


def _trend(found: tuple[PlaceTrend, ...], over: str, level: str) -> PlaceTrend:
    return next(held for held in found if (held.over, held.level) == (over, level))


def test_a_rise_over_repetitions_is_told_from_the_level_of_the_condition() -> None:
    """Whatever one condition is above the other, the slope is that within the sets, the same on both levels."""
    draw = np.random.default_rng(1)
    own = dict(zip(PEOPLE, draw.normal(2, 0.5, 8), strict=True))
    values = _values(lambda who, level, number, rep: 50 + 20 * (level == "present") + 7 * number + own[who] * rep)
    found = trends(values, plan(thirds=("lower",)))
    for level in ("present", "absent", BOTH):
        held = _trend(found, REPETITIONS, level)
        assert held.slope is not None
        expected = stats.ttest_1samp(list(own.values()), 0)
        assert held.slope.mean == pytest.approx(np.mean(list(own.values())), rel=1e-9)
        assert held.slope.t == pytest.approx(expected.statistic, rel=1e-6)
        assert held.last_less_first is not None
        assert held.last_less_first.mean == pytest.approx(4 * held.slope.mean, rel=1e-9)
    apart = _trend(found, REPETITIONS, "a - b")
    assert apart.slope is not None
    assert apart.slope.mean == pytest.approx(0, abs=1e-9)
    over_sets = _trend(found, SETS, BOTH)
    assert over_sets.slope is not None
    assert over_sets.slope.mean == pytest.approx(7, rel=1e-9)


def test_conditions_that_tire_differently_show_in_the_difference_of_slopes() -> None:
    """A slope of 3 against one of 1 is a difference of 2 a repetition."""
    values = _values(lambda who, level, number, rep: 50 + (3 if level == "present" else 1) * rep + 0.1 * int(who[1:]))
    apart = _trend(trends(values, plan(thirds=("lower",))), REPETITIONS, "a - b")
    assert apart.slope is not None
    assert apart.slope.mean == pytest.approx(2, rel=1e-9)


def test_one_set_and_missing_repetitions() -> None:
    """One set has no slope over sets; a missing repetition keeps its number, so the slope is unchanged."""
    values = _values(
        lambda who, level, number, rep: float("nan") if rep == 2 else 50 + 2.0 * rep + int(who[1:]), sets=1
    )
    found = trends(values, plan(thirds=("lower",)))
    assert _trend(found, SETS, BOTH).slope is None
    assert _trend(found, SETS, BOTH).participants == ()
    held = _trend(found, REPETITIONS, "present")
    assert held.slope is not None
    assert held.slope.mean == pytest.approx(2)


def _order(*firsts: str | None, stated: tuple[int, int] = (1, 2)) -> tuple[Order, Comparison, NDArray[np.float64]]:
    """The order of people who did the named exercise first (None: not recorded), and what was compared."""
    trials = []
    for n, first in enumerate(firsts, 1):
        for exercise in ("squat", "lunge"):
            order = None if first is None else stated[exercise != first]
            trials.append(trial(f"T{n}{exercise}", participant=f"P{n:02d}", exercise=exercise, order=order))
    table = np.random.default_rng(2).normal(50, 5, (len(firsts), 2, 1))
    asked = plan(a="squat", b="lunge", thirds=("lower",))
    compared = compare_cells(cells(table, levels=("squat", "lunge"), thirds=("lower",)), asked)
    return order_of(measured(*trials).study, asked, compared), compared, table[:, :, 0]


def test_period_effects_are_those_of_two_sample_tests() -> None:
    """Hills & Armitage (1979), from memory: the period effect tests the differences between the two orders."""
    order, compared, table = _order("squat", "squat", "squat", "lunge", "lunge", "lunge", "lunge")
    assert order.a_first == ("P01", "P02", "P03")
    assert order.b_first == ("P04", "P05", "P06", "P07")
    effect = order.effects[compared.cells[0].place]
    difference = table[:, 0] - table[:, 1]
    period = stats.ttest_ind(difference[3:], difference[:3])
    assert effect.period.p == pytest.approx(period.pvalue, rel=1e-9)
    first_less_second = np.where(np.arange(7) < 3, difference, -difference)
    assert effect.condition.p == pytest.approx(stats.ttest_ind(first_less_second[:3], first_less_second[3:]).pvalue)
    said = " ".join(order_said(order, compared.plan))
    assert "3 did squat first and 4 lunge: not equally many" in said


def test_one_order_for_all_or_none_recorded_is_said() -> None:
    """Order and condition cannot be told apart then, and no effect of the order is given."""
    order, compared, _ = _order("squat", "squat", "squat")
    assert not order.effects
    assert "Everybody did squat first" in " ".join(order_said(order, compared.plan))
    order, compared, _ = _order(None, None)
    assert order.unknown == ("P01", "P02")
    assert "order of the trials is not recorded" in " ".join(order_said(order, compared.plan))
    order, compared, _ = _order("squat", "lunge", None)
    assert "not known of P03" in " ".join(order_said(order, compared.plan))
    order, compared, _ = _order("squat", "lunge", "squat", "lunge")
    assert order_said(order, compared.plan) == []


def test_conditions_in_turns_have_no_first() -> None:
    """A, B, A, B is neither order; sessions come before the order in them."""
    turns = [
        trial(f"T{n}", participant="P01", exercise=exercise, order=n)
        for n, exercise in enumerate(("squat", "lunge", "squat", "lunge"), 1)
    ]
    days = [
        trial("D1", participant="P02", exercise="squat", order=9, session="1"),
        trial("D2", participant="P02", exercise="lunge", order=1, session="2"),
    ]
    asked = plan(a="squat", b="lunge", thirds=("lower",))
    table = np.random.default_rng(2).normal(50, 5, (2, 2, 1))
    compared = compare_cells(cells(table, levels=("squat", "lunge"), thirds=("lower",)), asked)
    order = order_of(measured(*turns, *days).study, asked, compared)
    assert (order.mixed, order.a_first) == (("P01",), ("P02",))


def test_power_of_what_is_asked_and_at_hand() -> None:
    """The participants given have the power asked and one fewer has not; the detectable effect has it exactly."""
    found = needed(4.0, 12, 3.0, alpha=0.05)
    assert found.participants is not None
    assert paired_power(3 / 4, found.participants) >= 0.8 > paired_power(3 / 4, found.participants - 1)
    assert paired_power(found.detectable / 4.0, 12) == pytest.approx(0.8, abs=1e-9)
    assert needed(4.0, 1, 3.0, alpha=0.05).participants is None
    assert needed(4.0, 12, float("nan"), alpha=0.05).participants is None
    assert needed(1e9, 12, 1e-3, alpha=0.05).participants is None  # more than a million
    cell = compare_cells(cells(np.random.default_rng(0).normal(50, 5, (12, 2, 1)), thirds=("lower",)),
                         plan(thirds=("lower",), smallest=2.0)).cells[0]  # fmt: skip
    assert cell.detail is not None
    assert cell.detail.needed == needed(cell.difference.sd, 12, 2.0, alpha=1 - 0.95)
