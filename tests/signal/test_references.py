"""References from attempts: which are taken, which are left out, and what is said."""

from dataclasses import replace
from math import isnan, nan, sqrt

import pytest

from phasemark.model.normalisation import Approach, ReferenceRule
from phasemark.signal.attempts import Attempt, bias_of_highest
from phasemark.signal.references import Reference, Stretch, drift, reference_of, task_reference

CLIPPING = Stretch(1200, 1210, "clipping")


def attempt(rms: float, mean: float | None = None) -> Attempt:
    """An attempt over 500 ms from 1000 on, of 5 % error; its mean amplitude is 80 % of its RMS."""
    mean = 0.8 * rms if mean is None else mean
    return Attempt(rms, mean, 1000, 2000, 1000, 2000, 0.05, False, 0.5, 0.052)


def of(
    *attempts: Attempt,
    rule: ReferenceRule = ReferenceRule.HIGHEST,
    best: int = 3,
    findings: tuple[tuple[Stretch, ...], ...] = (),
) -> Reference:
    found = reference_of(attempts, rule=rule, best=best, disagreement=0.1, findings=findings)
    assert found is not None
    return found


def test_the_highest_attempt_is_the_reference() -> None:
    found = of(attempt(0.50), attempt(0.53), attempt(0.52))
    assert (found.rms, found.mean_amplitude) == pytest.approx((0.53, 0.424))
    assert (found.error, found.mean_error) == pytest.approx((0.05, 0.052))
    assert (found.used, found.mean_used, found.flags) == ((1,), (1,), ())


def test_the_mean_of_the_best_has_their_errors_in_quadrature() -> None:
    found = of(attempt(0.40), attempt(0.60), attempt(0.58), rule=ReferenceRule.BEST_MEAN, best=2)
    assert found.rms == pytest.approx(0.59)
    assert found.used == (1, 2)
    assert found.error == pytest.approx(0.05 * sqrt(0.60**2 + 0.58**2) / 2 / 0.59)


def test_a_mean_over_fewer_attempts_than_asked_for_says_so() -> None:
    found = of(attempt(0.60), attempt(0.58), rule=ReferenceRule.BEST_MEAN, best=3)
    assert found.used == (0, 1)
    assert found.flags == ("The mean is over 2 attempts, not the best 3.",)


def test_rms_and_mean_amplitude_may_come_from_different_attempts_and_this_is_said() -> None:
    found = of(attempt(0.50, 0.42), attempt(0.52, 0.40))
    assert (found.rms, found.mean_amplitude) == (0.52, 0.42)
    assert (found.used, found.mean_used) == ((1,), (0,))
    assert found.flags == ("The mean amplitude was highest in attempt 1, the RMS in attempt 2.",)


@pytest.mark.parametrize(("second", "flagged"), [(0.451, False), (0.449, True)])
def test_the_best_two_over_a_tenth_apart_are_flagged(second: float, flagged: bool) -> None:
    found = of(attempt(0.30), attempt(0.50), attempt(second))
    assert any("best two attempts are 10 % apart (attempts 2 and 3)" in flag for flag in found.flags) is flagged


def test_a_single_attempt_is_flagged() -> None:
    assert "only one attempt" in of(attempt(0.5)).flags[0]


def test_a_maximum_at_the_edge_is_flagged_where_it_is_taken() -> None:
    edge = replace(attempt(0.52), at_edge=True)
    assert of(attempt(0.50), edge).flags == ("The maximum of attempt 2 lies at the edge of its signal.",)
    assert of(attempt(0.56), edge).flags == ()


def test_a_short_window_is_flagged_with_its_bias_and_a_plateau_is_not() -> None:
    short = replace(attempt(0.52), window_s=0.1, error=0.11)
    percent = round(100 * bias_of_highest(0.11, 0.1, 3.0))
    sentence = f"A highest window of 100 ms is biased upward, by about {percent} % in a steady effort of 3 s."
    assert of(attempt(0.5), short).flags == (sentence,)
    assert of(attempt(0.5), replace(short, window_s=0.25)).flags == ()
    assert of(attempt(0.5), short, rule=ReferenceRule.PLATEAU).flags == ()
    assert of(attempt(0.5), replace(short, error=nan)).flags == ("A highest window of 100 ms is biased upward.",)


def test_an_attempt_with_a_finding_in_its_window_is_left_out_where_another_is_there() -> None:
    found = of(attempt(0.50), attempt(0.52), attempt(0.48), findings=((), (CLIPPING,), ()))
    assert (found.rms, found.used) == (0.50, (0,))
    assert found.flags == ("Attempt 2 was left out: clipping inside its window.",)


def test_a_finding_outside_the_window_does_not_matter() -> None:
    beside = (Stretch(900, 1000, "clipping"), Stretch(2000, 2050, "clipping"))
    assert of(attempt(0.50), attempt(0.52), findings=((), beside)).used == (1,)


def test_an_accepted_finding_leaves_its_attempt_in_and_is_said() -> None:
    found = of(attempt(0.50), attempt(0.52), findings=((), (replace(CLIPPING, accepted=True),)))
    assert found.used == (1,)
    assert found.flags == ("Attempt 2 was taken with clipping inside its window, which was accepted.",)


def test_where_all_attempts_have_findings_the_best_is_taken_and_this_is_said() -> None:
    found = of(attempt(0.50), attempt(0.52), findings=((CLIPPING,), (CLIPPING, Stretch(1900, 2100, "an artefact"))))
    assert found.used == (1,)
    assert [flag for flag in found.flags if "taken though" in flag] == [
        "Attempt 2 was taken though there is clipping inside its window: no other is better.",
        "Attempt 2 was taken though there is an artefact inside its window: no other is better.",
    ]


def test_a_rectified_channel_has_a_reference_of_mean_amplitude() -> None:
    found = of(attempt(nan, 0.41), attempt(nan, 0.40))
    assert isnan(found.rms)
    assert (found.mean_amplitude, found.used, found.flags) == (0.41, (0,), ())


def test_no_attempt_with_a_value_is_no_reference() -> None:
    rule = ReferenceRule.HIGHEST
    assert reference_of((), rule=rule, best=3, disagreement=0.1) is None
    assert reference_of((attempt(nan, nan),), rule=rule, best=3, disagreement=0.1) is None


def test_an_attempt_without_a_value_is_said() -> None:
    found = of(attempt(0.50), attempt(nan, nan), attempt(0.51))
    assert found.flags == ("Attempt 2 has no value: no full window or plateau of 0.5 s.",)


def test_the_peak_and_the_mean_of_the_task() -> None:
    """One value for all reps of all exercises; the mean of ten reps is ten times as sure as its variances say."""
    reps = [attempt(0.1 * n) for n in range(1, 11)]
    peak, mean = task_reference(reps, Approach.TASK_PEAK), task_reference(reps, Approach.TASK_MEAN)
    assert peak is not None
    assert mean is not None
    assert (peak.rms, peak.used) == (pytest.approx(1.0), (9,))
    assert mean.rms == pytest.approx(0.55)
    assert mean.error == pytest.approx(0.05 * sqrt(3.85) / 5.5)
    assert mean.mean_amplitude == pytest.approx(0.44)
    assert task_reference([attempt(nan, nan)], Approach.TASK_MEAN) is None


def test_the_drift_is_after_over_before_with_both_errors() -> None:
    before, after = of(attempt(0.5), attempt(0.5)), of(attempt(0.45), attempt(0.45))
    found = drift(before, after)
    assert (found.rms, found.mean_amplitude) == pytest.approx((0.9, 0.9))
    assert found.error == pytest.approx(0.05 * sqrt(2))
