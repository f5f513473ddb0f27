"""Delimiters, decimal marks, encodings and line ends: what was written is read back, bit for bit."""

import codecs
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from text_files import arrays, emg_mapping, lines_of, read_columns, save, table

from phasemark.formats import read_recording
from phasemark.model.errors import BadData

PREAMBLE = ["Recorded on a Tuesday; 3 channels, 1000 Hz", "", "Rate: 1000", "Subject 12, visit 3", ""]
DIALECTS = [(d, m) for d in ("\t", ";", ",", " ", "   ", "|", " \t ", "; ") for m in (".", ",") if (d, m) != (",", ",")]


@pytest.mark.parametrize(("delimiter", "decimal"), DIALECTS)
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r", "\r\r\n"])
@pytest.mark.parametrize("preamble", [[], PREAMBLE])
def test_every_dialect_reads_back_equal(
    tmp_path: Path, delimiter: str, decimal: str, ending: str, preamble: list[str]
) -> None:
    """Tabs, semicolons, commas, blanks and bars, with point or comma, in any line ending, with and without preamble."""
    values = table(60, 3)
    text = ending.join([*preamble, *lines_of(values, delimiter, decimal)]) + ending
    for column, expected in zip(read_columns(save(tmp_path, text), 3), values.T, strict=True):
        np.testing.assert_array_equal(column, expected)


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1", "cp1252", "utf-32"]
)
def test_encodings_and_byte_order_marks(tmp_path: Path, encoding: str) -> None:
    """The micro sign in a title, in whatever encoding, with or without a byte-order mark."""
    values = table(40, 2)
    text = "\r\n".join(["Kniestreckung für µV", "Streckmuskel [µV];Winkel [°]", *lines_of(values, ";", ",")])
    recording = read_recording(save(tmp_path, text.encode(encoding)), emg_mapping(2))
    np.testing.assert_array_equal(np.transpose(arrays(recording)), values)


def test_big_endian_mark(tmp_path: Path) -> None:
    """UTF-16 in big-endian order with its mark."""
    text = codecs.BOM_UTF16_BE + "\n".join(lines_of(table(20, 2))).encode("utf-16-be")
    assert len(read_columns(save(tmp_path, text), 2)[0]) == 20


@pytest.mark.parametrize("delimiter", [";", "\t", ","])
@pytest.mark.parametrize("decimal", [".", ","])
def test_quoted_cells(tmp_path: Path, delimiter: str, decimal: str) -> None:
    """Quotes around every cell, also where a decimal comma stands in a comma-separated file."""
    values = table(30, 3)
    rows = [delimiter.join(f'"{cell}"' for cell in line.split(";")) for line in lines_of(values, ";", decimal)]
    text = "\n".join([delimiter.join(['"RF, left"', '"BF"', '"angle; knee"']), *rows])
    np.testing.assert_array_equal(np.transpose(read_columns(save(tmp_path, text), 3)), values)


def test_one_column_with_decimal_comma(tmp_path: Path) -> None:
    """A single column written 0,0007 is one number a row, not two."""
    text = "\n".join(["RF", "0,0007", "-0,0015", "0,25", "0,1"])
    np.testing.assert_array_equal(read_columns(save(tmp_path, text), 1)[0], [0.0007, -0.0015, 0.25, 0.1])


def test_two_columns_of_whole_numbers(tmp_path: Path) -> None:
    """Whole numbers parted by commas are two columns."""
    text = "\n".join(["RF,BF", *(f"{i * 7 % 40},{i * 5 % 30 + 1}" for i in range(30))])
    first, second = read_columns(save(tmp_path, text), 2)
    assert list(first[:3]) == [0, 7, 14]
    assert list(second[:3]) == [1, 6, 11]


def test_whole_numbers_where_decimals_come_later(tmp_path: Path) -> None:
    """A decimal comma that no sampled line shows is found in the whole text."""
    rows = ["1;2"] * 30_000
    rows[17_001] = "1,5;2"
    column = read_columns(save(tmp_path, "\n".join(rows)), 2)[0]
    assert column[17_001] == 1.5


def test_thousands_separators(tmp_path: Path) -> None:
    """1,234.5 beside 0.5: the group is a thousand, also for a lone 2,000."""
    rows = ["0.5\t1,234.5", "1.5\t2,000", "2.5\t12,345,678.25"] * 10
    second = read_columns(save(tmp_path, "\n".join(rows)), 2)[1]
    assert list(second[:3]) == [1234.5, 2000.0, 12345678.25]


@pytest.mark.parametrize("space", [" ", "\u00a0", "\u202f", "'"])
def test_thousands_set_apart_by_a_blank(tmp_path: Path, space: str) -> None:
    """Blanks and apostrophes between groups of three digits."""
    second = read_columns(save(tmp_path, "\n".join([f"0,5;1{space}234,5"] * 10)), 2)[1]
    assert set(second) == {1234.5}


