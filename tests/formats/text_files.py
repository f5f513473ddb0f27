"""Small recordings written as text, for the tests of this room."""

from pathlib import Path

import numpy as np

from phasemark.formats import read_recording
from phasemark.formats.mapping import EmgColumn, Mapping, MovementColumn, TimeColumn
from phasemark.model.clock import parse_rate
from phasemark.model.recording import Recording, Samples


def emg_mapping(columns: int, rate: object = 1000, *, first: int = 1, time: TimeColumn | None = None) -> Mapping:
    """A mapping of so many EMG columns in mV, the last one a movement trace where there are several."""
    emg = tuple(EmgColumn(first + j, f"muscle {j + 1}", unit="mV") for j in range(max(1, columns - 1)))
    movement = (MovementColumn(first + columns - 1, "angle", "deg"),) if columns > 1 else ()
    return Mapping(emg, movement, None if rate is None else parse_rate(rate), time)


def save(folder: Path, content: str | bytes, name: str = "trial.txt") -> Path:
    """A file with this content."""
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
    return path


def table(rows: int, columns: int, seed: int = 1) -> Samples:
    """Numbers as recordings hold them, with four decimals."""
    return np.round(np.random.default_rng(seed).normal(size=(rows, columns)), 4)


def lines_of(values: Samples, delimiter: str = "\t", decimal: str = ".") -> list[str]:
    """The rows as text, NaN as an empty cell."""
    rows = [["" if np.isnan(v) else repr(float(v)).replace(".", decimal) for v in row] for row in values]
    return [delimiter.join(row) for row in rows]


def arrays(recording: Recording) -> list[Samples]:
    """Values of all channels, then of all traces."""
    return [*recording.emg_values, *recording.movement_values]


def read_columns(path: Path, columns: int, rate: object = 1000) -> list[Samples]:
    """The first columns of a file, all at one rate."""
    return arrays(read_recording(path, emg_mapping(columns, rate)))
