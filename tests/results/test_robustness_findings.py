"""Findings under variants, against the study truly changed and measured anew, and by what is known of people."""

import csv
import io
import json
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from math import nan

import numpy as np
import pytest
from made_lifts import MUSCLES, WHEN, A, B, Lifts, Made, Varying, made, marks_of, measured, plan, varied

from phasemark.model.intervals import Interval, Purpose
from phasemark.model.marks import BURST, LOWERING, ChannelExclusion, Decision, Marks
from phasemark.model.normalisation import Approach, NormalisationSettings, ReferenceRule
from phasemark.model.plan import AgainstLoad, AnalysisPlan, Outcome
from phasemark.model.recording import Side, Treatment
from phasemark.model.settings import (
    BaselineSettings,
    CountedReps,
    CountRule,
    FilterSettings,
    MuscleFilter,
    Settings,
    UncertaintySettings,
)
from phasemark.model.study import Exercise, Kind, Study, Trial
from phasemark.results.comparison.cells import Place
from phasemark.results.comparison.compare import compare_cells
from phasemark.results.comparison.compared import Comparison
from phasemark.results.comparison.reading import cell_values
from phasemark.results.robustness.boundaries import FIRST_DRAW, boundaries_of, moved
from phasemark.results.robustness.frame import Draws, frame_of
from phasemark.results.robustness.people import Gathering
from phasemark.results.robustness.picture import findings_varied, robustness_picture
from phasemark.results.robustness.report import Finding, Robustness, Under, robustness_of
from phasemark.results.robustness.stands import Reach, agrees, reach, same_direction
from phasemark.results.robustness.tables import COLUMNS, FINDING_COLUMNS, robustness_texts
from phasemark.results.robustness.trial_values import needs_signals, trial_values
from phasemark.results.robustness.variants import Group, OtherMarks, variants_of, with_cutoff
from phasemark.results.robustness.words import definition, moves_said, sentence, summary, verdict

WHOLE = Place(MUSCLES[0], Side.NONE, AgainstLoad.AGAINST, "whole")


def more_in_a(exercise: str, muscle: str, phase: str) -> float:
    """10 points of the reference more on the first exercise in the first muscle, raising and lowering alike."""
    return 0.5 if (exercise, muscle) == (A, MUSCLES[0]) else 0.4


LIFTS = Lifts(level=more_in_a)


@cache
def made_once(quiet: bool = False) -> Made:
    return made(replace(LIFTS, quiet=quiet))


@cache
def everything() -> Robustness:
    return varied(made_once(), plan(LIFTS))


def only(*groups: Group, draws: int = 0) -> Varying:
    return Varying(groups=frozenset(groups), draws=Draws(draws))


def compared(study_made: Made, own: AnalysisPlan) -> Comparison:
    return compare_cells(cell_values(study_made.numbers, own), own, brief=True)


def under(found: Robustness, variant: str, place: Place = WHOLE) -> Under:
    return next(one for one in found.finding(place).under if one.variant == variant)


def assert_alike(found: Robustness, variant: str, wanted: Comparison, exact: float = 1e-10) -> None:
    """Every place has under a variant what the comparison of the truly changed study has."""
    assert [finding.place for finding in found.findings] == [cell.place for cell in wanted.cells]
    for cell in wanted.cells:
        own, interval = under(found, variant, cell.place), cell.difference.interval
        assert own.n == cell.n
        assert (own.mean, own.low, own.high) == pytest.approx(
            (cell.difference.mean, interval.low, interval.high), rel=exact, abs=1e-9
        )


def changed(study_made: Made, edit: Callable[[Trial], Trial], settings: Settings | None = None) -> Made:
    study = study_made.numbers.study
    trials = tuple(edit(trial) for trial in study.trials)
    return measured(replace(study, trials=trials, settings=settings or study.settings), study_made.values)


# the definition


