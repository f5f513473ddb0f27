"""Every reader on files that are no recordings, and on damaged ones: one sentence, or what is whole."""

import json
import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from text_files import arrays, emg_mapping, lines_of, read_columns, save, table

from phasemark.formats import READERS, Reader, preview_recording, read_recording, reader_of
from phasemark.formats.mapping_json import read_mapping
from phasemark.model.errors import BadData, Cancelled, PhasemarkError, Unavailable

VALUES = table(200, 4)
GOOD = ("\r\n".join(["Knee, 1000 Hz", "RF\tBF\tVM\tangle", *lines_of(VALUES)]) + "\r\n").encode()
BAD_FILES = {
    "empty": b"",
    "blank": b"\r\n \r\n\t\t\r\n",
    "a mark alone": b"\xef\xbb\xbf",
    "zeros": bytes(5000),
    "noise": np.random.default_rng(3).bytes(5000),
    "a picture": b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 8,
    "an archive": b"PK\x03\x04" + bytes(range(256)) * 8,
    "prose": b"This is not a recording.\nIt has 2 lines, and 17 words.\n" * 40,
    "a program": b"def f(x):\n    return x + 1\n\nprint(f(1), f(2.5))\n",
    "json": json.dumps({"version": 1, "emg": [{"column": 1}]}, indent=1).encode(),
    "markup": b"<html><body><p>1 2 3</p></body></html>\n",
    "half of a wide text": "0.1\t0.2\t0.3\t0.4\n".encode("utf-16")[:-1],
    "titles alone": b"RF\tBF\tVM\tangle\n",
}


@pytest.mark.parametrize("reader", READERS, ids=lambda reader: reader.name)
@pytest.mark.parametrize("content", BAD_FILES.values(), ids=BAD_FILES.keys())
def test_every_reader_refuses_what_is_no_recording(tmp_path: Path, reader: Reader, content: bytes) -> None:
    """One sentence that names the file, from the reader itself and from the choice of a format."""
    path = save(tmp_path, content, "thing.dat")
    for read in (lambda: reader.read(path, emg_mapping(4), lambda part: None), lambda: read_recording(path)):
        with pytest.raises(BadData) as caught:
            read()
        assert_one_sentence(str(caught.value), "thing.dat")


def assert_one_sentence(message: str, name: str) -> None:
    """It names the file, ends with a full stop, and holds no line break and no trace of a program."""
    assert name in message
    assert message.endswith(".")
    assert "\n" not in message
    assert not re.search(r"Traceback|Error:|0x[0-9a-f]{6}", message)


@pytest.mark.parametrize("reader", READERS, ids=lambda reader: reader.name)
def test_every_reader_on_a_missing_file_and_a_folder(tmp_path: Path, reader: Reader) -> None:
    for path in (tmp_path / "nowhere.txt", tmp_path):
        for read in (reader.sniff, lambda p: reader.read(p, emg_mapping(4), lambda part: None), reader_of):
            with pytest.raises(Unavailable) as caught:
                read(path)
            assert_one_sentence(str(caught.value), path.name)


@pytest.mark.parametrize("reader", READERS, ids=lambda reader: reader.name)
def test_every_reader_on_files_cut_off_anywhere(tmp_path: Path, reader: Reader) -> None:
    """What is whole is read, and never more than that: the values are a beginning of the true ones."""
    for size in [*range(1, 60, 3), *range(1000, len(GOOD), 997)]:
        path = save(tmp_path, GOOD[:size])
        try:
            recording = reader.read(path, emg_mapping(4), lambda part: None)
        except PhasemarkError as problem:
            assert_one_sentence(str(problem), path.name)
            assert size < 1000
            continue
        for column, expected in zip(arrays(recording), VALUES.T, strict=True):
            # A last cell that lost its final digits cannot be told from a whole one.
            np.testing.assert_array_equal(column[:-1], expected[: len(column) - 1])


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.integers(0, len(GOOD) - 1), st.binary(min_size=0, max_size=6)), min_size=1, max_size=5))
@pytest.mark.parametrize("reader", READERS, ids=lambda reader: reader.name)
def test_every_reader_on_damaged_bytes(tmp_path: Path, reader: Reader, damage: list[tuple[int, bytes]]) -> None:
    """Bytes replaced anywhere end in a recording or in one sentence, never in another kind of failure."""
    content = bytearray(GOOD)
    for place, bytes_put in damage:
        content[place : place + 3] = bytes_put
    path = save(tmp_path, bytes(content))
    try:
        reader.read(path, emg_mapping(4), lambda part: None)
        reader.preview(path)
    except PhasemarkError as problem:
        assert_one_sentence(str(problem), path.name)


