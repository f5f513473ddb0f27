"""Marking blind: what is decided says so, and nothing that is shown or offered gives a trial away."""

import json
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest
from small_study import Open, arrival

from phasemark.model.marks import Rep
from phasemark.model.study import Kind, Study
from phasemark.model.study_edits import with_trial
from phasemark.results.rows import mark_rows
from phasemark.results.study_grid import State, next_trial
from phasemark.session.blinding import UNREADABLE, Cover, covered, grid_of, name_of, offered, set_blind
from phasemark.session.excluding import exclude
from phasemark.session.rep_edits import accept_rep, accept_trial, take_back_acceptance


def reps(at: Open, trial: str = "T001") -> tuple[Rep, ...]:
    return at.study.trial(trial).marks_of("R1").reps


def told(folder: Path) -> list[str]:
    """What the ledger says of each gesture, in its words."""
    lines = [json.loads(line) for line in (folder / "ledger.jsonl").read_text(encoding="utf-8").splitlines()]
    return [line["what"] for line in lines if "end" in line]


def test_decisions_and_gestures_made_blind_say_so_in_study_and_ledger(
    at: Open, folder: Path, opened: Callable[..., Open]
) -> None:
    first, second, third = (rep.id for rep in reps(at))
    accept_rep(at.session, "T001", first)
    set_blind(at.session, True)
    accept_rep(at.session, "T001", second)
    exclude(at.session, at.study.trial("T001"), rep=reps(at)[2], channels=(), reason="slipped")
    set_blind(at.session, False)
    take_back_acceptance(at.session, "T001", first)
    at.session.close()
    again = reps(opened(folder))
    assert again[1].checked is not None
    assert again[1].checked.blind
    assert again[2].excluded is not None
    assert again[2].excluded.blind
    assert told(folder)[-4:] == [
        "accepted rep 1",
        "accepted rep 2 (blind)",
        f"excluded rep id {third}, trial T001 (blind)",
        "took back the acceptance of rep 1",
    ]


def test_undo_says_whether_it_was_done_blind_itself(at: Open, folder: Path) -> None:
    set_blind(at.session, True)
    accept_rep(at.session, "T001", 1)
    set_blind(at.session, False)
    at.session.undo()
    set_blind(at.session, True)
    at.session.redo()
    at.synced()
    assert told(folder)[-3:] == ["accepted rep 1 (blind)", "accepted rep 1", "accepted rep 1 (blind)"]


def test_the_export_says_which_reps_were_checked_blind(at: Open) -> None:
    accept_rep(at.session, "T001", 1)
    set_blind(at.session, True)
    accept_rep(at.session, "T001", 2)
    trial = at.study.trial("T001")
    rows = mark_rows(at.study, trial, trial.marks_of("R1"), {})
    assert {row["rep_id"]: row["checked_blind"] for row in rows} == {1: False, 2: True, 3: None}


def many(study: Study, count: int = 12) -> Study:
    """The study with its first trial so many times, each of another participant."""
    trial = study.trial("T001")
    return replace(study, trials=tuple(replace(trial, id=f"T{n:03}", participant=f"P{n:02}") for n in range(count)))


def test_every_trial_is_offered_once_in_an_order_that_is_drawn(at: Open) -> None:
    study = many(at.study)
    orders = {Cover().over(study, Random(seed)).order for seed in range(5)}
    assert len(orders) == 5
    assert {tuple(sorted(order)) for order in orders} == {tuple(trial.id for trial in study.trials)}


def test_a_large_study_is_covered_at_once(at: Open) -> None:
    """The grid is made anew at every edit, and the menu names the last one."""
    at.session.edit("many", many(at.study, 600))
    set_blind(at.session, True)
    covered(at.session, "accepted rep 1 of trial T017")
    begin = time.perf_counter()
    grid = grid_of(at.session)
    assert covered(at.session, "accepted rep 1 of trial T017").startswith("accepted rep 1 of Trial ")
    assert len(grid.cells) == 600
    assert time.perf_counter() - begin < 0.1