@pytest.mark.parametrize(
    ("low", "high", "smallest", "where"),
    [
        (5.1, 9.0, 5.0, Reach.BEYOND),
        (-9.0, -5.1, 5.0, Reach.BEYOND),
        (4.9, 9.0, 5.0, Reach.ACROSS),
        (5.0, 9.0, 5.0, Reach.ACROSS),
        (-4.9, 4.9, 5.0, Reach.WITHIN),
        (-5.0, 4.9, 5.0, Reach.ACROSS),
        (-9.0, 9.0, 5.0, Reach.ACROSS),
        (0.1, 9.0, 0.0, Reach.BEYOND),
        (-0.1, 9.0, 0.0, Reach.ACROSS),
        (nan, nan, 5.0, Reach.UNKNOWN),
    ],
)
def test_an_interval_lies_beyond_within_or_across(low: float, high: float, smallest: float, where: Reach) -> None:
    assert reach(low, high, smallest) is where
    mirrored = agrees((-high, -low), [-high], [-low], smallest)
    assert mirrored.tolist() == agrees((low, high), [low], [high], smallest).tolist()
    assert mirrored.tolist() == [where in (Reach.BEYOND, Reach.WITHIN)]


def test_a_difference_stands_only_on_its_own_side_and_similarity_only_within() -> None:
    lows, highs = [6.0, 4.0, -9.0, -1.0, nan], [9.0, 9.0, -6.0, 1.0, nan]
    assert agrees((5.5, 8.0), lows, highs, 5.0).tolist() == [True, False, False, False, False]
    assert agrees((-8.0, -5.5), lows, highs, 5.0).tolist() == [False, False, True, False, False]
    assert agrees((-2.0, 2.0), lows, highs, 5.0).tolist() == [False, False, False, True, False]
    assert not agrees((4.0, 8.0), lows, highs, 5.0).any()
    assert same_direction(7.0, lows, highs).tolist() == [True, True, False, False, False]
    assert same_direction(-7.0, lows, highs).tolist() == [False, False, True, False, False]
    assert not same_direction(nan, lows, highs).any()


# exact


def test_as_planned_it_is_the_comparison() -> None:
    assert_alike(everything(), "as planned", compared(made_once(), plan(LIFTS)), 1e-12)
    assert everything().finding(WHOLE).primary
    assert sum(finding.primary for finding in everything().findings) == 1


def gathered(study_made: Made, own: AnalysisPlan, how: Varying) -> Gathering:
    numbers = study_made.numbers
    frame = frame_of(numbers, own, variants_of(numbers, own, {}, how.groups), draws=how.draws, groups=how.groups)
    gathering = Gathering(frame)
    for trial in numbers.study.trials:
        values = study_made.values[trial.id] if needs_signals(frame, trial) else ()
        gathering.add(trial, trial_values(frame, trial, values))
    return gathering


@pytest.mark.parametrize("outcome", list(Outcome))
@pytest.mark.parametrize("subtract", [False, True])
def test_the_row_that_moves_nothing_is_the_planned_one(outcome: Outcome, subtract: bool) -> None:
    settings = Settings(baseline=BaselineSettings(subtract))
    study_made = changed(made_once(quiet=True), lambda trial: trial, settings)
    own = plan(LIFTS, outcome=outcome)
    for cells in gathered(study_made, own, only(Group.BOUNDARIES, draws=2)).people().values():
        assert set(cells.moved) == set(cells.under["as planned"])
        for key, rows in cells.moved.items():
            assert rows[0] == pytest.approx(cells.under["as planned"][key], rel=1e-12)


