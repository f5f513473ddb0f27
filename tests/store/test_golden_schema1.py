"""A study that was written with schema 1 is read for ever, with every value it had."""

import shutil
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from phasemark.model.clock import Alignment
from phasemark.model.marks import Boundary, ChannelExclusion, Decision, Origin, Phase, Rep, Tombstone
from phasemark.model.recording import EmgChannel, MovementTrace, Side, Source, Treatment, Up
from phasemark.model.settings import CountedReps, CountRule, FilterSettings, MuscleFilter
from phasemark.model.study import Exercise, Kind, Load
from phasemark.signal.pyramid import columns
from phasemark.store.check import check
from phasemark.store.folder import Opened, StudyFolder
from phasemark.store.ledger import read_ledger
from phasemark.store.ledger_lines import Action

DECISION = Decision("R2", "2026-02-01T10:00:00Z", "movement artefact")


@pytest.fixture
def opened(tmp_path: Path) -> Opened:
    """The golden study, opened in a copy."""
    shutil.copytree(Path(__file__).parent / "golden" / "schema1", tmp_path / "study")
    found = StudyFolder.open(tmp_path / "study")
    assert (found.messages, found.read_only) == ((), "")
    found.folder.close()
    return found


def test_the_golden_study_is_sound(opened: Opened) -> None:
    assert check(opened.folder.path) == ()


def test_the_study_has_its_name_raters_exercises_and_settings(opened: Opened) -> None:
    study = opened.study
    assert (study.name, study.raters) == ("Squat, heels Ü", ("R1", "R2"))
    assert study.exercises == (Exercise("squat", "lowering", "raising"),)
    settings = study.settings
    assert settings.filter == FilterSettings(10.0, None, 2, remove_offset=False)
    assert settings.muscle_filters == (MuscleFilter("biceps femoris", FilterSettings(30.0, 450.0, 4)),)
    assert (settings.envelope.window_s, settings.phases.prominence, settings.phases.pause_s) == (0.1, 0.3, 0.2)
    assert settings.counted == CountedReps(CountRule.LISTED, (1, 2))
    assert settings.pause_in_rep is False


def test_its_trials_have_every_fact(opened: Opened) -> None:
    first, second = opened.study.trials
    assert (first.id, first.participant, first.kind, first.exercise) == ("T001", "P01", Kind.TASK, "squat")
    assert (first.session, first.set, first.order) == ("2", 3, 4)
    assert first.load == Load(Decimal("60.50"), "kg")
    assert first.load.text == "60.50 kg"
    assert first.factors == (("group", "older"), ("stance", "wide"))
    assert first.excluded_channels == (ChannelExclusion("biceps femoris", Side.RIGHT, DECISION),)
    assert first.emg == (
        EmgChannel("vastus lateralis", Fraction(1000), Side.LEFT, "uV"),
        EmgChannel("biceps femoris", Fraction(111111, 100), Side.RIGHT, "counts", 0.25, Treatment.RECTIFIED),
    )
    alignment = Alignment(Fraction(1, 8), Fraction(1001, 1000))
    assert first.movement == (MovementTrace("knee angle", Fraction(100), "deg", Up.SMALLER, alignment),)
    assert (second.id, second.kind, second.order, second.load) == ("T002", Kind.MVIC, None, None)
    assert (second.excluded, second.marks) == (DECISION, ())


def test_its_marks_of_two_raters_have_every_boundary_and_decision(opened: Opened) -> None:
    mine, other = opened.study.trials[0].marks
    assert (mine.rater, other.rater) == ("R1", "R2")
    assert (mine.next_id, mine.phase_rule, mine.thirds_rule) == (4, "turning points", "rep")
    assert mine.tombstones == (Tombstone(1, 0, 190),)
    second, third = mine.reps
    lowering = Phase("lowering", Boundary(200), Boundary(290), (Boundary(230), Boundary(260)))
    raising = Phase("raising", Boundary(300, Origin.HAND), Boundary(390), (Boundary(330), Boundary(330)))
    assert second == Rep(2, (lowering, raising), excluded=DECISION)
    assert third == Rep(3, (Phase("lowering", Boundary(400), Boundary(450)),), False, 0.75, ("begins in mid-movement",))
    assert [rep.id for rep in other.reps] == [1, 2, 3]
    assert other.rep(1).phases[1].end == Boundary(195, Origin.HAND)  # this edit is in the ledger only
    assert other.rep(2) == replace(second, excluded=None)


def test_its_results_have_every_value(opened: Opened) -> None:
    assert opened.results is not None
    assert opened.results.keys == (("T001", "key of T001"),)
    columns = opened.results.columns
    assert list(columns) == ["trial", "rms_mV", "rep", "group/side"]
    assert columns["trial"] == ("T001", "T001")
    assert np.array_equal(np.asarray(columns["rms_mV"], dtype=np.float64), [0.125, np.nan], equal_nan=True)
    assert np.asarray(columns["rep"]).tolist() == [2, 3]
    assert columns["group/side"] == ("=older", "")


def test_its_recording_has_every_sample(opened: Opened) -> None:
    ref = opened.study.trials[0].recording
    assert (ref.id, ref.path, ref.emg_samples, ref.movement_samples) == (
        "R0001",
        "recordings/R0001.h5",
        (500, 550),
        (50,),
    )
    assert ref.source == Source("squat 1.txt", "text", "ab" * 32, "column 1, 2, 3")
    assert ref.notes == ("two samples of vastus lateralis are missing",)
    stored = opened.folder.read_recording(ref)
    first = np.arange(500) / 8 - 20
    first[[3, 4]] = np.nan
    assert np.array_equal(stored.emg_values[0], first, equal_nan=True)
    assert np.array_equal(stored.emg_values[1], np.arange(550) * 3.0)
    assert np.array_equal(stored.movement_values[0], np.abs(np.arange(50) - 25) * 2.0)
    lowest, highest = columns(stored.emg_pyramids[0], 0, 500, 1)  # this file's bins are of another size than today's
    assert (lowest.tolist(), highest.tolist()) == ([-20.0], [first[-1]])
    assert stored.emg_pyramids[0].gaps == ((3, 5),)


def test_its_ledger_tells_what_was_done(opened: Opened) -> None:
    gestures = [entry.gesture for entry in read_ledger(opened.folder.path).entries]
    assert [(one.action, one.rater, one.what) for one in gestures] == [
        (Action.EVENT, "R1", "made the study"),
        (Action.EDIT, "R1", "added two trials"),
        (Action.EDIT, "R2", "moved raising end of rep 1"),
        (Action.UNDO, "R2", "took back"),
        (Action.REDO, "R2", "made again"),
        (Action.EVENT, "R2", "exported"),
    ]
    assert gestures[3].of == gestures[4].of == gestures[2].id == "b" * 16
    assert gestures[2].at == "2026-02-01T11:00:00.000Z"
    assert gestures[5].changes == ()
