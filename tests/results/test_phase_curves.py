"""Mean curves over 0-100 % of each phase: which reps, which mean, which unit, and what is exported."""

import csv
import io
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from math import isnan, nan

import numpy as np
import pytest
from one_trial import WHY, trial

from phasemark.model.marks import LOWERING, RAISING, ChannelExclusion
from phasemark.model.plan import AgainstLoad
from phasemark.model.recording import Samples, Side
from phasemark.model.settings import BaselineSettings, EnvelopeKind, EnvelopeSettings, Settings
from phasemark.model.study import Exercise, Study, Trial
from phasemark.results.comparison.cells import MILLIVOLTS, PERCENT
from phasemark.results.curve_texts import (
    curves_text,
    people_curves_text,
    repeatability_text,
)
from phasemark.results.numbers import Numbers
from phasemark.results.phase_curves import (
    CurveKey,
    Over,
    PeopleKey,
    RepCurve,
    StudyCurves,
    curves_of_trial,
    study_curves,
)

FLAT = np.ones(101)
F1 = ((1, 3, 6, 3, 1), (2, 4, 7, 3, 2), (1.5, 3.5, 5, 3.5, 1.5), (1, 4, 6, 2.5, 1))


class Known(Numbers):
    """Numbers whose references and noise are known: by participant, and one noise for all."""

    def __init__(self, study: Study, references: dict[str, float] | None = None, noise: float | None = None) -> None:
        super().__init__(study, "R1", {})
        object.__setattr__(self, "_references", references or {})
        object.__setattr__(self, "_noise", noise)

    def normaliser(self, trial: Trial, channel: object) -> object:  # type: ignore[override]
        value = self._references.get(trial.participant)  # type: ignore[attr-defined]
        return None if value is None else _Amplitudes(value, 2 * value)

    def baseline(self, trial: Trial, channel: object) -> object:  # type: ignore[override]
        noise = self._noise  # type: ignore[attr-defined]
        return None if noise is None else _Amplitudes(noise, 2 * noise)


class _Amplitudes:
    def __init__(self, rms: float, mean_amplitude: float) -> None:
        self.rms, self.mean_amplitude = rms, mean_amplitude


def rep_curves(*values: Samples, channel: int = 0, phase: str = RAISING) -> list[RepCurve]:
    """One curve for each of the first reps of a trial."""
    return [RepCurve(rep, channel, phase, Over.TIME, held) for rep, held in enumerate(values, start=1)]


def key(participant: str = "P01", level: str = "squat", phase: str = RAISING) -> CurveKey:
    against = AgainstLoad.AGAINST if phase == RAISING else AgainstLoad.WITH
    return CurveKey(participant, level, "vastus medialis", Side.LEFT, phase, against, Over.TIME)


def together(
    curves: dict[str, list[RepCurve]], *trials: Trial, settings: Settings | None = None, **known: object
) -> StudyCurves:
    study = Study("s", trials, settings=settings or Settings())
    return study_curves(Known(study, **known), curves)  # type: ignore[arg-type]


def lasting(one: Trial, values: Callable[[Samples], Samples]) -> list[Samples]:
    """Both channels' envelopes, as a function of the time (s)."""
    counts = one.recording.emg_samples
    return [values(np.arange(n) / float(c.rate)) for n, c in zip(counts, one.emg, strict=True)]