def test_a_draw_is_the_study_with_its_marks_so_moved_and_measured_anew() -> None:
    own, draws, seed = plan(LIFTS), 3, 11
    numbers = made_once().numbers

    def replaced(trial: Trial, row: int) -> Trial:
        if trial.kind is not Kind.TASK:
            return trial
        marks = trial.marks_of("R1")
        boundaries = boundaries_of(marks)
        at = dict(
            zip(boundaries.samples.tolist(), moved(boundaries, 100, draws, seed, trial.id)[row].tolist(), strict=True)
        )
        reps = tuple(
            replace(
                rep,
                phases=tuple(
                    replace(
                        p,
                        begin=replace(p.begin, sample=at[p.begin.sample]),
                        end=replace(p.end, sample=at[p.end.sample]),
                        lines=tuple(replace(line, sample=at[line.sample]) for line in p.lines or ()),  # type: ignore[arg-type]
                    )
                    for p in rep.phases
                ),
            )
            for rep in marks.reps
        )
        return trial.with_marks(replace(marks, reps=reps))

    found = varied(made_once(), own, Varying(frozenset({Group.BOUNDARIES}), Draws(draws, seed)))
    rows = list(range(1, FIRST_DRAW + draws))
    by_row = [compared(changed(made_once(), lambda trial, row=row: replaced(trial, row)), own) for row in rows]  # type: ignore[misc]
    for name, row in zip(
        ("all boundaries 50 ms earlier", "all boundaries 50 ms later", "all phases 50 ms longer"), by_row, strict=False
    ):
        assert_alike(found, name, row, 1e-9)
    for finding in found.findings:
        means = [
            next(cell for cell in row.cells if cell.place == finding.place).difference.mean
            for row in by_row[FIRST_DRAW - 1 :]
        ]
        assert finding.drawn is not None
        assert finding.drawn.median == pytest.approx(np.median(means), rel=1e-9)
        assert finding.drawn.low == pytest.approx(np.percentile(means, 2.5), rel=1e-9)
    assert numbers.study.settings.uncertainty.shift_s == 0.05


@pytest.mark.parametrize(
    ("variant", "settings"),
    [
        ("high-pass 10 Hz", Settings(filter=FilterSettings(highpass_hz=10.0))),
        ("low-pass 500 Hz", Settings(filter=FilterSettings(lowpass_hz=500.0))),
        ("reference window 250 ms", Settings(normalisation=NormalisationSettings(window_s=0.25))),
        ("baseline noise subtracted", Settings(baseline=BaselineSettings(True))),
    ],
)
def test_other_settings_are_the_study_measured_under_them(variant: str, settings: Settings) -> None:
    found = varied(made_once(quiet=True), plan(LIFTS), only(Group.FILTER, Group.WINDOW, Group.BASELINE))
    assert_alike(found, variant, compared(changed(made_once(quiet=True), lambda trial: trial, settings), plan(LIFTS)))


def test_a_reference_by_plateau_is_varied_in_the_plateaus_length() -> None:
    rules = NormalisationSettings(rule=ReferenceRule.PLATEAU)
    study_made = changed(made_once(), lambda trial: trial, Settings(normalisation=rules))
    found = varied(study_made, plan(LIFTS), only(Group.WINDOW))
    longer = Settings(normalisation=replace(rules, plateau_s=2.0))
    wanted = compared(changed(study_made, lambda trial: trial, longer), plan(LIFTS))
    assert_alike(found, "reference plateau 2000 ms", wanted)
    assert under(found, "reference plateau 2000 ms").mean != under(found, "as planned").mean


def held(begin: int, end: int) -> Made:
    """Both exercises held and not repeated, over a stretch that was placed by hand."""
    study = made_once().numbers.study
    exercises = (Exercise(A, isometric=True), Exercise(B, isometric=True))
    stretch = (Interval(Purpose.HOLD, begin, end, WHEN),)
    trials = tuple(out(t, intervals=stretch) if t.kind is Kind.TASK else t for t in study.trials)
    return measured(replace(study, trials=trials, exercises=exercises), made_once().values)


def test_the_stretch_of_a_hold_moves_by_its_two_ends_and_follows_the_filters() -> None:
    own = plan(LIFTS, phases=(AgainstLoad.REP,), primary_phase=AgainstLoad.REP, thirds=("whole",))
    found = varied(held(1500, 3000), own, only(Group.BOUNDARIES, Group.FILTER, draws=5))
    assert len(found.findings) == len(LIFTS.muscles)
    assert_alike(found, "all boundaries 50 ms later", compared(held(1600, 3100), own), 1e-9)
    assert_alike(found, "all phases 50 ms shorter", compared(held(1600, 2900), own), 1e-9)
    filtered = replace(held(1500, 3000).numbers.study, settings=Settings(filter=FilterSettings(highpass_hz=30.0)))
    assert_alike(found, "high-pass 30 Hz", compared(measured(filtered, made_once().values), own))


