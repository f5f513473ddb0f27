"""Text recordings in several dialects and rates, written for the tests: invented squats with known turning points."""

import json
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

REST_S, DOWN_S, UP_S = 1.5, 1.2, 0.9
Values = NDArray[np.float64]


@dataclass(frozen=True)
class Squats:
    """EMG (mV) of two muscles and a height (m) that falls and rises so many times, with rests between."""

    reps: int = 3
    emg_hz: Decimal = Decimal(1000)
    movement_hz: Decimal = Decimal(100)
    seed: int = 0

    @property
    def length_s(self) -> float:
        return REST_S + self.reps * (DOWN_S + UP_S + REST_S)

    def turns(self) -> list[tuple[float, float, float]]:
        """Begin of lowering, turning point, and end of raising (s) of each repetition."""
        begins = [REST_S + n * (DOWN_S + UP_S + REST_S) for n in range(self.reps)]
        return [(b, b + DOWN_S, b + DOWN_S + UP_S) for b in begins]

    def height(self) -> Values:
        times = np.arange(int(self.length_s * float(self.movement_hz))) / float(self.movement_hz)
        height = np.full(len(times), 1.0)
        for begin, turn, end in self.turns():
            down, up = (times >= begin) & (times < turn), (times >= turn) & (times < end)
            height[down] = 0.75 + 0.25 * np.cos(np.pi * (times[down] - begin) / DOWN_S)
            height[up] = 0.75 - 0.25 * np.cos(np.pi * (times[up] - turn) / UP_S)
        return height

    def emg(self) -> Values:
        draw = np.random.default_rng(self.seed)
        count = int(self.length_s * float(self.emg_hz))
        times = np.arange(count) / float(self.emg_hz)
        level = np.full(count, 0.01)
        for begin, turn, end in self.turns():
            level[(times >= begin) & (times < turn)] = 0.1
            level[(times >= turn) & (times < end)] = 0.2
        return draw.normal(0, 1, (2, count)) * level


def _filled(columns: list[list[str]], separator: str) -> list[str]:
    """Rows of columns that end at different rows; where one has ended its cells are empty."""
    longest = max(len(column) for column in columns)
    return [separator.join(c[row] if row < len(c) else "" for c in columns) for row in range(longest)]


def _text(values: Values, digits: int = 6, point: str = ".") -> list[str]:
    return [f"{value:.{digits}f}".replace(".", point) for value in values]


def write(
    path: Path,
    squats: Squats,
    *,
    separator: str = "\t",
    point: str = ".",
    time: bool = False,
    titles: bool = False,
    preamble: tuple[str, ...] = (),
    end: str = "\n",
    encoding: str = "utf-8",
) -> Path:
    """Write two EMG columns and the height, slower columns ending earlier, with a time column in front or none."""
    emg, height = squats.emg(), squats.height()
    columns = [_text(emg[0], point=point), _text(emg[1], point=point), _text(height, point=point)]
    names = ["vastus medialis [mV]", "rectus femoris [mV]", "height [m]"]
    if time:
        step = 1 / Fraction(squats.emg_hz)
        columns.insert(0, [f"{float(n * step):.6f}".replace(".", point) for n in range(emg.shape[1])])
        names.insert(0, "time [s]")
    lines = [*preamble, *([separator.join(names)] if titles else []), *_filled(columns, separator)]
    path.write_bytes((end.join(lines) + end).encode(encoding))
    return path


def mapping(path: Path, squats: Squats, *, time: bool = False, **facts: object) -> Path:
    """Write the mapping of a file written so: the height is at its own rate."""
    first = 2 if time else 1
    plain: dict[str, object] = {
        "version": 1,
        "rate_hz": float(squats.emg_hz),
        "emg": [
            {"column": first, "muscle": "vastus medialis", "side": "left", "unit": "mV"},
            {"column": first + 1, "muscle": "rectus femoris", "side": "left", "unit": "mV"},
        ],
        "movement": {
            "column": first + 2,
            "kind": "bar height",
            "unit": "m",
            "up": "larger",
            "rate_hz": float(squats.movement_hz),
        },
        "time": {"column": 1} if time else None,
    }
    path.write_text(json.dumps(plain | facts), encoding="utf-8")
    return path
