"""Importing, marking, measuring and exporting: all or none, whose marks stay, what is measured first."""

import csv
import io
import threading
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from failing_disk import FailingSystem
from small_study import EMG, Open, arrival, new, recording

from phasemark.formats.mapping_json import parse_mapping
from phasemark.model.errors import BadCall, BadData, Cancelled, Unavailable
from phasemark.model.mark_edits import Address, delete_rep, move_boundary
from phasemark.model.marks import Place
from phasemark.model.recording import EmgChannel
from phasemark.model.settings_text import with_setting
from phasemark.model.study import Kind
from phasemark.model.study_edits import remove_trial, with_rater
from phasemark.session.exporting import export
from phasemark.session.importing import Arrival, Description, add_recordings
from phasemark.session.loading import load_signals
from phasemark.session.marking import Marked, mark, to_mark
from phasemark.session.measuring import Measured, measure, stale_trials
from phasemark.session.trial_signals import TrialSignals, signals_key
from phasemark.store import disk
from phasemark.store.ledger import read_ledger
from phasemark.store.ledger_lines import Action
from phasemark.worker import Deliver, JobChain

MAPPING = parse_mapping({"version": 1, "rate_hz": 1000, "emg": {"column": 1, "muscle": "soleus", "unit": "mV"}})


def _rows(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(path.read_text("utf-8"))))


# Importing


def test_added_recordings_get_ids_and_set_numbers(at: Open) -> None:
    """The next set of the same participant, exercise and load; a stated number stays; sessions count apart."""
    added = at.add(
        arrival(2),
        arrival(3),
        arrival(4, "P02"),
        arrival(5, "P03"),
        arrival(6, set=9),
        arrival(7, session="2"),
        arrival(8, factors=(("stance", "wide"),)),
    )
    assert [(t.id, t.set) for t in added] == [
        *(("T003", 2), ("T004", 3), ("T005", 2), ("T006", 1), ("T007", 9), ("T008", 1), ("T009", 1)),
    ]
    assert at.session.history.undoable is not None
    assert at.session.history.undoable.text == "added 7 recordings"


@pytest.mark.parametrize(
    ("facts", "sentence"),
    [
        ({"participant": " "}, "needs its participant"),
        ({"exercise": ""}, "needs its exercise"),
        ({"set": 0}, "numbered from 1"),
    ],
)
def test_description_that_lacks_something_is_refused(facts: dict[str, str], sentence: str) -> None:
    with pytest.raises(BadCall, match=sentence):
        Description(**({"participant": "P01", "exercise": "squat"} | facts))  # type: ignore[arg-type]
    assert Description("P01", Kind.QUIET).exercise == ""


def test_one_bad_file_of_many_and_none_is_added_and_every_bad_one_is_said(at: Open, tmp_path: Path) -> None:
    """Damaged, missing, and one whose rate the filters do not fit, beside two good ones."""
    good, bad = tmp_path / "good.txt", tmp_path / "bad.txt"
    good.write_text("\n".join(f"{n % 7}" for n in range(2000)))
    bad.write_text("\n".join(["1", "2", "x", "4"] * 100))
    about = Description("P03", exercise="squat")
    slow = recording(emg=(EmgChannel("soleus", Fraction(200)),))
    arrivals = [
        Arrival(about, good, MAPPING),
        Arrival(about, bad, MAPPING),
        arrival(9),
        Arrival(about, tmp_path / "gone.txt", MAPPING),
        arrival(made=slow),
    ]
    before, files = at.study, set((at.session.path / "recordings").iterdir())
    with pytest.raises(BadData) as problem:
        at.add(*arrivals)
    lines = str(problem.value).splitlines()
    assert len(lines) == 3
    assert "bad.txt, line 3" in lines[0]
    assert "gone.txt" in lines[1]
    assert "invented 0.txt: The low-pass at 450 Hz does not fit soleus, sampled at 200 Hz" in lines[2]
    assert lines[2].endswith("Nothing was added.")
    assert at.study == before
    assert set((at.session.path / "recordings").iterdir()) == files


