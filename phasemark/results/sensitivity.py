"""How much a segment's amplitude hangs on where its boundaries are, and what to say of short segments."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import isfinite, nan

import numpy as np
from numpy.typing import NDArray

from phasemark.model.clock import Rate, first_sample, nearest_sample, seconds
from phasemark.model.marks import Rep
from phasemark.model.settings import EnvelopeKind, EnvelopeSettings, Settings
from phasemark.model.study import Trial
from phasemark.results.segments import Segment, segments
from phasemark.signal.amplitude import Amplitude, amplitude_of_sums
from phasemark.signal.conditioning import Conditioned
from phasemark.signal.sampling_error import SamplingError
from phasemark.signal.stretch_sums import stretch_sums

LEAST_LEFT_S = 0.02
"""A segment that a shift leaves with less (s) has no sensitivity."""
FEW_INDEPENDENT = 10
"""A segment with fewer independent samples is pointed out (common practice, no source)."""

Pieces = tuple[tuple[int, int], ...]


class Undetermined(StrEnum):
    """Why a segment has no sensitivity."""

    NOT = ""
    SHORT = "a shift leaves it under 20 ms"
    OUTSIDE = "a shift leads out of the recording"
    MISSING = "too many samples are missing"


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """The largest change (mV) of a segment's amplitude when one of its boundaries moves; nan where not determined."""

    rep: int
    channel: int
    segment: Segment
    rms: float
    mean_amplitude: float
    why_not: Undetermined = Undetermined.NOT


def sensitivities(
    trial: Trial, rep: Rep, thirds_rule: str, conditioned: Sequence[Conditioned], settings: Settings
) -> tuple[Sensitivity, ...]:
    """Sensitivity of every segment of a rep in every channel, in the order of measure.measure_rep.

    Each boundary of a segment is moved alone, by uncertainty.shift_s earlier and later: the largest change without
    sign, |moved - marked|, of RMS and of mean amplitude (mV). A boundary that parts two segments moves for both; where
    the second phase begins on the end of the first, that is one boundary. Of a whole rep without its pause the inner
    boundaries move as well. Not determined where a shift leaves a piece with under LEAST_LEFT_S, leads out of
    the channel, or meets too many missing samples. (A rule of this program; no published source.)
    """
    found = tuple(segments(rep, thirds_rule, pause_in_rep=settings.pause_in_rep))
    return sensitivities_of(trial, rep.id, found, conditioned, settings)


def sensitivities_of(
    trial: Trial, rep: int, found: Sequence[Segment], conditioned: Sequence[Conditioned], settings: Settings
) -> tuple[Sensitivity, ...]:
    """Sensitivity of segments in every channel, as above; rep is what they say they belong to."""
    shift = max(1, nearest_sample(settings.uncertainty.shift_s, trial.clock))
    least = nearest_sample(LEAST_LEFT_S, trial.clock)
    placings = [_placings(segment.pieces, shift) for segment in found]
    short = [any(end - begin < least for pieces in placed for begin, end in pieces) for placed in placings]
    layouts = {rate: _layout(placings, trial.clock, rate) for rate in {channel.rate for channel in conditioned}}
    changes = [_changes(channel, layouts[channel.rate], short) for channel in conditioned]
    return tuple(
        Sensitivity(rep, channel, segment, *of_channel[place])
        for place, segment in enumerate(found)
        for channel, of_channel in enumerate(changes)
    )


def _placings(pieces: Pieces, shift: int) -> list[Pieces]:
    # The segment as marked, then with each of its boundaries earlier and later.
    edges = sorted({edge for piece in pieces for edge in piece})
    moved = [
        tuple((begin + by * (begin == edge), end + by * (end == edge)) for begin, end in pieces)
        for edge in edges
        for by in (-shift, shift)
    ]
    return [pieces, *moved]


