"""Boundaries and reps in order of time, found by bisection. No Qt."""

from bisect import bisect_left, bisect_right
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

from phasemark.model.mark_edits import Address
from phasemark.model.marks import Marks, Origin, Place, Rep


@dataclass(frozen=True, slots=True)
class MarkLine:
    """One boundary as it is drawn: where, which phase it belongs to, and whether a hand has placed it.

    phase_samples and rep_samples are the lengths of its phase and its rep.
    """

    address: Address
    sample: int
    phase: str
    origin: Origin
    complete: bool
    phase_samples: int
    rep_samples: int

    @property
    def is_third(self) -> bool:
        """Whether it parts two thirds, and not a phase from what is beside it."""
        return self.address.place in (Place.FIRST_LINE, Place.SECOND_LINE)


def _lines_of(rep: Rep) -> list[MarkLine]:
    return [
        MarkLine(
            Address(rep.id, index, place), boundary.sample, phase.name, boundary.origin, rep.complete,
            phase.end.sample - phase.begin.sample, rep.end - rep.begin,
        )
        for index, phase in enumerate(rep.phases)
        for place, boundary in phase.boundaries()
    ]  # fmt: skip


@dataclass(frozen=True)
class MarkLines:
    """All boundaries of the marks, in order of time."""

    marks: Marks

    @cached_property
    def lines(self) -> tuple[MarkLine, ...]:
        """The boundaries in order of time; those of one sample in order of their places."""
        return tuple(line for rep in self.marks.reps for line in _lines_of(rep))

    @cached_property
    def _samples(self) -> list[int]:
        return [line.sample for line in self.lines]

    @cached_property
    def _places(self) -> dict[Address, int]:
        return {line.address: place for place, line in enumerate(self.lines)}

    @cached_property
    def _begins(self) -> list[int]:
        return [rep.begin for rep in self.marks.reps]

    @cached_property
    def _ends(self) -> list[int]:
        return [rep.end for rep in self.marks.reps]

    def line(self, address: Address | None) -> MarkLine | None:
        """The boundary at an address, None where there is none."""
        place = None if address is None else self._places.get(address)
        return None if place is None else self.lines[place]

    def between(self, low: float, high: float) -> tuple[MarkLine, ...]:
        """Boundaries with low <= sample <= high."""
        return self.lines[bisect_left(self._samples, low) : bisect_right(self._samples, high)]

    def nearest(
        self, sample: float, reach: float, preferred: Address | None, seen: Callable[[MarkLine], bool]
    ) -> MarkLine | None:
        """The boundary nearest to a place on the clock within reach samples of it, among those that are seen.

        Where several are equally near, the preferred (selected) one is taken, else a phase boundary before a
        third line.
        """
        within = filter(seen, self.between(sample - reach, sample + reach))
        return min(
            within, key=lambda line: (abs(line.sample - sample), line.address != preferred, line.is_third), default=None
        )

    def reps_between(self, low: float, high: float) -> tuple[Rep, ...]:
        """Reps any part of which lies from low to high."""
        return self.marks.reps[bisect_left(self._ends, low) : bisect_right(self._begins, high)]

    def rep_at(self, sample: float) -> Rep | None:
        """The rep that a place on the clock falls in."""
        place = bisect_right(self._begins, sample) - 1
        return self.marks.reps[place] if place >= 0 and sample < self._ends[place] else None

    @cached_property
    def _stops(self) -> list[int]:
        """Places of the boundaries that a keyboard stops at: of two that are one (end meets begin) only the first."""
        return [
            place
            for place, line in enumerate(self.lines)
            if not (
                place > 0
                and line.address.place is Place.BEGIN
                and self.lines[place - 1].address.place is Place.END
                and self.lines[place - 1].sample == line.sample
            )
        ]

    def step(self, address: Address | None, by: int, low: float, high: float) -> MarkLine | None:
        """The next (by = 1) or previous (-1) boundary; None past either end.

        From no boundary the first or last one between low and high is taken, and where there is none there, the
        first after low or the last before high.
        """
        stops = self._stops
        place = None if address is None else self._places.get(address)
        if place is None:
            samples = [self._samples[stop] for stop in stops]
            at = bisect_left(samples, low) if by > 0 else bisect_right(samples, high) - 1
        else:
            at = bisect_right(stops, place) if by > 0 else bisect_left(stops, place) - 1
            if by < 0 and place not in stops:  # the second of a pair: its partner is the same boundary
                at -= 1
        return self.lines[stops[at]] if 0 <= at < len(stops) else None


def changed_reps(before: Marks, after: Marks) -> tuple[Rep, ...]:
    """The reps that differ between two marks, as they were and as they are."""
    old, new = {rep.id: rep for rep in before.reps}, {rep.id: rep for rep in after.reps}
    return tuple(
        rep
        for rep_id in old.keys() | new.keys()
        if old.get(rep_id) is not new.get(rep_id) and old.get(rep_id) != new.get(rep_id)
        for rep in (old.get(rep_id), new.get(rep_id))
        if rep is not None
    )


def same_reps(before: Marks, after: Marks) -> bool:
    """Whether two marks have the same reps by id and completeness, so that numbers and rules of drawing stay."""
    return before.thirds_rule == after.thirds_rule and [(r.id, r.complete) for r in before.reps] == [
        (r.id, r.complete) for r in after.reps
    ]