def test_the_trial_seen_by_its_name_is_never_the_first_one_offered(at: Open) -> None:
    study = many(at.study, 3)
    firsts = {Cover().over(study, Random(seed), "T001").order[0] for seed in range(30)}
    assert firsts == {"T000", "T002"}


def test_trials_that_come_later_keep_the_names_of_those_before(at: Open) -> None:
    set_blind(at.session, True)
    before = {trial.id: name_of(at.session, trial) for trial in at.study.trials}
    at.add(arrival(2, "P03"))
    after = {trial.id: name_of(at.session, trial) for trial in at.study.trials}
    assert before.items() <= after.items()
    assert after["T003"] == "Trial 3"


def test_what_has_no_repetitions_is_not_offered(at: Open) -> None:
    at.add(arrival(2, "P03", kind=Kind.MVIC))
    set_blind(at.session, True)
    assert sorted(grid_of(at.session).participants) == ["Trial 1", "Trial 2"]
    assert name_of(at.session, at.study.trial("T003")) == "A trial without marks"


def test_accepting_goes_through_the_trials_in_the_order_offered(at: Open) -> None:
    at.add(*(arrival(seed, f"P0{seed}") for seed in range(3, 8)))
    at.mark()
    set_blind(at.session, True, draw=Random(4))
    order = [trial.id for trial in offered(at.session).trials]
    assert order != [trial.id for trial in at.study.trials]
    seen, at_trial = [order[0]], order[0]
    while (spot := accept_trial(at.session, at_trial)) is not None:
        at_trial = spot[0]
        seen.append(at_trial)
    assert seen == order


def test_a_grid_of_neutral_names_says_what_is_to_do(at: Open) -> None:
    set_blind(at.session, True, draw=Random(1))
    first, second = (trial.id for trial in offered(at.session).trials)
    accept_trial(at.session, first)
    grid = grid_of(at.session, {second: "recordings/R0002.h5 is missing"})
    assert grid.participants == ("Trial 1", "Trial 2")
    assert [cell.state for (cell,) in grid.cells] == [State.CHECKED, State.PROBLEM]
    assert grid.cells[1][0].trials[0].note == UNREADABLE
    assert next_trial(grid, first, 1) == second


def test_findings_to_decide_are_in_the_grid_openly_and_by_neutral_names(at: Open) -> None:
    """As on the page about quality, which shows them while marking is blind too; nothing else is told by them."""
    openly = grid_of(at.session, findings={"T001": 2})
    assert {t.trial: t.findings for row in openly.cells for cell in row for t in cell.trials} == {"T001": 2, "T002": 0}
    set_blind(at.session, True, draw=Random(1))
    order = [trial.id for trial in offered(at.session).trials]
    blind = grid_of(at.session, findings={"T001": 2, "an MVIC": 3})
    assert [cell.findings for (cell,) in blind.cells] == [2 if trial_id == "T001" else 0 for trial_id in order]
    assert blind.findings == 2


@pytest.mark.parametrize(
    "text",
    ["squat", "P01", "T002", "invented 0.txt", "R0002", "of P02's squat in recordings/R0001.h5 (T001)"],
)
def test_no_text_gives_a_trial_away(at: Open, text: str) -> None:
    sentence = f"Something about {text}, rep 3."
    assert covered(at.session, sentence) == sentence, "openly it is as it is"
    set_blind(at.session, True)
    said = covered(at.session, sentence)
    assert said.startswith("Something about ")
    assert said.endswith(", rep 3.")
    for telling in ("squat", "P01", "P02", "T001", "T002", "invented", "R0001", "R0002"):
        assert telling not in said


def test_numbers_and_parts_of_words_are_left_alone(at: Open) -> None:
    """A participant called 1, or an exercise that is part of another word, does not spoil every sentence."""
    trial = replace(at.study.trial("T001"), participant="1", exercise="rep")
    at.session.edit("renamed", with_trial(at.study, trial))
    set_blind(at.session, True)
    assert covered(at.session, "Marked 1 trial with 3 repetitions.") == "Marked 1 trial with 3 repetitions."