def test_full_disk_at_the_third_recording_leaves_none_behind(at: Open, monkeypatch: pytest.MonkeyPatch) -> None:
    before, files = at.study, set((at.session.path / "recordings").iterdir())
    monkeypatch.setattr(
        disk, "system", FailingSystem(lambda call, path: call == "open" and path.name.startswith("R0005"))
    )
    with pytest.raises(Unavailable, match=r"R0005\.h5 could not be written: there is no space left"):
        at.add(arrival(2), arrival(3), arrival(4))
    assert at.study == before
    assert set((at.session.path / "recordings").iterdir()) == files


def test_import_that_is_stopped_adds_nothing(at: Open) -> None:
    files, go = set((at.session.path / "recordings").iterdir()), threading.Event()
    at.session.worker.disk.submit(go.wait, 10)

    def start(**back: Callable[..., None]) -> None:
        add_recordings(at.session, [arrival(2)], **back).cancel()  # type: ignore[arg-type]
        go.set()

    with pytest.raises(Cancelled):
        at.wait(start)
    assert len(at.study.trials) == 2
    assert set((at.session.path / "recordings").iterdir()) == files


# Marking


def test_marking_is_one_edit_that_undo_takes_back_whole(at: Open) -> None:
    at.add(arrival(2), arrival(3, kind=Kind.QUIET), arrival(4, kind=Kind.MVIC))
    assert at.mark() == ("T003",)
    assert [len(t.marks_of("R1").reps) for t in at.study.trials] == [3, 3, 3, 0, 0]
    at.session.undo()
    assert [len(t.marks_of("R1").reps) for t in at.study.trials] == [3, 3, 0, 0, 0]
    assert at.mark() == ("T003",)
    assert at.mark() == ()


def test_trial_that_a_hand_changed_meanwhile_is_left_as_it_has_it(at: Open) -> None:
    """And one that is gone is left out; the others are marked."""
    at.add(arrival(2))
    go = threading.Event()
    at.session.worker.disk.submit(go.wait, 10)

    def start(**back: Callable[..., None]) -> None:
        mark(at.session, to_mark(at.session, again=True), **back)  # type: ignore[arg-type]
        at.session.edit_marks("deleted", "T001", lambda marks: delete_rep(marks, 2))
        at.session.edit("removed", remove_trial(at.study, "T002"), "T002")
        go.set()

    assert at.wait(start) == Marked(("T003",))
    assert [len(t.marks_of("R1").reps) for t in at.study.trials] == [2, 3]


def test_marking_again_does_not_bring_a_deleted_rep_back(at: Open) -> None:
    at.session.edit_marks("deleted", "T001", lambda marks: delete_rep(marks, 2))
    at.mark(again=True)
    marks = at.study.trial("T001").marks_of("R1")
    assert [rep.id for rep in marks.reps] == [1, 3]


def test_raters_have_marks_of_their_own(at: Open, tmp_path: Path) -> None:
    """The second marks anew; the values exported are those of the rater in hand, the marks those of both."""
    at.session.edit_marks("deleted", "T001", lambda marks: delete_rep(marks, 2))
    at.session.edit("rater R2", with_rater(at.study, "R2"))
    at.session.rater = "R2"
    assert at.mark() == ("T001", "T002")
    assert [len(m.reps) for m in at.study.trial("T001").marks] == [2, 3]
    at.wait(lambda **back: export(at.session, tmp_path / "out", **back))
    assert {row["rater"] for row in _rows(tmp_path / "out" / "segments.csv")} == {"R2"}
    assert {row["rater"] for row in _rows(tmp_path / "out" / "marks.csv")} == {"R1", "R2"}
    at.session.rater = "R1"
    assert [t.id for t in stale_trials(at.session)] == ["T001", "T002"]


def test_first_phase_is_what_most_trials_of_an_exercise_show(at: Open) -> None:
    """Here lowering; a first phase that is stated wins, and then each trial opens with an incomplete rep."""
    assert {t.marks_of("R1").reps[0].phases[0].name for t in at.study.trials} == {"lowering"}
    at.session.edit("settings", with_setting(at.study, "first_phase[squat]", "raising"))
    at.mark(again=True)
    for trial in at.study.trials:
        names = [(rep.complete, rep.phases[0].name) for rep in trial.marks_of("R1").reps]
        assert names == [(False, "lowering"), (True, "raising"), (True, "raising"), (False, "raising")]


