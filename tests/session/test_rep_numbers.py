"""Errors and references of the rep in hand: as the exports have them, worked out apart, no oftener than needed."""

from dataclasses import replace

import pytest
from small_study import Open, arrival

from phasemark.model.intervals import Purpose
from phasemark.model.mark_edits import Address, boundary_at
from phasemark.model.marks import Place
from phasemark.model.study import Kind
from phasemark.session.boundary_move import keep_move
from phasemark.session.changing_settings import change_settings
from phasemark.session.judging import place_interval
from phasemark.session.measuring import measure, stale_trials
from phasemark.session.rep_figure import Measure, Unit, figure_of
from phasemark.session.rep_numbers import RepNumbers, RepNumbersSource
from phasemark.session.trial_signals import TrialSignals

TRIAL = "T001"


def measured(at: Open) -> None:
    at.wait(lambda **back: measure(at.session, stale_trials(at.session), **back))


def asked(at: Open, source: RepNumbersSource, signals: TrialSignals, rep_id: int = 1) -> RepNumbers:
    found: RepNumbers = at.wait(lambda **back: source.ask(at.session, signals, rep_id, **back))
    return found


@pytest.fixture
def with_mvic(at: Open) -> Open:
    """The marked study with an MVIC of the first participant, measured."""
    at.add(arrival(5, kind=Kind.MVIC))
    measured(at)
    return at


def test_values_are_those_that_are_measured_for_the_exports(with_mvic: Open) -> None:
    at = with_mvic
    found = asked(at, RepNumbersSource(), at.signals())
    result = at.session.result_of(at.study.trial(TRIAL))
    assert result is not None
    assert found.values == tuple(value for value in result.values if value.rep == 1)
    numbers = at.session.numbers()
    trial = at.study.trial(TRIAL)
    assert [scale.normaliser for scale in found.scales] == [numbers.normaliser(trial, c) for c in trial.emg]
    assert all(scale.normaliser is not None and scale.normaliser.rms > 0 for scale in found.scales)


def test_the_figure_has_percent_errors_and_notes(with_mvic: Open) -> None:
    at, signals = with_mvic, with_mvic.signals()
    found = asked(at, RepNumbersSource(), signals)
    trial = at.study.trial(TRIAL)
    made = figure_of(
        trial, trial.marks_of("R1"), 1, signals, at.study.settings,
        values=found.values, scales=found.scales, notes=found.notes, exercise=at.study.exercise(trial.exercise),
    )  # fmt: skip
    muscle = made.muscles[0]
    scale = found.scales[0].normaliser
    assert scale is not None
    assert muscle.reference == scale.rms
    whole = muscle.sides[0].whole
    assert whole.number(Measure.RMS, Unit.PERCENT) == pytest.approx(100 * whole.number(Measure.RMS) / scale.rms)
    assert 0 < whole.error(Measure.RMS) < 0.2
    assert 0 <= whole.shift(Measure.RMS) < 1
    assert [motion.name for motion in made.motion] == ["lowering", "raising"]
    assert made.motion[0].duration_s == pytest.approx(1.5, abs=0.2)
    assert made.motion[0].motion.range_of_motion == pytest.approx(1.0, abs=0.05)


def test_a_prescribed_duration_stands_beside_the_achieved_one(at: Open) -> None:
    change_settings(at.session, (("lowering_s[squat]", "2"),))
    trial = at.study.trial(TRIAL)
    made = figure_of(
        trial, trial.marks_of("R1"), 1, at.signals(), at.study.settings, exercise=at.study.exercise("squat")
    )
    assert [motion.prescribed_s for motion in made.motion] == [2.0, None]


def test_references_are_worked_out_once_while_only_marks_change(with_mvic: Open) -> None:
    at, source, signals = with_mvic, RepNumbersSource(), with_mvic.signals()
    first = asked(at, source, signals)
    address = Address(1, 0, Place.END)
    sample = boundary_at(at.study.trial(TRIAL).marks_of("R1"), address).sample
    assert keep_move(at.session, address, sample + 60, signals, alone=False)
    held = source._numbers
    second = asked(at, source, signals)
    assert source._numbers is held
    assert second.values != first.values
    marks = at.study.trial(TRIAL).marks_of("R1")
    assert second.holds_for(marks, 1, at.study.settings)
    assert not first.holds_for(marks, 1, at.study.settings)
    assert not second.holds_for(marks, 2, at.study.settings)


def test_references_follow_what_they_are_made_from(with_mvic: Open) -> None:
    """An excluded MVIC gives none; a plateau makes its facts stale until they are measured again."""
    at, source, signals = with_mvic, RepNumbersSource(), with_mvic.signals()
    before = asked(at, source, signals).scales[0].normaliser
    mvic = at.study.trials[-1]
    place_interval(at.session, mvic, Purpose.PLATEAU, begin=4000, end=8000)
    stale = asked(at, source, signals).scales[0].normaliser
    assert stale is None or not stale.rms > 0
    measured(at)
    after = asked(at, source, signals).scales[0].normaliser
    assert before is not None
    assert after is not None
    assert after.rms > 0
    assert after.rms != before.rms


def test_under_a_reference_by_the_task_marks_count(at: Open) -> None:
    change_settings(at.session, (("normalisation.approach", "mean of the task"),))
    measured(at)
    source, signals = RepNumbersSource(), at.signals()
    first = asked(at, source, signals).scales[0].normaliser
    assert first is not None
    assert first.rms > 0
    address = Address(1, 0, Place.END)
    sample = boundary_at(at.study.trial(TRIAL).marks_of("R1"), address).sample
    keep_move(at.session, address, sample + 60, signals, alone=False)
    later = asked(at, source, signals).scales[0].normaliser
    assert later is None or replace(later, said=()) != replace(first, said=())