def test_bursts_are_varied_where_there_is_no_movement() -> None:
    """A burst stands for a whole repetition: one phase, in thirds of time."""

    def as_burst(trial: Trial) -> Trial:
        marks = trial.marks_of("R1")
        reps = tuple(replace(rep, phases=(replace(rep.phases[0], name=BURST),)) for rep in marks.reps)
        return trial.with_marks(replace(marks, reps=reps))

    own = plan(
        LIFTS, phases=(AgainstLoad.REP,), primary_phase=AgainstLoad.REP, thirds=("whole", "first", "second", "last")
    )
    bursts = changed(made_once(), tasks_only(as_burst))
    found = varied(bursts, own, only(Group.BOUNDARIES, Group.FILTER, draws=5))
    assert len(found.findings) == 4 * len(LIFTS.muscles)
    for finding in found.findings:
        assert all(np.isfinite((one.mean, one.low, one.high)).all() for one in finding.under)
    filtered = changed(bursts, lambda trial: trial, Settings(filter=FilterSettings(lowpass_hz=400.0)))
    assert_alike(found, "low-pass 400 Hz", compared(filtered, own))


@pytest.mark.parametrize("approach", [Approach.TASK_PEAK, Approach.TASK_MEAN])
def test_a_reference_of_the_tasks_own_follows_the_filters(approach: Approach) -> None:
    settings = Settings(normalisation=NormalisationSettings(approach=approach))
    study_made = changed(made_once(), lambda trial: trial, settings)
    found = varied(study_made, plan(LIFTS), only(Group.FILTER, Group.BOUNDARIES, Group.WINDOW))
    filtered = replace(settings, filter=FilterSettings(highpass_hz=30.0))
    wanted = compared(changed(study_made, lambda trial: trial, filtered), plan(LIFTS))
    assert_alike(found, "high-pass 30 Hz", wanted)
    assert any("where boundaries are moved it stays" in said for said in found.said)
    assert any("has no window of its own" in said for said in found.said)


def test_the_other_outcome_is_the_plan_with_it() -> None:
    other = plan(LIFTS, outcome=Outcome.MEAN_AMPLITUDE)
    assert_alike(everything(), "mean amplitude", compared(made_once(), other))
    assert_alike(varied(made_once(), other, only(Group.OUTCOME)), "RMS", compared(made_once(), plan(LIFTS)))


def test_other_marks_are_used_where_they_are_handed_in_and_the_rest_stays() -> None:
    trials = [trial for trial in made_once().numbers.study.trials if trial.kind is Kind.TASK]
    late = {trial.id: marks_of(trial.length, LIFTS.reps, late=300) for trial in trials[::2]}
    others = {"R2": OtherMarks("R2", Group.RATER, "marks of R2, half of them")}
    found = varied(made_once(), plan(LIFTS), Varying(frozenset({Group.RATER}), Draws(0), others, {"R2": late}))
    wanted = changed(made_once(), lambda trial: trial.with_marks(late[trial.id]) if trial.id in late else trial)
    assert_alike(found, "marks of R2, half of them", compared(wanted, plan(LIFTS)))


# what was left out


def out(trial: Trial, **what: object) -> Trial:
    return replace(trial, **what)  # type: ignore[arg-type]  # fields of a trial


def with_first_rep(trial: Trial, **what: object) -> Trial:
    marks = trial.marks_of("R1")
    return trial.with_marks(replace(marks, reps=(replace(marks.reps[0], **what), *marks.reps[1:])))  # type: ignore[arg-type]


def tasks_only(edit: Callable[[Trial], Trial]) -> Callable[[Trial], Trial]:
    return lambda trial: edit(trial) if trial.kind is Kind.TASK else trial


