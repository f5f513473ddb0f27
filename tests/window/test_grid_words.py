"""The study's grid in words: cells, counts, totals, and text broken into lines."""

from dataclasses import replace

import pytest
from grids import FLAT, MVIC, mixed, of_state, sets
from PySide6.QtGui import QFont, QFontMetricsF

from phasemark.model.study import Kind
from phasemark.results.study_conditions import Condition
from phasemark.results.study_grid import Cell, Grid, State, Total, TrialProgress
from phasemark.window.grid.grid_words import cell_lines, cell_text, count_text, study_total_text, total_texts
from phasemark.window.wrapped_text import wrapped_lines


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        (sets("a", 3), "3 of 8 repetitions checked"),
        (sets("a", 8), "all 8 repetitions checked"),
        (sets("a", 0, reps=1), "0 of 1 repetition checked"),
        (sets("a", 1, reps=1), "its one repetition checked"),
        (sets("a", 8, 3), "11 of 16 repetitions checked (set 1: 8 of 8; set 2: 3 of 8)"),
        (sets("a", 8, None), "8 of 8 repetitions checked (set 1: 8 of 8; set 2: no marks)"),
        (sets("a", None), "no marks"),
        (sets("a", None, None), "2 trials, no marks"),
        (
            Cell((TrialProgress("a", "", State.OLDER, 3, 8),)),
            "marks older than the settings, 3 of 8 repetitions checked",
        ),
        (
            Cell((*sets("a", 8, 8).trials[:1], TrialProgress("b", "set 2", State.OLDER, 3, 8))),
            "11 of 16 repetitions checked (set 1: 8 of 8; set 2: older marks, 3 of 8)",
        ),
        (of_state("a", State.PROBLEM, "the recording is missing"), "problem: the recording is missing"),
        (of_state("a", State.EXCLUDED, "electrode came off"), "excluded: electrode came off"),
        (of_state("a", State.EXCLUDED), "excluded"),
        (of_state("a", State.RECORDED, count=3), "3 trials, recorded, nothing to mark"),
        (Cell(), "no recording"),
    ],
)
def test_a_cell_is_a_sentence(cell: Cell, words: str) -> None:
    """What a screen reader says of a cell."""
    assert cell_text("P03", FLAT, cell) == f"P03, squat heels flat: {words}"


def with_findings(cell: Cell, *findings: int) -> Cell:
    """The cell with so many findings to decide in each of its trials."""
    return Cell(tuple(replace(t, findings=n) for t, n in zip(cell.trials, findings, strict=True)))


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        (with_findings(sets("a", 3), 2), "3 of 8 repetitions checked, 2 findings to decide"),
        (with_findings(sets("a", 8), 1), "all 8 repetitions checked, 1 finding to decide"),
        (
            with_findings(sets("a", 8, 3), 0, 2),
            "11 of 16 repetitions checked (set 1: 8 of 8; set 2: 3 of 8, 2 findings to decide)",
        ),
        (
            with_findings(of_state("a", State.RECORDED, count=2), 0, 1),
            "effort 1: recorded, nothing to mark; effort 2: recorded, nothing to mark, 1 finding to decide",
        ),
    ],
)
def test_findings_to_decide_are_said_with_the_trial_they_are_in(cell: Cell, words: str) -> None:
    assert cell_text("P03", FLAT, cell) == f"P03, squat heels flat: {words}"
    flagged = [line for line in cell_lines("P03", FLAT, cell).splitlines() if "to decide" in line]
    assert len(flagged) == sum(trial.findings > 0 for trial in cell.trials)


def test_trials_in_different_states_are_said_one_by_one() -> None:
    cell = Cell(
        (*of_state("a", State.RECORDED, count=2).trials[:1], *of_state("b", State.EXCLUDED, "slip", 2).trials[1:])
    )
    assert cell_text("P1", MVIC, cell) == "P1, MVIC: effort 1: recorded, nothing to mark; effort 2: excluded: slip"


def test_a_hint_has_a_line_for_each_set() -> None:
    assert cell_lines("P03", FLAT, sets("a", 8, None)).splitlines() == [
        "P03, squat heels flat",
        "set 1: all 8 repetitions checked",
        "set 2: no marks",
    ]
    assert cell_lines("P03", FLAT, Cell()).splitlines()[1:] == ["no recording"]


def test_what_splits_a_condition_is_said() -> None:
    split = Condition(Kind.TASK, "squat", (("session", "2"), ("load", "60 kg")))
    assert cell_text("P1", split, Cell()) == "P1, squat, session 2, 60 kg: no recording"


def test_counts_stand_where_there_are_reps() -> None:
    assert [count_text(c) for c in (sets("a", 8, 3), sets("a", None), sets("a", 3, None))] == ["11/16", "", "3/8"]


def test_totals_have_a_long_and_a_short_way_of_saying() -> None:
    assert total_texts(Total(14, 24, 0)) == ("14 of 24 checked", "14 of 24", "14/24")
    assert total_texts(Total(0, 0, 36))[0] == "36 recorded"
    assert total_texts(Total(0, 0, 0)) == ("",)
    assert study_total_text(mixed()) == "7 of 12 trials checked"
    assert study_total_text(Grid()) == "No trials"


def test_text_is_broken_at_blanks_and_shortened(qapp: object) -> None:
    """No line is wider than the room, and none is lost in silence."""
    metrics = QFontMetricsF(QFont())
    width = metrics.horizontalAdvance("squat heels") + 1
    assert wrapped_lines("squat heels flat", metrics, width, 3) == ["squat heels", "flat"]
    assert wrapped_lines("", metrics, width, 3) == []
    for text in ("Donaudampfschifffahrt", "one two three four five six seven eight"):
        lines = wrapped_lines(text, metrics, width, 2)
        assert len(lines) <= 2
        assert all(metrics.horizontalAdvance(line) <= width for line in lines)
        assert lines[-1].endswith("…")
