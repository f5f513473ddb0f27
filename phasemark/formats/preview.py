"""The first rows of a text recording, its titles, and the mapping these propose."""

import re
from dataclasses import dataclass

from phasemark.formats.columns import columns_text
from phasemark.formats.decoding import DecodedText
from phasemark.formats.dialect import split_cells
from phasemark.formats.layout import Layout
from phasemark.formats.mapping import EmgColumn, Mapping, MovementColumn, TimeColumn
from phasemark.formats.titles import Heading
from phasemark.model.recording import Side
from phasemark.model.units import COUNTS, EMG_UNITS

_ROWS = 20
_TIME_NAMES = frozenset({"time", "times", "t", "timestamp", "time stamp", "elapsed time"})
_KINDS = {"deg": "joint angle", "rad": "joint angle", "m": "position", "cm": "position", "mm": "position"}
# Volts are also what triggers, goniometers and force plates are recorded in: such columns are not proposed as EMG.
_NOT_EMG = re.compile(
    r"trig|sync|event|mark|switch|force|torque|load|gonio|angle|angular|accel|\bacc|gyro|ecg|ekg|resp|digital|analog",
    re.IGNORECASE,
)
_SIDE = re.compile(r"(?:^|[\s_(.-]+)(left|right)(?:[\s_).:-]+|$)", re.IGNORECASE)
_EXAMPLE = (
    '{"version": 1, "rate_hz": 1000, "emg": [{"column": 1, "muscle": "rectus femoris", "side": "left", '
    '"unit": "mV"}], "movement": [{"column": 5, "kind": "joint angle", "unit": "deg", "up": "larger"}], "time": null}'
)


@dataclass(frozen=True, slots=True)
class Preview:
    """What a text recording looks like: its columns with their titles, its first rows as written, what is above.

    proposed is the mapping that titles and units allow, None where they allow none; question says in one
    sentence what they leave open, and is empty where the proposal is complete.
    """

    name: str
    columns: tuple[Heading, ...]
    rows: tuple[tuple[str, ...], ...]
    first_line: int
    preamble: tuple[str, ...]
    delimiter: str
    decimal: str
    encoding: str
    proposed: Mapping | None = None
    question: str = ""


def make_preview(source: DecodedText, layout: Layout) -> Preview:
    """The preview of a text recording, with the mapping its titles propose."""
    dialect = layout.shape.dialect
    lines = source.text[layout.start : layout.start + (1 << 16)].split("\n", _ROWS)[:_ROWS]
    rows = tuple(tuple(cell.strip() for cell in split_cells(line, dialect.delimiter)) for line in lines)
    mapping, question = propose_mapping(layout.headings, source.name)
    return Preview(
        source.name, layout.headings, rows, layout.first_line, layout.preamble,
        dialect.delimiter, dialect.decimal, source.encoding, mapping, question,
    )  # fmt: skip


def _is_time(heading: Heading) -> bool:
    return heading.name.casefold().replace("_", " ") in _TIME_NAMES and heading.unit in ("s", "ms", "")


def _muscle(heading: Heading) -> tuple[str, Side]:
    """The title without its unit; the words left and right in it are the side."""
    sides = _SIDE.findall(heading.name)
    rest = _SIDE.sub(" ", heading.name).strip(" _-.:")
    if len(sides) == 1 and rest:
        return rest, Side(sides[0].lower())
    return heading.name, Side.NONE


def _emg(heading: Heading) -> EmgColumn:
    muscle, side = _muscle(heading)
    return EmgColumn(heading.number, muscle, side, heading.unit)


def propose_mapping(headings: tuple[Heading, ...], name: str) -> tuple[Mapping | None, str]:
    """The mapping that titles and units allow, and one sentence on what they leave open ('' if nothing).

    It is complete only if each column has a title with a unit that tells what it is, and one of them is time.
    """
    times = [heading for heading in headings if _is_time(heading)]
    rest = [heading for heading in headings if not _is_time(heading)]
    emg = [h for h in rest if h.unit in EMG_UNITS and h.unit != COUNTS and h.name and not _NOT_EMG.search(h.name)]
    movement = [h for h in rest if h.unit in _KINDS and h.name]
    unclear = [h for h in rest if h not in emg and h not in movement]
    mapping = Mapping(
        emg=tuple(_emg(heading) for heading in emg),
        movement=tuple(MovementColumn(h.number, h.name, h.unit) for h in movement),
        time=TimeColumn(times[0].number, times[0].unit or None) if times else None,
    )
    labels = [(part.muscle, part.side) for part in mapping.emg]
    open_points = []
    if unclear:
        open_points.append(f"what column {unclear[0].text} holds, and in which unit")
    if len(times) != 1:
        open_points.append("the sampling rate" if not times else "which column is the time")
    elif not times[0].unit:
        open_points.append("the unit of time")
    if len(set(labels)) < len(labels):
        open_points.append("which muscle is which")
    if not (emg or movement):
        return None, _question(name, headings, open_points or ["what its columns hold"])
    return mapping, _question(name, headings, open_points) if open_points else ""


def _question(name: str, headings: tuple[Heading, ...], open_points: list[str]) -> str:
    return (
        f"The titles of {name} do not say {' nor '.join(open_points)} ({columns_text(headings)}); "
        f"give a mapping with --columns, such as {_EXAMPLE}."
    )
