"""Holm's correction against worked examples, statsmodels and pingouin."""

import numpy as np
import pingouin
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published_numbers import REACTION
from statsmodels.stats.multitest import multipletests

from phasemark.model.errors import BadData
from phasemark.statistics.holm import holm
from phasemark.statistics.paired import paired_t

# Holm (1979) Scand J Stat 6:65-70, closed form: raw, adjusted. The first stays at .06 in its third ordered place
# although 1 x .04 = .04.
FAMILIES = [
    ([0.01, 0.04, 0.03, 0.005], [0.03, 0.06, 0.06, 0.02]),
    ([0.50, 0.003, 0.32, 0.054, 0.0003], [0.64, 0.012, 0.64, 0.162, 0.0015]),
    ([0.01, 0.02, 0.03, 0.04, 0.05, 0.06], [0.06, 0.10, 0.12, 0.12, 0.12, 0.12]),
]


@pytest.mark.parametrize(("raw", "adjusted"), FAMILIES)
def test_worked_families(raw: list[float], adjusted: list[float]) -> None:
    assert holm(raw) == pytest.approx(adjusted, abs=1e-12)


def test_noise_at_each_angle() -> None:
    """Maxwell & Delaney (2004), Table 12.1; recomputed, not printed."""
    raw = [paired_t(REACTION[:, 1, angle], REACTION[:, 0, angle]).difference.p for angle in range(3)]
    assert holm(raw) == pytest.approx([0.2443331, 0.00323473, 4.12774e-6], rel=1e-5)


FAMILY = st.lists(st.floats(0, 1), min_size=1, max_size=30)


@pytest.mark.parametrize("m", [1, 2, 5, 12, 40])
def test_random_families_agree_with_statsmodels_and_pingouin(m: int) -> None:
    raw = np.random.default_rng(m).uniform(size=m) ** 3
    assert holm(raw) == pytest.approx(multipletests(raw, method="holm")[1], rel=1e-12)
    assert holm(raw) == pytest.approx(pingouin.multicomp(raw, method="holm")[1], rel=1e-12)


@settings(deadline=None)
@given(FAMILY)
def test_adjusted_values_keep_the_order_and_are_never_below_the_raw(raw: list[float]) -> None:
    adjusted = holm(raw)
    assert np.all(adjusted >= np.array(raw))
    assert np.all(adjusted <= 1)
    assert np.all(np.diff(adjusted[np.argsort(raw, kind="stable")]) >= 0)


@settings(deadline=None)
@given(FAMILY)
def test_a_test_that_was_not_made_does_not_count(raw: list[float]) -> None:
    with_gap = holm([raw[0], np.nan, *raw[1:]])
    assert np.isnan(with_gap[1])
    assert np.delete(with_gap, 1) == pytest.approx(holm(raw), abs=0)


def test_an_empty_family_is_empty_and_no_p_lies_outside_zero_to_one() -> None:
    assert holm([]).shape == (0,)
    with pytest.raises(BadData, match="p value 2 of the family"):
        holm([0.2, 1.2])


def test_a_family_of_true_nulls_is_rejected_as_rarely_as_it_should_be() -> None:
    families = np.random.default_rng(6).uniform(size=(2000, 8))
    assert np.mean([holm(family).min() < 0.05 for family in families]) == pytest.approx(0.05, abs=0.015)
