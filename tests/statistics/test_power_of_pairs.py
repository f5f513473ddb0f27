"""Power of the paired t test against statsmodels, pingouin and simulation."""

import numpy as np
import pingouin
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.stats.power import TTestPower

from phasemark.model.errors import BadCall
from phasemark.statistics.power import paired_power, participants_needed, smallest_detectable


@pytest.mark.parametrize("d_z", [0.2, 0.5, 0.8, 1.5, -0.5])
@pytest.mark.parametrize("n", [2, 5, 12, 100])
def test_power_agrees_with_statsmodels_and_pingouin(d_z: float, n: int) -> None:
    found = paired_power(d_z, n)
    references = (
        TTestPower().power(abs(d_z), n, 0.05, alternative="two-sided"),
        pingouin.power_ttest(d=abs(d_z), n=n, contrast="paired"),
    )
    for reference in references:  # theirs are nan where power is all but 1
        assert found == pytest.approx(1 if np.isnan(reference) else reference, abs=1e-6)


def test_participants_for_common_effects() -> None:
    """d_z 0.2, 0.5, 0.8 at 80 % and 5 %: 199, 34 and 15 participants (common tables; values from memory)."""
    assert [participants_needed(d_z) for d_z in (0.2, 0.5, 0.8)] == [199, 34, 15]


@settings(deadline=None)
@given(st.floats(0.05, 5), st.sampled_from([0.5, 0.8, 0.9, 0.95]), st.sampled_from([0.001, 0.01, 0.05]))
def test_n_is_the_fewest_that_reach_the_power(d_z: float, power: float, alpha: float) -> None:
    n = participants_needed(d_z, power=power, alpha=alpha)
    assert paired_power(d_z, n, alpha=alpha) >= power
    assert n == 2 or paired_power(d_z, n - 1, alpha=alpha) < power


@pytest.mark.parametrize("n", [2, 3, 8, 20, 500])
def test_the_smallest_detectable_effect_has_the_power_asked_for(n: int) -> None:
    d_z = smallest_detectable(n, power=0.9, alpha=0.01)
    assert paired_power(d_z, n, alpha=0.01) == pytest.approx(0.9, abs=1e-9)
    if n > 2:
        assert participants_needed(d_z * 1.000001, power=0.9, alpha=0.01) == n


def test_without_an_effect_power_is_the_error_rate_and_with_a_huge_one_it_is_one() -> None:
    assert paired_power(0, 10, alpha=0.03) == pytest.approx(0.03, abs=1e-9)
    assert paired_power(1e5, 300) == 1
    assert paired_power(4.0, 10_000) == 1


def test_power_rises_without_a_break_into_the_region_where_it_is_one() -> None:
    powers = [paired_power(d_z, 40) for d_z in np.linspace(0, 12, 200)]
    assert np.all(np.diff(powers) >= -1e-9)
    assert powers[-1] == pytest.approx(1, abs=1e-12)


def test_simulated_samples_are_found_as_often_as_power_says() -> None:
    samples = np.random.default_rng(9).normal(0.9, 1, size=(4000, 11))
    t = samples.mean(axis=1) / samples.std(axis=1, ddof=1) * np.sqrt(11)
    assert np.mean(np.abs(t) > 2.228139) == pytest.approx(paired_power(0.9, 11), abs=0.025)


def test_what_has_no_answer_is_refused() -> None:
    for call in (
        lambda: participants_needed(0.0),
        lambda: paired_power(0.5, 1),
        lambda: paired_power(np.nan, 5),
        lambda: smallest_detectable(10, power=0.04),
        lambda: smallest_detectable(10, power=1.0),
        lambda: participants_needed(0.5, alpha=0.0),
    ):
        with pytest.raises(BadCall):
            call()
