"""What a picture shows, in data coordinates: axes, lines, bands, points, intervals, words. No Qt, no places on paper.

Colours are named by what they are for: the number of a series (which also says its line style and marker), or a tone.
Values that are missing (nan) are left out.
"""

from dataclasses import dataclass
from enum import StrEnum

from phasemark.results.figures.tick_values import Tick


class Tone(StrEnum):
    """A grey of the picture: words and means, secondary words and lines, hairlines."""

    INK = "ink"
    SOFT = "soft"
    HAIR = "hair"


class RuleStyle(StrEnum):
    """How a rule is drawn."""

    SOLID = "solid"
    DASHED = "dashed"
    DOTTED = "dotted"


Paint = int | Tone
Numbers = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Line:
    """A line through points; broken where one is missing. A series has its own line style unless plain."""

    x: Numbers
    y: Numbers
    paint: Paint
    width_pt: float = 1.0
    plain: bool = False


@dataclass(frozen=True, slots=True)
class Band:
    """The area between two lines over the same x, as the SD around a mean."""

    x: Numbers
    low: Numbers
    high: Numbers
    paint: Paint


@dataclass(frozen=True, slots=True)
class Points:
    """Markers, each of a size (pt); those of a series have its shape."""

    x: Numbers
    y: Numbers
    paint: Paint
    size_pt: float = 2.5
    filled: bool = True


@dataclass(frozen=True, slots=True)
class Interval:
    """A value at a place with the interval around it, upright or level; its marker is filled or open.

    capped: a confidence interval, with a stroke across each end; else another range, as of draws.
    """

    at: float
    value: float
    low: float
    high: float
    paint: Paint
    level: bool = False
    filled: bool = True
    size_pt: float = 3.5
    capped: bool = True


@dataclass(frozen=True, slots=True)
class Rule:
    """A line across the whole panel at a value of the y axis, or upright at one of the x axis."""

    value: float
    upright: bool = False
    tone: Tone = Tone.SOFT
    style: RuleStyle = RuleStyle.SOLID


Element = Line | Band | Points | Interval | Rule


@dataclass(frozen=True, slots=True)
class Axis:
    """An axis from low to high (high may be the smaller): its ticks, its label, and its unit in brackets after it.

    slots: the ticks are names, each in a slot of its own, and not numbers. strong: names that stand out.
    """

    low: float
    high: float
    ticks: tuple[Tick, ...]
    label: str = ""
    unit: str = ""
    slots: bool = False
    strong: tuple[str, ...] = ()

    def share(self, value: float) -> float:
        """Where a value lies between low (0) and high (1)."""
        return (value - self.low) / (self.high - self.low)


@dataclass(frozen=True, slots=True)
class Panel:
    """One plot with its axes, and what is in it, from the back to the front."""

    x: Axis
    y: Axis
    elements: tuple[Element, ...]


@dataclass(frozen=True, slots=True)
class Row:
    """Panels side by side on one y axis, so high (mm)."""

    panels: tuple[Panel, ...]
    height_mm: float


@dataclass(frozen=True, slots=True)
class Block:
    """Rows of panels that belong together under a title; columns share x axes and have titles and weights of width."""

    title: str
    rows: tuple[Row, ...]
    columns: tuple[str, ...] = ("",)
    weights: Numbers = (1.0,)
    note: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of a legend: a series, and its name."""

    series: int
    name: str
    line: bool = True
    marker: bool = False


@dataclass(frozen=True, slots=True)
class Figure:
    """A whole picture: blocks that flow into as many columns as the width allows, each at least block_mm wide.

    shared: y axes are the same in all blocks, and written only beside the first of a line. title and summary are for
    those who cannot see it; note is written below.
    """

    title: str
    summary: str
    blocks: tuple[Block, ...]
    legend: tuple[Entry, ...] = ()
    note: str = ""
    block_mm: float = 78.0
    shared: bool = False
