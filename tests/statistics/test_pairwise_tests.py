"""All pairs of conditions against print and pingouin."""

import numpy as np
import pingouin
import pytest
from published_numbers import MCCARTHY, long_table

from phasemark.model.errors import BadData
from phasemark.statistics.pairwise import pairwise

# Maxwell, Delaney & Kelley (2018), 3rd ed., Table 11.5, published output: t (df 11) and p of each pair of ages.
AGES = {
    (0, 1): (-1.55, 0.149), (0, 2): (-2.30, 0.042), (0, 3): (-2.44, 0.033),
    (1, 2): (-1.09, 0.30), (1, 3): (-1.16, 0.271), (2, 3): (-0.896, 0.39),
}  # fmt: skip


def test_ages_of_the_mccarthy_scores() -> None:
    found = pairwise(MCCARTHY)
    assert [(pair.a, pair.b) for pair in found] == list(AGES)
    for pair in found:
        t, p = AGES[pair.a, pair.b]
        assert pair.test.difference.df == 11
        assert pair.test.difference.t == pytest.approx(t, abs=0.005)
        assert pair.test.difference.p == pytest.approx(p, abs=0.005)


def test_random_conditions_agree_with_pingouin() -> None:
    values = np.random.default_rng(3).normal([0, 0.5, 1, 0], 1, size=(9, 4))
    table = pingouin.pairwise_tests(long_table(values, ["level"]), "value", within="level", subject="person",
                                    padjust="holm")  # fmt: skip
    found = pairwise(values)
    assert [pair.test.difference.t for pair in found] == pytest.approx(list(table["T"]), rel=1e-9)
    assert [pair.p_holm for pair in found] == pytest.approx(list(table["p_corr"]), rel=1e-9)


def test_a_pair_without_spread_is_missing_and_not_counted_in_the_family() -> None:
    values = np.array([[1.0, 2, 5], [2, 3, 9], [4, 5, 6]])
    found = pairwise(values)
    assert np.isnan(found[0].p_holm)
    assert found[1].p_holm == pytest.approx(min(1, 2 * min(found[1].test.difference.p, found[2].test.difference.p)))


def test_one_condition_has_no_pairs() -> None:
    with pytest.raises(BadData):
        pairwise(np.ones((4, 1)))
