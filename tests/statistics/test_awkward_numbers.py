"""Every function on few, missing, equal, tiny and huge numbers: one sentence or a stated missing value, no warning.

Warnings are errors in the whole suite, so that a call that returns has not warned.
"""

from collections.abc import Callable
from dataclasses import fields, is_dataclass
from math import isnan
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from phasemark.model.errors import BadCall, BadData
from phasemark.statistics.crossover import crossover
from phasemark.statistics.effect_size import paired_effect_sizes
from phasemark.statistics.equivalence import tost_paired
from phasemark.statistics.icc import icc
from phasemark.statistics.limits_of_agreement import limits_of_agreement
from phasemark.statistics.measurement_error import measurement_error, repeatability
from phasemark.statistics.one_sample import one_sample_t
from phasemark.statistics.paired import paired_t
from phasemark.statistics.pairwise import pairwise
from phasemark.statistics.percent import geometric_mean_ratio, ratio_of_means
from phasemark.statistics.permutation import sign_flips
from phasemark.statistics.repeated_measures import within_anova
from phasemark.statistics.signed_ranks import hodges_lehmann, signed_ranks
from phasemark.statistics.two_sample import two_sample_t

Pairs = Callable[[Any, Any], Any]

OF_PAIRS: dict[str, Pairs] = {
    "paired t": paired_t,
    "one sample": lambda a, b: one_sample_t(np.asarray(a) - np.asarray(b)),
    "two groups": two_sample_t,
    "Welch": lambda a, b: two_sample_t(a, b, equal_variances=False),
    "signed ranks": signed_ranks,
    "Hodges-Lehmann": hodges_lehmann,
    "sign flips": sign_flips,
    "effect sizes": paired_effect_sizes,
    "ratio of means": ratio_of_means,
    "geometric ratio": geometric_mean_ratio,
    "equivalence": lambda a, b: tost_paired(a, b, -1, 1),
    "limits": limits_of_agreement,
    "repeatability": repeatability,
}
OF_TABLES: dict[str, Callable[[Any], Any]] = {
    "within": lambda table: within_anova(table, ["a"]),
    "within, two factors": lambda table: within_anova(np.stack((table, table**2 / 2), axis=2), ["a", "b"]),
    "pairwise": pairwise,
    "icc": icc,
    "error": measurement_error,
}
SIZED = [1e-90, 1e-6, 1.0, 1e9, 1e90]


def _unsaid(result: Any) -> list[str]:
    """Fields that are nan in a result that does not say why."""
    if isinstance(result, tuple):
        return [name for each in result for name in _unsaid(each)]
    if not is_dataclass(result):
        return []
    held = {field.name: getattr(result, field.name) for field in fields(result)}
    found = [name for each in held.values() for name in _unsaid(each)]
    if "missing" in held and not held["missing"]:
        found += [name for name, value in held.items() if isinstance(value, float) and isnan(value)]
    return found


@pytest.mark.parametrize("name", OF_PAIRS)
def test_a_missing_value_is_refused_with_its_place(name: str) -> None:
    with pytest.raises(BadData, match=r"missing \(participant 2\)"):
        OF_PAIRS[name]([1.0, np.nan, 3.0], [2.0, 2.0, 5.0])
    with pytest.raises(BadData, match="too large"):
        OF_PAIRS[name]([1.0, np.inf, 3.0], [2.0, 2.0, 5.0])
    with pytest.raises(BadData):
        OF_PAIRS[name]([], [])
    with pytest.raises(BadCall):
        OF_PAIRS[name](np.ones((2, 2)), np.ones((2, 2)))


@pytest.mark.parametrize("name", [name for name in OF_PAIRS if name not in {"one sample", "two groups", "Welch"}])
def test_unequal_numbers_of_participants_are_refused(name: str) -> None:
    with pytest.raises(BadData, match="Pairs need both conditions"):
        OF_PAIRS[name]([1.0, 2.0, 3.0], [1.0, 2.0])


@pytest.mark.parametrize("name", OF_TABLES)
def test_a_missing_cell_is_refused_with_its_place(name: str) -> None:
    table = np.arange(12.0).reshape(4, 3) ** 1.5
    table[2, 1] = np.nan
    with pytest.raises(BadData, match=r"missing \(\w+ 3, .* 2"):
        OF_TABLES[name](table)


FEW = st.lists(st.tuples(st.integers(-2, 3), st.integers(-2, 3)), min_size=1, max_size=4)


@pytest.mark.parametrize("name", OF_PAIRS)
@settings(deadline=None)
@given(pairs=FEW, size=st.sampled_from(SIZED))
def test_few_and_equal_pairs_of_any_size_are_computed_or_said(
    name: str, pairs: list[tuple[int, int]], size: float
) -> None:
    a, b = np.array(pairs, dtype=float).T * size
    found = OF_PAIRS[name](a, b)
    allowed = {"correlation", "sd_a", "sd_b", "fieller_g"}  # documented as nan without a reason of their own
    assert set(_unsaid(found)) <= allowed


TABLE = st.lists(st.lists(st.integers(0, 2), min_size=3, max_size=3), min_size=2, max_size=4)


@pytest.mark.parametrize("name", OF_TABLES)
@settings(deadline=None)
@given(table=TABLE, size=st.sampled_from([1e-45, 1e-6, 1.0, 1e9, 1e45]))
def test_few_and_equal_rows_of_any_size_are_computed_or_said(name: str, table: list[list[int]], size: float) -> None:
    found = OF_TABLES[name](np.array(table, dtype=float) * size)
    allowed = {
        "correlation", "p_holm", "see", "sep", "low", "high", "mauchly_w", "mauchly_p", "greenhouse_geisser",
        "huynh_feldt", "p_huynh_feldt", "f_one_way", "p_one_way", "f_targets", "p_targets", "f_raters", "p_raters",
    }  # fmt: skip
    assert set(_unsaid(found)) <= allowed


@settings(deadline=None)
@given(FEW, st.lists(st.booleans(), min_size=4, max_size=4))
def test_few_people_in_either_order(pairs: list[tuple[int, int]], orders: list[bool]) -> None:
    a, b = np.array(pairs, dtype=float).T
    order = np.array(orders[: len(a)])
    if order.all() or not order.any():
        with pytest.raises(BadData):
            crossover(a, b, order)
        return
    assert _unsaid(crossover(a, b, order)) == []


@pytest.mark.parametrize("call", [
    paired_t, paired_effect_sizes, ratio_of_means, geometric_mean_ratio, hodges_lehmann, limits_of_agreement,
    two_sample_t,
])  # fmt: skip
@pytest.mark.parametrize("level", [0.0, 1.0, 95.0, -0.5, np.nan])
def test_a_level_is_a_share(call: Pairs, level: float) -> None:
    with pytest.raises(BadCall, match="confidence level must lie between 0 and 1"):
        call([1.0, 2.0, 4.0], [2.0, 2.0, 1.0], level=level)
