"""What the user made of the lanes' vertical scales in this sitting. It changes what is seen and nothing else. No Qt.

A lane is known by its name and unit, so that a muscle keeps its scale from trial to trial: so many times larger than
fits each trial or, where scales are held, from the same value to the same value in every trial.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from phasemark.window.traces.trial_picture import Lane, LaneKind

Limits = tuple[float, float]
"""Lowest and highest value of a scale."""
Key = tuple[str, str]

STEPS_TWICE = 2
"""So many steps make a lane twice as large."""
_SMALLEST, _LARGEST = -10, 16  # steps: a thirty-second and 256 times of what fits


def key_of(lane: Lane) -> Key:
    """What a lane is known by from trial to trial."""
    return lane.label, lane.unit


def _narrowed(lane: Lane, limits: Limits, factor: float) -> Limits:
    """Limits that draw a lane so many times larger: a muscle about zero, a movement about its middle."""
    low, high = limits
    zero = 0.0 if lane.kind is LaneKind.MUSCLE and low <= 0 <= high else (low + high) / 2
    return zero + (low - zero) / factor, zero + (high - zero) / factor


@dataclass(frozen=True, slots=True)
class LaneScales:
    """steps: how much larger (above 0) or smaller than fitted each lane is; held: the limits of those that are held."""

    steps: Mapping[Key, int] = field(default_factory=dict)
    held: Mapping[Key, Limits] | None = None

    def limits(self, lane: Lane, fitted: Limits) -> Limits:
        """The scale of a lane whose values, left to themselves, take the fitted one.

        Limits are not held where numbers are covered: a muscle's size in one trial beside another is a number too.
        """
        base = fitted if self.held is None or lane.covered else self.held.get(key_of(lane), fitted)
        return _narrowed(lane, base, 2 ** (self.steps.get(key_of(lane), 0) / STEPS_TWICE))

    def scaled(self, lanes: Iterable[Lane], steps: int) -> "LaneScales":
        """The same with these lanes larger by so many steps, smaller where steps is below 0."""
        keys = {key_of(lane) for lane in lanes}
        moved = {key: min(max(self.steps.get(key, 0) + steps, _SMALLEST), _LARGEST) for key in keys}
        kept = {key: count for key, count in {**self.steps, **moved}.items() if count}
        return replace(self, steps=kept)

    def fitted(self, lanes: Sequence[Lane], fitted: Sequence[Limits]) -> "LaneScales":
        """The same with these lanes as they fit this trial, and held so where scales are held."""
        fresh = {key_of(lane): limits for lane, limits in zip(lanes, fitted, strict=True)}
        steps = {key: count for key, count in self.steps.items() if key not in fresh}
        return replace(self, steps=steps, held=None if self.held is None else {**self.held, **fresh})

    def hold(self, lanes: Sequence[Lane], fitted: Sequence[Limits]) -> "LaneScales":
        """Hold these lanes at their scales in every trial from now on; those held before stay as they are."""
        fresh = {key_of(lane): limits for lane, limits in zip(lanes, fitted, strict=True)}
        return replace(self, held={**fresh, **(self.held or {})})

    def let_go(self) -> "LaneScales":
        """Let every lane fit its trial again, as many times larger as it was."""
        return replace(self, held=None)

    def word(self, lane: Lane) -> str:
        """What is to be known of a lane's scale ('×2.8', 'held'); empty where it is the fitted one."""
        count = self.steps.get(key_of(lane), 0)
        held = self.held is not None and not lane.covered and key_of(lane) in self.held
        times = f"×{2 ** (count / STEPS_TWICE):.2g}" if count else ""
        return " ".join(filter(None, (times, "held" if held else "")))
