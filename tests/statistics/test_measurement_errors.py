"""Standard error of measurement, minimal difference and repeatability against print."""

from math import sqrt

import numpy as np
import pytest
from published_numbers import MINI_1, MINI_2, SHROUT_FLEISS, WEIR, WRIGHT_1, WRIGHT_2

from phasemark.statistics.icc import icc
from phasemark.statistics.measurement_error import measurement_error, repeatability


def test_data_set_a_of_weir() -> None:
    """Weir (2005): SEM 7.6, SEE 7.1, SEP 10.2 printed; minimal difference 20.9 value from memory."""
    found = measurement_error(WEIR)
    assert (found.sem, found.see, found.sep) == pytest.approx((7.6, 7.1, 10.2), abs=0.05)
    assert found.minimal_difference == pytest.approx(20.9, abs=0.05)
    assert (found.sem, found.see, found.sep) == pytest.approx((7.556927, 7.111761, 10.197255), abs=1e-6)
    assert (found.sd, found.minimal_difference) == pytest.approx((31.748753, 20.946732), abs=1e-6)
    typical_error = np.std(WEIR[:, 0] - WEIR[:, 1], ddof=1) / sqrt(2)
    assert found.sem == pytest.approx(typical_error)


def test_the_other_formula_of_sem_gives_other_numbers() -> None:
    """SD sqrt(1 - ICC) is 7.31 with ICC(3,1) and 7.10 with ICC(2,1) on data set A of Weir (2005); not taken."""
    found, forms = measurement_error(WEIR), icc(WEIR)
    assert found.sd * sqrt(1 - forms[2].value) == pytest.approx(7.31, abs=0.005)
    assert found.sd * sqrt(1 - forms[1].value) == pytest.approx(7.10, abs=0.005)


def test_judges_of_shrout_and_fleiss() -> None:
    """Shrout & Fleiss (1979): sqrt(EMS), recomputed."""
    assert measurement_error(SHROUT_FLEISS).sem == pytest.approx(1.009675, abs=1e-6)


def test_repeatability_of_two_meters() -> None:
    """Bland & Altman (1986) Lancet i:307-310; coefficients 43.2 and 56.4 are values from memory, so to 0.1."""
    for (first, second), within, coefficient, printed in (
        ((WRIGHT_1, WRIGHT_2), 15.306669, 43.2938, 43.2),
        ((MINI_1, MINI_2), 19.910831, 56.3163, 56.4),
    ):
        found = repeatability(first, second, multiplier=2)
        assert found.sd_within == pytest.approx(within, abs=1e-6)
        assert found.coefficient == pytest.approx(coefficient, abs=1e-4)
        assert found.coefficient == pytest.approx(printed, abs=0.1)


def test_the_interval_of_sem_covers() -> None:
    """True SEM 2, 1000 seeded tables of 10 people by 3 trials."""
    generator = np.random.default_rng(61)
    covered = 0
    for _ in range(1000):
        scores = generator.normal(50, 10, (10, 1)) + np.array([0, 1, 3]) + generator.normal(0, 2, (10, 3))
        interval = measurement_error(scores).sem_interval
        covered += interval.low <= 2 <= interval.high
    assert covered / 1000 == pytest.approx(0.95, abs=0.02)


def test_trials_that_repeat_exactly_have_no_error() -> None:
    found = measurement_error([[0.1, 0.1], [0.7, 0.7], [0.4, 0.4]])
    assert (found.sem, found.minimal_difference) == (0, 0)
    assert np.isnan(found.sem_interval.low)
