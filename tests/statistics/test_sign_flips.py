"""The sign-flip permutation test against counting by hand and scipy."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published_numbers import DEPRESSION_1, DEPRESSION_2
from scipy import stats

from phasemark.model.errors import BadCall
from phasemark.statistics.permutation import sign_flips

TENTHS = st.lists(st.integers(-30, 30), min_size=1, max_size=9)


@settings(deadline=None)
@given(TENTHS)
def test_every_pattern_of_signs_is_counted_ties_included(tenths: list[int]) -> None:
    """Counted in whole tenths, while the test gets them as float64, whose sums differ in the last digit."""
    found = sign_flips(np.array(tenths) / 10 + 0.7, np.full(len(tenths), 0.7))
    sums = [abs(sum(sign * tenth for sign, tenth in zip(signs, tenths, strict=True)))
            for signs in product((-1, 1), repeat=len(tenths))]  # fmt: skip
    expected = sum(each >= abs(sum(tenths)) for each in sums)
    assert (found.as_extreme, found.draws, found.exact) == (expected, 2 ** len(tenths), True)
    assert found.p == expected / 2 ** len(tenths)


def test_scipys_permutation_test_agrees() -> None:
    """Depression scores of Hollander & Wolfe (1973)."""
    expected = stats.permutation_test(
        (DEPRESSION_1 - DEPRESSION_2,), np.mean, permutation_type="samples", n_resamples=np.inf
    )
    assert sign_flips(DEPRESSION_1, DEPRESSION_2).p == pytest.approx(float(expected.pvalue), rel=1e-12)


def test_random_draws_come_near_the_exact_count_and_repeat_with_their_seed() -> None:
    generator = np.random.default_rng(3)
    a, b = generator.normal(0.4, 1, 20), generator.normal(0, 1, 20)
    exact, drawn = sign_flips(a, b), sign_flips(a, b, exact_up_to=10, seed=7, draws=50_000)
    assert (drawn.exact, drawn.seed, drawn.draws) == (False, 7, 50_000)
    assert drawn.p == pytest.approx(exact.p, abs=4 * np.sqrt(exact.p * (1 - exact.p) / 50_000))
    assert drawn == sign_flips(a, b, exact_up_to=10, seed=7, draws=50_000)
    assert drawn != sign_flips(a, b, exact_up_to=10, seed=8, draws=50_000)


def test_drawn_probability_is_never_zero() -> None:
    found = sign_flips(np.full(60, 1.0), np.zeros(60), draws=999)
    assert found.p == (found.as_extreme + 1) / 1000 > 0


def test_thirty_pairs_are_counted_in_full() -> None:
    """All equal differences: only all signs alike are as extreme."""
    found = sign_flips(np.full(30, 0.1), np.zeros(30))
    assert (found.as_extreme, found.draws) == (2, 2**30)


def test_no_difference_anywhere_gives_a_probability_of_one() -> None:
    assert sign_flips([1, 2, 3], [1, 2, 3]).p == 1


@pytest.mark.parametrize("arguments", [{"draws": 0}, {"exact_up_to": 41}])
def test_impossible_settings_are_refused(arguments: dict[str, int]) -> None:
    with pytest.raises(BadCall):
        sign_flips([1.0, 2.0], [0.0, 0.0], **arguments)