def test_a_point_in_a_file_of_decimal_commas_is_refused(tmp_path: Path) -> None:
    """1.234 among decimal commas may be a thousand or a slip: it is never guessed."""
    rows = ["0,5;1,5"] * 40
    rows[20] = "0,5;1.234"
    with pytest.raises(BadData, match=r"trial.txt, line 21, column 2: '1.234' is not a number"):
        read_columns(save(tmp_path, "\n".join(rows)), 2)


@pytest.mark.parametrize("word", ["NaN", "nan", "NA", "n/a", "-", "null", "#N/A", "-nan(ind)", "1.#QNAN", "inf", ""])
def test_words_for_missing(tmp_path: Path, word: str) -> None:
    """Words that say nothing was measured are missing samples."""
    rows = ["0.5;1.5"] * 30
    rows[10] = f"{word};1.5"
    recording = read_recording(save(tmp_path, "\n".join(rows)), emg_mapping(2))
    assert np.flatnonzero(np.isnan(recording.emg_values[0])).tolist() == [10]
    assert "muscle 1: 1 sample missing from 0.010 s" in recording.notes


def test_other_spellings_of_numbers(tmp_path: Path) -> None:
    """Exponents with E or D, bare points, plus signs, the true minus sign."""
    text = "\n".join(["1e-3;+2.", "1.5D+02;.5", "−3.5;1E2", "2;3"])
    first, second = read_columns(save(tmp_path, text), 2)
    assert first.tolist() == [0.001, 150.0, -3.5, 2.0]
    assert second.tolist() == [2.0, 0.5, 100.0, 3.0]


@pytest.mark.parametrize("spelling", ["1_000", "0x10", "١٢", "1 2", "12a", "1.2.3", "1,2", "--5"])
def test_what_python_or_numpy_might_take_is_still_no_number(tmp_path: Path, spelling: str) -> None:
    """Underscores, hexadecimals and other digits are text in a number."""
    rows = ["0.5\t1.5"] * 30
    rows[12] = f"0.5\t{spelling}"
    with pytest.raises(BadData, match="line 13, column 2"):
        read_columns(save(tmp_path, "\n".join(rows)), 2)


@pytest.mark.parametrize("delimiter", ["\t", ";", ","])
def test_equal_to_pandas_on_regular_files(tmp_path: Path, delimiter: str) -> None:
    """Against pandas.read_csv with its exact parser, over several pieces of the file."""
    values = np.random.default_rng(5).normal(size=(20_000, 4)) * 10.0 ** np.arange(-8, 8, 4)
    path = save(tmp_path, "\n".join(["a,b,c,d".replace(",", delimiter), *lines_of(values, delimiter)]))
    assert path.stat().st_size > 3 * (1 << 18)
    expected = pd.read_csv(path, sep=delimiter)
    ours = read_columns(path, 4)
    for j, column in enumerate(ours):
        np.testing.assert_array_equal(column, values[:, j])
        np.testing.assert_allclose(column, expected.iloc[:, j], rtol=1e-15)


CELL = st.one_of(
    st.floats(-1e30, 1e30, width=64),  # larger ones are taken as missing
    st.floats(-5, 5).map(lambda value: round(value, 4)),
    st.integers(-2000, 2000).map(float),
)


@st.composite
def written_tables(draw: st.DrawFn) -> tuple[np.ndarray, str]:
    """A random table and its text in a random dialect, with random gaps where cells can be empty."""
    delimiter, decimal = draw(
        st.sampled_from([("\t", "."), ("\t", ","), (";", "."), (";", ","), (",", "."), (" ", ".")])
    )
    columns = draw(st.integers(2, 5))
    rows = draw(st.lists(st.lists(CELL, min_size=columns, max_size=columns), min_size=3, max_size=40))
    values = np.array(rows)
    if delimiter.strip() or delimiter == "\t":
        gaps = draw(st.lists(st.tuples(st.integers(1, len(rows) - 2), st.integers(0, columns - 1)), max_size=8))
        for row, column in gaps:
            values[row, column] = np.nan
        values[np.isnan(values).all(axis=1), 0] = 0.25
    lines = lines_of(values, delimiter, decimal)
    if draw(st.booleans()):
        lines = [line + delimiter for line in lines] if delimiter.strip() else lines
    head = draw(st.lists(st.sampled_from(["Some text", "", "Rate: 1000", "a;b", "Gain 500, offset 3"]), max_size=4))
    titles = [delimiter.join(f"ch{j}" for j in range(columns))] if draw(st.booleans()) else []
    ending = draw(st.sampled_from(["\n", "\r\n", "\r"]))
    return values, ending.join([*head, *titles, *lines]) + ending


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(written_tables())
def test_round_trip_of_random_tables(tmp_path: Path, written: tuple[np.ndarray, str]) -> None:
    """Whatever table is written in whatever dialect comes back equal, gaps and all."""
    values, text = written
    columns = read_columns(save(tmp_path, text), values.shape[1])
    for column, expected in zip(columns, values.T, strict=True):
        np.testing.assert_array_equal(column, expected[: len(column)])
        assert np.isnan(expected[len(column) :]).all()
