"""Which stretch of time is seen, and how zooming and moving change it. No Qt."""

from dataclasses import dataclass

MARGIN = 0.01
"""Room left of the first and right of the last sample when all is seen, as a share of the recording."""


@dataclass(frozen=True, slots=True)
class Span:
    """The times (s) at the left and right edge of the view."""

    begin_s: float
    end_s: float

    @property
    def width_s(self) -> float:
        """How many seconds are seen."""
        return self.end_s - self.begin_s


def whole(duration_s: float) -> Span:
    """The span that shows a whole recording with a little room at its ends."""
    duration = max(duration_s, 1e-6)
    return Span(-MARGIN * duration, (1 + MARGIN) * duration)


def kept_within(span: Span, limits: Span, least_s: float) -> Span:
    """The span moved, and if need be shrunk or widened, so that it lies within limits and shows at least so much."""
    width = max(span.width_s, least_s)
    if width >= limits.width_s:
        return limits
    middle = (span.begin_s + span.end_s) / 2
    begin = span.begin_s if width == span.width_s else middle - width / 2
    begin = min(max(begin, limits.begin_s), limits.end_s - width)
    return Span(begin, begin + width)


def zoomed(span: Span, factor: float, about_s: float, limits: Span, least_s: float) -> Span:
    """The span with its width multiplied by a factor while the time about_s stays where it is on the screen."""
    width = min(max(span.width_s * factor, least_s), limits.width_s)
    share = (about_s - span.begin_s) / span.width_s
    begin = about_s - share * width
    return kept_within(Span(begin, begin + width), limits, min(least_s, width))


def moved(span: Span, by_s: float, limits: Span) -> Span:
    """The span moved by so many seconds, as far as the limits allow."""
    begin = min(max(span.begin_s + by_s, limits.begin_s), limits.end_s - span.width_s)
    return Span(begin, begin + span.width_s)


def showing(span: Span, time_s: float, limits: Span) -> Span:
    """The same span if a time is well inside it, else one of the same width around that time."""
    room = 0.02 * span.width_s
    if span.begin_s + room <= time_s <= span.end_s - room:
        return span
    return moved(span, time_s - (span.begin_s + span.end_s) / 2, limits)


def in_whole_pixels(span: Span, before: Span, pixels: int) -> Span:
    """A span that has been moved, not zoomed, moved by whole pixels instead, so that what is seen keeps its columns.

    pixels is how many of them the view is wide.
    """
    if abs(span.width_s - before.width_s) > 1e-9 * before.width_s or pixels < 1:
        return span
    pixel_s = before.width_s / pixels
    begin = before.begin_s + round((span.begin_s - before.begin_s) / pixel_s) * pixel_s
    return Span(begin, begin + before.width_s)
