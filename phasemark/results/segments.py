"""Which stretches of a recording are measured: thirds, whole phases and whole reps, in clock samples."""

from collections.abc import Iterator
from dataclasses import dataclass

from phasemark.model.marks import Rep, third_names

WHOLE = "whole"
REP = "rep"
PAUSE = "pause"
HOLD = "hold"
REP_WITH_PAUSE = "rep with pause"
REP_WITHOUT_PAUSE = "rep without pause"


@dataclass(frozen=True, slots=True)
class Segment:
    """One stretch: its phase and third in words, and its pieces (begin, end) in clock samples.

    A whole rep measured without its pause has two pieces, every other segment has one. A third that was
    never entered has an empty piece; its values are missing.
    """

    phase: str
    third: str
    pieces: tuple[tuple[int, int], ...]

    @property
    def begin(self) -> int:
        """First sample of the segment."""
        return self.pieces[0][0]

    @property
    def end(self) -> int:
        """First sample after the segment."""
        return self.pieces[-1][1]


def segments(rep: Rep, thirds_rule: str, *, pause_in_rep: bool) -> Iterator[Segment]:
    """All segments of a rep: of each phase its thirds and the whole, the pause, then the whole rep both ways.

    A whole rep runs from the begin of its first phase to the end of its second, with or without the pause
    between them as pause_in_rep says; the other way follows under a name of its own. Whole phases and reps are
    stretches of their own, never put together from thirds. Phases that meet have no pause.
    """
    for phase in rep.phases:
        if phase.lines is not None:
            edges = [boundary.sample for _, boundary in phase.boundaries()]
            for name, begin, end in zip(third_names(phase, thirds_rule), edges, edges[1:], strict=False):
                yield Segment(phase.name, name, ((begin, end),))
        yield Segment(phase.name, WHOLE, ((phase.begin.sample, phase.end.sample),))
    if len(rep.phases) == 2:
        first, second = rep.phases
        if first.end.sample < second.begin.sample:
            yield Segment(PAUSE, WHOLE, ((first.end.sample, second.begin.sample),))
        together = ((rep.begin, rep.end),)
        apart = ((first.begin.sample, first.end.sample), (second.begin.sample, second.end.sample))
        yield Segment(REP, WHOLE, together if pause_in_rep else apart)
        yield Segment(REP_WITHOUT_PAUSE, WHOLE, apart) if pause_in_rep else Segment(REP_WITH_PAUSE, WHOLE, together)
