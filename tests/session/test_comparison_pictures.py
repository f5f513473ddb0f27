"""A comparison as the page has it: sentences, the table's texts and order, participants down to reps, statistics."""

from dataclasses import replace
from math import inf, nan

import numpy as np
import pytest
from made_comparison import LEVELS, PLACE, compared, compared_cells, picture_of

from phasemark.results.comparison.cells import PERCENT
from phasemark.session.comparison_statistics import statistic_lines
from phasemark.session.comparison_tables import Column, comparison_picture, short_verdict
from phasemark.session.comparison_words import (
    NOTHING,
    against_smallest,
    answer_of,
    interval_words,
    number_words,
    p_equals,
    p_words,
    smallest_of,
)
from phasemark.statistics.values import Interval, no_interval

BLANK = "\N{NO-BREAK SPACE}"
MINUS = "\N{MINUS SIGN}"


@pytest.mark.parametrize(
    ("p", "words"),
    [(0.0, "< .001"), (0.00099, "< .001"), (0.001, ".001"), (0.0496, ".050"), (0.9994, ".999"), (0.9996, "> .999"),
     (1.0, "1"), (nan, NOTHING)],
)  # fmt: skip
def test_p_values_are_never_0_and_1_only_where_they_are(p: float, words: str) -> None:
    assert p_words(p) == words


def test_a_p_value_is_not_broken_over_lines() -> None:
    assert p_equals(0.0001) == f"p{BLANK}<{BLANK}.001"
    assert p_equals(0.02) == f"p{BLANK}={BLANK}.020"


@pytest.mark.parametrize(
    ("value", "unit", "signed", "words"),
    [
        (-1.26, "percentage points", True, f"{MINUS}1.3"),
        (1.26, PERCENT, True, "+1.3"),
        (-0.04, "percentage points", True, "0.0"),
        (0.01234, "mV", False, "0.0123"),
        (-0.02, "mV", True, f"{MINUS}0.0200"),
        (nan, "mV", False, NOTHING),
    ],
)
def test_numbers_have_digits_by_their_unit_and_no_sign_where_zero(
    value: float, unit: str, *, signed: bool, words: str
) -> None:
    assert number_words(value, unit, signed=signed) == words


def test_an_interval_that_is_missing_is_a_dash_and_a_half_line_is_said() -> None:
    assert interval_words(no_interval(0.95), "mV") == NOTHING
    assert interval_words(None, "mV") == NOTHING
    assert interval_words(Interval(-inf, 2.0, 0.95), PERCENT) == f"{NOTHING} to 2.0"


# The answer


def test_the_answer_says_which_has_more_with_the_interval_turned_the_same_way() -> None:
    more_in_b = answer_of(compared_cells([[1, 11], [2, 13], [3, 12], [2, 14]], smallest=5.0)).sentence
    assert "10.5 percentage points higher in slow than in fast" in more_in_b
    assert "4 participants" in more_in_b
    assert f"interval {8.45:.1f} to {12.55:.1f}" in more_in_b  # 10.5 +- t(3) * 1.291 / 2; t of 0.975 at 3 df is 3.182


@pytest.mark.parametrize(
    ("table", "smallest", "said"),
    [
        ([[11, 1], [13, 2], [12, 3], [14, 2]], 5.0, "whole interval lies beyond"),
        ([[1, 11], [2, 13], [3, 12], [2, 14]], 5.0, "whole interval lies beyond"),
        ([[1.0, 1.1], [2.0, 1.9], [3.0, 3.1], [2.0, 2.0]], 5.0, "within the smallest effect that matters"),
        ([[11, 1], [13, 2], [12, 3], [14, 2]], 9.0, "is over the smallest effect that matters"),
        ([[11, 1], [13, 2], [12, 3], [14, 2]], 12.0, "is under the smallest effect that matters"),
    ],
    ids=["beyond", "beyond the other way", "within", "over, not settled", "under, not settled"],
)
def test_the_answer_says_how_the_interval_lies_to_the_smallest_effect(
    table: list[list[float]], smallest: float, said: str
) -> None:
    found = compared_cells(table, smallest=smallest)
    assert said in against_smallest(found, found.cells[0])
    assert said in " ".join(answer_of(found).further)


def test_nothing_is_said_of_a_smallest_effect_that_nobody_named() -> None:
    found = compared_cells([[11, 1], [13, 2], [12, 3]], named=False)
    assert against_smallest(found, found.cells[0]) == ""
    assert np.isnan(smallest_of(found))


def test_not_settled_is_not_called_equal_and_similar_only_where_refuted() -> None:
    open_ = answer_of(compared_cells([[1, 9], [9, 2], [4, 3], [2, 5]], smallest=1.0))
    assert "not settled" in open_.further[0]
    assert "not the same as equal" in open_.further[0]
    alike = answer_of(compared_cells([[1.0, 1.1], [2.0, 1.9], [3.0, 3.1], [2.0, 2.0]], smallest=5.0))
    assert "Verdict: similar" in alike.further[0]


