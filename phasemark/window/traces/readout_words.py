"""The values under the cursor in words, beside each lane. No Qt."""

from collections.abc import Sequence
from math import ceil, isfinite, log10

from phasemark.session.readout import Readout
from phasemark.window.traces.lane_layout import Band
from phasemark.window.traces.tick_values import number_text
from phasemark.window.traces.trial_picture import Lane, LaneKind

MISSING = "no value"


def _with_unit(number: str, unit: str) -> str:
    return f"{number} {unit}".strip()


def value_text(value: float, decimals: int, unit: str) -> str:
    """A value with its unit ('0.084 mV')."""
    return _with_unit(number_text(value, decimals), unit) if isfinite(value) else MISSING


def decimals_for(lane: Lane, band: Band) -> int:
    """So many decimals that two values a pixel apart on a lane differ in writing.

    One more for a muscle, whose envelope takes a small part of the scale that its recorded signal needs.
    """
    return max(0, ceil(log10(abs(band.px_per_unit))) + (lane.kind is LaneKind.MUSCLE))


def lane_values(lanes: Sequence[Lane], readout: Readout) -> tuple[float, ...]:
    """The value of what is drawn in front on each lane."""
    heights, muscles = iter((readout.position, *readout.others)), iter(readout.values)
    return tuple(next(heights if lane.kind is LaneKind.MOVEMENT else muscles, float("nan")) for lane in lanes)


def lane_texts(lanes: Sequence[Lane], bands: Sequence[Band], readout: Readout) -> tuple[tuple[str, ...], ...]:
    """What is said beside each lane: its value, and the speed of the movement that defines the phases.

    Nothing beside one whose numbers are covered.
    """
    found: list[tuple[str, ...]] = []
    told_speed = False
    for lane, band, value in zip(lanes, bands, lane_values(lanes, readout), strict=True):
        if lane.covered:
            found.append(())
            continue
        decimals = decimals_for(lane, band)
        texts = [value_text(value, decimals, lane.unit)]
        if lane.kind is LaneKind.MOVEMENT and not told_speed:
            texts.append(value_text(readout.speed, max(0, decimals - 1), f"{lane.unit}/s"))
            told_speed = True
        found.append(tuple(texts))
    return tuple(found)


def widest_texts(lane: Lane, band: Band) -> tuple[str, ...]:
    """Texts as wide as any value of a lane, so that room is kept for them."""
    if lane.covered:
        return ()
    decimals = decimals_for(lane, band)
    return tuple(value_text(value, decimals, lane.unit) for value in (band.low, band.high))
