"""The rules of CSV text: UTF-8, LF, decimal point, what reads back, and no formula for a spreadsheet."""

import csv
import io
import string

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from phasemark.results.csv_text import cell_text, csv_text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, ""),
        (True, "yes"),
        (False, "no"),
        (3, "3"),
        (-3, "-3"),
        (-0.125, "-0.125"),
        (1e-7, "1e-07"),
        (float("nan"), ""),
        (float("inf"), ""),
        ("plain", "plain"),
        ("", ""),
        ("a = b", "a = b"),
    ],
)
def test_cells_read_as_people_and_programs_expect(value: object, text: str) -> None:
    assert cell_text(value) == text  # type: ignore[arg-type]


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\n", "  =", "\uff1d", "\uff20"])
def test_typed_text_cannot_become_a_formula(start: str) -> None:
    """CWE-1236: an apostrophe stands before what a spreadsheet would run; numbers keep their minus."""
    name = f'{start}HYPERLINK("http://example.org")'
    text = csv_text([name], [{name: name}])
    assert list(csv.reader(io.StringIO(text, newline=""))) == [[f"'{name}"], [f"'{name}"]]


@given(st.lists(st.floats(allow_nan=False, allow_infinity=False), min_size=1))
def test_numbers_come_back_to_the_last_bit(numbers: list[float]) -> None:
    text = csv_text(["x"], [{"x": number} for number in numbers])
    assert [float(row["x"]) for row in csv.DictReader(io.StringIO(text))] == numbers


TYPED = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), max_size=12)


@given(st.lists(TYPED, min_size=1, max_size=5))
def test_any_text_comes_back_with_csv(names: list[str]) -> None:
    """Quotes, commas, line ends, umlauts and signs of any script; only the guarding apostrophe is added."""
    text = csv_text(["n", "name"], [{"n": n, "name": name} for n, name in enumerate(names)])
    assert [row[1] for row in csv.reader(io.StringIO(text, newline=""))][1:] == [cell_text(name) for name in names]


def test_hard_texts_come_back_with_pandas() -> None:
    names = ['he said "hips, please"', "zwei\nZeilen", "Übung; Größe", "a,b", "\u3042", "x\ry", "'quoted'", "1 %"]
    text = csv_text(["n", "name"], [{"n": n, "name": name} for n, name in enumerate(names)])
    read = pd.read_csv(io.BytesIO(text.encode()), keep_default_na=False)
    assert list(read["name"]) == names


def test_rows_end_with_one_line_feed() -> None:
    text = csv_text(["a", "b"], [{"a": 1.5}, {"b": "x"}])
    assert text == "a,b\n1.5,\n,x\n"
    assert all(c in string.printable for c in text)
