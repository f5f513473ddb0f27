"""Which findings stand, as a job over an open study: read once, other raters and thirds, cancel, files, the ledger."""

import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from small_study import Open, arrival, new, recording

from phasemark.model.errors import BadCall, BadData, Cancelled
from phasemark.model.marks import Boundary, Marks, Origin
from phasemark.model.settings import ThirdsRule
from phasemark.model.study import RecordingRef
from phasemark.model.study_edits import with_trial
from phasemark.results.comparison.compare import compare_cells
from phasemark.results.comparison.compared import Comparison
from phasemark.results.comparison.reading import cell_values
from phasemark.results.robustness.frame import Draws
from phasemark.results.robustness.report import Under
from phasemark.results.robustness.variants import Group
from phasemark.session.comparing import Asked, compare
from phasemark.session.robustness_job import How, Varied, vary, with_thirds
from phasemark.session.trial_signals import movement_of
from phasemark.store.ledger import read_ledger
from phasemark.store.recordings import StoredRecording

ASKED = Asked("squat", "lunge")


@pytest.fixture(scope="module")
def two_exercises(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three people who squat and lunge, marked and not measured."""
    folder = tmp_path_factory.mktemp("two") / "study"
    at = new(folder)
    made = []
    for person in range(3):
        for place, exercise in enumerate(("squat", "lunge")):
            one = arrival(0, f"P{person + 1:02d}", recording(2, seed=10 * person + place))
            made.append(replace(one, description=replace(one.description, exercise=exercise)))
    at.add(*made)
    at.mark()
    at.session.close()
    return folder


@pytest.fixture
def lifts(two_exercises: Path, tmp_path: Path, opened: Callable[..., Open]) -> Open:
    shutil.copytree(two_exercises, tmp_path / "study")
    return opened(tmp_path / "study")


def varied(at: Open, *groups: Group, draws: int = 10, **more: Any) -> Varied:
    how = How(frozenset(groups or Group), Draws(draws))
    found: Varied = at.wait(lambda **back: vary(at.session, ASKED, how, **more, **back))
    return found


def compared(at: Open) -> Comparison:
    """What the study as it stands gives."""
    plan = at.wait(lambda **back: compare(at.session, ASKED, **back)).carried.plan
    return compare_cells(cell_values(at.session.numbers(), plan), plan, brief=True)


def assert_alike(found: Varied, variant: str, wanted: Comparison) -> None:
    for cell in wanted.cells:
        own = next(one for one in found.robustness.finding(cell.place).under if one.variant == variant)
        assert own.n == cell.n == 3
        assert own.mean == pytest.approx(cell.difference.mean, rel=1e-10)
        assert own.low == pytest.approx(cell.difference.interval.low, rel=1e-10)


def names(found: Varied) -> list[str]:
    return [one.variant for one in found.robustness.findings[0].under]


def test_what_is_stale_is_measured_and_the_planned_row_is_the_comparison(lifts: Open) -> None:
    found = varied(lifts)
    assert found.problems == ()
    assert not found.carried.planned
    assert found.robustness.smallest == 0
    assert_alike(found, "as planned", compared(lifts))
    assert {one.group for one in found.robustness.findings[0].under} == {
        Group.PLANNED, Group.BOUNDARIES, Group.THIRDS, Group.FILTER, Group.OUTCOME,
    }  # fmt: skip


def test_a_named_smallest_effect_applies(lifts: Open) -> None:
    found: Varied = lifts.wait(
        lambda **back: vary(lifts.session, replace(ASKED, smallest_effect=0.02), How(draws=Draws(2)), **back)
    )
    assert found.robustness.smallest == 0.02


def test_thirds_by_another_rule_are_the_study_set_to_that_rule(lifts: Open) -> None:
    found = varied(lifts, Group.THIRDS)
    assert names(found) == ["as planned", "thirds of the trial's range", "thirds of time"]
    settings = lifts.study.settings
    other = replace(settings, phases=replace(settings.phases, thirds=ThirdsRule.TRIAL))
    lifts.session.edit("thirds", replace(lifts.study, settings=other))
    lifts.mark(again=True)
    assert_alike(found, "thirds of the trial's range", compared(lifts))


def third_edges(marks: Marks) -> list[list[int]]:
    return [[b.sample for _, b in phase.boundaries()] for rep in marks.reps for phase in rep.phases]


def test_thirds_of_time_keep_the_names_by_height_and_lines_by_hand(lifts: Open) -> None:
    trial = lifts.study.trials[0]
    stored: StoredRecording = lifts.session.folder.read_recording(trial.recording)
    movement = movement_of(trial, stored.movement_values, lifts.study.settings)
    marks = trial.marks_of("R1")
    first = marks.reps[0].phases[0]
    assert first.lines is not None
    hand = (replace(first.lines[0], origin=Origin.HAND), first.lines[1])
    rep = replace(marks.reps[0], phases=(replace(first, lines=hand), *marks.reps[0].phases[1:]))
    marks = replace(marks, reps=(rep, *marks.reps[1:]))
    by_time = with_thirds(marks, movement, lifts.study.settings, ThirdsRule.TIME)
    assert by_time.thirds_rule == marks.thirds_rule == "rep"
    (begin, one, two, end), *others = third_edges(by_time)
    assert one == hand[0].sample
    assert two == begin + round(2 * (end - begin) / 3)
    for begin, one, two, end in others:
        assert (one - begin, two - one, end - two) == pytest.approx([(end - begin) / 3] * 3, abs=1)


def shifted(marks: Marks, rater: str, by: int) -> Marks:
    """The marks of another rater, who has every boundary later."""
    reps = tuple(
        replace(
            rep,
            phases=tuple(
                replace(
                    p,
                    begin=Boundary(p.begin.sample + by),
                    end=Boundary(p.end.sample + by),
                    lines=tuple(Boundary(line.sample + by) for line in p.lines or ()),  # type: ignore[arg-type]
                )
                for p in rep.phases
            ),
        )
        for rep in marks.reps
    )
    return replace(marks, rater=rater, reps=reps)


def test_each_raters_marks_are_used_where_they_are(lifts: Open) -> None:
    study, both = lifts.study, lifts.study
    for place, trial in enumerate(study.trials):
        both = with_trial(both, trial.with_marks(shifted(trial.marks_of("R1"), "R2", 400)))
        if place < 2:
            both = with_trial(both, both.trial(trial.id).with_marks(shifted(trial.marks_of("R1"), "R3", 200)))
    lifts.session.edit("marks of two more", replace(both, raters=("R1", "R2", "R3")))
    found = varied(lifts, Group.RATER)
    assert names(found) == ["as planned", "marks of R2", "marks of R3, 2 of 6 trials"]
    own = study
    for trial in study.trials:
        own = with_trial(own, trial.with_marks(shifted(trial.marks_of("R1"), "R1", 400)))
    lifts.session.edit("later", own)
    assert_alike(found, "marks of R2", compared(lifts))


def test_each_recording_is_read_once_and_progress_rises_to_the_end(
    lifts: Open, monkeypatch: pytest.MonkeyPatch
) -> None:
    varied(lifts, Group.OUTCOME)  # measures what is stale
    read: list[str] = []
    folder = lifts.session.folder
    plain = folder.read_recording

    def counting(ref: RecordingRef) -> StoredRecording:
        read.append(ref.id)
        return plain(ref)

    monkeypatch.setattr(folder, "read_recording", counting)
    shares: list[float] = []
    varied(lifts, progressed=shares.append)
    assert sorted(read) == sorted(trial.recording.id for trial in lifts.study.trials)
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    assert len(shares) > len(read)


def test_the_same_seed_gives_the_same_whatever_thread_is_first(lifts: Open) -> None:
    assert varied(lifts).robustness.findings == varied(lifts).robustness.findings


def test_a_recording_that_is_gone_is_left_out_and_said(lifts: Open) -> None:
    varied(lifts, Group.OUTCOME)
    (lifts.session.path / lifts.study.trials[0].recording.path).unlink()
    found = varied(lifts, Group.BOUNDARIES)
    assert [str(problem).split(" was left out")[0] for problem in found.problems] == ["Trial T001"]
    unders: list[Under] = [one for finding in found.robustness.findings for one in finding.under]
    assert {one.n for one in unders} == {2}
    assert any(said.startswith("Trial T001 was left out") for said in found.robustness.said)


def test_it_can_be_stopped_at_any_point(lifts: Open) -> None:
    for stop_at in (0.0, 0.3, 0.6):
        chains: list[Any] = []

        def stop(share: float, at: float = stop_at, held: list[Any] = chains) -> None:
            if share >= at:
                held[0].cancel()

        with pytest.raises(Cancelled):
            lifts.wait(
                lambda held=chains, **back: held.append(
                    vary(lifts.session, ASKED, How(draws=Draws(10)), progressed=stop, **back)
                )
            )
    assert varied(lifts, Group.OUTCOME).problems == ()


def test_nothing_is_kept_in_the_project_but_the_ledger_says_that_results_were_shown(
    lifts: Open, tmp_path: Path
) -> None:
    varied(lifts, Group.OUTCOME)
    lifts.session.save()
    held = dict(lifts.session.results)
    found = varied(lifts, to=tmp_path / "out")
    assert lifts.session.results == held
    written = sorted(file.name for file in found.files)
    assert [name for name in written if not name.endswith(".svg")] == [
        "robustness.csv", "robustness.json", "robustness_findings.csv",
    ]  # fmt: skip
    assert any(name.startswith("robustness") and name.endswith(".svg") for name in written)
    assert all(file.read_text(encoding="utf-8") for file in found.files)
    lifts.synced()
    last = read_ledger(lifts.session.path).entries[-1]
    assert "compared squat with lunge under variants of the analysis (exploratory)" in str(last)


@pytest.mark.parametrize("to", ["file", None])
def test_what_cannot_be_done_is_refused_in_one_sentence(lifts: Open, tmp_path: Path, to: str | None) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    asked = ASKED if to else Asked("squat", "press")
    with pytest.raises((BadCall, BadData), match="file" if to else "press"):
        lifts.wait(lambda **back: vary(lifts.session, asked, to=tmp_path / to if to else None, **back))
