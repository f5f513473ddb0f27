"""Coverage: the chain's numbers lie within 1.96 of their stated sampling errors of the truth as often as claimed, 95 %.

Numbers are those of segments.csv: RMS and mean amplitude, in mV and in percent of the reference, of every segment of
every rep. The claim is that of a Gaussian error whose size is itself estimated from the segment: with some 20 to 200
independent samples that costs up to a point of the 95 %. In the long run it is 94 to 95 %, in mV and in percent of a
plateau alike, whatever the disturbance: tests/benchmarks/long_coverage.py measures it.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from invented_chain import Held
from remedied import CASES, Case, held_of

MEASURES = ("rms_mV", "mean_amplitude_mV", "rms_percent", "mean_amplitude_percent")
CASE = {case.name: case for case in CASES}
CLEAN, ALL = CASES[0], CASE["all on every muscle: every remedy"]
HIGHEST_OF_20 = replace(CASE["nothing: highest 500 ms as reference"], draws=20)


@cache
def held(case: Case, people: tuple[tuple[int, int], ...]) -> tuple[Held, ...]:
    """All numbers of people, each as (seed, number), in one task trial."""
    return tuple(one for seed, number in people for one in held_of(case, seed, number, 1))


def people(seeds: Iterable[int], numbers: Iterable[int]) -> tuple[tuple[int, int], ...]:
    return tuple((seed, number) for seed in seeds for number in numbers)


def covered(of: Iterable[Held]) -> float:
    return float(np.mean([one.inside for one in of]))


def of_measure(found: Iterable[Held], measure: str) -> list[Held]:
    return [one for one in found if one.measure == measure]


@pytest.mark.parametrize("case", [CLEAN, ALL], ids=["clean", "every disturbance remedied"])
def test_the_truth_lies_within_the_stated_error_as_often_as_claimed(case: Case) -> None:
    """Five people; the share of 1600 numbers varies by about a point, by two where they share references."""
    found = held(case, people((1,), range(1, 6)))
    for measure in MEASURES:
        own = of_measure(found, measure)
        assert len(own) > 1400
        assert covered(own) == pytest.approx(0.945, abs=0.02 if measure.endswith("mV") else 0.04), measure


def test_the_deviations_are_as_large_as_the_stated_errors() -> None:
    """In stated errors they have an SD of 1 and a mean near 0: errors are neither too large nor too small."""
    for measure in MEASURES[:2]:
        deviations = [one.deviation for one in of_measure(held(CLEAN, people((1,), range(1, 6))), measure)]
        assert np.std(deviations) == pytest.approx(1.0, abs=0.06)
        assert np.mean(deviations) == pytest.approx(-0.06, abs=0.08)


@pytest.mark.slow
def test_every_participant_phase_third_and_muscle_is_covered() -> None:
    """Twelve people: no group of some 350 numbers, nested and so worth about half as many, is covered much less."""
    found = held(CLEAN, people((1,), range(1, 13)))
    for measure in MEASURES[:2]:
        groups: dict[str, list[Held]] = defaultdict(list)
        for one in of_measure(found, measure):
            for name in (one.participant, one.muscle, f"{one.phase} {one.third}"):
                groups[name].append(one)
        assert len(groups) == 12 + 4 + 11
        shares = {name: covered(group) for name, group in groups.items()}
        assert min(shares.values()) > 0.87, shares


@pytest.mark.slow
@pytest.mark.parametrize("name", [case.name for case in CASES[1:] if not case.draws and case.disturbed is not True])
def test_each_disturbance_with_its_remedy_leaves_the_coverage_as_it_is(name: str) -> None:
    """Four people, who are covered within a point and a half as well without the disturbance under the default filters.

    That much the chance in a signal differs where other filters have passed it.
    """
    found, clean = (held(case, people((1,), range(9, 13))) for case in (CASE[name], CLEAN))
    for measure in MEASURES:
        apart = 0.015 if measure.endswith("mV") else 0.03
        assert covered(of_measure(found, measure)) == pytest.approx(covered(of_measure(clean, measure)), abs=apart)
        assert covered(of_measure(found, measure)) > 0.91, measure


@pytest.mark.slow
def test_the_reference_of_the_highest_window_claims_no_more_than_it_holds() -> None:
    """Against the expected highest window of the same efforts (20 draws).

    A maximum varies less than one window, so that the stated error, that of a window chosen beforehand, is on the
    safe side.
    """
    found = held(HIGHEST_OF_20, people((1,), range(1, 6)))
    for measure in MEASURES[2:]:
        assert 0.94 < covered(of_measure(found, measure)) < 0.995, measure
