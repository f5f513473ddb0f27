"""The boundaries of a trial moved: all together, and each by an amount of its own, thousands of times."""

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from phasemark.model.marks import Marks
from phasemark.results.segments import Segment

Positions = NDArray[np.int64]

TOGETHER = ("all boundaries earlier", "all boundaries later", "all phases longer", "all phases shorter")
"""Moves of all boundaries at once, in the order of the rows after the first (as marked)."""
FIRST_DRAW = 1 + len(TOGETHER)


@dataclass(frozen=True, slots=True, eq=False)
class Boundaries:
    """The boundaries of a trial: each clock sample at which any lies, once, rising.

    A boundary that parts two segments, phases or reps is one and moves for both; so are those of a third that was
    never entered, which stays missing. chains are the places in samples of boundaries that must keep their order:
    all of the marks, or the two ends of each hold. way is -1 where only phases begin, 1 where only phases end, and 0
    at third lines and where one phase ends as another begins. length is that of the recording in clock samples.
    """

    samples: Positions
    chains: tuple[NDArray[np.int64], ...]
    way: NDArray[np.int64]
    length: int


def boundaries_of(marks: Marks, holds: Iterable[Segment] = ()) -> Boundaries:
    """The boundaries of all reps of a trial, or of the stretches of its holds where there are any."""
    stretches = list(dict.fromkeys(hold.pieces[0] for hold in holds))
    if stretches:
        spans = stretches
        own = [list(stretch) for stretch in stretches]
    else:
        phases = [phase for rep in marks.reps for phase in rep.phases]
        spans = [(phase.begin.sample, phase.end.sample) for phase in phases]
        own = [[boundary.sample for phase in phases for _, boundary in phase.boundaries()]]
    samples = np.unique(np.array([edge for chain in own for edge in chain], dtype=np.int64))
    chains = tuple(np.unique(np.searchsorted(samples, chain)) for chain in own if chain)
    begins, ends = ({span[side] for span in spans} for side in (0, 1))
    way = [int(edge in ends) - int(edge in begins) for edge in samples.tolist()]
    return Boundaries(samples, chains, np.array(way, dtype=np.int64), marks.length)


def moved(boundaries: Boundaries, shift: int, draws: int, seed: int, trial: str) -> Positions:
    """Where each boundary lies, shape (FIRST_DRAW + draws, boundaries), in clock samples.

    Row 0 is as marked, then come the moves TOGETHER by shift samples: all earlier; all later; phases begin earlier and
    end later; the other way round (third lines, and where one phase ends as the next begins, stay). The rows from
    FIRST_DRAW on are independent draws: each boundary moved by a whole number of samples of its own, uniform from
    -shift to shift. They depend on the seed and the trial's id alone, whatever other trials there are.

    Order is kept: of boundaries that would pass each other both stop midway, the mean of the latest place of those
    before and the earliest of those after. None leaves the recording, or lies more than shift from where it was marked.
    """
    count = len(boundaries.samples)
    own = int.from_bytes(hashlib.sha256(trial.encode()).digest()[:8])
    drawn = np.random.default_rng([seed, own]).integers(-shift, shift, (draws, count), endpoint=True)
    still, way = np.zeros(count, dtype=np.int64), shift * boundaries.way
    moves = np.vstack([still, still - shift, still + shift, way, -way, drawn])
    places = np.clip(boundaries.samples + moves, 0, boundaries.length)
    for chain in boundaries.chains:
        places[:, chain] = in_order(places[:, chain])
    return places


def in_order(places: Positions) -> Positions:
    """Places, shape (rows, boundaries), that never fall along a row; those in order already stay where they are."""
    latest = np.maximum.accumulate(places, axis=1)
    earliest = np.minimum.accumulate(places[:, ::-1], axis=1)[:, ::-1]
    return (latest + earliest) // 2
