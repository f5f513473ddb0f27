"""Where a signal has values and where samples are missing."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from phasemark.signal.gaps import Pieces, infinite_as_missing, missing_pieces, valid_pieces

NAN = np.nan


@pytest.mark.parametrize(
    ("values", "valid", "missing"),
    [
        ([], (), ()),
        ([1.0, 2.0], ((0, 2),), ()),
        ([NAN, NAN], (), ((0, 2),)),
        ([NAN, 1.0, 2.0, NAN, NAN, 3.0], ((1, 3), (5, 6)), ((0, 1), (3, 5))),
        ([1.0, np.inf, 2.0, -np.inf], ((0, 1), (2, 3)), ((1, 2), (3, 4))),
    ],
)
def test_pieces_are_the_runs_of_present_and_of_missing_samples(
    values: list[float], valid: Pieces, missing: Pieces
) -> None:
    x = np.array(values, dtype=float)
    assert valid_pieces(x) == valid
    assert missing_pieces(x) == missing


@given(st.lists(st.booleans(), max_size=40))
def test_valid_and_missing_pieces_part_the_signal_without_overlap(flags: list[bool]) -> None:
    x = np.where(np.array(flags, dtype=bool), 1.0, NAN)
    covered = sorted((*valid_pieces(x), *missing_pieces(x)))
    assert [i for begin, end in covered for i in range(begin, end)] == list(range(len(flags)))
    assert all(np.isfinite(x[begin:end]).all() for begin, end in valid_pieces(x))


def test_infinite_values_become_missing_and_a_clean_signal_is_not_copied() -> None:
    clean = np.array([1.0, NAN])
    assert infinite_as_missing(clean) is clean
    np.testing.assert_array_equal(infinite_as_missing(np.array([np.inf, 1.0, -np.inf])), [NAN, 1.0, NAN])