@pytest.mark.parametrize(
    ("edit", "variant"),
    [
        (lambda trial: with_first_rep(trial, excluded=WHEN), "excluded repetitions taken in"),
        (lambda trial: with_first_rep(trial, complete=False), "incomplete repetitions taken in"),
        (
            lambda trial: with_first_rep(trial, excluded_channels=(ChannelExclusion(MUSCLES[0], Side.NONE, WHEN),)),
            "excluded channels taken in",
        ),
        (
            lambda trial: (
                out(trial, excluded_channels=(ChannelExclusion(MUSCLES[0], Side.NONE, WHEN),))
                if trial.participant == "P02"
                else trial
            ),
            "excluded channels taken in",
        ),
        (lambda trial: out(trial, excluded=WHEN) if trial.participant == "P03" else trial, "excluded trials taken in"),
    ],
)
def test_what_was_left_out_is_taken_in(edit: Callable[[Trial], Trial], variant: str) -> None:
    left_out = changed(made_once(), tasks_only(edit))
    found = varied(left_out, plan(LIFTS), only(Group.EXCLUSIONS))
    assert_alike(found, "as planned", compared(left_out, plan(LIFTS)))
    assert_alike(found, variant, compared(made_once(), plan(LIFTS)))
    assert [one.variant for one in found.finding(WHOLE).under] == ["as planned", variant]
    assert under(found, variant).mean != under(found, "as planned").mean


def test_repetitions_that_do_not_count_and_all_kinds_together() -> None:
    settings = Settings(counted=CountedReps(CountRule.LISTED, (2,)))
    left_out = changed(made_once(), tasks_only(lambda trial: with_first_rep(trial, excluded=WHEN)), settings)
    found = varied(left_out, plan(LIFTS), only(Group.EXCLUSIONS))
    names = [one.variant for one in found.finding(WHOLE).under[1:]]
    assert names == [
        "excluded repetitions taken in",
        "all complete repetitions counted",
        "all that was left out taken in",
    ]
    assert_alike(found, names[2], compared(made_once(), plan(LIFTS)))
    assert under(found, names[0]).mean == under(found, "as planned").mean


def test_without_a_reference_for_all_nothing_is_in_percent_and_no_planned_effect_applies() -> None:
    gone = Decision("R1", WHEN.at, "moved")
    spoiled = changed(
        made_once(),
        lambda trial: out(trial, excluded=gone) if trial.kind is Kind.MVIC and trial.participant == "P01" else trial,
    )
    found = varied(spoiled, plan(LIFTS), only(Group.EXCLUSIONS))
    assert found.unit == "mV"
    assert found.smallest == 0
    assert "no smallest effect" in definition(found)
    assert "without the correction for several comparisons" in definition(found)
    assert under(found, "excluded trials taken in").mean == under(found, "as planned").mean


def test_an_excluded_attempt_at_the_reference_counts_again() -> None:
    """The same two MVIC recordings for everybody: one at half its amplitude is left of those of the first person."""
    numbers, values = made_once().numbers, dict(made_once().values)
    best = next(trial for trial in numbers.study.trials if trial.kind is Kind.MVIC)
    weak = replace(best, id="T900")
    values["T900"] = tuple(own / 2 for own in values[best.id])
    study = replace(numbers.study, trials=(*numbers.study.trials, weak))
    both = measured(study, values)
    left_out = changed(both, lambda trial: out(trial, excluded=WHEN) if trial.id == best.id else trial)
    found = varied(left_out, plan(LIFTS), only(Group.EXCLUSIONS))
    assert found.unit == "% of reference"
    assert_alike(found, "excluded trials taken in", compared(both, plan(LIFTS)))
    assert under(found, "excluded trials taken in").mean < under(found, "as planned").mean - 1


# what is varied


def names_of(study_made: Made, own: AnalysisPlan, *groups: Group) -> list[str]:
    return [variant.name for variant in variants_of(study_made.numbers, own, {}, frozenset(groups)).all[1:]]


