"""Checks of a movement trace: jumps, gaps, a rate too low."""

import numpy as np
from numpy.typing import NDArray

from phasemark.model.clock import seconds
from phasemark.model.quality_settings import QualitySettings
from phasemark.model.recording import MovementTrace, Samples
from phasemark.signal.gaps import missing_pieces
from phasemark.signal.quality.finding import Check, Finding
from phasemark.signal.quality.inspected import PERCENT, merged

_AROUND = 5  # steps whose median speed tells what step is usual there: two on either side
_STANDS_OUT = 10.0  # times the mean deviation of a step; Gaussian noise alone reaches 8.7 in a million samples
_MOVING = 0.5  # share of the trace's mean step, from which a stretch counts as moving
_MANY = 1.5  # times the smallest step: smaller ones tell how fine the values are, not how often they come


def movement_findings(values: Samples, trace: MovementTrace, settings: QualitySettings) -> tuple[Finding, ...]:
    """What the checks find in a movement trace of shape (samples,) in its own unit, NaN where missing.

    A trace that never changes has no jumps and no rate of its own; only its gaps are looked at.
    """
    found: list[Finding] = [_gaps(values, trace, settings)]
    places = np.flatnonzero(np.isfinite(values))
    new = _changes(values, places)
    low, high = np.quantile(values[places], (0.01, 0.99)) if len(places) else (0.0, 0.0)
    if high > low and len(new) > _AROUND:
        found += [_jumps(values, trace, new, float(high - low), settings), _rate(values, trace, new, settings)]
    return tuple(found)


def _changes(values: Samples, places: NDArray[np.intp]) -> NDArray[np.intp]:
    """Present samples that hold a new value (the first one included): a repeated value is no new measurement."""
    differs = np.diff(values[places]) != 0
    return places[np.concatenate(([True], differs))] if len(places) else places


def _gaps(values: Samples, trace: MovementTrace, settings: QualitySettings) -> Finding:
    limit = settings.movement_gap_ms
    gaps = [(b, e, 1000 * seconds(e - b, trace.rate)) for b, e in missing_pieces(values)]
    longest = max((ms for *_, ms in gaps), default=0.0)
    places = tuple((b, e) for b, e, ms in gaps if ms > limit)
    if places:
        sentence = (
            f"The {trace.kind} is missing in {len(places)} {'place' if len(places) == 1 else 'places'} "
            f"(longest {longest:.0f} ms): boundaries there cannot be found; set them by hand."
        )
    else:
        sentence = f"The {trace.kind} is never missing for more than {limit:g} ms."
    return Finding(Check.MOVEMENT_GAPS, longest, "ms", limit, bool(places), sentence, places)


def _jumps(
    values: Samples, trace: MovementTrace, new: NDArray[np.intp], span: float, settings: QualitySettings
) -> Finding:
    """Largest step to a new value that is out of line with the speed around it (median of five steps), of the range.

    The range is that from the 1st to the 99th percentile, so that a lone spike does not widen it. A step that is
    no larger than the trace's own noise makes is none, however small the range of a trace at rest.
    """
    from scipy.ndimage import median_filter

    apart = np.diff(new)
    speeds = np.diff(values[new]) / apart
    out_of_line = np.abs(speeds - median_filter(speeds, _AROUND, mode="nearest")) * apart / span * PERCENT
    limit = PERCENT * settings.movement_jump_share
    out_of_line[out_of_line <= _STANDS_OUT * out_of_line.mean()] = 0.0
    figure = float(out_of_line.max())
    jumps = np.flatnonzero(out_of_line > limit)
    places = merged(tuple((int(new[i]), int(new[i + 1]) + 1) for i in jumps))
    if places:
        at_s = seconds(int(new[int(np.argmax(out_of_line))]), trace.rate)
        sentence = (
            f"The {trace.kind} jumps by up to {figure:.0f} % of its range from one value to the next (first at "
            f"{seconds(places[0][0], trace.rate):.2f} s, largest at {at_s:.2f} s), as no movement does: "
            "look at the boundaries there."
        )
    else:
        sentence = f"The {trace.kind} does not jump: no step is out of line by more than {figure:.2g} % of its range."
    return Finding(Check.MOVEMENT_JUMPS, figure, "%", limit, bool(places), sentence, places)


def _rate(values: Samples, trace: MovementTrace, new: NDArray[np.intp], settings: QualitySettings) -> Finding:
    """New values a second (Hz) while the trace moves: the median distance of two of them among the larger steps.

    A slow sensor in a file of a high rate repeats its values; one whose values were drawn out in straight lines
    between its readings cannot be told from a fast one here, and a trace that never moves faster than by its finest
    step is taken at its rate.
    """
    steps = np.abs(np.diff(values[new]))
    moving = steps >= max(_MOVING * float(steps.mean()), _MANY * float(steps.min()))
    apart = float(np.median(np.diff(new)[moving])) if moving.any() else 1.0
    figure, limit = float(trace.rate) / apart, settings.movement_rate_hz
    what = f"The {trace.kind} has {figure:.3g} new values a second while it moves"
    if figure < limit:
        sentence = f"{what}: boundaries cannot be placed better than to {1000 / figure:.0f} ms; record it faster."
    else:
        sentence = f"{what}: enough to place boundaries."
    return Finding(Check.MOVEMENT_RATE, figure, "Hz", limit, figure < limit, sentence)
