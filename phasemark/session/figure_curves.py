"""A muscle's envelope set against position: the curves of the figure of a rep, thinned to what can be seen."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from phasemark.model.clock import Rate, first_sample
from phasemark.model.marks import Phase, Rep
from phasemark.model.recording import Samples
from phasemark.phases.movement import Movement
from phasemark.signal.pyramid import BIN, Pyramid

MOST_BINS = 148
"""A phase is thinned to the lowest and the highest sample of so many bins: with its boundaries under 300 points."""


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """Envelope of one muscle through one phase, in order of time.

    times (s), positions (in the unit of the figure's axis) and envelope (mV) have shape (points,), NaN where
    missing. edges are the points at the phase's boundaries: part k of the phase (its k-th third, or the whole phase
    where it is not cut) has the points edges[k] to edges[k + 1], both included. samples is the envelope of the phase
    without thinning, at rate (Hz), its first sample at begin_s.
    """

    times: Samples
    positions: Samples
    envelope: Samples
    edges: tuple[int, ...]
    samples: Samples
    rate: Rate
    begin_s: float

    def envelope_at(self, time_s: float) -> float:
        """Envelope (mV) at a time (s), linear between samples; NaN where it is missing."""
        if len(self.samples) == 0:
            return float("nan")
        at = (time_s - self.begin_s) * float(self.rate)
        return float(np.interp(at, np.arange(len(self.samples)), self.samples))

    def time_at(self, position: float) -> float | None:
        """When (s) the phase first is at a position, linear between points; None where it never is."""
        away = self.positions - position
        crossed = np.flatnonzero((away[:-1] * away[1:] <= 0) & (self.positions[:-1] != self.positions[1:]))
        if len(crossed) == 0:
            return None
        at = int(crossed[0])
        share = float(away[at] / (away[at] - away[at + 1]))
        return float(self.times[at] + share * (self.times[at + 1] - self.times[at]))

    @property
    def peak(self) -> float:
        """Highest envelope (mV) of the phase, 0 where there is none."""
        there = self.envelope[np.isfinite(self.envelope)]
        return float(there.max()) if len(there) else 0.0


def positions_at(movement: Movement, samples: Samples) -> Samples:
    """Position (the trace's unit) at places on the recording's clock, any shape: as movement.height_at, for many."""
    last = len(movement.position) - 1
    place = movement.origin + samples * movement.step
    if last < 0:
        return np.full(place.shape, np.nan)
    inside = (place >= -1) & (place <= last + 1)
    place = np.clip(place, 0.0, float(last))
    low = place.astype(np.int64)
    share = place - low
    here, there = movement.position[low], movement.position[np.minimum(low + 1, last)]
    found = here + (there - here) * share
    broken = ~np.isfinite(found)
    if broken.any():
        found = np.where(broken, np.where(share < 0.5, here, there), found)
    return np.where(inside, found, np.nan)


def phase_curves(
    phase: Phase, envelopes: Sequence[Pyramid], rates: Sequence[Rate], clock: Rate, movement: Movement | None
) -> tuple[Curve, ...]:
    """The curve of every channel through a phase; without a movement against the time (s) since the phase began."""
    found: dict[int, Curve] = {}
    for rate in dict.fromkeys(rates):
        channels = [place for place, own in enumerate(rates) if own == rate]
        edges = [first_sample(boundary.sample, clock, rate) for _, boundary in phase.boundaries()]
        traces = [envelopes[channel].values for channel in channels]
        found |= zip(channels, _curves(traces, edges, rate, clock, movement), strict=True)
    return tuple(found[channel] for channel in range(len(rates)))


def _curves(traces: list[Samples], edges: list[int], rate: Rate, clock: Rate, movement: Movement | None) -> list[Curve]:
    begin, end = edges[0], edges[-1]
    block = _block(traces, begin, end + 1)
    kept = _kept(block, [edge - begin for edge in edges])
    times = (kept + begin) * float(1 / rate)
    begin_s = float(Fraction(begin) / rate)
    on_clock = np.multiply(kept + begin, float(clock / rate), dtype=np.float64)
    positions = times - begin_s if movement is None else positions_at(movement, on_clock)
    values = np.take_along_axis(block, kept, axis=1)
    places = [(kept < edge - begin).sum(axis=1) for edge in edges]
    return [
        Curve(times[k], positions[k], values[k], tuple(int(p[k]) for p in places), block[k], rate, begin_s)
        for k in range(len(traces))
    ]


def _block(traces: list[Samples], begin: int, end: int) -> Samples:
    """Samples begin <= i < end of all traces, shape (traces, end - begin), NaN beyond the end of a trace."""
    block = np.full((len(traces), end - begin), np.nan)
    for row, trace in zip(block, traces, strict=True):
        part = trace[max(begin, 0) : max(end, 0)]
        row[max(-begin, 0) : max(-begin, 0) + len(part)] = part
    return block


def _kept(block: Samples, edges: list[int]) -> NDArray[np.int64]:
    """Which samples of each row are drawn, rising: of each bin the lowest and the highest, and those at the edges."""
    rows, count = block.shape
    if count <= 2 * MOST_BINS:
        return np.tile(np.arange(count), (rows, 1))
    size = -(-count // MOST_BINS)
    whole = count // size * size
    starts = np.arange(0, whole, size)
    picked = [np.tile(np.array(edges, dtype=np.int64), (rows, 1))]
    for part, first in (
        (block[:, :whole].reshape(rows, -1, size), starts),
        (block[:, None, whole:], np.array([whole])),
    ):
        if part.shape[2] == 0:
            continue
        low, high = part, part
        if np.isnan(part).any():
            missing = np.isnan(part)
            low, high = np.where(missing, np.inf, part), np.where(missing, -np.inf, part)
        picked += [low.argmin(axis=2) + first, high.argmax(axis=2) + first]
    joined = np.concatenate(picked, axis=1)
    joined.sort(axis=1)
    return joined


def highest_of_reps(reps: Sequence[Rep], envelopes: Sequence[Pyramid], rates: Sequence[Rate], clock: Rate) -> Samples:
    """Highest envelope (mV) of each channel within these reps, for a scale: read from the pyramid's first level.

    Shape (channels,); 0 where there is none. A rep is taken from and to whole bins of 64 samples.
    """
    return np.array([_highest(reps, own, rate, clock) for own, rate in zip(envelopes, rates, strict=True)])


def _highest(reps: Sequence[Rep], envelope: Pyramid, rate: Rate, clock: Rate) -> float:
    bins = envelope.levels[0][1]
    edges: list[int] = []
    for rep in reps:
        first = first_sample(rep.begin, clock, rate) // BIN
        last = min(first_sample(rep.end, clock, rate) // BIN + 1, len(bins))
        if 0 <= first < last:
            edges += (first, last)
    if not edges:
        return 0.0
    highest = np.fmax.reduceat(bins[: edges[-1]], edges[:-1])[::2]
    there = highest[np.isfinite(highest)]
    return float(there.max()) if len(there) else 0.0