def test_only_what_can_differ_is_varied() -> None:
    assert names_of(made_once(), plan(LIFTS), Group.BASELINE, Group.EXCLUSIONS) == []
    assert names_of(made_once(quiet=True), plan(LIFTS), Group.BASELINE) == ["baseline noise subtracted"]
    assert names_of(made_once(), plan(LIFTS), Group.FILTER) == [
        "high-pass 10 Hz", "high-pass 30 Hz", "low-pass 400 Hz", "low-pass 500 Hz",
    ]  # fmt: skip
    none = Settings(normalisation=NormalisationSettings(approach=Approach.NONE))
    raw = changed(made_once(), lambda trial: trial, none)
    assert names_of(raw, plan(LIFTS), Group.WINDOW) == []


def at_rate(study: Study, hz: int, treatment: Treatment = Treatment.RAW) -> Study:
    trials = []
    for trial in study.trials:
        emg = tuple(replace(c, rate=type(c.rate)(hz), treatment=treatment) for c in trial.emg)
        trials.append(replace(trial, emg=emg, marks=()))
    return replace(study, trials=tuple(trials))


@pytest.mark.parametrize(
    ("hz", "planned", "wanted"), [(1000, 450.0, ["low-pass 400 Hz"]), (800, 350.0, ["low-pass 280 Hz"])]
)
def test_low_passes_are_those_the_rate_can_hold(hz: int, planned: float, wanted: list[str]) -> None:
    study = at_rate(made_once().numbers.study, hz)
    settings = Settings(filter=FilterSettings(lowpass_hz=planned))
    numbers = replace(made_once().numbers, study=replace(study, settings=settings))
    found = variants_of(numbers, plan(LIFTS), {}, frozenset({Group.FILTER})).all[1:]
    assert [v.name for v in found if v.name.startswith("low")] == wanted


def test_rectified_channels_are_not_filtered_and_have_no_rms() -> None:
    study = at_rate(made_once().numbers.study, 2000, Treatment.RECTIFIED)
    numbers = replace(made_once().numbers, study=study)
    own = plan(LIFTS, outcome=Outcome.MEAN_AMPLITUDE)
    assert len(variants_of(numbers, own, {}, frozenset({Group.FILTER, Group.OUTCOME})).all) == 1


def test_a_cut_off_that_does_not_fit_is_left_out_and_said() -> None:
    narrow = replace(made_once().numbers.study, settings=Settings(filter=FilterSettings(15.0, 25.0)))
    found = variants_of(replace(made_once().numbers, study=narrow), plan(LIFTS), {}, frozenset({Group.FILTER}))
    assert not any(variant.name == "high-pass 30 Hz" for variant in found.all)
    assert any(said.startswith("A high-pass at 30 Hz is left out: ") for said in found.said)


def test_a_muscles_own_filter_is_varied_too() -> None:
    own = Settings(muscle_filters=(MuscleFilter("soleus", FilterSettings(highpass_hz=30.0)),))
    assert with_cutoff(own, "highpass_hz", 10.0).filter_for("soleus").highpass_hz == 10.0
    assert with_cutoff(own, "lowpass_hz", 400.0).filter_for("soleus").highpass_hz == 30.0


def test_nothing_is_read_for_variants_that_need_no_signals() -> None:
    for groups, needed in ((only(Group.EXCLUSIONS, Group.OUTCOME), set()), (only(Group.WINDOW), {Kind.MVIC})):
        numbers = made_once().numbers
        variants = variants_of(numbers, plan(LIFTS), {}, groups.groups)
        frame = frame_of(numbers, plan(LIFTS), variants, groups=groups.groups)
        assert {trial.kind for trial in numbers.study.trials if needs_signals(frame, trial)} == needed


# properties


def test_the_same_seed_gives_the_same_in_whatever_order_trials_arrive() -> None:
    draws = only(Group.BOUNDARIES, Group.WINDOW, draws=30)
    assert varied(made_once(), plan(LIFTS), draws) == varied(made_once(), plan(LIFTS), draws, back=True)
    other = varied(made_once(), plan(LIFTS), replace(draws, draws=Draws(30, 2)))
    assert other.finding(WHOLE).drawn != varied(made_once(), plan(LIFTS), draws).finding(WHOLE).drawn
    assert other.finding(WHOLE).under == varied(made_once(), plan(LIFTS), draws).finding(WHOLE).under


