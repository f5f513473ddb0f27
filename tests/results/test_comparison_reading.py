"""From a study's numbers to participants' cells: which reps, which phases, which unit, which sides."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from made_cells import WHEN, plan
from one_trial import EMG, WHY, Measured, measured, trial

from phasemark.model.marks import LOWERING, RAISING, ChannelExclusion
from phasemark.model.normalisation import Approach, NormalisationSettings
from phasemark.model.plan import AgainstLoad, AnalysisPlan, Outcome
from phasemark.model.recording import EmgChannel, Side
from phasemark.model.settings import BaselineSettings, Settings
from phasemark.model.study import Exercise, Kind, Load, Trial
from phasemark.results.comparison.cells import MILLIVOLTS, PERCENT, CellKey, CellValues
from phasemark.results.comparison.formed_plan import formed_plan
from phasemark.results.comparison.levels import between_people, factors, levels
from phasemark.results.comparison.reading import cell_values
from phasemark.results.facts import ChannelFacts, TrialFacts
from phasemark.results.numbers import Numbers
from phasemark.results.summary import summarise
from phasemark.signal.attempts import Attempt

MUSCLES = ("vastus medialis", "rectus femoris")
AGAINST, WITH, REP = AgainstLoad


def _trial(name: str, who: str, exercise: str, **facts: object) -> Trial:
    return trial(name, participant=who, exercise=exercise, **facts)


def _two_people(settings: Settings | None = None) -> Measured:
    return measured(
        _trial("T1", "P01", "squat"),
        _trial("T2", "P01", "squat", set=2),
        _trial("T3", "P01", "lunge"),
        _trial("T4", "P02", "squat"),
        _trial("T5", "P02", "lunge"),
        settings=settings,
    )


def _plan(outcome: Outcome = Outcome.RMS, factor: str = "exercise", a: str = "squat", b: str = "lunge") -> AnalysisPlan:
    asked = plan(a=a, b=b, muscles=MUSCLES, phases=(AGAINST, WITH, REP), thirds=("whole", "lower"), factor=factor)
    return replace(asked, outcome=outcome)


def _at(values: CellValues, who: str, level: str, phase: AgainstLoad, third: str = "whole") -> float:
    return values.values[CellKey(who, level, MUSCLES[0], Side.LEFT, phase, third)]


@pytest.mark.parametrize("outcome", list(Outcome))
@pytest.mark.parametrize("approach", [Approach.NONE, Approach.TASK_MEAN])
def test_every_cell_is_the_mean_of_the_summary(outcome: Outcome, approach: Approach) -> None:
    """The same means, SDs and counts as the summary makes from the rows of segments.csv, in mV and in percent."""
    made = _two_people(Settings(normalisation=NormalisationSettings(approach=approach)))
    values = cell_values(made.numbers, _plan(outcome))
    assert values.unit == (MILLIVOLTS if approach is Approach.NONE else PERCENT)
    measure = {Outcome.RMS: "rms", Outcome.MEAN_AMPLITUDE: "mean_amplitude"}[outcome]
    measure += "_mV" if approach is Approach.NONE else "_percent"
    phases = {RAISING: AGAINST, LOWERING: WITH, "rep": REP}
    expected = {
        (row["participant"], row["exercise"], row["muscle"], phases[str(row["phase"])], row["third"]): row
        for row in summarise(made.rows, {})
        if row["phase"] in phases
    }
    assert len(expected) == len(values.values) == 2 * 2 * 2 * 9  # people, exercises, muscles, phases with their thirds
    for key, value in values.values.items():
        row = expected[key.participant, key.level, key.muscle, key.phase, key.third]
        assert value == pytest.approx(row[f"{measure}_mean"], rel=1e-12)
        assert values.between_reps[key] == pytest.approx(row[f"{measure}_sd"], rel=1e-12)
        assert (values.reps[key], values.trials[key]) == (row["n_reps"], row["n_trials"])


def test_phases_are_paired_by_their_direction_against_the_load() -> None:
    """Where lowering is against the load, its values stand in the cells against the load."""
    made = _two_people()
    plain = cell_values(made.numbers, _plan())
    pulldown = replace(made.study, exercises=(Exercise("lunge", against_load=LOWERING),))
    turned = cell_values(Numbers(pulldown, "R1", made.results), _plan())
    for who in ("P01", "P02"):
        assert _at(turned, who, "lunge", AGAINST) == _at(plain, who, "lunge", WITH)
        assert _at(turned, who, "lunge", WITH, "lower") == _at(plain, who, "lunge", AGAINST, "lower")
        assert _at(turned, who, "squat", AGAINST) == _at(plain, who, "squat", AGAINST)


def test_what_is_excluded_is_in_no_mean() -> None:
    """An excluded trial, repetition and channel are left out; the incomplete repetition was never in."""
    made = _two_people()
    study = made.study
    marks = study.trials[0].marks[0]
    without_rep = replace(marks, reps=(replace(marks.reps[0], excluded=WHY), *marks.reps[1:]))
    off = ChannelExclusion(MUSCLES[0], Side.LEFT, WHY)
    changed = (
        study.trials[0].with_marks(without_rep),
        replace(study.trials[1], excluded=WHY),
        replace(study.trials[2], excluded_channels=(off,)),
        *study.trials[3:],
    )
    values = cell_values(Numbers(replace(study, trials=changed), "R1", made.results), _plan())
    squat = CellKey("P01", "squat", MUSCLES[0], Side.LEFT, AGAINST, "whole")
    assert (values.reps[squat], values.trials[squat]) == (2, 1)
    assert replace(squat, level="lunge") not in values.values
    assert CellKey("P01", "lunge", MUSCLES[1], Side.NONE, AGAINST, "whole") in values.values
    own = {
        v.rep: v
        for v in made.results["T1"].values
        if v.channel == 0 and (v.segment.phase, v.segment.third) == (RAISING, "whole")
    }
    kept = [own[rep.id].amplitude.rms for rep in marks.reps[1:] if rep.complete]
    assert values.values[squat] == pytest.approx(np.mean(kept), rel=1e-12)


def _stance(name: str, who: str, exercise: str, stance: str) -> Trial:
    return _trial(name, who, exercise, factors=(("stance", stance),))


def test_some_without_a_reference_puts_all_in_millivolts_and_names_them() -> None:
    """Percent and mV are never averaged; a smallest effect in percentage points is then not applied."""
    settings = Settings(normalisation=NormalisationSettings(approach=Approach.TASK_MEAN, exercise="squat"))
    made = measured(
        *(_stance(f"T{n}", "P01", "squat", stance) for n, stance in enumerate(("wide", "narrow"))),
        *(_stance(f"U{n}", "P02", "lunge", stance) for n, stance in enumerate(("wide", "narrow"))),
        settings=settings,
    )
    values = cell_values(made.numbers, _plan(factor="stance", a="wide", b="narrow"))
    assert (values.unit, values.effect_applies) == (MILLIVOLTS, False)
    assert "P02: vastus medialis, rectus femoris" in values.said[0]
    assert "P01" not in values.said[0]


def test_who_did_one_of_the_two_only_does_not_decide_the_unit() -> None:
    """A participant who is not compared may lack a reference."""
    settings = Settings(normalisation=NormalisationSettings(approach=Approach.TASK_MEAN, exercise="squat"))
    made = measured(
        _trial("T1", "P01", "squat"), _trial("T2", "P01", "lunge"), _trial("T3", "P02", "lunge"), settings=settings
    )
    values = cell_values(made.numbers, _plan())
    assert values.unit == PERCENT
    assert values.participants() == ("P01",)


def test_nobody_with_a_reference_is_in_millivolts_as_planned() -> None:
    """Where nothing at all is normalised, a plan's smallest effect is in mV."""
    values = cell_values(_two_people().numbers, _plan())
    assert (values.unit, values.effect_applies) == (MILLIVOLTS, True)
    assert "no muscle has a reference" in values.said[0]


