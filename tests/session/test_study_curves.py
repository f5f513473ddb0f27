"""Mean curves of an open study: worked out from its recordings on demand, kept while they hold, stopped at will."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from small_study import Open, arrival, new

from phasemark.model.errors import Cancelled, PhasemarkError
from phasemark.model.marks import RAISING, Decision
from phasemark.model.plan import AgainstLoad, AnalysisPlan, Outcome
from phasemark.model.study_edits import with_trial
from phasemark.results.phase_curves import Over, StudyCurves
from phasemark.session import curves as session_curves
from phasemark.session.changing_settings import change_settings
from phasemark.session.curves import KeptCurves, kept_curves, load_curves
from phasemark.session.excluding import exclude
from phasemark.session.exporting import export
from phasemark.session.removing import remove
from phasemark.session.saving_pictures import save_pictures
from phasemark.store.recordings import StoredRecording

PLAN = AnalysisPlan(
    "stance", "wide", "narrow", Outcome.RMS, ("vastus medialis", "rectus femoris"), (AgainstLoad.AGAINST,), ("whole",),
    "vastus medialis", AgainstLoad.AGAINST, "whole", 5.0, Decision("R1", "2026-01-31T12:00:00.000Z"),
)  # fmt: skip
Problems = tuple[PhasemarkError, ...]


def loaded(at: Open, kept: KeptCurves, **how: Any) -> tuple[StudyCurves, Problems]:
    """The curves of the study, and the problems."""

    def start(done: Callable[[Any], None], failed: Callable[[BaseException], None]) -> None:
        load_curves(at.session, kept, done=lambda *found: done(found), failed=failed, **how)

    found: tuple[StudyCurves, Problems] = at.wait(start)
    return found


@pytest.fixture
def read(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The trials whose curves were worked out from their recordings, in any order."""
    found: list[str] = []
    real = session_curves.trial_curves

    def heard(trial: Any, marks: Any, stored: StoredRecording, settings: Any) -> Any:
        found.append(trial.id)
        return real(trial, marks, stored, settings)

    monkeypatch.setattr(session_curves, "trial_curves", heard)
    return found


def test_every_participant_muscle_and_phase_has_curves(at: Open) -> None:
    """Both ways of both phases of both muscles, of both people; the mean is that of the envelopes of their reps."""
    found, problems = loaded(at, KeptCurves())
    assert problems == ()
    assert len(found.of) == 2 * 2 * 2 * 2
    assert {curve.reps for curve in found.of.values()} == {3}
    trial, signals = at.study.trials[0], at.signals()
    own = []
    for rep in trial.marks_of("R1").reps:
        phase = next(p for p in rep.phases if p.name == RAISING)
        values = signals.envelopes[0].values[phase.begin.sample : phase.end.sample]
        own.append(np.interp(np.linspace(0, len(values) - 1, 101), np.arange(len(values)), values))
    key = next(k for k in found.of if (k.participant, k.muscle) == ("P01", "vastus medialis")
               and (k.phase, k.over) == (RAISING, Over.TIME))  # fmt: skip
    assert found.of[key].mean == pytest.approx(np.mean(own, axis=0), rel=1e-9)


def test_only_what_changed_is_worked_out_again(at: Open, read: list[str]) -> None:
    """Nothing for a second look, nor for what counts; one trial for its marks; all for the filters."""
    kept = KeptCurves()
    before, _ = loaded(at, kept)
    assert sorted(read) == ["T001", "T002"]
    read.clear()
    loaded(at, kept)
    trial = at.study.trial("T001")
    exclude(at.session, trial, rep=trial.marks_of("R1").reps[0], channels=(), reason="cough")
    after, _ = loaded(at, kept)
    assert read == []
    assert {k.participant: c.reps for k, c in after.of.items()} == {"P01": 2, "P02": 3}
    assert {c.reps for c in before.of.values()} == {3}
    at.session.edit_marks("", "T002", _later)
    assert set(kept_curves(at.session, kept)) == {"T001"}
    loaded(at, kept)
    assert read == ["T002"]
    read.clear()
    change_settings(at.session, [("filter.lowpass_hz", "400")])
    loaded(at, kept)
    assert sorted(read) == ["T001", "T002"]


