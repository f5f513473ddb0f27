"""How a stretch between two boundaries moved: range of motion, speeds, and where a lift sticks."""

from math import nan

from phasemark.model.clock import seconds
from phasemark.phases.movement import Movement, clock_sample, inside
from phasemark.signal.kinematics import Motion, kinematics, sticking_region


def motion_between(movement: Movement, begin: int, end: int, *, raising: bool = False) -> Motion:
    """The motion between two clock samples; raising looks for a sticking region as well.

    All on the filtered trace. Positions and speeds carry the unit of the trace (degrees, metres, ...).
    """
    first, last = inside(movement, begin, end)
    speed = movement.speed[first:last]
    found = kinematics(movement.height[first:last], speed, movement.sample_s)
    region = sticking_region(speed) if raising else None
    stuck = (
        (nan, nan, nan, nan)
        if region is None
        else (
            _time(movement, first + region.begin),
            _time(movement, first + region.end),
            region.peak_speed,
            region.least_speed,
        )
    )
    peak_at = nan if found.peak_at < 0 else _time(movement, first + found.peak_at)
    return Motion(found.range_of_motion, found.mean_speed, found.peak_speed, peak_at, *stuck)


def _time(movement: Movement, index: int) -> float:
    return seconds(clock_sample(movement, index), movement.clock)