def test_noise_is_subtracted_in_millivolts_where_the_study_says_so() -> None:
    """sqrt(RMS^2 - noise^2) of each rep, then the means, with the baseline of the participant's session."""
    made = _two_people(Settings(baseline=BaselineSettings(subtract=True)))
    quiet = _trial("T6", "P01", "", kind=Kind.QUIET)
    attempt = Attempt(0.05, 0.04, 0, 1000, 0, 1000, 0.01, False, 1.0, 0.01)
    facts = {"T6": TrialFacts("T6", "", tuple(ChannelFacts(noise=attempt) for _ in EMG))}
    study = replace(made.study, trials=(*made.study.trials, quiet))
    values = cell_values(Numbers(study, "R1", made.results, facts), _plan())
    of_trial = [
        np.mean([np.sqrt(v.amplitude.rms**2 - 0.05**2) for v in made.results[name].values
                 if v.channel == 0 and (v.segment.phase, v.segment.third) == (RAISING, "whole") and v.rep <= 3])
        for name in ("T1", "T2")
    ]  # fmt: skip
    assert _at(values, "P01", "squat", AGAINST) == pytest.approx(np.mean(of_trial), rel=1e-12)
    plain = cell_values(made.numbers, _plan())
    assert _at(values, "P02", "squat", AGAINST) == _at(plain, "P02", "squat", AGAINST)  # has no quiet trial