def test_recording_without_movement_is_marked_by_bursts(tmp_path: Path, opened: object) -> None:
    """Called bursts, never raising or lowering; measured and exported like any other."""
    at = new(tmp_path / "bursts")
    plain = recording(movement=False)
    values = tuple(v.copy() for v in plain.emg_values)
    for n, channel in enumerate(values):
        rate = float(EMG[n].rate)
        for second in range(0, 11, 2):
            channel[round(second * rate) : round((second + 1) * rate)] *= 0.02
    at.add(arrival(made=replace(plain, emg_values=values)))
    assert at.mark() == ("T001",)
    marks = at.study.trial("T001").marks_of("R1")
    assert {phase.name for rep in marks.reps for phase in rep.phases} == {"burst"}
    assert len(marks.reps) == 5
    at.wait(lambda **back: export(at.session, tmp_path / "out", **back))
    assert {row["phase"] for row in _rows(tmp_path / "out" / "segments.csv")} == {"burst"}
    at.session.close()


# Measuring and exporting


def test_only_what_is_stale_is_measured(at: Open) -> None:
    assert at.wait(lambda **back: measure(at.session, stale_trials(at.session), **back)) == Measured(2)
    end = Address(1, 1, Place.END)
    at.session.edit_marks("moved", "T002", lambda marks: move_boundary(marks, end, marks.rep(1).end - 50))
    assert [t.id for t in stale_trials(at.session)] == ["T002"]


def test_export_measures_what_is_stale_first(at: Open, tmp_path: Path) -> None:
    """The values written are those of the marks as they are now."""
    at.wait(lambda **back: export(at.session, tmp_path / "one", **back))
    end = Address(1, 1, Place.END)
    at.session.edit_marks("moved", "T001", lambda marks: move_boundary(marks, end, marks.rep(1).end - 500))
    out = at.wait(lambda **back: export(at.session, tmp_path / "two", **back))
    assert sorted(path.name for path in out.files) == sorted(path.name for path in (tmp_path / "two").iterdir())
    before, after = (_rows(tmp_path / name / "segments.csv") for name in ("one", "two"))
    changed = {(b["trial"], b["rep"], b["phase"]) for b, a in zip(before, after, strict=True) if b != a}
    whole = ("rep", "rep without pause")  # the two reps meet there
    touched = (("1", "raising"), ("2", "lowering"), *((rep, phase) for rep in "12" for phase in whole))
    assert changed == {("T001", *place) for place in touched}
    assert stale_trials(at.session) == ()


def test_export_of_a_study_that_cannot_be_written_measures_without_keeping(
    folder: Path, opened: Callable[..., Open], tmp_path: Path
) -> None:
    first = opened(folder)
    second = opened(folder)
    second.wait(lambda **back: export(second.session, tmp_path / "out", **back))
    assert len(_rows(tmp_path / "out" / "segments.csv")) == 2 * 3 * 10 * 2
    assert len(stale_trials(first.session)) == 2


def test_export_to_a_file_is_refused(at: Open, tmp_path: Path) -> None:
    (tmp_path / "out").write_text("mine")
    with pytest.raises(BadCall, match="is a file; name a folder"):
        at.wait(lambda **back: export(at.session, tmp_path / "out", **back))
    assert (tmp_path / "out").read_text() == "mine"


