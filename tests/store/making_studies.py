"""Studies, recordings and gestures that the tests of the store share."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import numpy as np

from phasemark.model import changes, mark_edits, study_edits
from phasemark.model.clock import Alignment
from phasemark.model.marks import Boundary, ChannelExclusion, Decision, Marks, Origin, Phase
from phasemark.model.recording import EmgChannel, MovementTrace, Recording, Side, Source, Up
from phasemark.model.settings import FilterSettings, MuscleFilter, Settings
from phasemark.model.study import Exercise, Kind, Load, RecordingRef, Study, Trial
from phasemark.store.ledger_lines import Gesture

EMG = (
    EmgChannel("vastus lateralis", Fraction(1000), Side.LEFT, "uV"),
    EmgChannel("biceps femoris", Fraction("1111.11"), Side.RIGHT, "counts", 0.0005),
)
MOVEMENT = (
    MovementTrace("knee angle", Fraction(50), "deg", Up.SMALLER, Alignment(Fraction("0.125"), Fraction(1000, 999))),
)
DECISION = Decision("R2", "2026-01-31T12:00:00Z", 'electrode came off; Ü = 5 %, "quoted"\n second line')


def recording(samples: int = 4000) -> Recording:
    """Two EMG channels of different rates and a movement trace, with gaps, infinities and uneven ends."""
    rng = np.random.default_rng(5)
    first, second, trace = rng.normal(size=samples), rng.normal(size=samples + 300), rng.normal(size=samples // 20)
    first[100:200] = np.nan
    second[-1] = np.inf
    trace[:3] = np.nan
    return Recording(EMG, (first, second), MOVEMENT, (trace,), Source("a file.txt", "text", "0" * 64), ("a gap",))


def reference(recording_id: str = "R0001") -> RecordingRef:
    """A reference to a recording that need not exist."""
    return RecordingRef(recording_id, f"recordings/{recording_id}.h5", 10, "0" * 64, (4000, 4300), (200,))


def phase(name: str, begin: int, length: int, *, lines: bool = True) -> Phase:
    """A phase whose third lines stand at a third and two thirds of its time."""
    third = (Boundary(begin + length // 3), Boundary(begin + 2 * length // 3, Origin.HAND)) if lines else None
    return Phase(name, Boundary(begin), Boundary(begin + length), third)


def marks(rater: str, length: int, reps: int = 3) -> Marks:
    """Reps of 600 samples one after another, the last one incomplete and without third lines."""
    made = Marks(rater, length, phase_rule="turning points", thirds_rule="rep")
    for index in range(reps - 1):
        begin = index * 600
        made = mark_edits.add_rep(made, (phase("lowering", begin, 250), phase("raising", begin + 250, 300)))
    return mark_edits.add_rep(made, (phase("lowering", reps * 600, 200, lines=False),), complete=False)


def trial(trial_id: str, ref: RecordingRef | None = None, **facts: object) -> Trial:
    """A task trial with two EMG channels and a movement trace."""
    made = Trial(trial_id, "P01", ref or reference(), EMG, MOVEMENT, exercise="squat, heels raised")
    return replace(made, **facts)  # type: ignore[arg-type]  # facts are fields of a trial


def rich_study(ref: RecordingRef | None = None) -> Study:
    """A study with something in every field: raters, loads, factors, exclusions, deleted reps, other filters."""
    first = trial(
        "T001", ref, session="2", set=3, order=7, load=Load(Decimal("60.50"), "kg"),
        factors=(("group", "older"), ("stance/width", "wide")),
        excluded_channels=(ChannelExclusion("biceps femoris", Side.RIGHT, DECISION),),
    )  # fmt: skip
    mine = mark_edits.delete_rep(marks("R1", first.length, reps=4), 2)
    mine = mark_edits.exclude_rep(mark_edits.check_rep(mine, 1, DECISION), 1, DECISION)
    mine = mark_edits.with_rep(mine, replace(mine.rep(3), doubt=0.1 + 0.2, doubts=("range 41 % below the median",)))
    first = first.with_marks(mine).with_marks(marks("R2", first.length))
    second = trial("T002", ref, kind=Kind.MVIC, participant="P1é", exercise="", excluded=DECISION)
    third = trial("t002", ref, participant="p1é").with_marks(Marks("R2", first.length))
    settings = Settings(
        FilterSettings(10.5, None, 2), muscle_filters=(MuscleFilter("biceps femoris", FilterSettings(30.0)),)
    )
    exercises = (Exercise("squat, heels raised", "lowering"), Exercise("zug", None, "lowering"))
    return Study('Höhe & "heels"', (first, second, third), exercises, settings, ("R1", "R2"))


def gesture(what: str, before: Study, after: Study) -> Gesture:
    """What an edit changed, as a gesture."""
    return Gesture(what, changes.differences(before, after))


def moved(study: Study, sample: int, trial_id: str = "T001", rater: str = "R1") -> Study:
    """The study with the end of the first rep's second phase moved."""
    address = mark_edits.Address(1, 1, mark_edits.Place.END)
    return study_edits.edit_marks(study, trial_id, rater, lambda m: mark_edits.move_boundary(m, address, sample))
