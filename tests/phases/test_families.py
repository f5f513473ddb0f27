"""Invented recordings of many families: every complete rep found and no other, boundaries where they are."""

import numpy as np
import pytest
from families import FAMILIES
from synthetic import Score, mirrored, score

SEEDS = range(6)
# Median and 90th percentile of the errors (s) that a family may have; None: the target of all others.
HARDER = {
    "noisy": (0.05, 0.15),
    "very_noisy": (0.08, 0.20),
    "slow": (0.06, 0.20),
    "swaying": (0.05, 0.15),
    "coarse": (0.04, 0.12),
    "slow_sensor": (0.05, 0.12),
}
TARGET = (0.025, 0.08)


@pytest.mark.parametrize("name", FAMILIES)
def test_family(name: str) -> None:
    """All complete reps of a family are found and nothing else, and boundaries keep within the family's errors."""
    total = Score(0, 0, 0, ())
    for seed in SEEDS:
        total += score(FAMILIES[name](np.random.default_rng([seed, len(name)])))
    errors = np.abs(total.errors)
    median, most = HARDER.get(name, TARGET)
    assert (total.missed, total.extra) == (0, 0)
    assert total.found >= len(SEEDS)
    assert np.median(errors) <= median
    assert np.percentile(errors, 90) <= most


@pytest.mark.parametrize("name", ["false_starts", "partial", "drifting", "cut_off"])
def test_sign_of_the_trace_changes_nothing(name: str) -> None:
    """A trace turned over, with `up` turned with it, gives the same marks."""
    case = FAMILIES[name](np.random.default_rng(1))
    one, other = case.marks(), mirrored(case).marks()
    assert one.reps == other.reps


def test_unit_of_the_trace_changes_nothing() -> None:
    """The same movement in metres and in millimetres gives the same boundaries, to a clock sample."""
    from dataclasses import replace

    case = FAMILIES["paused"](np.random.default_rng(3))
    small = replace(case, values=case.values * 1e-3 + 5)
    pairs = zip(case.marks().reps, small.marks().reps, strict=True)
    assert all(abs(a.begin - b.begin) <= 1 and abs(a.end - b.end) <= 1 for a, b in pairs)
