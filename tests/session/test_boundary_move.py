"""Moving a boundary: the preview is the commit, and only what is touched changes."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_study import Open

from phasemark.model.mark_edits import Address, addresses, boundary_at, limits
from phasemark.model.marks import Marks, Origin, Place
from phasemark.model.settings import PhaseSettings, Settings, ThirdsRule
from phasemark.phases.thirds import place_all_thirds
from phasemark.results.measure import measure_trial
from phasemark.session import boundary_move
from phasemark.session.boundary_move import levels_of, move, preview_move
from phasemark.session.marking import mark
from phasemark.session.measuring import measure, stale_trials
from phasemark.session.trial_signals import TrialSignals


@pytest.fixture(scope="module")
def still(template: object, tmp_path_factory: pytest.TempPathFactory) -> tuple[Marks, TrialSignals, Settings]:
    """Marks, signals and settings of one trial, which no test changes."""
    from small_study import killed, reopened

    folder = tmp_path_factory.mktemp("still")
    killed(template, folder / "study")  # type: ignore[arg-type]
    for file in (template / "recordings").iterdir():  # type: ignore[operator]
        (folder / "study" / "recordings" / file.name).write_bytes(file.read_bytes())
    at = reopened(folder / "study")
    found = at.study.trial("T001").marks_of("R1"), at.signals(), at.study.settings
    at.session.close()
    return found


def test_what_a_drag_shows_is_what_its_release_keeps_and_an_export_measures(at: Open) -> None:
    """Marks and numbers of the preview, of the edit, and of measuring the whole trial are equal to the last bit."""
    signals, settings = at.signals(), at.study.settings
    address = Address(2, 0, Place.END)
    marks = at.study.trial("T001").marks_of("R1")
    shown = preview_move(marks, address, boundary_at(marks, address).sample + 231, signals, settings)
    at.session.edit_marks(
        "moved",
        "T001",
        lambda m: move(m, address, boundary_at(m, address).sample + 231, signals, settings),
    )
    assert at.study.trial("T001").marks_of("R1") == shown.marks
    at.wait(lambda **back: measure(at.session, stale_trials(at.session), **back))
    result = at.session.result_of(at.study.trial("T001"))
    assert result is not None
    for rep_id, values in shown.values.items():
        assert values == tuple(replace(value, further=None) for value in result.values if value.rep == rep_id)


@given(which=st.integers(0, 10**6), by=st.integers(-3000, 3000))
def test_only_the_reps_a_boundary_touches_change(
    still: tuple[Marks, TrialSignals, Settings], which: int, by: int
) -> None:
    """Any boundary by any distance: values are those of the whole trial measured anew, other reps the same objects."""
    marks, signals, settings = still
    places = addresses(marks)
    address = places[which % len(places)]
    shown = preview_move(marks, address, boundary_at(marks, address).sample + by, signals, settings)
    assert address.rep in shown.values
    assert len(shown.values) <= 2
    for before, after in zip(marks.reps, shown.marks.reps, strict=True):
        if before.id not in shown.values:
            assert after is before
    whole = measure_trial(signals.trial, shown.marks, signals.conditioned, settings)
    for rep_id, values in shown.values.items():
        assert values == tuple(replace(value, further=None) for value in whole.values if value.rep == rep_id)


def test_rep_is_measured_once_for_each_step_of_a_drag(
    still: tuple[Marks, TrialSignals, Settings], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Three reps, one boundary inside the second: one rep is measured, not three."""
    marks, signals, settings = still
    asked: list[int] = []
    real = boundary_move.measure_rep

    def counted(trial: object, rep: object, *rest: object) -> object:
        asked.append(rep.id)  # type: ignore[attr-defined]
        return real(trial, rep, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(boundary_move, "measure_rep", counted)
    inside = Address(2, 0, Place.FIRST_LINE)
    preview_move(marks, inside, boundary_at(marks, inside).sample + 10, signals, settings)
    assert asked == [2]


def test_automatic_lines_follow_and_hand_placed_ones_stay(still: tuple[Marks, TrialSignals, Settings]) -> None:
    """A later begin lowers the top of the range a little; the line that a hand placed does not move."""
    marks, signals, settings = still
    line = Address(1, 0, Place.SECOND_LINE)
    placed = move(marks, line, boundary_at(marks, line).sample - 40, signals, settings)
    end = Address(1, 1, Place.END)
    moved = move(placed, end, boundary_at(placed, end).sample - 900, signals, settings)
    assert boundary_at(moved, line) == boundary_at(placed, line)
    assert boundary_at(moved, line).origin is Origin.HAND
    first = Address(1, 1, Place.FIRST_LINE)
    assert boundary_at(moved, first).origin is Origin.AUTOMATIC
    assert moved.rep(2).begin == moved.rep(1).end  # the two reps meet, so the boundary is one
    assert moved.rep(3) is placed.rep(3)
    levels = levels_of(moved, signals, settings)
    assert set(levels) == {1, 2, 3}
    assert levels[2] == pytest.approx((1 / 3, 2 / 3), abs=0.02)


def test_thirds_of_time_follow_without_a_movement_trace(still: tuple[Marks, TrialSignals, Settings]) -> None:
    marks, signals, _ = still
    settings = Settings(phases=PhaseSettings(thirds=ThirdsRule.TIME))
    timed = place_all_thirds(marks, None, settings.phases)
    end = Address(2, 0, Place.END)
    here = boundary_at(timed, end).sample
    moved = move(timed, end, here - 300, replace(signals, movement=None), settings)
    phase = moved.rep(2).phases[0]
    length = phase.end.sample - phase.begin.sample
    assert phase.end.sample == here - 300
    assert phase.lines is not None
    assert [round(3 * (line.sample - phase.begin.sample) / length, 2) for line in phase.lines] == [1, 2]
    assert levels_of(moved, replace(signals, movement=None), settings) == {}


def test_marks_are_never_cut_by_two_rules(still: tuple[Marks, TrialSignals, Settings]) -> None:
    """Settings that ask for thirds of time now do not reach into marks whose thirds are of the range of motion."""
    marks, signals, settings = still
    other = replace(settings, phases=PhaseSettings(thirds=ThirdsRule.TIME))
    line, end = Address(1, 0, Place.FIRST_LINE), Address(1, 0, Place.END)
    sample = limits(marks, end).high - 200
    moved = move(marks, end, sample, signals, other)
    assert moved.thirds_rule == "rep"
    assert boundary_at(moved, line) == boundary_at(marks, line)


def test_marking_again_leaves_what_a_hand_has_moved(at: Open) -> None:
    signals = at.signals()
    end = Address(2, 0, Place.END)
    marks = at.study.trial("T001").marks_of("R1")
    sample = boundary_at(marks, end).sample + 150
    at.session.edit_marks("moved", "T001", lambda m: move(m, end, sample, signals, at.study.settings))
    at.wait(lambda **back: mark(at.session, at.study.trials, **back))
    again = at.study.trial("T001").marks_of("R1")
    assert boundary_at(again, end).sample == sample
    assert [rep.id for rep in again.reps] == [1, 2, 3]
