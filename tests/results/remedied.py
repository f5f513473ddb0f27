"""Each disturbance of the invented study beside its remedy, for tests of how well the stated errors hold."""

from dataclasses import dataclass, replace

from invented_chain import (
    Disturbed,
    Held,
    expected_highest,
    measured_person,
    numbers_with_truth,
    plans_of,
    settings_with,
    true_plateaus,
)

from phasemark.demo import Disturbance
from phasemark.model.settings import FilterSettings

CHAIN = FilterSettings()
HIGHPASS_30 = replace(CHAIN, highpass_hz=30.0)
NOTCH = replace(CHAIN, notch_hz=50.0, notch_harmonics=3)
TEMPLATE_30 = replace(HIGHPASS_30, ecg_template=True)
EVERYTHING = replace(TEMPLATE_30, notch_hz=50.0, notch_harmonics=3)


@dataclass(frozen=True)
class Case:
    """What lies over the muscles and what is done about it; draws: of the expected highest window, 0: by plateau."""

    name: str
    disturbed: Disturbed
    filters: FilterSettings = CHAIN
    subtract: bool = False
    draws: int = 0


def _one(kind: Disturbance, filters: FilterSettings, remedy: str, *, subtract: bool = False) -> Case:
    return Case(f"{kind}: {remedy}", frozenset({kind}), filters, subtract)


CASES = (
    Case("nothing: 20-450 Hz", frozenset()),
    _one(Disturbance.NOISE, CHAIN, "power subtraction", subtract=True),
    _one(Disturbance.OFFSET, CHAIN, "mean removed"),
    _one(Disturbance.DRIFT, CHAIN, "high-pass 20 Hz"),
    _one(Disturbance.HUM, NOTCH, "notch 50 Hz x 3"),
    _one(Disturbance.ARTEFACT, HIGHPASS_30, "high-pass 30 Hz"),
    _one(Disturbance.HEART, TEMPLATE_30, "template, 30 Hz"),
    _one(Disturbance.DROPOUT, CHAIN, "90 % rule"),
    Case("all on every muscle: every remedy", frozenset(Disturbance), EVERYTHING, subtract=True),
    Case("those of the demo's plan: every remedy", True, EVERYTHING, subtract=True),
    Case("those of the demo's plan: defaults", True, CHAIN),
    Case("nothing: highest 500 ms as reference", frozenset(), draws=40),
)


def held_of(case: Case, seed: int, participant: int, tasks: int) -> list[Held]:
    """Every number of one participant's task trials, with its error and truth."""
    plans = plans_of(seed, participant, tasks)
    settings = settings_with(case.filters, subtract=case.subtract)
    person = measured_person(plans, case.disturbed, settings, plateau=not case.draws)
    if case.draws:
        return numbers_with_truth(person, expected_highest(plans, settings, case.draws))
    return numbers_with_truth(person, true_plateaus(plans, case.filters))
