"""Which key of the traces means what."""

from dataclasses import dataclass
from fractions import Fraction

from PySide6.QtCore import Qt

from phasemark.model.clock import Rate, nearest_sample

_Key = Qt.Key
_NONE, _SHIFT, _CTRL, _ALT = (
    Qt.KeyboardModifier.NoModifier,
    Qt.KeyboardModifier.ShiftModifier,
    Qt.KeyboardModifier.ControlModifier,
    Qt.KeyboardModifier.AltModifier,
)


@dataclass(frozen=True, slots=True)
class Nudge:
    """Move the selected boundary: one sample (ms is None) or so many milliseconds, later (+1) or earlier (-1)."""

    way: int
    ms: int | None = None

    def samples(self, clock: Rate) -> int:
        """The signed step on a clock (Hz), at least one sample."""
        return self.way * (1 if self.ms is None else max(1, nearest_sample(Fraction(self.ms, 1000), clock)))


@dataclass(frozen=True, slots=True)
class Step:
    """Select the next (+1) or previous (-1) boundary."""

    way: int


@dataclass(frozen=True, slots=True)
class Zoom:
    """See a shorter (+1) or longer (-1) stretch."""

    way: int


@dataclass(frozen=True, slots=True)
class Move:
    """See what comes later (+) or earlier (-), by a share of what is seen."""

    share: float


@dataclass(frozen=True, slots=True)
class FitAll:
    """See the whole recording."""


@dataclass(frozen=True, slots=True)
class PickLane:
    """Take the lane below (+1) or above (-1) in hand; past the first or the last one none."""

    way: int


@dataclass(frozen=True, slots=True)
class Drop:
    """Cancel a drag, or select nothing."""


Wish = Nudge | Step | Zoom | Move | FitAll | PickLane | Drop

_WISHES: dict[tuple[int, Qt.KeyboardModifier], Wish] = {
    (_Key.Key_Left, _NONE): Nudge(-1),
    (_Key.Key_Right, _NONE): Nudge(1),
    (_Key.Key_Left, _SHIFT): Nudge(-1, 10),
    (_Key.Key_Right, _SHIFT): Nudge(1, 10),
    (_Key.Key_Left, _CTRL): Nudge(-1, 100),
    (_Key.Key_Right, _CTRL): Nudge(1, 100),
    (_Key.Key_Up, _NONE): Step(-1),
    (_Key.Key_Down, _NONE): Step(1),
    (_Key.Key_Up, _ALT): PickLane(-1),
    (_Key.Key_Down, _ALT): PickLane(1),
    (_Key.Key_PageUp, _NONE): Move(-0.9),
    (_Key.Key_PageDown, _NONE): Move(0.9),
    (_Key.Key_Home, _NONE): FitAll(),
    (_Key.Key_Escape, _NONE): Drop(),
}
_ZOOM_KEYS = {_Key.Key_Plus: 1, _Key.Key_Equal: 1, _Key.Key_Minus: -1, _Key.Key_Underscore: -1}


def wish_of(key: int, modifiers: Qt.KeyboardModifier, *, has_selection: bool) -> Wish | None:
    """What a key means; without a selected boundary the plain side arrows move the view instead."""
    held = modifiers & ~Qt.KeyboardModifier.KeypadModifier
    if key in _ZOOM_KEYS and not held & ~_SHIFT:
        return Zoom(_ZOOM_KEYS[_Key(key)])
    wish = _WISHES.get((key, held))
    if isinstance(wish, Nudge) and not has_selection:
        return Move(0.1 * wish.way) if wish.ms is None else None
    return wish