def test_the_two_levels_swapped_flip_every_sign() -> None:
    swapped = varied(made_once(), plan(LIFTS, a=B, b=A))
    for one, other in zip(everything().findings, swapped.findings, strict=True):
        assert one.stands == other.stands
        for here, there in zip(one.under, other.under, strict=True):
            assert (here.mean, here.low, here.high) == pytest.approx((-there.mean, -there.high, -there.low), rel=1e-12)
            assert here.agrees == there.agrees
        assert one.drawn is not None
        assert other.drawn is not None
        assert (one.drawn.low, one.drawn.median, one.drawn.high) == pytest.approx(
            (-other.drawn.high, -other.drawn.median, -other.drawn.low), rel=1e-12
        )


def test_hardly_moved_boundaries_give_no_spread() -> None:
    """A shift of under half a sample moves nothing."""
    still = changed(made_once(), lambda trial: trial, Settings(uncertainty=UncertaintySettings(0.0001)))
    found = varied(still, plan(LIFTS), only(Group.BOUNDARIES, draws=50)).finding(WHOLE)
    assert found.drawn is not None
    assert found.drawn.low == found.drawn.median == found.drawn.high
    assert len({(one.mean, one.low, one.high) for one in found.under[1:]}) == 1
    assert found.under[1].mean == pytest.approx(found.planned.mean, rel=1e-12)


def test_a_recording_that_cannot_be_read_is_left_out_of_everything() -> None:
    numbers, own = made_once().numbers, plan(LIFTS)
    groups = frozenset({Group.BOUNDARIES, Group.WINDOW})
    frame = frame_of(numbers, own, variants_of(numbers, own, {}, groups), draws=Draws(5), groups=groups)
    gathering = Gathering(frame)
    lost = next(trial for trial in numbers.study.trials if trial.kind is Kind.TASK)
    for trial in numbers.study.trials:
        gathering.add(trial, None if trial is lost else trial_values(frame, trial, made_once().values[trial.id]))
    found = robustness_of(frame, gathering.people(), ("Trial T002 was left out.",))
    assert {one.n for finding in found.findings for one in finding.under} == {LIFTS.people - 1}
    assert found.said == ("Trial T002 was left out.",)


# what is known


def test_an_effect_of_known_size_stands_and_what_has_none_is_similar_everywhere() -> None:
    found = everything()
    for finding in found.findings:
        assert finding.stands
        assert verdict(finding) == "stands"
        wanted = Reach.BEYOND if finding.place.muscle == MUSCLES[0] else Reach.WITHIN
        assert finding.planned.reach is wanted
    assert under(found, "as planned").mean == pytest.approx(10, abs=1.5)
    assert [line.split(":")[0] for line in summary(found)] == ["Stand in every variant"]


def test_a_borderline_effect_does_not_stand_and_is_said_where() -> None:
    """The smallest effect is put just below the interval as planned, so that a higher reference brings it across."""
    lows = [one.low for one in everything().finding(WHOLE).under]
    assert min(lows) < lows[0] - 0.1
    found = varied(made_once(), plan(LIFTS, smallest=lows[0] - 0.05))
    finding = found.finding(WHOLE)
    assert finding.planned.agrees
    assert not finding.stands
    assert finding.keeps_direction
    assert {one.variant for one in finding.failing} == {
        one.variant for one in everything().finding(WHOLE).under if one.low <= lows[0] - 0.05
    }
    assert finding.drawn is not None
    assert 0 <= finding.drawn.share < 1
    said = sentence(found, finding)
    assert "Does not stand: not with" in said
    assert "The direction is the same in all" in said
    assert verdict(finding).startswith("does not stand (not in ")
    assert any(line.startswith("Do not stand in all") for line in summary(found))