@pytest.mark.parametrize("row", [0, 1, 5, 100, 198, 199])
@pytest.mark.parametrize("column", [0, 2, 3])
@pytest.mark.parametrize("cell", ["0.0a12", "abc", "1..2", "12:5", "0,5", "0.1\x02"])
def test_text_in_a_number_is_refused_with_line_and_column(tmp_path: Path, row: int, column: int, cell: str) -> None:
    """Wherever it stands, the sentence names file, line, column and the text."""
    cells = [line.split("\t") for line in lines_of(VALUES)]
    cells[row][column] = cell
    path = save(tmp_path, "\n".join(["Knee, 1000 Hz", "", "RF\tBF\tVM\tangle", *map("\t".join, cells)]) + "\n")
    labelled = row in (0, 199) and column == 0 and cell == "abc"  # a row that begins with a word describes columns
    if labelled:
        assert len(read_columns(path, 4)[0]) == 199
        return
    with pytest.raises(BadData, match=rf"trial.txt, line {row + 4}, column {column + 1}: ") as caught:
        read_columns(path, 4)
    assert repr(cell)[1:-1] in str(caught.value)


def test_text_in_a_number_of_a_single_column(tmp_path: Path) -> None:
    rows = [*("0.5" for _ in range(30)), "oops", *("0.5" for _ in range(30))]
    with pytest.raises(BadData, match=r"line 31, column 1: .*'oops'"):
        read_columns(save(tmp_path, "\n".join(rows)), 1)


@pytest.mark.parametrize("between", ["pause", "RF\tBF\tVM\tangle", "=== part 2 ==="])
@pytest.mark.parametrize("row", [4, 100, 150])
def test_text_between_the_rows_is_refused(tmp_path: Path, between: str, row: int) -> None:
    """A second recording in the file, or a remark in its middle."""
    rows = lines_of(VALUES[:160] if row < 10 else VALUES)
    rows = [*rows[:12], *rows[:row], between, *rows[row:]]
    with pytest.raises(BadData, match=rf"line {row + 13}, column 1: text stands between rows"):
        read_columns(save(tmp_path, "\n".join(rows)), 4)


@pytest.mark.parametrize("row", [2, 5, 9])
def test_a_remark_after_the_first_rows_is_refused(tmp_path: Path, row: int) -> None:
    """The first rows of a recording are not taken for a preamble because a remark follows them."""
    rows = [*lines_of(VALUES)[:row], "pause", *lines_of(VALUES)[row:]]
    with pytest.raises(BadData, match=rf"line {row + 1}, column 1: text stands between rows"):
        read_columns(save(tmp_path, "\n".join(rows)), 4)


def test_one_row_is_no_recording(tmp_path: Path) -> None:
    with pytest.raises(BadData, match=r"trial\.txt holds only one row of numbers"):
        read_columns(save(tmp_path, "a\tb\n0.5\t0.7\n"), 2)


def test_rows_that_ran_together_are_refused(tmp_path: Path) -> None:
    rows = lines_of(VALUES)
    for between, problem in (("\t", ": 8 cells where the other rows have 4"), ("", ", column 4: .* is not a number")):
        joined = [*rows[:50], rows[50] + between + "0.1", *rows[51:]] if not between else rows[:50]
        joined += [rows[50] + between + rows[51], *rows[52:]] if between else []
        with pytest.raises(BadData, match=f"line 51{problem}"):
            read_columns(save(tmp_path, "\n".join(joined)), 4)


def test_a_last_line_that_was_cut_off_is_left_out(tmp_path: Path) -> None:
    """A row without its line end and with fewer cells than the row above holds a number that may be cut."""
    text = "\n".join(lines_of(VALUES))
    recording = read_recording(save(tmp_path, text[: text.rindex("\t") - 1]), emg_mapping(4))
    assert [len(v) for v in arrays(recording)] == [199] * 4
    assert "the last line is cut off and left out" in recording.notes


def test_an_empty_column_is_refused(tmp_path: Path) -> None:
    rows = [f"{line}\t" for line in lines_of(VALUES[:, :3])]
    with pytest.raises(BadData, match=r"trial\.txt: angle holds no numbers"):
        read_columns(save(tmp_path, "\n".join(["a\tb\tc\td", *rows])), 4)