def test_one_participant_has_no_interval_and_no_test_and_none_has_no_answer() -> None:
    assert "(1 participant: no interval and no test)" in answer_of(compared_cells([[3, 1]])).sentence
    nobody = answer_of(compared_cells([[3, nan], [nan, 1]]))
    assert "no participant with values on both levels" in nobody.sentence


def test_without_a_plan_verdicts_are_counted() -> None:
    found = compared_cells([[11, 1], [13, 2], [12, 3], [14, 2]], planned=False)
    assert answer_of(found).sentence == "Exploratory: of 1 comparison of fast with slow, 1 more in fast."


# The table


def test_a_row_has_every_number_as_it_is_read() -> None:
    row = picture_of([[11, 1], [13, 2], [12, 3], [14, 2]], smallest=5.0).rows[0]
    assert row.texts[Column.SIGN] == "●"
    assert row.texts[Column.N] == "4"
    assert row.texts[Column.A] == "12.5 ± 1.3"
    assert row.texts[Column.B] == "2.0 ± 0.8"
    assert row.texts[Column.DIFFERENCE] == "+10.5 (+8.4 to +12.6)"
    assert row.texts[Column.VERDICT] == "more in A"
    assert row.texts[Column.P] == "< .001"


def test_similar_but_detectably_different_says_which_has_more() -> None:
    cell = compared_cells([[1.1, 1.0], [2.12, 2.0], [3.09, 3.0], [2.11, 2.0]], smallest=5.0).cells[0]
    assert short_verdict(cell) == "similar (but A more)"


def test_thirds_are_sorted_by_height_and_what_is_missing_comes_first() -> None:
    table = np.array([[[3, 4, 5], [1, 1, nan]], [[4, 6, 5], [2, 2, nan]]])
    rows = comparison_picture(compared(table, thirds=("upper", "lower", "middle"))).rows
    by_third = sorted(rows, key=lambda row: row.keys[Column.THIRD])
    assert [row.place.third for row in by_third] == ["lower", "middle", "upper"]
    by_size = sorted(rows, key=lambda row: row.keys[Column.DIFFERENCE])
    assert by_size[0].place.third == "middle"
    assert by_size[0].texts[Column.DIFFERENCE] == NOTHING


def test_the_scale_holds_every_interval_zero_and_the_smallest_effect() -> None:
    picture = picture_of([[11, 1], [13, 2], [12, 3], [14, 2]], smallest=5.0)
    interval = picture.rows[0].cell.difference.interval
    assert (picture.scale.low, picture.scale.high, picture.scale.smallest) == (-5.0, interval.high, 5.0)


def test_titles_say_what_a_and_b_are() -> None:
    picture = picture_of([[11, 1], [13, 2]])
    assert LEVELS[0] in picture.titles[Column.A].spoken
    assert LEVELS[1] in picture.titles[Column.B].hint
    assert picture.key.startswith("A: fast.  B: slow.")


# Statistics


def test_further_statistics_are_those_of_the_comparison() -> None:
    held = compared([[[11], [1]], [[13], [2]], [[12], [3]], [[14], [2]]], smallest=5.0)
    lines = {line.name: line for line in statistic_lines(held.report, held.report.comparison.cells[0])}
    assert lines["paired t"].value == f"t(3) = 16.27, p{BLANK}<{BLANK}.001"  # 10.5 / (sqrt(5 / 3) / 2)
    assert lines["Wilcoxon signed rank"].value == f"W+ = 10, p{BLANK}={BLANK}.125"  # all of 4 pairs: 2 / 2^4
    assert lines["sign flips"].note == "all 16 patterns"
    assert lines["participants with more"].value == "4 in A, 0 in B"
    assert lines["d_z"].value.startswith("8.13 (")  # 10.5 / 1.291
    assert "±5.0 percentage points" in lines["two one-sided tests"].note


def test_equivalence_that_was_not_asked_for_says_so() -> None:
    held = compared([[[11], [1]], [[13], [2]]], named=False)
    line = next(x for x in statistic_lines(held.report, held.report.comparison.cells[0]) if x.group == "Equivalence")
    assert (line.value, "no smallest effect" in line.note) == (NOTHING, True)


def test_a_row_without_pairs_has_its_reason() -> None:
    held = compared([[[3], [nan]], [[nan], [1]]])
    lines = statistic_lines(held.report, held.report.comparison.cells[0])
    assert lines[0].value == NOTHING
    assert "nobody has both" in lines[0].note


def test_the_place_of_a_row_is_that_of_its_cell() -> None:
    picture = picture_of([[11, 1], [13, 2]])
    assert picture.rows[0].place == PLACE
    assert replace(picture.rows[0].cell, primary=False).place == PLACE