def test_an_interval_across_the_smallest_effect_is_no_finding() -> None:
    mean = everything().finding(WHOLE).planned.mean
    found = varied(made_once(), plan(LIFTS, smallest=mean), only(Group.WINDOW))
    finding = found.finding(WHOLE)
    assert finding.planned.reach is Reach.ACROSS
    assert not any(one.agrees for one in finding.under)
    assert verdict(finding) == "not settled as planned"
    assert "no finding that could stand" in sentence(found, finding)
    assert any(line.startswith("Not settled in the analysis as planned") for line in summary(found))


def test_an_effect_in_one_phase_falls_when_boundaries_lie_elsewhere() -> None:
    """Phases are marked 0.1 s late: with every boundary 50 ms earlier more of the true phase is inside."""
    lifts = replace(LIFTS, level=lambda e, m, p: 0.9 if (e, p) == (A, LOWERING) else 0.4)
    own = made(lifts)
    late = changed(own, tasks_only(lambda trial: trial.with_marks(marks_of(trial.length, lifts.reps, late=200))))
    found = varied(late, plan(lifts), only(Group.BOUNDARIES, draws=50))
    lowering = Place(MUSCLES[0], Side.NONE, AgainstLoad.WITH, "whole")
    earlier, later = (under(found, f"all boundaries 50 ms {way}", lowering).mean for way in ("earlier", "later"))
    assert earlier > under(found, "as planned", lowering).mean > later


# tables and picture


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_the_table_has_a_row_for_every_comparison_and_variant_and_one_for_its_draws() -> None:
    found = everything()
    texts = robustness_texts(found, {"numpy": "1"})
    rows = rows_of(texts["robustness.csv"])
    assert tuple(rows[0]) == COLUMNS
    assert len(rows) == sum(len(finding.under) + 1 for finding in found.findings)
    first = [row for row in rows if (row["muscle"], row["phase"], row["third"]) == (WHOLE.muscle, WHOLE.phase, "whole")]
    for row, own in zip(first, found.finding(WHOLE).under, strict=False):
        assert row["variant"] == own.variant
        assert float(row["difference"]) == own.mean
        assert row["stands_here"] == "yes"
    drawn = found.finding(WHOLE).drawn
    assert drawn is not None
    assert int(first[-1]["draws_standing"]) == drawn.agreeing == 20
    assert float(first[-1]["difference_p97_5"]) == drawn.high
    findings = rows_of(texts["robustness_findings.csv"])
    assert tuple(findings[0]) == FINDING_COLUMNS
    assert [row["verdict"] for row in findings] == ["stands"] * len(found.findings)
    about = json.loads(texts["robustness.json"])
    assert about["draws"] == moves_said(found)
    assert "20 draws (seed 1)" in about["draws"]


def test_the_picture_has_every_variant_of_the_findings_asked_for() -> None:
    found = everything()
    (one,) = findings_varied(found, [WHOLE])
    assert [v.variant for v in one.varied[:-1]] == [own.variant for own in found.finding(WHOLE).under]
    assert one.varied[-1].variant.startswith("20 draws")
    assert all(v.agrees for v in one.varied)
    assert len(robustness_picture(found).blocks) >= len(found.findings)


def test_without_drawn_boundaries_nothing_is_said_of_them() -> None:
    found = varied(made_once(), plan(LIFTS), only(Group.OUTCOME))
    finding: Finding = found.finding(WHOLE)
    assert finding.drawn is None
    assert moves_said(found) == ""
    assert "draw" not in sentence(found, finding)
    assert len(rows_of(robustness_texts(found)["robustness.csv"])) == 2 * len(found.findings)


def test_marks_without_reps_leave_their_trial_without_values() -> None:
    empty = changed(
        made_once(),
        lambda trial: trial.with_marks(Marks("R1", trial.length)) if trial.id == "T002" else trial,
    )
    found = varied(empty, plan(LIFTS), only(Group.BOUNDARIES, draws=3))
    assert {one.n for one in found.finding(WHOLE).under} == {LIFTS.people - 1}