def _later(marks: Any) -> Any:
    """The marks with the end of the last phase three samples earlier."""
    rep = marks.reps[-1]
    phase = rep.phases[-1]
    end = replace(phase.end, sample=phase.end.sample - 3)
    moved = replace(rep, phases=(*rep.phases[:-1], replace(phase, end=end)))
    return replace(marks, reps=(*marks.reps[:-1], moved))


def test_curves_of_a_comparison_have_its_factor(at: Open) -> None:
    """Stances as levels; trials that have none are not in it."""
    trial = at.study.trial("T001")
    at.session.edit("", with_trial(at.study, replace(trial, factors=(("stance", "wide"),))))
    found, _ = loaded(at, KeptCurves(), plan=PLAN)
    assert {key.level for key in found.of} == {"wide"}


def test_what_is_removed_is_forgotten(at: Open) -> None:
    kept = KeptCurves()
    loaded(at, kept)
    remove(at.session, at.study.trial("T001"), "not squats")
    found, _ = loaded(at, kept)
    assert {key.participant for key in found.of} == {"P02"}
    assert set(kept._held) == {"T002"}


def test_a_recording_that_cannot_be_read_is_left_out_and_said_once(at: Open) -> None:
    (at.session.path / at.study.trial("T001").recording.path).unlink()
    found, problems = loaded(at, KeptCurves())
    assert {key.participant for key in found.of} == {"P02"}
    assert [str(problem).split(":")[0] for problem in problems] == ["Trial T001 was left out"]


def test_progress_rises_to_the_end_and_it_can_be_stopped(at: Open) -> None:
    shares: list[float] = []
    loaded(at, KeptCurves(), progressed=shares.append)
    assert shares == sorted(shares)
    assert shares[-1] == 1

    def start(done: Callable[[Any], None], failed: Callable[[BaseException], None]) -> None:
        load_curves(at.session, KeptCurves(), done=lambda *_: done(None), failed=failed).cancel()

    with pytest.raises(Cancelled):
        at.wait(start)


def test_nothing_marked_has_no_curves(tmp_path: Path) -> None:
    at = new(tmp_path / "s")
    at.add(arrival(0))
    found, problems = loaded(at, KeptCurves())
    assert (dict(found.of), dict(found.people), problems) == ({}, {}, ())
    at.session.close()


def test_an_export_with_curves_has_their_files(at: Open, tmp_path: Path) -> None:
    """The tables and the pictures beside the other files, progress never backwards; without asking none of them."""
    shares: list[float] = []
    plain = at.wait(lambda **back: export(at.session, tmp_path / "plain", **back))
    more = at.wait(lambda **back: export(at.session, tmp_path / "more", curves=True, progressed=shares.append, **back))
    names = {path.name for path in more.files}
    added = {"curves.csv", "mean_curves.csv", "repeatability.csv", "curves_over_time.svg", "curves_over_range.svg"}
    assert names - {path.name for path in plain.files} == added
    assert all(path.stat().st_size > 0 for path in more.files)
    assert shares == sorted(shares)


def test_pictures_are_saved_and_the_ledger_says_so(at: Open, tmp_path: Path) -> None:
    files = {tmp_path / "new" / "a.pdf": b"one", tmp_path / "b.png": b"two"}
    saved = at.wait(lambda **back: save_pictures(at.session, files, **back))
    assert saved == tuple(files)
    assert {path: path.read_bytes() for path in files} == files
    at.synced()
    assert "saved the pictures a.pdf, b.png" in (at.session.path / "ledger.jsonl").read_text()
