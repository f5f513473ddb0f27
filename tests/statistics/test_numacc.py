"""Mean and SD against NIST's Statistical Reference Datasets (Simon & Lesage 1989, Comput Stat Data Anal 8:325-332)."""

import numpy as np
import pytest
from published_numbers import Numbers, numacc

from phasemark.statistics.mean_and_sd import mean_and_sd, sum_of_squares

# Certified values, itl.nist.gov/div898/strd.
NUMACC = [
    (np.array([10000001.0, 10000003, 10000002]), 10000002, 1.0),
    (numacc(1.2, 0.1, 500), 1.2, 0.1),
    (numacc(1000000.2, 0.1, 500), 1000000.2, 0.1),
    (numacc(10000000.2, 0.1, 500), 10000000.2, 0.1),
]


@pytest.mark.parametrize(("values", "mean", "sd"), NUMACC)
def test_nist_numacc_mean_and_sd_are_certified_to_eight_digits(values: Numbers, mean: float, sd: float) -> None:
    assert mean_and_sd(values) == pytest.approx((mean, sd), rel=1e-8, abs=0)


def test_the_one_pass_formula_would_fail_numacc4() -> None:
    values = NUMACC[3][0]
    one_pass = np.sum(values**2) - np.sum(values) ** 2 / len(values)
    assert abs(one_pass / (len(values) - 1) - 0.01) > 1e-3
    assert sum_of_squares(values) / (len(values) - 1) == pytest.approx(0.01, rel=1e-7)


def test_too_few_values_have_no_sd() -> None:
    assert np.isnan(mean_and_sd(np.array([])))[0]
    assert mean_and_sd(np.array([3.0]))[0] == 3.0
    assert np.isnan(mean_and_sd(np.array([3.0]))[1])
