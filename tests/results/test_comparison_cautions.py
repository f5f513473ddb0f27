"""What is said beside a comparison, each where it holds and not where it does not."""

from dataclasses import replace
from fractions import Fraction

import pytest
from made_cells import WHEN
from one_trial import Measured, measured, trial

from phasemark.model.marks import LOWERING
from phasemark.model.normalisation import Approach, NormalisationSettings
from phasemark.model.plan import AnalysisPlan
from phasemark.model.recording import MovementTrace
from phasemark.model.settings import Settings
from phasemark.model.study import Exercise, Load, Trial
from phasemark.results.comparison.cautions import ALWAYS
from phasemark.results.comparison.formed_plan import formed_plan
from phasemark.results.comparison.report import compare_numbers
from phasemark.results.measure import SegmentMotion
from phasemark.results.numbers import Numbers
from phasemark.results.segments import REP, WHOLE
from phasemark.signal.kinematics import Motion


def _people(count: int, settings: Settings | None = None, **facts: object) -> Measured:
    """Everybody did a squat and a lunge, in an order that changes from one to the next."""
    trials = []
    for n in range(1, count + 1):
        for exercise in ("squat", "lunge"):
            first = (exercise == "squat") == (n % 2 == 1)
            made = trial(f"T{n}{exercise[0]}", participant=f"P{n:02d}", exercise=exercise, order=1 if first else 2)
            trials.append(replace(made, **facts))  # type: ignore[arg-type]  # facts are fields of a trial
    return measured(*trials, settings=settings or Settings(normalisation=_OF_TASK))


_OF_TASK = NormalisationSettings(approach=Approach.TASK_MEAN)


def _plan(numbers: Numbers) -> AnalysisPlan:
    return formed_plan(numbers, "exercise", "squat", "lunge", WHEN)


def _said(numbers: Numbers, *, planned: bool = True, effect_named: bool = True) -> str:
    report = compare_numbers(numbers, _plan(numbers), planned=planned, effect_named=effect_named)
    assert report.cautions[-len(ALWAYS) :] == ALWAYS
    return "\n".join(report.cautions[: -len(ALWAYS)])


@pytest.fixture(scope="module")
def six() -> Measured:
    return _people(6)


def _with(made: Measured, change: dict[str, dict[str, object]]) -> Numbers:
    """The study with fields of all trials of an exercise changed; results stay as they are."""
    trials = tuple(replace(t, **change.get(t.exercise, {})) for t in made.study.trials)  # type: ignore[arg-type]
    return Numbers(replace(made.study, trials=trials), "R1", made.results)


def test_a_sound_plan_carried_out_has_nothing_special_to_say(six: Measured) -> None:
    """Six people, one reference for all, both orders: only what is always said."""
    assert _said(six.numbers) == ""


def test_what_is_always_said() -> None:
    """Amplitude is not force, not growth, no diagnosis; muscles and thirds need care; absence of a finding is none."""
    text = " ".join(ALWAYS)
    for words in ("not force", "growth", "no diagnosis", "different muscles", "different thirds", "muscle length"):
        assert words in text
    assert "Not significant is not the same as equal" in text


def test_few_people_are_said_to_be_few(six: Measured) -> None:
    """Under six; and how small a p exact tests could give at all."""
    few = _said(_people(4).numbers)
    assert "only 4 participants" in few
    assert "below 0.125" in few
    assert "only" not in _said(six.numbers)


def test_nothing_planned_is_exploratory(six: Measured) -> None:
    """And without a smallest effect that somebody named, nothing is called similar."""
    numbers = six.numbers
    assert "'similar' is never said" in _said(numbers, planned=False, effect_named=False)
    named = _said(numbers, planned=False, effect_named=True)
    assert "exploratory" in named
    assert "never said" not in named
    report = compare_numbers(numbers, _plan(numbers), planned=False, effect_named=False)
    assert all(cell.detail is None or cell.detail.equivalence is None for cell in report.comparison.cells)


def test_own_peak_of_each_exercise_is_warned_of() -> None:
    """Two exercises each normalised to its own peak must not be compared (Besomi et al. 2020)."""
    own = NormalisationSettings(approach=Approach.TASK_PEAK, per_exercise=True)
    assert "normalised to its own" in _said(_people(6, Settings(normalisation=own)).numbers)


def test_phases_of_opposite_direction_are_said(six: Measured) -> None:
    """Raising in one and lowering in the other are paired, and that is not the same movement."""
    study = replace(six.study, exercises=(Exercise("lunge", against_load=LOWERING),))
    said = _said(Numbers(study, "R1", six.results))
    assert "squat: raising; lunge: lowering" in said


def test_movement_of_another_kind_or_range_is_said(six: Measured) -> None:
    """A knee angle is not a bar's height; a range over 20 % larger is another movement, one of 10 % is not."""
    angle = (MovementTrace("knee angle", Fraction(100), "deg"),)
    assert "squat: bar height in m; lunge: knee angle in deg" in _said(_with(six, {"lunge": {"movement": angle}}))
    for longer, warned in ((1.1, False), (1.4, True)):
        results = {}
        for name, held in six.results.items():
            size = 0.5 * (longer if name.endswith("l") else 1.0)
            whole = [v for v in held.values if (v.segment.phase, v.segment.third) == (REP, WHOLE) and v.channel == 0]
            motion = tuple(SegmentMotion(v.rep, v.segment, Motion(range_of_motion=size)) for v in whole)
            results[name] = replace(held, motion=motion)
        said = _said(Numbers(six.study, "R1", results))
        assert ("range of motion differs clearly (squat: 0.5 m, lunge: 0.7 m" in said) == warned


def test_what_else_differs_between_the_two_is_said(six: Measured) -> None:
    """Another load on one level cannot be told from the exercise; the same two loads on both are averaged."""
    heavy = {"load": Load(80, "kg")}  # type: ignore[arg-type]  # a whole number is an exact one
    said = _said(_with(six, {"squat": heavy, "lunge": {"load": Load(60, "kg")}}))  # type: ignore[arg-type]
    assert "squat and lunge also differ in load" in said
    trials: list[Trial] = []
    results = dict(six.results)
    for held in six.study.trials:
        trials += [replace(held, factors=(("stance", "wide"),))]
        second = replace(held, id=f"{held.id}n", set=2, factors=(("stance", "narrow"),))
        results[second.id] = replace(results[held.id], trial=second.id)
        trials.append(second)
    both = Numbers(replace(six.study, trials=tuple(trials)), "R1", results)
    assert "Trials that differ in stance are averaged together." in _said(both)


def test_who_was_left_out_is_among_the_cautions(six: Measured) -> None:
    """A participant with one exercise only."""
    trials = tuple(t for t in six.study.trials if t.id != "T6l")
    said = _said(Numbers(replace(six.study, trials=trials), "R1", six.results))
    assert "left out: P06" in said
    assert "only 5 participants" in said
