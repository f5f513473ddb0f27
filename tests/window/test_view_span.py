"""Which seconds are seen stays within the recording, whatever is asked for."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phasemark.window.traces.view_span import Span, kept_within, moved, showing, whole, zoomed

LIMITS, LEAST = whole(60.0), 0.01
times = st.floats(-100, 200)
widths = st.floats(0.01, 61)


def within(span: Span) -> bool:
    return LIMITS.begin_s - 1e-9 <= span.begin_s < span.end_s <= LIMITS.end_s + 1e-9


@given(times, st.floats(0.001, 500))
def test_any_span_is_brought_within_the_recording(begin: float, width: float) -> None:
    """Neither outside nor shorter than the least nor longer than all."""
    kept = kept_within(Span(begin, begin + width), LIMITS, LEAST)
    assert within(kept)
    assert LEAST - 1e-9 <= kept.width_s <= LIMITS.width_s + 1e-9


@given(st.floats(0, 58), widths, st.floats(0, 1), st.floats(0.01, 100))
def test_zooming_keeps_the_time_under_the_cursor(begin: float, width: float, share: float, factor: float) -> None:
    """Its share of the width is the same after zooming, unless the recording's end is in the way."""
    span = kept_within(Span(begin, begin + width), LIMITS, LEAST)
    about = span.begin_s + share * span.width_s
    after = zoomed(span, factor, about, LIMITS, LEAST)
    assert within(after)
    free = about - share * after.width_s
    if LIMITS.begin_s < free and free + after.width_s < LIMITS.end_s:
        assert (about - after.begin_s) / after.width_s == pytest.approx(share, abs=1e-6)


@given(st.floats(0, 50), st.floats(0.1, 10), st.floats(-100, 100))
def test_moving_keeps_the_width(begin: float, width: float, by: float) -> None:
    """Moved as far as the recording goes, and no narrower."""
    after = moved(Span(begin, begin + width), by, LIMITS)
    assert within(after)
    assert after.width_s == pytest.approx(width)


@given(st.floats(0, 60))
def test_a_time_is_brought_into_view(time: float) -> None:
    """After showing, the time is seen; a time already seen moves nothing."""
    span = Span(10.0, 12.0)
    after = showing(span, time, LIMITS)
    assert after.begin_s <= time <= after.end_s
    if 10.1 < time < 11.9:
        assert after is span