def test_the_envelope_of_each_phase_is_cut_at_its_own_samples() -> None:
    """A ramp of the time in every channel: 0 % and 100 % are the first and the last sample with t0 <= t < t1."""
    one = trial()
    found = curves_of_trial(one, one.marks_of("R1"), lasting(one, lambda t: t), None)
    assert len(found) == (3 * 2 + 1) * 2
    for curve in found:
        phase = next(p for p in one.marks_of("R1").rep(curve.rep).phases if p.name == curve.phase)
        rate = one.emg[curve.channel].rate
        first, last = (-(-Fraction(b.sample) * rate // one.clock) for b in (phase.begin, phase.end))
        assert curve.values[0] == pytest.approx(first / rate, abs=1e-12)
        assert curve.values[-1] == pytest.approx((last - 1) / rate, abs=1e-12)
        assert np.diff(curve.values, 2) == pytest.approx(0, abs=1e-9)


def test_over_the_range_of_motion_equal_heights_are_equal_percents() -> None:
    """An envelope that equals the height runs evenly over the range whatever the speed, both ways."""
    one = trial()
    clock = float(one.clock)

    def height(seconds: Samples) -> Samples:
        found = np.full(len(seconds), 5.0)
        for rep in one.marks_of("R1").reps:
            for phase in rep.phases:
                begin, end = phase.begin.sample / clock, phase.end.sample / clock
                inside = (seconds >= begin) & (seconds <= end)
                share = ((seconds - begin) / (end - begin)) ** 2
                found = np.where(inside, share if phase.name == RAISING else 1 - share, found)
        return found

    found = curves_of_trial(one, one.marks_of("R1"), lasting(one, height), lambda places: height(places / clock))
    for curve in (c for c in found if c.over is Over.RANGE):
        even = np.linspace(curve.values[0], curve.values[-1], 101)
        assert curve.values == pytest.approx(even, abs=2e-6)
        assert (curve.values[0] < curve.values[-1]) == (curve.phase == RAISING)
    assert sum(c.over is Over.RANGE for c in found) == sum(c.over is Over.TIME for c in found)


def test_without_a_movement_trace_there_are_curves_over_time_only() -> None:
    one = trial()
    found = curves_of_trial(one, one.marks_of("R1"), lasting(one, np.ones_like), None)
    assert {curve.over for curve in found} == {Over.TIME}


def test_the_mean_is_over_reps_of_a_trial_and_then_over_trials() -> None:
    """1 and 3 in one trial, 8 in the other: mean 5 as in the tables, SD of the three reps, n of both."""
    first, second = trial("T1"), trial("T2")
    held = {"T1": rep_curves(FLAT, 3 * FLAT), "T2": rep_curves(8 * FLAT)}
    found = together(held, first, second).of[key()]
    assert found.mean == pytest.approx(5 * FLAT, abs=1e-12)
    assert found.sd == pytest.approx(np.std([1, 3, 8], ddof=1) * FLAT, abs=1e-12)
    assert (found.reps, found.trials, set(found.n)) == (3, 2, {3})


def test_repeatability_is_that_of_all_reps() -> None:
    """Variance ratio and coefficient of variation over the reps of both trials, and the SD of the example's points.

    Formulas of Winter 1984 (Hum Mov Sci 3:51-76) and Hershler & Milner 1978 (IEEE TBME 25:413-420), from memory; the
    example is made up (closed form).
    """
    curves = [np.interp(np.linspace(0, 4, 101), range(5), cycle) for cycle in F1]
    held = {"T1": rep_curves(*curves[:3]), "T2": rep_curves(curves[3])}
    found = together(held, trial("T1"), trial("T2")).of[key()]
    x = np.array(curves)
    k, n = 101, 4
    within = ((x - x.mean(0)) ** 2).sum() / (k * (n - 1))
    assert found.variance_ratio == pytest.approx(within / (((x - x.mean()) ** 2).sum() / (k * n - 1)), rel=1e-12)
    variation = np.sqrt(np.mean(x.std(0, ddof=1) ** 2)) / np.mean(np.abs(x.mean(0)))
    assert found.variation_percent == pytest.approx(100 * variation, rel=1e-12)
    assert found.mean[::25] == pytest.approx(np.mean([np.mean(F1[:3], axis=0), F1[3]], axis=0), abs=1e-12)
    assert found.sd[::25] == pytest.approx([0.4787136, 0.4787136, 0.8164966, 0.4082483, 0.4787136], abs=1e-7)


def test_only_counted_reps_of_muscles_that_are_not_excluded() -> None:
    one = trial("T1")
    marks = one.marks_of("R1")
    marks = replace(marks, reps=tuple(replace(r, excluded=WHY) if r.id == 2 else r for r in marks.reps))
    out = replace(one.with_marks(marks), excluded_channels=(ChannelExclusion("rectus femoris", Side.NONE, WHY),))
    held = rep_curves(FLAT, 100 * FLAT, 3 * FLAT, 100 * FLAT) + rep_curves(FLAT, channel=1)
    found = together({"T1": held}, out)
    assert list(found.of) == [key()]
    assert found.of[key()].mean == pytest.approx(2 * FLAT)
    assert found.of[key()].reps == 2


def test_a_curve_with_too_little_of_it_is_left_out_and_counted() -> None:
    """Under 90 % of the points: out; else it counts where it is, and n says so."""
    gap, hole = 3 * FLAT.copy(), 3 * FLAT.copy()
    gap[:11], hole[:10] = nan, nan
    found = together({"T1": rep_curves(FLAT, gap, hole)}, trial("T1"))
    assert found.left_out == 1
    curve = found.of[key()]
    assert (curve.n[0], curve.n[50], curve.reps) == (1, 2, 2)
    assert (curve.mean[0], curve.mean[50]) == (1.0, 2.0)
    assert isnan(curve.sd[0])
    assert curve.sd[50] == pytest.approx(np.sqrt(2))


def test_percent_where_everybody_has_a_reference_else_millivolts_and_said() -> None:
    people = [trial(f"T{who}", participant=f"P{who}") for who in (1, 2)]
    held = {one.id: rep_curves(FLAT * 0.1) for one in people}
    both = together(held, *people, references={"P1": 0.2, "P2": 0.4})
    assert both.units == {"vastus medialis": PERCENT}
    assert both.said == ()
    assert both.of[key("P1")].mean == pytest.approx(50 * FLAT)
    assert both.of[key("P2")].mean == pytest.approx(25 * FLAT)
    some = together(held, *people, references={"P1": 0.2})
    assert some.units == {"vastus medialis": MILLIVOLTS}
    assert some.said == ("Curves of vastus medialis are in mV, since not all have a reference (P2).",)
    assert some.of[key("P1")].mean == pytest.approx(0.1 * FLAT)
    none = together(held, *people)
    assert (none.units, none.said) == ({"vastus medialis": MILLIVOLTS}, ())


def test_an_envelope_of_mean_amplitude_is_set_against_the_mean_amplitude() -> None:
    settings = Settings(envelope=EnvelopeSettings(kind=EnvelopeKind.LOW_PASS))
    found = together({"T1": rep_curves(FLAT)}, trial("T1"), settings=settings, references={"P01": 1.0})
    assert found.of[key()].mean == pytest.approx(50 * FLAT)


def test_noise_is_taken_off_where_the_study_takes_it_off() -> None:
    """sqrt(5^2 - 3^2) = 4, and nothing below zero."""
    held = {"T1": rep_curves(np.r_[5 * np.ones(100), 2.0])}
    on = Settings(baseline=BaselineSettings(subtract=True))
    assert together(held, trial("T1"), settings=on, noise=3.0).of[key()].mean[[0, 100]].tolist() == [4.0, 0.0]
    assert together(held, trial("T1"), noise=3.0).of[key()].mean[[0, 100]].tolist() == [5.0, 2.0]


def test_over_people_each_participant_weighs_the_same() -> None:
    people = [trial(f"T{who}", participant=f"P{who}") for who in (1, 2)]
    held = {"T1": rep_curves(FLAT, FLAT, FLAT), "T2": rep_curves(5 * FLAT)}
    found = together(held, *people).people
    curve = found[PeopleKey("squat", "vastus medialis", Side.LEFT, RAISING, AgainstLoad.AGAINST, Over.TIME)]
    assert curve.mean == pytest.approx(3 * FLAT)
    assert curve.sd == pytest.approx(np.sqrt(8) * FLAT)
    assert curve.participants == 2


def test_phases_go_by_the_load_of_each_exercise() -> None:
    """Lowering is against the load in a pull-down."""
    study = Study("s", (trial("T1"),), (Exercise("squat", against_load=LOWERING),))
    found = study_curves(Known(study), {"T1": rep_curves(FLAT, phase=LOWERING)})
    assert [k.against for k in found.of] == [AgainstLoad.AGAINST]


def test_other_factors_and_trials_without_a_level() -> None:
    wide, none = trial("T1", factors=(("stance", "wide"),)), trial("T2")
    study = Study("s", (wide, none))
    found = study_curves(Known(study), {"T1": rep_curves(FLAT), "T2": rep_curves(FLAT)}, factor="stance")
    assert [(k.level, c.reps) for k, c in found.of.items()] == [("wide", 1)]


def test_sides_that_a_comparison_takes_together_are_together() -> None:
    """One participant's left and another's right muscle make one curve over both."""
    left, right = trial("T1", participant="P1"), trial("T2", participant="P2")
    right = replace(right, emg=(replace(right.emg[0], side=Side.RIGHT), right.emg[1]))
    study = Study("s", (left, right))
    held = {"T1": rep_curves(FLAT), "T2": rep_curves(3 * FLAT)}
    sides = {("vastus medialis", side): Side.NONE for side in (Side.LEFT, Side.RIGHT)}
    (curve,) = study_curves(Known(study), held, sides=sides).people.values()
    assert curve.mean == pytest.approx(2 * FLAT)
    assert len(study_curves(Known(study), held).people) == 2


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_exports_read_back_as_the_curves() -> None:
    """Every percent of every curve in both files of curves, missing numbers as empty cells."""
    people = [trial(f"T{who}", participant=f"P{who}") for who in (1, 2)]
    ramp = np.linspace(1, 2, 101)
    found = together({"T1": rep_curves(ramp, 3 * ramp), "T2": rep_curves(ramp)}, *people)
    first = rows(curves_text(found))
    assert len(first) == 2 * 101
    assert [float(r["mean"]) for r in first[:101]] == found.of[key("P1")].mean.tolist()
    assert [float(r["sd"]) for r in first[:101]] == found.of[key("P1")].sd.tolist()
    assert {r["sd"] for r in first[101:]} == {""}
    assert first[7] | {"mean": "", "sd": ""} == {
        "participant": "P1", "condition": "squat", "muscle": "vastus medialis", "side": "left", "phase": "raising",
        "against_load": "yes", "over": "time", "percent": "7", "mean": "", "sd": "", "n_reps": "2", "n_trials": "1",
        "unit": "mV",
    }  # fmt: skip
    people_rows = rows(people_curves_text(found))
    assert [float(r["mean"]) for r in people_rows] == pytest.approx((1.5 * ramp).tolist())
    assert {r["n_participants"] for r in people_rows} == {"2"}
    (one, two) = rows(repeatability_text(found))
    assert float(one["variance_ratio"]) == found.of[key("P1")].variance_ratio
    assert (two["n_reps"], two["variance_ratio"], two["coefficient_of_variation_percent"]) == ("1", "", "")
