"""A study that was written with schema 2 is read for ever, with every value it had."""

import shutil
from pathlib import Path

import numpy as np
import pytest

from phasemark.model.intervals import AcceptedFinding, Interval, Purpose
from phasemark.model.marks import Decision
from phasemark.model.normalisation import Approach, MvicPosition, ReferenceChoice, ReferenceRule
from phasemark.model.plan import AgainstLoad, Outcome, PrimaryTest
from phasemark.model.recording import Side
from phasemark.model.settings import FilterSettings, MuscleRatio
from phasemark.model.study import Exercise
from phasemark.store.check import check
from phasemark.store.folder import Opened, StudyFolder

BLIND = Decision("R2", "2026-11-25T10:00:00Z", "cramp", blind=True)
OPEN = Decision("R1", "2026-11-25T10:05:00Z", "same tape marks")


@pytest.fixture
def opened(tmp_path: Path) -> Opened:
    """The golden study, opened in a copy."""
    shutil.copytree(Path(__file__).parent / "golden" / "schema2", tmp_path / "study")
    found = StudyFolder.open(tmp_path / "study")
    assert (found.messages, found.read_only) == ((), "")
    found.folder.close()
    return found


def test_the_golden_study_is_sound(opened: Opened) -> None:
    assert check(opened.folder.path) == ()


def test_settings_have_every_field_that_schema_2_added(opened: Opened) -> None:
    settings = opened.study.settings
    assert settings.filter == FilterSettings(10.0, 400.0, 4, True, 60.0, 3, 35.0, False)
    assert settings.muscle_filters[0].filter.ecg_template
    rules = settings.normalisation
    assert (rules.approach, rules.rule) == (Approach.SUBMAXIMAL, ReferenceRule.BEST_MEAN)
    assert (rules.window_s, rules.best, rules.plateau_s, rules.disagreement) == (0.25, 2, 2.0, 0.2)
    assert (rules.per_exercise, rules.exercise) == (True, "squat")
    assert rules.positions == (MvicPosition("trunk extension", ("erector spinae",)),)
    assert (settings.baseline.subtract, settings.uncertainty.shift_s, settings.hold.window_s) == (True, 0.02, 5.0)
    assert (settings.quality.line_hz, settings.quality.signal_to_noise_db) == (60.0, 12.0)
    assert settings.ratios == (MuscleRatio("vastus lateralis", "erector spinae"),)


def test_intervals_accepted_findings_and_blind_decisions_come_back(opened: Opened) -> None:
    trial = opened.study.trials[0]
    assert trial.intervals == (
        Interval(Purpose.BASELINE, 0, 40, OPEN),
        Interval(Purpose.PLATEAU, 60, 160, OPEN, "erector spinae", Side.LEFT),
        Interval(Purpose.HOLD, 200, 400, BLIND),
    )
    assert trial.accepted == (AcceptedFinding("movement artefact", "erector spinae", Side.LEFT, OPEN),)
    assert trial.marks_of("R1").rep(1).excluded == BLIND
    assert opened.study.exercises == (Exercise("squat", None, "raising", True, 2.0, 1.5),)


def test_references_and_plan_come_back_and_the_ledger_is_replayed(opened: Opened) -> None:
    """The first decision was taken back after the project file was written."""
    (held,) = opened.study.references
    assert (held.choice, held.from_session, held.decision) == (ReferenceChoice.BORROWED, "1", OPEN)
    plan = opened.study.plan
    assert plan is not None
    assert (plan.factor, plan.a, plan.b, plan.outcome) == ("exercise", "squat", "lunge", Outcome.MEAN_AMPLITUDE)
    assert (plan.phases, plan.thirds) == ((AgainstLoad.AGAINST,), ("upper", "whole"))
    assert (plan.primary_muscle, plan.primary_phase, plan.primary_third) == (
        *("vastus lateralis", AgainstLoad.AGAINST, "upper"),
    )
    assert (plan.smallest_effect, plan.test, plan.confidence) == (5.0, PrimaryTest.SIGN_FLIP, 0.9)
    assert (plan.exclusion_rules, plan.decision) == ("incomplete sets", OPEN)


def test_further_tables_of_results_come_back(opened: Opened) -> None:
    assert opened.results is not None
    motion = opened.results.further["motion"].columns
    assert np.asarray(motion["peak_speed"]).tolist() == [0.5]
    assert opened.results.keys == (("T001/R1", "key of T001"),)
