"""The checks on real recordings and on the invented study, whose disturbances are known.

'EMG Dataset in Lower Limb', Sanchez O, Sotelo J (2014), UCI Machine Learning Repository,
doi 10.24432/C5ZW3P, CC BY 4.0.
"""

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from quality_cases import findings

from phasemark.demo.invent import InventedTrial, invent_trial
from phasemark.demo.plan import Disturbance, plan_study
from phasemark.model.quality_settings import QualitySettings
from phasemark.model.recording import MovementTrace, Samples
from phasemark.model.settings import FilterSettings
from phasemark.signal.conditioning import condition, in_millivolts
from phasemark.signal.quality.channel import channel_findings
from phasemark.signal.quality.finding import Check, Finding
from phasemark.signal.quality.movement import movement_findings

pytestmark = pytest.mark.slow  # kept out of the fast loop

RATE = Fraction(1000)
MUSCLES = ("rectus femoris", "biceps femoris", "vastus medialis", "semitendinosus")


def _number(cell: str) -> float:
    return float(cell) if cell.strip() else np.nan


def _columns(path: Path) -> list[Samples]:
    """Four columns of EMG (mV) and the knee angle (degrees), up to the last row that has any EMG."""
    rows = path.read_text(encoding="latin-1").replace("\r", "").split("\n\n", 1)[1].splitlines()
    cells = [(row.split("\t") + [""] * 5)[:5] for row in rows if "\t" in row]
    table = np.array([[_number(cell) for cell in row] for row in cells])
    return [np.ascontiguousarray(c) for c in table[np.isfinite(table[:, :4]).any(axis=1)].T]


@pytest.fixture(scope="module")
def real(open_data: Path) -> dict[tuple[str, str], dict[Check, Finding]]:
    """Findings of every channel of the knee extensions and flexions (the second copy of one person left out)."""
    paths = [p for p in sorted((open_data / "knee_emg").glob("*.txt")) if p.stem[-3:] in ("sen", "pie")]
    return {
        (path.stem, muscle): findings(values, RATE)
        for path in paths
        if not path.stem.startswith("2N")
        for muscle, values in zip(MUSCLES, _columns(path)[:4], strict=True)
    }


def _flagged(real: dict[tuple[str, str], dict[Check, Finding]], check: Check) -> set[tuple[str, str]]:
    return {channel for channel, found in real.items() if check in found and found[check].flagged}


def test_the_artefact_at_the_start_of_a_real_trial_is_named(
    real: dict[tuple[str, str], dict[Check, Finding]],
) -> None:
    """The description of the data set knows one at the start of 6Nsen, in semitendinosus."""
    found = real["6Nsen", "semitendinosus"][Check.ARTEFACT]
    assert found.flagged
    assert found.places[0][0] == 0
    assert found.places[0][1] <= 1000
    assert found.figure > 20


def test_most_real_channels_have_no_artefact(real: dict[tuple[str, str], dict[Check, Finding]]) -> None:
    """Ten per cent of 72 channels or so; looked at one by one, they all have a swing under 20 Hz there."""
    assert len(real) == 72
    assert len(_flagged(real, Check.ARTEFACT)) <= 10


def test_quiet_muscles_are_named_as_quiet_and_working_ones_are_not(
    real: dict[tuple[str, str], dict[Check, Finding]],
) -> None:
    """Semitendinosus rests in a knee extension, vastus medialis in a flexion; their opposites work."""
    quiet = _flagged(real, Check.NOISE)
    assert {("3Nsen", "semitendinosus"), ("9Asen", "semitendinosus"), ("6Npie", "vastus medialis")} <= quiet
    working = {(t, m) for t, m in real if (t[-3:], m) in (("sen", "vastus medialis"), ("pie", "semitendinosus"))}
    assert len(working) > 15
    assert not working & quiet


def test_real_raw_emg_is_neither_clipped_nor_lost_nor_taken_for_treated(
    real: dict[tuple[str, str], dict[Check, Finding]],
) -> None:
    for check in (Check.CLIPPING, Check.LOST, Check.RECTIFIED, Check.SMOOTHED, Check.BANDWIDTH, Check.HEART):
        assert not _flagged(real, check), check


def test_real_knee_angles_do_not_jump(open_data: Path) -> None:
    for path in sorted((open_data / "knee_emg").glob("*.txt")):
        found = movement_findings(_columns(path)[4], MovementTrace("knee angle", RATE, "deg"), QualitySettings())
        assert not [f.sentence for f in found if f.flagged], path.stem


def _demo(row: int, exercise: str, set_number: int = 1) -> InventedTrial:
    plans = plan_study(1, 12)
    (plan,) = (p for p in plans if (p.participant.row, p.exercise, p.set) == (row, exercise, set_number))
    return invent_trial(plan)


def _of_muscle(trial: InventedTrial, muscle: str) -> dict[Check, Finding]:
    recording = trial.recording
    (place,) = (n for n, channel in enumerate(recording.emg) if channel.muscle == muscle)
    channel, values = recording.emg[place], recording.emg_values[place]
    conditioned = condition(values, channel, FilterSettings())
    raw = in_millivolts(values, channel)
    return {f.check: f for f in channel_findings(raw, conditioned, channel, QualitySettings(), None)}


@pytest.mark.parametrize(
    ("row", "exercise", "muscle", "check", "disturbance"),
    [
        (2, "quiet lying", "vastus lateralis", Check.LINE, Disturbance.HUM),
        (8, "quiet lying", "erector spinae", Check.HEART, Disturbance.HEART),
        (2, "squat heels raised", "erector spinae", Check.HEART, Disturbance.HEART),
        (12, "squat heels raised", "biceps femoris", Check.DRIFT, Disturbance.DRIFT),
        (11, "quiet lying", "vastus medialis", Check.OFFSET, Disturbance.OFFSET),
        (4, "squat heels flat", "vastus medialis", Check.ARTEFACT, Disturbance.ARTEFACT),
        (10, "squat heels raised", "vastus lateralis", Check.ARTEFACT, Disturbance.ARTEFACT),
    ],
)
def test_a_known_disturbance_of_the_invented_study_is_named(
    row: int, exercise: str, muscle: str, check: Check, disturbance: Disturbance
) -> None:
    trial = _demo(row, exercise)
    assert (disturbance, muscle) in {(c.disturbance, c.muscle) for c in trial.contaminations}
    assert _of_muscle(trial, muscle)[check].flagged


def test_artefacts_of_the_invented_study_are_marked_where_they_are_and_nowhere_else() -> None:
    trial = _demo(10, "squat heels raised")
    (artefact,) = (c for c in trial.contaminations if c.disturbance is Disturbance.ARTEFACT)
    places = [(b / 2000, e / 2000) for b, e in _of_muscle(trial, artefact.muscle)[Check.ARTEFACT].places]
    swings = [(at, at + 0.5) for at in artefact.times_s]
    assert all(any(begin < late and end > at for begin, end in places) for at, late in swings)
    assert all(any(begin < late and end > at for at, late in swings) for begin, end in places)
    for muscle in ("vastus medialis", "biceps femoris", "erector spinae"):
        assert not _of_muscle(trial, muscle)[Check.ARTEFACT].flagged
