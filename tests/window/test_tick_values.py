"""Ticks are readable: steps of 1, 2 or 5, no more than there is room for, true to their values."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phasemark.window.traces.tick_values import decimals_of, nice_step, number_text, ticks

MINUS = "\N{MINUS SIGN}"


@given(st.floats(-1e5, 1e5), st.floats(1e-5, 1e5), st.integers(2, 12))
def test_ticks_lie_in_the_range_and_are_not_too_many(low: float, width: float, most: int) -> None:
    """Each within the range; evenly spaced; the text says the value to a thousandth of a step."""
    found = ticks(low, low + width, most)
    assert 1 <= len(found) <= most or width < 1e-9 * abs(low)
    gaps = [b.value - a.value for a, b in pairwise(found)]
    for tick in found:
        assert low - 1e-6 * width <= tick.value <= low + width * (1 + 1e-6)
        if gaps and abs(tick.value) < 1e6 and gaps[0] > 1e-6:
            assert abs(float(tick.text.replace(MINUS, "-")) - tick.value) < 1e-3 * gaps[0]
    assert all(gap == pytest.approx(gaps[0], rel=1e-6, abs=1e-12 * abs(low)) for gap in gaps)


def test_steps_are_one_two_or_five() -> None:
    """Common practice of axes, no source: 1, 2 and 5 times a power of ten."""
    assert [nice_step(x) for x in (0.0011, 0.02, 0.021, 0.3, 1, 1.1, 4, 51)] == pytest.approx(
        [0.002, 0.02, 0.05, 0.5, 1, 2, 5, 100]
    )
    assert [decimals_of(step) for step in (0.001, 0.02, 0.5, 1, 50)] == [3, 2, 1, 0, 0]


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [(-0.05, 2, MINUS + "0.05"), (-1e-12, 2, "0.00"), (0, 0, "0"), (2e-8, 8, "2e" + MINUS + "08"), (1200, 0, "1200")],
)
def test_numbers_are_written_as_people_read_them(value: float, decimals: int, text: str) -> None:
    """A true minus sign, no minus before zero, powers of ten where decimals run out."""
    assert number_text(value, decimals) == text


@pytest.mark.parametrize(("low", "high"), [(1.0, 1.0), (2.0, 1.0), (float("nan"), 1.0), (0.0, float("inf"))])
def test_an_empty_range_has_no_ticks(low: float, high: float) -> None:
    """No axis where there is nothing to measure."""
    assert ticks(low, high, 5) == ()