@pytest.mark.parametrize("share", [0.0, 0.4, 0.8, 0.9])
def test_an_export_that_is_stopped_leaves_the_folder_as_it_was(
    at: Open, tmp_path: Path, share: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While the place is looked at, while measuring, before the first file and between files: all of it or none."""
    out = tmp_path / "out"
    at.wait(lambda **back: export(at.session, out, **back))
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    at.session.edit_marks("deleted", "T001", lambda marks: delete_rep(marks, 2))
    at.session.edit_marks("deleted", "T002", lambda marks: delete_rep(marks, 2))
    held: list[JobChain] = []

    def start(**back: Callable[..., None]) -> None:
        def progressed(reached: float) -> None:
            if reached >= share:
                held[0].cancel()

        held.append(export(at.session, out, progressed=progressed, **back))  # type: ignore[arg-type]
        if share == 0:
            held[0].cancel()

    with monkeypatch.context() as patch:
        patch.setattr(disk, "system", _HeardDisk(at.mailbox.deliver))
        with pytest.raises(Cancelled):
            at.wait(start)
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before


class _HeardDisk(disk.System):
    """A disk on which a file is opened only once all that was delivered before has been heard."""

    def __init__(self, deliver: Deliver) -> None:
        self._deliver = deliver

    def open(self, path: Path, flags: int) -> int:
        heard = threading.Event()
        self._deliver(heard.set)
        assert heard.wait(10)
        return super().open(path, flags)


def test_an_export_refused_by_the_disk_replaces_nothing(
    at: Open, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The last file does not fit: those before it are not put in place either."""
    out = tmp_path / "out"
    at.wait(lambda **back: export(at.session, out, **back))
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    at.session.edit_marks("deleted", "T001", lambda marks: delete_rep(marks, 2))
    full = FailingSystem(lambda call, path: call == "write" and path.name.startswith("settings"))
    monkeypatch.setattr(disk, "system", full)
    with pytest.raises(Unavailable, match=r"settings.* could not be written"):
        at.wait(lambda **back: export(at.session, out, **back))
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before


def test_the_ledger_says_what_was_measured_and_exported(
    at: Open, folder: Path, tmp_path: Path, opened: Callable[..., Open]
) -> None:
    """As events, which change nothing when the study is opened again, even from its ledger alone."""
    before = at.study
    at.wait(lambda **back: measure(at.session, stale_trials(at.session)[:1], **back))
    out = at.wait(lambda **back: export(at.session, tmp_path / "for Kim", **back))
    at.wait(lambda **back: measure(at.session, stale_trials(at.session), **back))  # nothing is stale, nothing to say
    at.session.close()
    events = [entry.gesture for entry in read_ledger(folder).entries if entry.gesture.action is Action.EVENT][1:]
    assert [(event.what, event.changes, event.rater) for event in events] == [
        ("measured 1 trial", (), "R1"),
        ("measured 1 trial", (), "R1"),
        (f"exported {len(out.files)} files to the folder for Kim", (), "R1"),
    ]
    for path in folder.glob("project.h5*"):
        path.unlink()
    assert opened(folder).study == before


def test_trials_whose_recording_is_missing_are_left_out_and_said_and_the_others_go_on(at: Open, tmp_path: Path) -> None:
    """Their results are exported as long as they are current; once they are stale the export says they are missing."""
    at.wait(lambda **back: measure(at.session, stale_trials(at.session), **back))
    (at.session.path / "recordings" / "R0001.h5").unlink()
    assert at.wait(lambda **back: export(at.session, tmp_path / "one", **back)).problems == ()
    end = Address(1, 1, Place.END)
    for trial_id in ("T001", "T002"):
        at.session.edit_marks("moved", trial_id, lambda marks: move_boundary(marks, end, marks.rep(1).end - 50))
    out = at.wait(lambda **back: export(at.session, tmp_path / "two", **back))
    assert [str(problem).startswith("Trial T001 was left out: ") for problem in out.problems] == [True]
    assert "R0001.h5 is missing; put it back" in str(out.problems[0])
    assert {row["trial"] for row in _rows(tmp_path / "two" / "segments.csv")} == {"T002"}
    marked = at.wait(lambda **back: mark(at.session, to_mark(at.session, again=True), **back))
    assert (marked.trials, len(marked.problems)) == (("T002",), 1)


# Signals of the trial in view


def test_signals_are_computed_once_and_the_newest_asked_for_alone_arrives(at: Open) -> None:
    arrived: list[TrialSignals] = []
    for trial_id in ("T001", "T002", "T001", "T002"):
        load_signals(at.session, trial_id, done=arrived.append, failed=lambda problem: pytest.fail(str(problem)))
    at.mailbox.run_until(lambda: bool(arrived))
    assert [signals.trial.id for signals in arrived] == ["T002"]
    load_signals(at.session, "T002", done=arrived.append, failed=print)
    assert arrived[1] is arrived[0]  # at once, from memory
    key = signals_key(at.study.trial("T002"), at.study.settings)
    assert at.session.cache.get(key) is arrived[0]


def test_memory_for_signals_is_bounded(at: Open) -> None:
    signals = {name: at.signals(name) for name in ("T001", "T002")}
    cache = type(at.session.cache)(limit=int(1.5 * signals["T001"].size))
    cache.put("a", signals["T001"])
    assert cache.get("a") is not None
    cache.put("b", signals["T002"])
    assert cache.get("a") is None
    assert cache.get("b") is signals["T002"]
