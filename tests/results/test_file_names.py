"""File names made from codes that people typed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phasemark.results.file_names import file_names, safe_name


@pytest.mark.parametrize(
    ("code", "name"),
    [
        ("P01", "P01"),
        ("a b", "a b"),
        ("Müller-3", "Müller-3"),
        ("..\\x", "__x"),
        ("../../etc", "__.._etc"),
        ("C:x", "C_x"),
        ("CON", "CON_"),
        ("con.txt", "con.txt_"),
        ("COM¹", "COM¹_"),
        ("nul ", "nul_"),
        ("P1.", "P1_"),
        (".", "_"),
        ("\n", "_"),
        ("", "_"),
        ("x*?<>|\"'y", "x_______y"),
    ],
)
def test_codes_become_names_that_every_system_takes(code: str, name: str) -> None:
    assert safe_name(code) == name


def test_codes_that_differ_in_case_alone_get_names_apart() -> None:
    """P1 beside p1, and what both would be called, on systems where letter case does not count."""
    names = file_names(["P1", "p1", "p1_2", "a/b", "a\\b", "e\u0301", "\u00e9"])
    assert names == {
        **{"P1": "P1", "p1": "p1_2", "p1_2": "p1_2_2", "a/b": "a_b", "a\\b": "a_b_2"},
        **{"e\u0301": "\u00e9", "\u00e9": "\u00e9_2"},
    }


CODES = st.lists(st.text(st.characters(exclude_categories=["Cs"]), max_size=300), unique=True, max_size=6)


@given(CODES)
def test_names_are_apart_and_fit_any_system(codes: list[str]) -> None:
    names = list(file_names(codes).values())
    assert len({name.casefold() for name in names}) == len(codes)
    for name in names:
        assert name
        assert len(f"segments_{name}.csv.4294967.unfinished".encode()) <= 255
        assert not set(name) & set('/\\:*?"<>|\0\n\t')
        assert name.strip(". ") == name
