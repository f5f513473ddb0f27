"""Sample arithmetic is exact, whatever the rate."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phasemark.model.clock import (
    Alignment,
    clock_length,
    first_sample,
    nearest_sample,
    parse_rate,
    rate_text,
    seconds,
)
from phasemark.model.errors import BadData

rates = st.sampled_from([Fraction(1000), Fraction(2000), Fraction(50), Fraction(111111, 100), Fraction(1000, 3)])


@pytest.mark.parametrize("text", ["1000", "1111.11", "0.05", "2048", "1259.259"])
def test_a_rate_is_kept_as_the_exact_decimal_it_was_written_as(text: str) -> None:
    assert rate_text(parse_rate(text)) == text
    assert parse_rate(float(text)) == Fraction(Decimal(text))


@pytest.mark.parametrize("wrong", [0, -1, "fast", None, float("nan"), float("inf"), "1/0"])
def test_what_is_no_rate_is_refused(wrong: object) -> None:
    with pytest.raises(BadData):
        parse_rate(wrong)


def test_a_rate_without_end_is_written_as_a_fraction() -> None:
    assert parse_rate(rate_text(Fraction(1000, 3))) == Fraction(1000, 3)


@given(numerator=st.integers(-(10**9), 10**9), places=st.integers(0, 9))
def test_any_decimal_reads_back_equal_also_a_negative_shift(numerator: int, places: int) -> None:
    value = Fraction(numerator, 10**places)
    assert Fraction(rate_text(value)) == value


@given(boundary=st.integers(0, 10**7), clock=rates, rate=rates)
def test_segments_of_a_slower_channel_share_no_sample_and_lose_none(
    boundary: int, clock: Fraction, rate: Fraction
) -> None:
    """The first sample at or after a boundary is the one whose time is not before it, and its forerunner is."""
    found = first_sample(boundary, clock, rate)
    assert Fraction(found) / rate >= Fraction(boundary) / clock > Fraction(found - 1) / rate


def test_a_decimal_rate_on_which_floating_point_is_one_sample_off() -> None:
    """ceil(t * rate) in floating point gives another sample than whole-number arithmetic does."""
    clock, rate = Fraction(2000), Fraction(111111, 100)
    exact = [-(-(b * 111111) // (100 * 2000)) for b in range(0, 200_000, 2000)]
    assert [first_sample(b, clock, rate) for b in range(0, 200_000, 2000)] == exact


def test_a_shifted_trace_lies_where_its_alignment_says() -> None:
    late = Alignment(shift_s=Fraction(1, 2), ratio=Fraction(2))
    assert first_sample(1000, Fraction(1000), Fraction(100), late) == 25
    assert clock_length(25, Fraction(100), Fraction(1000), late) == 1000


@given(sample=st.integers(0, 10**8), clock=rates)
def test_seconds_lead_back_to_the_sample(sample: int, clock: Fraction) -> None:
    assert nearest_sample(seconds(sample, clock), clock) == sample