@dataclass(frozen=True, slots=True, eq=False)
class _Layout:
    """All placings of all segments at one rate: the edges of all, in order, and which stretches each consists of.

    members, shape (placings, edges - 1), is 1 where a stretch is part of a placing; samples counts each placing's;
    spans are the first and last edge of each segment's placings, rows the slice of its placings.
    """

    edges: list[int]
    members: NDArray[np.float64]
    samples: list[int]
    spans: list[tuple[int, int]]
    rows: list[slice]


def _layout(placings: list[list[Pieces]], clock: Rate, rate: Rate) -> _Layout:
    every = {edge for placed in placings for pieces in placed for piece in pieces for edge in piece}
    at = {edge: first_sample(edge, clock, rate) for edge in every}
    edges = sorted(set(at.values()))
    index = {edge: place for place, edge in enumerate(edges)}
    members = np.zeros((sum(len(placed) for placed in placings), max(0, len(edges) - 1)))
    rows, spans, row = [], [], 0
    for placed in placings:
        rows.append(slice(row, row + len(placed)))
        ends = [at[edge] for pieces in placed for piece in pieces for edge in piece]
        spans.append((min(ends), max(ends)))
        for pieces in placed:
            for begin, end in pieces:
                members[row, index[at[begin]] : index[at[end]]] = 1.0
            row += 1
    samples = members @ np.diff(edges)
    return _Layout(edges, members, [int(count) for count in samples.tolist()], spans, rows)


Change = tuple[float, float, Undetermined]


def _changes(channel: Conditioned, layout: _Layout, short: list[bool]) -> list[Change]:
    """The largest changes of every segment in one channel."""
    sums = (layout.members @ stretch_sums(channel, layout.edges)).tolist()
    found: list[Change] = []
    for too_short, (begin, end), rows in zip(short, layout.spans, layout.rows, strict=True):
        if too_short:
            found.append((nan, nan, Undetermined.SHORT))
        elif begin < 0 or end > len(channel.values):
            found.append((nan, nan, Undetermined.OUTSIDE))
        else:
            values = [
                amplitude_of_sums(absolute, squares, int(valid), samples, channel.treatment)
                for (valid, absolute, squares), samples in zip(sums[rows], layout.samples[rows], strict=True)
            ]
            found.append(_largest(values[0], values[1:]))
    return found


def _largest(marked: Amplitude, moved: Sequence[Amplitude]) -> Change:
    means = [abs(one.mean_amplitude - marked.mean_amplitude) for one in moved]
    if not all(map(isfinite, means)):
        return nan, nan, Undetermined.MISSING
    # RMS is missing in all where the channel was recorded rectified, else in none.
    return max(abs(one.rms - marked.rms) for one in moved), max(means), Undetermined.NOT


def short_segment_notes(
    segment: Segment, clock: Rate, settings: Settings, error: SamplingError, sensitivity: Sensitivity
) -> tuple[str, ...]:
    """What a reader must know of a short segment's values in one channel, in plain sentences; none for a long one."""
    length_s = sum(seconds(end - begin, clock) for begin, end in segment.pieces)
    notes = []
    if length_s < _envelope_span_s(settings.envelope):
        notes.append(
            f"Shorter than what the envelope averages over ({1000 * _envelope_span_s(settings.envelope):.0f} ms)."
        )
    if error.independent_samples < FEW_INDEPENDENT:
        notes.append(f"Holds only about {error.independent_samples:.0f} independent samples.")
    if sensitivity.why_not is Undetermined.SHORT:
        by_ms = 1000 * settings.uncertainty.shift_s
        notes.append(f"Left with under {1000 * LEAST_LEFT_S:g} ms when a boundary moves by {by_ms:g} ms.")
    return tuple(notes)


def _envelope_span_s(envelope: EnvelopeSettings) -> float:
    # The window of a moving envelope; of a low-passed one, a period of its cut-off.
    return envelope.window_s if envelope.kind is EnvelopeKind.MOVING_RMS else 1 / envelope.lowpass_hz
