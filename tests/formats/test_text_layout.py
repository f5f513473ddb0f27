"""Preambles, titles, units, feet and ragged rows of text recordings."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from text_files import arrays, emg_mapping, lines_of, read_columns, save, table

from phasemark.formats import preview_recording, read_recording
from phasemark.formats.mapping import EmgColumn, Mapping, MovementColumn
from phasemark.model.clock import parse_rate
from phasemark.model.errors import BadData

VALUES = table(80, 4)
PREAMBLES = {
    "nothing": [],
    "blank lines": ["", "", "   "],
    "free text": ["A recording of the knee.", "Subject: 12, age 31; 74.5 kg", "", "12 repetitions were asked for"],
    "a rate": ["Rate: 1000"],
    "a rate in cells": ["Rate\t1000\t\t"],
    "numbers alone": ["1000", "4", "2024"],
    "rates of all channels": ["Rate\t1000\t1000\t1000\t1000", "RF\tBF\tVM\tangle"],
    "a line of numbers above text": ["1000\t1000\t1000\t1000", "some words", "RF\tBF\tVM\tangle"],
    "a calibration table": ["Gain\tOffset", "1.5\t0.1", "2.5\t0.2", "", "RF\tBF\tVM\tangle"],
    "other delimiters": ["a;b;c;1;2;3", "1,2,3,4,5", "x | y | 7"],
    "very many lines": [f"note {i}: {i * 3}, {i / 7:.3f}; {i}" for i in range(12_000)],
    "comment marks": ["# made on 3.4.2024", "# RF BF VM angle"],
    "clock and date": ["Date\t2024-03-01", "Start\t10:15:30.250"],
}


@pytest.mark.parametrize("preamble", PREAMBLES.values(), ids=PREAMBLES.keys())
@pytest.mark.parametrize("delimiter", ["\t", ";", " "])
def test_any_preamble(tmp_path: Path, preamble: list[str], delimiter: str) -> None:
    """The first row of numbers is found below whatever stands above it, and none is lost."""
    text = "\n".join([*(line.replace("\t", delimiter) for line in preamble), *lines_of(VALUES, delimiter)])
    np.testing.assert_array_equal(np.transpose(read_columns(save(tmp_path, text), 4)), VALUES)


@pytest.mark.parametrize(
    ("above", "titles", "units"),
    [
        (["RF_mV;BF [mV];Knee angle (deg)"], ["RF_mV", "BF [mV]", "Knee angle (deg)"], ["mV", "mV", "deg"]),
        (["RF;BF;Knee", "mV;µV;°"], ["RF", "BF", "Knee"], ["mV", "uV", "deg"]),
        (["RF;BF;Knee", "[mV];[mV];[deg]", ""], ["RF", "BF", "Knee"], ["mV", "mV", "deg"]),
        (["mV;mV;deg", "RF;BF;Knee"], ["RF", "BF", "Knee"], ["mV", "mV", "deg"]),
        (["RF;BF;"], ["RF", "BF", ""], ["", "", ""]),
        (["Some words", "", "RF;BF;Knee;"], ["RF", "BF", "Knee"], ["", "", ""]),
        (["1;2;3 of 4", "no titles at all, only this"], ["", "", ""], ["", "", ""]),
        (["# RF;BF;Knee"], ["RF", "BF", "Knee"], ["", "", ""]),
        (["Time;10:00;rest", "RF, left;BF;Group V"], ["RF, left", "BF", "Group V"], ["", "", ""]),
    ],
)
def test_titles_and_units(tmp_path: Path, above: Sequence[str], titles: list[str], units: list[str]) -> None:
    """Titles with units in them, or with a row of units under or over them."""
    path = save(tmp_path, "\n".join([*above, *lines_of(VALUES[:, :3], ";")]))
    columns = preview_recording(path).columns
    assert [column.title for column in columns] == titles
    assert [column.unit for column in columns] == units


def test_titles_parted_by_blanks(tmp_path: Path) -> None:
    """In a text with blanks, titles of two words stand two blanks apart."""
    above = ["Left rectus   Biceps femoris   Vastus   Knee angle"]
    path = save(tmp_path, "\n".join([*above, *lines_of(VALUES, "  ")]))
    assert [c.title for c in preview_recording(path).columns] == [
        "Left rectus",
        "Biceps femoris",
        "Vastus",
        "Knee angle",
    ]


def test_row_numbers_without_a_title(tmp_path: Path) -> None:
    """Where the first column only counts rows and has no title, the titles belong to the columns after it."""
    rows = [f"{i},{line}" for i, line in enumerate(lines_of(VALUES[:, :2], ","), 1)]
    path = save(tmp_path, "\n".join(["RF,angle", *rows]))
    recording = read_recording(path, Mapping((EmgColumn("RF", "rectus", unit="mV"),), (), parse_rate(1000)))
    np.testing.assert_array_equal(recording.emg_values[0], VALUES[:, 0])


def test_columns_by_title(tmp_path: Path) -> None:
    """Exactly, or without regard to case and blanks, or without the unit."""
    path = save(tmp_path, "\n".join(["RF_mV\trf_mV\tBiceps  femoris (mV)\tKnee angle [deg]", *lines_of(VALUES)]))
    mapping = Mapping(
        (EmgColumn("rf_mV", "rectus"), EmgColumn("biceps FEMORIS (mv)", "biceps")),
        (MovementColumn("knee angle", "angle", "deg"),),
        parse_rate(1000),
    )
    np.testing.assert_array_equal(np.transpose(arrays(read_recording(path, mapping))), VALUES[:, 1:])


def test_a_title_that_stands_twice_is_asked_for_by_number(tmp_path: Path) -> None:
    path = save(tmp_path, "\n".join(["EMG\tEMG\tEMG\tangle", *lines_of(VALUES)]))
    with pytest.raises(BadData, match=r"title 'EMG' \(emg 1\) stands over columns 1 and 2 and 3; give the number"):
        read_recording(path, Mapping((EmgColumn("EMG", "rectus", unit="mV"),), (), parse_rate(1000)))


def test_missing_columns_are_said_with_those_there_are(tmp_path: Path) -> None:
    """All missing columns in one message, with the titles of what is there."""
    path = save(tmp_path, "\n".join(["RF\tBF\tVM\tangle", *lines_of(VALUES)]))
    mapping = Mapping((EmgColumn(7, "rectus", unit="mV"), EmgColumn("XY", "x", unit="mV")), (), parse_rate(1000))
    with pytest.raises(BadData, match=r"no column 7 \(emg 1\); .*'XY' \(emg 2\); .* 4 columns: 1 \(RF\), 2 \(BF\)"):
        read_recording(path, mapping)


def test_one_column_named_by_title_and_by_number(tmp_path: Path) -> None:
    path = save(tmp_path, "\n".join(["RF\tBF\tVM\tangle", *lines_of(VALUES)]))
    mapping = Mapping((EmgColumn(1, "a", unit="mV"), EmgColumn("RF", "b", unit="mV")), (), parse_rate(1000))
    with pytest.raises(BadData, match=r"column 1 \(RF\) is used more than once"):
        read_recording(path, mapping)


@pytest.mark.parametrize("foot", [["End of file"], ["", "Mean;0.1;0.2;0.3;0.4", "SD;1;1;1;1"], ["-- 80 rows --", "80"]])
def test_text_below_the_numbers_is_said(tmp_path: Path, foot: list[str]) -> None:
    """A foot of text is left out and said."""
    path = save(tmp_path, "\n".join([*lines_of(VALUES, ";"), *foot]) + "\n")
    recording = read_recording(path, emg_mapping(4))
    np.testing.assert_array_equal(np.transpose(arrays(recording)), VALUES)
    assert any(note.startswith("text below the numbers is left out") for note in recording.notes)


def test_columns_that_stop_at_different_rows(tmp_path: Path) -> None:
    """With or without delimiters for what is missing; each trace keeps its own length."""
    values = VALUES.copy()
    values[70:, 0] = np.nan
    values[60:, 3] = np.nan
    values[75:, 2] = np.nan
    lines = lines_of(values)
    for text in ("\n".join(lines), "\n".join(line.rstrip("\t") for line in lines)):
        recording = read_recording(save(tmp_path, text), emg_mapping(4))
        assert [len(v) for v in arrays(recording)] == [70, 80, 75, 60]
        assert "muscle 1: ends at 0.070 s, 0.010 s before the longest trace" in recording.notes


def test_blanks_may_only_get_short_at_the_end(tmp_path: Path) -> None:
    """Blanks do not say which number of a short row is missing, unless columns simply stop."""
    rows = lines_of(VALUES, " ")
    short = rows[:70] + [row.rsplit(" ", 1)[0] for row in rows[70:]]
    assert [len(v) for v in read_columns(save(tmp_path, "\n".join(short)), 4)] == [80, 80, 80, 70]
    rows[30] = rows[30].rsplit(" ", 1)[0]
    with pytest.raises(BadData, match="line 31: fewer numbers"):
        read_columns(save(tmp_path, "\n".join(rows)), 4)


def test_gaps_stay_and_are_said(tmp_path: Path) -> None:
    """Empty cells at the beginning and in the middle are missing samples; at most a few gaps are listed one by one."""
    values = np.repeat(VALUES, 50, axis=0)
    values[:5, 0] = np.nan
    values[3200:3320, 1] = np.nan
    values[10:30:2, 2] = np.nan
    recording = read_recording(save(tmp_path, "\n".join(lines_of(values))), emg_mapping(4))
    np.testing.assert_array_equal(np.transpose(arrays(recording)), values)
    assert "muscle 1: 5 samples missing from 0.000 s" in recording.notes
    assert "muscle 2: 120 samples missing from 3.200 s" in recording.notes
    assert "muscle 3: 6 more samples missing in 6 further gaps" in recording.notes


def test_a_row_of_empty_cells_is_a_missing_sample(tmp_path: Path) -> None:
    """A row of delimiters alone counts as a row; a wholly blank line does not, and is said."""
    rows = lines_of(VALUES)
    rows[20] = "\t\t\t"
    rows.insert(40, "")
    recording = read_recording(save(tmp_path, "\n".join(rows)), emg_mapping(4))
    assert [len(v) for v in arrays(recording)] == [80] * 4
    assert np.flatnonzero(np.isnan(recording.emg_values[1])).tolist() == [20]
    assert "blank lines between the numbers are skipped: 1, the first is line 41" in recording.notes


def test_columns_of_text_that_are_not_mapped_do_no_harm(tmp_path: Path) -> None:
    """A column of labels, event words in a few rows, and a comment behind a row."""
    rows = [f"walk;{line};" for line in lines_of(VALUES[:, :2], ";")]
    rows[30] += "start"
    rows[50] += "a slip"
    path = save(tmp_path, "\n".join(["task;RF;angle;event", *rows]))
    columns = arrays(read_recording(path, emg_mapping(2, first=2)))
    np.testing.assert_array_equal(np.transpose(columns), VALUES[:, :2])


def test_a_mapped_column_of_text_is_refused(tmp_path: Path) -> None:
    rows = [f"walk;{line}" for line in lines_of(VALUES[:, :2], ";")]
    path = save(tmp_path, "\n".join(["task;RF;angle", *rows]))
    with pytest.raises(BadData, match=r"line 2, column 1 \(task\): the column holds text such as 'walk'"):
        read_recording(path, emg_mapping(2))


def test_movement_or_emg_alone(tmp_path: Path) -> None:
    """A mapping of one kind only is allowed."""
    path = save(tmp_path, "\n".join(lines_of(VALUES)))
    movement = Mapping((), (MovementColumn(4, "bar height", "cm", gain=0.5),), parse_rate(100))
    recording = read_recording(path, movement)
    np.testing.assert_array_equal(recording.movement_values[0], VALUES[:, 3] * 0.5)
    assert recording.clock == 100
    assert not read_recording(path, emg_mapping(1)).movement


def test_numbers_over_the_columns_are_no_row(tmp_path: Path) -> None:
    """Columns that are merely counted, as tables without names are exported."""
    for first in ("0\t1\t2\t3", "1\t2\t3\t4"):
        recording = read_recording(save(tmp_path, "\n".join([first, *lines_of(VALUES)])), emg_mapping(4))
        np.testing.assert_array_equal(np.transpose(arrays(recording)), VALUES)
        assert "line 1 counts the columns and is not taken as a row of numbers" in recording.notes


def test_a_first_row_of_whole_numbers_is_a_row(tmp_path: Path) -> None:
    """Among whole numbers 1 2 3 4 is a row like any other."""
    rows = ["1\t2\t3\t4", *("5\t7\t9\t4" for _ in range(30))]
    assert len(read_columns(save(tmp_path, "\n".join(rows)), 4)[0]) == 31


@pytest.mark.parametrize("align", [">10", "<10"])
def test_aligned_columns_that_stop(tmp_path: Path, align: str) -> None:
    """In a text with aligned columns the numbers of a short row lie under their columns."""
    lines = ["".join(f"{value:{align}.4f}" for value in row) for row in VALUES]
    lines[60:] = [" " * 20 + line[20:] for line in lines[60:]]
    lines[70:] = [line[:30].rstrip() for line in lines[70:]]
    columns = read_columns(save(tmp_path, "\n".join(lines)), 4)
    assert [len(column) for column in columns] == [60, 60, 80, 70]
    for column, values in zip(columns, VALUES.T, strict=True):
        np.testing.assert_array_equal(column, values[: len(column)])


def test_short_rows_that_lie_under_no_column_are_refused(tmp_path: Path) -> None:
    lines = ["".join(f"{value:10.4f}" for value in row) for row in VALUES]
    lines[70:] = [" " * 13 + "0.5" for _ in lines[70:]]
    with pytest.raises(BadData, match="line 71: fewer numbers"):
        read_columns(save(tmp_path, "\n".join(lines)), 4)


def test_two_columns_of_whole_numbers_that_begin_with_zero(tmp_path: Path) -> None:
    """A trigger of zeros before raw counts is no decimal comma where two titles stand over them."""
    rows = [f"0,{512 + i}" for i in range(40)]
    assert read_columns(save(tmp_path, "\n".join(["trigger,counts", *rows])), 2)[1][0] == 512
    assert read_columns(save(tmp_path, "\n".join(["counts", *rows])), 1)[0][0] == 0.512


def test_a_unit_that_contradicts_the_title_is_said(tmp_path: Path) -> None:
    path = save(tmp_path, "\n".join(["RF (uV)\tBF\tVM\tangle", *lines_of(VALUES)]))
    notes = read_recording(path, emg_mapping(4)).notes
    assert "muscle 1: taken in mV as the mapping says, although the title says uV" in notes
