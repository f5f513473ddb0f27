"""Writes the golden study of schema 2. It was run once; its files are read for ever and never written again.

Run from the tests' folder of the store: python golden/write_schema2.py FOLDER
"""

import sys
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np

from phasemark.model import changes, mark_edits, study_edits
from phasemark.model.intervals import AcceptedFinding, Interval, Purpose
from phasemark.model.marks import Boundary, Decision, Marks, Phase
from phasemark.model.normalisation import (
    Approach,
    MvicPosition,
    NormalisationSettings,
    ReferenceChoice,
    ReferenceDecision,
    ReferenceRule,
)
from phasemark.model.plan import AgainstLoad, AnalysisPlan, Outcome, PrimaryTest
from phasemark.model.quality_settings import QualitySettings
from phasemark.model.recording import EmgChannel, MovementTrace, Recording, Side, Source
from phasemark.model.settings import (
    BaselineSettings,
    FilterSettings,
    HoldSettings,
    MuscleFilter,
    MuscleRatio,
    Settings,
    UncertaintySettings,
)
from phasemark.model.study import Exercise, Kind, RecordingRef, Study, Trial
from phasemark.store.folder import StudyFolder
from phasemark.store.ledger_lines import Gesture
from phasemark.store.tables import ResultTable, Table

BLIND = Decision("R2", "2026-11-25T10:00:00Z", "cramp", blind=True)
OPEN = Decision("R1", "2026-11-25T10:05:00Z", "same tape marks")


def recording() -> Recording:
    """Half a second of two muscles and a bar's height; values that binary floats hold exactly."""
    return Recording(
        (
            EmgChannel("vastus lateralis", Fraction(1000), Side.LEFT, "uV"),
            EmgChannel("erector spinae", Fraction(1000), Side.LEFT, "mV"),
        ),
        (np.arange(500, dtype=np.float64) / 8 - 20, np.arange(500, dtype=np.float64) / 4),
        (MovementTrace("bar height", Fraction(100), "m"),),
        (np.abs(np.arange(50, dtype=np.float64) - 25) / 32,),
        Source("squat 2.txt", "text", "cd" * 32, "columns 1, 2, 3"),
    )


def settings() -> Settings:
    """Every field that schema 2 added, none at its default."""
    return Settings(
        FilterSettings(10.0, 400.0, notch_hz=60.0, notch_harmonics=3, notch_q=35.0),
        (MuscleFilter("erector spinae", FilterSettings(30.0, ecg_template=True)),),
        normalisation=NormalisationSettings(
            Approach.SUBMAXIMAL,
            ReferenceRule.BEST_MEAN,
            window_s=0.25,
            best=2,
            plateau_s=2.0,
            disagreement=0.2,
            per_exercise=True,
            exercise="squat",
            positions=(MvicPosition("trunk extension", ("erector spinae",)),),
        ),
        baseline=BaselineSettings(subtract=True),
        uncertainty=UncertaintySettings(0.02),
        quality=QualitySettings(line_hz=60.0, signal_to_noise_db=12.0),
        hold=HoldSettings(5.0),
        ratios=(MuscleRatio("vastus lateralis", "erector spinae"),),
    )


def study(ref: RecordingRef, parts: Recording) -> Study:
    """Something in every part that schema 2 added."""
    trial = Trial("T001", "P01", ref, parts.emg, parts.movement, Kind.TASK, "squat", "2")
    phases = (
        Phase("lowering", Boundary(50), Boundary(250), (Boundary(110), Boundary(180))),
        Phase("raising", Boundary(250), Boundary(450), (Boundary(300), Boundary(380))),
    )
    marks = mark_edits.add_rep(Marks("R1", trial.length), phases)
    trial = replace(
        trial.with_marks(mark_edits.exclude_rep(marks, 1, BLIND)),
        intervals=(
            Interval(Purpose.BASELINE, 0, 40, OPEN),
            Interval(Purpose.PLATEAU, 60, 160, OPEN, "erector spinae", Side.LEFT),
            Interval(Purpose.HOLD, 200, 400, BLIND),
        ),
        accepted=(AcceptedFinding("movement artefact", "erector spinae", Side.LEFT, OPEN),),
    )
    references = (
        ReferenceDecision("P01", "1", "vastus lateralis", Side.LEFT, ReferenceChoice.ATTEMPT, OPEN, trial="T001"),
        ReferenceDecision("P01", "2", "erector spinae", Side.LEFT, ReferenceChoice.BORROWED, OPEN, from_session="1"),
    )
    plan = AnalysisPlan(
        *("exercise", "squat", "lunge", Outcome.MEAN_AMPLITUDE, ("vastus lateralis",), (AgainstLoad.AGAINST,)),
        *(("upper", "whole"), "vastus lateralis", AgainstLoad.AGAINST, "upper", 5.0, OPEN),
        test=PrimaryTest.SIGN_FLIP,
        confidence=0.9,
        exclusion_rules="incomplete sets",
    )
    squat = Exercise("squat", None, "raising", isometric=True, lowering_s=2.0, raising_s=1.5)
    return Study("Squat 2", (trial,), (squat,), settings(), ("R1", "R2"), references, plan)


def main(folder: Path) -> None:
    """Write the study: one save, and a gesture after it that only the ledger has."""
    with StudyFolder.create(folder, Study("Squat 2")) as made:
        original = recording()
        whole = study(made.write_recording(original, "R0001"), original)
        at = "2026-11-25T11:00:00.000Z"
        made.append(Gesture("added a trial", changes.differences(Study("Squat 2"), whole), "R1", id="a" * 16, at=at))
        further = {"motion": Table({"trial": ["T001"], "rep": np.array([1]), "peak_speed": np.array([0.5])})}
        results = {"trial": ["T001"], "rms_mV": np.array([0.25])}
        made.save(whole, ResultTable((("T001/R1", "key of T001"),), results, further))
        later = study_edits.without_reference(whole, whole.references[0])
        made.append(Gesture("the rule again", changes.differences(whole, later), "R2", id="b" * 16, at=at))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
