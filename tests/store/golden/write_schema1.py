"""Writes the golden study of schema 1. It was run once; its files are read for ever and never written again.

Run from the tests' folder of the store: python golden/write_schema1.py FOLDER
"""

import sys
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import numpy as np

from phasemark.model import changes, mark_edits, study_edits
from phasemark.model.clock import Alignment
from phasemark.model.marks import Boundary, ChannelExclusion, Decision, Marks, Origin, Phase, Place
from phasemark.model.recording import EmgChannel, MovementTrace, Recording, Side, Source, Treatment, Up
from phasemark.model.settings import CountedReps, CountRule, FilterSettings, MuscleFilter, Settings
from phasemark.model.study import Exercise, Kind, Load, RecordingRef, Study, Trial
from phasemark.store.folder import StudyFolder
from phasemark.store.ledger_lines import Action, Gesture
from phasemark.store.tables import ResultTable

DECISION = Decision("R2", "2026-02-01T10:00:00Z", "movement artefact")


def recording() -> Recording:
    """Half a second of two muscles at different rates and of a knee angle; values that binary floats hold exactly."""
    first = np.arange(500, dtype=np.float64) / 8 - 20
    first[[3, 4]] = np.nan
    return Recording(
        (
            EmgChannel("vastus lateralis", Fraction(1000), Side.LEFT, "uV"),
            EmgChannel("biceps femoris", Fraction("1111.11"), Side.RIGHT, "counts", 0.25, Treatment.RECTIFIED),
        ),
        (first, np.arange(550, dtype=np.float64) * 3),
        (
            MovementTrace(
                "knee angle", Fraction(100), "deg", Up.SMALLER, Alignment(Fraction("0.125"), Fraction(1001, 1000))
            ),
        ),
        (np.abs(np.arange(50, dtype=np.float64) - 25) * 2,),
        Source("squat 1.txt", "text", "ab" * 32, "column 1, 2, 3"),
        ("two samples of vastus lateralis are missing",),
    )


def marks(rater: str, length: int) -> Marks:
    """Two complete reps and an incomplete one."""
    made = Marks(rater, length, phase_rule="turning points", thirds_rule="rep")
    for begin in (0, 200):
        lowering = Phase(
            "lowering", Boundary(begin), Boundary(begin + 90), (Boundary(begin + 30), Boundary(begin + 60))
        )
        raising = Phase(
            "raising",
            Boundary(begin + 100, Origin.HAND),
            Boundary(begin + 190),
            (Boundary(begin + 130), Boundary(begin + 130)),
        )
        made = mark_edits.add_rep(made, (lowering, raising))
    return mark_edits.add_rep(made, (Phase("lowering", Boundary(400), Boundary(450)),), complete=False)


def study(ref: RecordingRef, parts: Recording) -> Study:
    """Something in every field of a study."""
    trial = Trial(
        "T001", "P01", ref, parts.emg, parts.movement, Kind.TASK, "squat", "2", 3, 4, Load(Decimal("60.50"), "kg"),
        (("group", "older"), ("stance", "wide")),
        excluded_channels=(ChannelExclusion("biceps femoris", Side.RIGHT, DECISION),),
    )  # fmt: skip
    mine = marks("R1", trial.length)
    mine = mark_edits.exclude_rep(mine, 2, DECISION)
    mine = mark_edits.check_rep(mine, 1, Decision("R1", "2026-02-01T09:00:00Z"))
    doubted = replace(mine.rep(3), doubt=0.75, doubts=("begins in mid-movement",))
    mine = mark_edits.delete_rep(mark_edits.with_rep(mine, doubted), 1)
    trial = trial.with_marks(mine).with_marks(marks("R2", trial.length))
    second = replace(trial, id="T002", kind=Kind.MVIC, exercise="", load=None, order=None, marks=(), excluded=DECISION)
    settings = Settings(
        FilterSettings(10.0, None, 2, remove_offset=False),
        (MuscleFilter("biceps femoris", FilterSettings(30.0)),),
        counted=CountedReps(CountRule.LISTED, (1, 2)),
        pause_in_rep=False,
    )
    return Study("Squat, heels Ü", (trial, second), (Exercise("squat", "lowering", "raising"),), settings, ("R1", "R2"))


def main(folder: Path) -> None:
    """Write the study: one save, and gestures after it that only the ledger has."""
    with StudyFolder.create(folder, Study("Squat, heels Ü")) as made:
        original = recording()
        ref = made.write_recording(original, "R0001")
        whole = study(ref, original)
        at = "2026-02-01T11:00:00.000Z"
        before = Study("Squat, heels Ü")
        made.append(Gesture("added two trials", changes.differences(before, whole), "R1", id="a" * 16, at=at))
        results = {
            "trial": ["T001", "T001"],
            "rms_mV": np.array([0.125, np.nan]),
            "rep": np.array([2, 3]),
            "group/side": ["=older", ""],
        }
        made.save(whole, ResultTable((("T001", "key of T001"),), results))
        moved = study_edits.edit_marks(
            whole, "T001", "R2", lambda m: mark_edits.move_boundary(m, mark_edits.Address(1, 1, Place.END), 195)
        )
        edit = Gesture("moved raising end of rep 1", changes.differences(whole, moved), "R2", id="b" * 16, at=at)
        made.append(edit)
        made.append(Gesture("took back", changes.differences(moved, whole), "R2", Action.UNDO, edit.id, "c" * 16, at))
        made.append(Gesture("made again", edit.changes, "R2", Action.REDO, edit.id, "d" * 16, at))
        made.append(Gesture("exported", (), "R2", Action.EVENT, id="e" * 16, at=at))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