def _sided(side: Side) -> tuple[EmgChannel, ...]:
    return (EmgChannel(MUSCLES[0], Fraction(2000), side),)


def _one_channel(name: str, who: str, exercise: str, *sides: Side) -> Trial:
    made = trial(name)
    ref = replace(made.recording, emg_samples=(made.recording.emg_samples[0],) * len(sides))
    emg = tuple(channel for side in sides for channel in _sided(side))
    return replace(made, participant=who, exercise=exercise, emg=emg, recording=ref)


def test_sides_are_taken_together_where_each_person_has_but_one() -> None:
    """The jumping leg is left in one and right in another; where somebody has both, they are kept apart."""
    people = [("P01", Side.LEFT), ("P02", Side.RIGHT)]
    each = [_one_channel(f"{who}{ex}", who, ex, side) for who, side in people for ex in ("squat", "lunge")]
    values = cell_values(measured(*each).numbers, _plan())
    assert {key.side for key in values.values} == {Side.NONE}
    assert values.participants() == ("P01", "P02")


def test_factors_of_a_study_and_their_levels() -> None:
    """Sessions, loads and named factors can be compared too; a group tells people and not their trials apart."""
    made = measured(
        _trial("T1", "P01", "squat", factors=(("group", "trained"), ("stance", "wide")), load=Load(60, "kg")),
        _trial("T2", "P01", "squat", factors=(("group", "trained"), ("stance", "narrow")), load=Load(80, "kg")),
        _trial("T3", "P02", "squat", factors=(("group", "novice"), ("stance", "wide")), load=Load(60, "kg")),
        _trial(
            "T4", "P02", "squat", factors=(("group", "novice"), ("stance", "narrow")), load=Load(80, "kg"), session="2"
        ),
    )
    study = made.study
    assert factors(study) == ("session", "load", "group", "stance")
    assert levels(study, "load") == ("60 kg", "80 kg")
    assert between_people(study, "group")
    assert not between_people(study, "stance")
    values = cell_values(made.numbers, _plan(factor="stance", a="wide", b="narrow"))
    assert {key.level for key in values.values} == {"wide", "narrow"}


def test_a_formed_plan_holds_all_that_was_measured() -> None:
    """All muscles and phases, whole and thirds; mean amplitude where a channel came in rectified."""
    made = _two_people()
    found = formed_plan(made.numbers, "exercise", "squat", "lunge", WHEN)
    assert found.muscles == MUSCLES
    assert found.phases == (AGAINST, WITH, REP)
    assert found.thirds == ("whole", "lower", "middle", "upper")
    assert found.outcome is Outcome.RMS