def test_a_file_cut_in_a_sector_of_zeros(tmp_path: Path) -> None:
    """Zeros at the end, as a power cut leaves them, are text below the numbers and said."""
    recording = read_recording(save(tmp_path, GOOD + bytes(700)), emg_mapping(4))
    assert len(recording.emg_values[0]) == 200
    assert any("text below the numbers" in note for note in recording.notes)


def test_progress_rises_to_one_and_may_cancel(tmp_path: Path) -> None:
    """It is called between pieces, and what it raises ends the reading."""
    path = save(tmp_path, "\n".join(lines_of(table(40_000, 4))))
    parts: list[float] = []
    read_recording(path, emg_mapping(4), parts.append)
    assert len(parts) >= 3
    assert parts == sorted(parts)
    assert parts[-1] == 1.0

    def cancel(part: float) -> None:
        raise Cancelled("Stopped.")

    with pytest.raises(Cancelled):
        read_recording(path, emg_mapping(4), cancel)


def test_the_preview_of_a_recording_without_titles(tmp_path: Path) -> None:
    """First rows as written, columns by number, and what is asked for."""
    preview = preview_recording(save(tmp_path, "Some words\n\n" + "\n".join(lines_of(VALUES, ";", ","))))
    assert preview.first_line == 3
    assert (preview.delimiter, preview.decimal) == (";", ",")
    assert preview.preamble == ("Some words", "")
    assert len(preview.rows[0]) == 4
    assert preview.proposed is None
    assert "--columns" in preview.question


@pytest.mark.parametrize("word", ["1e300", "-9.9E+37", "3.4e38"])
def test_values_too_large_for_any_measurement_are_missing_and_said(tmp_path: Path, word: str) -> None:
    """Written where nothing was measured; one of them would make every mean of the trial meaningless."""
    rows = lines_of(VALUES)
    rows[50] = word + rows[50][rows[50].index("\t") :]
    recording = read_recording(save(tmp_path, "\n".join(["a\tb\tc\td", *rows])), emg_mapping(4))
    assert np.flatnonzero(np.isnan(recording.emg_values[0])).tolist() == [50]
    assert not any(np.isnan(values).any() for values in arrays(recording)[1:])
    assert f"muscle 1: the value {float(word):g} is taken as missing" in recording.notes


def test_a_column_of_values_too_large_holds_no_numbers(tmp_path: Path) -> None:
    rows = [f"1e300\t{i}" for i in range(100)]
    with pytest.raises(BadData, match=r"trial\.txt: muscle 1 holds no numbers"):
        read_recording(save(tmp_path, "\n".join(rows)), emg_mapping(2))


def test_a_trace_that_never_changes_is_said(tmp_path: Path) -> None:
    """An electrode or a sensor that was not connected, with gaps or without; a trace that changes once is not."""
    rows = [f"0.5\t{'' if i == 7 else 0}\t{int(i == 9)}\t{i}" for i in range(100)]
    notes = read_recording(save(tmp_path, "\n".join(["a\tb\tc\td", *rows])), emg_mapping(4)).notes
    constant = [note for note in notes if "all its values" in note]
    assert constant == [
        "muscle 1: all its values are 0.5; check that it was connected",
        "muscle 2: all its values are 0; check that it was connected",
    ]


@pytest.mark.parametrize("word", ["-1.#IND00", "1.#QNAN0", "1.#INF00", "-1.#ind", "#NV"])
def test_words_for_missing_with_the_zeros_of_printed_decimals(tmp_path: Path, word: str) -> None:
    rows = lines_of(VALUES)
    rows[50] = word + rows[50][rows[50].index("\t") :]
    recording = read_recording(save(tmp_path, "\n".join(["a\tb\tc\td", *rows])), emg_mapping(4))
    assert np.flatnonzero(np.isnan(recording.emg_values[0])).tolist() == [50]


@pytest.mark.parametrize("read", [read_recording, read_mapping])
def test_what_to_do_about_a_folder_and_a_missing_file_is_said(tmp_path: Path, read: Callable[[Path], object]) -> None:
    (tmp_path / "trials").mkdir()
    with pytest.raises(Unavailable, match=r"trials cannot be read: it is a folder; name a file\.$"):
        read(tmp_path / "trials")
    with pytest.raises(Unavailable, match=r"gone\.txt cannot be read: there is no such file; check its name"):
        read(tmp_path / "gone.txt")
