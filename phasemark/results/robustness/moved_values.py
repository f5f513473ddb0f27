"""Amplitudes of segments whose boundaries move, for thousands of placings at once.

A segment's sum is that of the segment as marked, and for each of its boundaries the sum over the few samples between
where it was and where it is now. These are summed outward from the boundary, so that what lies further away than the
move, such as an artefact in another part of the repetition, costs no digits; a boundary that stays adds nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import nan

import numpy as np
from numpy.typing import NDArray

from phasemark.model.clock import Rate, first_samples
from phasemark.model.plan import Outcome
from phasemark.model.recording import Treatment
from phasemark.results.further import channel_pieces
from phasemark.results.robustness.boundaries import Boundaries, Positions
from phasemark.results.segments import Segment
from phasemark.signal.amplitude import enough_each, segment_sums
from phasemark.signal.conditioning import Conditioned


@dataclass(frozen=True, slots=True, eq=False)
class Moves:
    """The boundaries of a trial and where they are moved to (moved), shape (rows, boundaries), in clock samples."""

    boundaries: Boundaries
    positions: Positions
    clock: Rate


def moved_amplitudes(
    conditioned: Conditioned, segments: Sequence[Segment], moves: Moves, outcome: Outcome
) -> NDArray[np.float64]:
    """Amplitude (mV) of segments under each row of moves, shape (segments, rows); nan where missing.

    All edges of the segments must be among the boundaries. The same as measuring each segment between the moved
    boundaries (amplitude_of_pieces): under 90 % valid samples, and RMS of a channel that was recorded rectified, are
    missing.
    """
    rows = len(moves.positions)
    if not segments or (outcome is Outcome.RMS and conditioned.treatment is Treatment.RECTIFIED):
        return np.full((len(segments), rows), nan)
    rate, clock = conditioned.rate, moves.clock
    marked = first_samples(moves.boundaries.samples, clock, rate)
    offsets = np.ascontiguousarray(first_samples(moves.positions, clock, rate).T) - marked[:, np.newaxis]
    amount, present = _moved_sums(conditioned, marked, offsets, outcome)
    pieces = np.array([piece for segment in segments for piece in segment.pieces], dtype=np.int64)
    first, last = np.searchsorted(moves.boundaries.samples, pieces).T
    starts = np.cumsum([0, *(len(segment.pieces) for segment in segments[:-1])])
    total, valid, samples = (
        as_marked[:, np.newaxis] + np.add.reduceat(on[last] - on[first], starts)
        for as_marked, on in zip(
            _marked_sums(conditioned, segments, clock, outcome), (amount, present, offsets), strict=True
        )
    )
    mean = np.maximum(total, 0.0) / np.maximum(valid, 1)
    value = np.sqrt(mean) if outcome is Outcome.RMS else mean
    return np.where(enough_each(valid, samples), value, nan)


def _marked_sums(
    conditioned: Conditioned, segments: Sequence[Segment], clock: Rate, outcome: Outcome
) -> NDArray[np.float64]:
    """Sum of x^2 or |x|, valid samples and all samples of each segment as marked, shape (3, segments)."""
    sums = np.zeros((3, len(segments)))
    for place, segment in enumerate(segments):
        for begin, end in channel_pieces(segment, clock, conditioned.rate):
            part = segment_sums(conditioned.sums, begin, end)
            amount = part.squares if outcome is Outcome.RMS else part.absolute
            sums[:, place] += amount, part.valid, part.samples
    return sums


def _moved_sums(
    conditioned: Conditioned, marked: Positions, offsets: Positions, outcome: Outcome
) -> tuple[NDArray[np.float64], NDArray[np.float64] | Positions]:
    """Sum of x^2 or |x|, and valid samples, from each boundary as marked to where it is moved; negative backwards.

    marked, shape (boundaries,), counts the channel's own samples, as do offsets, shape (boundaries, rows).
    """
    back, on = max(0, -int(offsets.min(initial=0))), max(0, int(offsets.max(initial=0)))
    around = marked[:, np.newaxis] + np.arange(-back, on)
    inside = (around >= 0) & (around < len(conditioned.values))
    near = np.full(around.shape, nan)
    near[inside] = conditioned.values[around[inside]]
    present = np.isfinite(near)
    near = np.where(present, near, 0.0)
    near = near * near if outcome is Outcome.RMS else np.abs(near)
    boundaries = np.arange(len(marked))[:, np.newaxis]
    amount = _outward(near, back)[boundaries, offsets + back]
    if present.all():
        return amount, offsets
    return amount, _outward(present.astype(np.float64), back)[boundaries, offsets + back]


def _outward(near: NDArray[np.float64], back: int) -> NDArray[np.float64]:
    """Signed sums from a boundary to each place around it, from samples of shape (boundaries, back + on)."""
    before = -np.cumsum(near[:, :back][:, ::-1], axis=1)[:, ::-1]
    after = np.cumsum(near[:, back:], axis=1)
    return np.hstack([before, np.zeros((len(near), 1)), after])
