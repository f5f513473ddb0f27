"""Several positions of a maximum contraction for one muscle: which of their attempts are taken, and what is said."""

import pytest

from phasemark.model.normalisation import ReferenceRule
from phasemark.signal.attempts import Attempt
from phasemark.signal.references import Reference, Stretch, best_two_apart, reference_of

ARTEFACT = Stretch(1200, 1210, "movement artefact")
ALL_FAULTY = (ARTEFACT,)


def attempt(rms: float) -> Attempt:
    return Attempt(rms, 0.8 * rms, 1000, 2000, 1000, 2000, 0.05, False, 0.5, 0.052)


def of(
    values: list[float],
    positions: list[str],
    faulty: tuple[int, ...] = (),
    rule: ReferenceRule = ReferenceRule.HIGHEST,
) -> Reference:
    findings = [ALL_FAULTY if place in faulty else () for place in range(len(values))]
    attempts = [attempt(value) for value in values]
    found = reference_of(attempts, rule=rule, best=3, disagreement=0.1, findings=findings, positions=positions)
    assert found is not None
    return found


def test_a_faulty_attempt_is_not_replaced_by_an_effort_of_other_muscles() -> None:
    """The only extension (0.50 mV) holds an artefact; a flexion reaches a tenth of it and is no maximum."""
    found = of([0.05, 0.50, 0.06], ["flexion", "extension", "flexion"], faulty=(1,))
    assert (found.rms, found.used, found.mean_used) == (0.50, (1,), (1,))
    assert "taken though there is movement artefact" in found.flags[0]


def test_another_attempt_at_the_same_position_comes_first_however_much_lower() -> None:
    """An artefact may have made the faulty one what it is."""
    found = of([0.20, 0.90, 0.06], ["extension", "extension", "flexion"], faulty=(1,))
    assert (found.rms, found.used) == (0.20, (0,))
    assert found.flags[0] == "Attempt 2 was left out: movement artefact inside its window."


@pytest.mark.parametrize(("sound", "used"), [(0.26, (0,)), (0.24, (1,))])
def test_another_position_stands_in_from_half_of_the_faulty_one_on(sound: float, used: tuple[int, ...]) -> None:
    assert of([sound, 0.50], ["squat", "extension"], faulty=(1,)).used == used


def test_only_attempts_at_the_position_of_the_best_are_averaged_and_compared() -> None:
    values, positions = [0.50, 0.05, 0.48, 0.06], ["extension", "flexion", "extension", "flexion"]
    found = of(values, positions, rule=ReferenceRule.BEST_MEAN)
    assert (found.rms, found.used) == (pytest.approx(0.49), (0, 2))
    assert found.flags == ("The mean is over 2 attempts, not the best 3.",)
    assert best_two_apart([attempt(v) for v in values], (), positions) == pytest.approx(0.04)
    assert of([0.50, 0.05], ["extension", "flexion"]).flags == (
        "There is only one attempt to take the reference from; nothing shows whether it was maximal.",
    )


def test_nothing_is_said_of_faults_in_attempts_that_had_no_chance() -> None:
    assert of([0.50, 0.05, 0.49], ["extension", "flexion", "extension"], faulty=(1,)).flags == ()


def test_without_positions_all_attempts_are_at_one() -> None:
    assert of([0.05, 0.50], [], faulty=(1,)).used == (0,)
