"""A picture set out on a page: lines, areas, circles and words at places in millimetres from the top left."""

from dataclasses import dataclass
from math import cos, pi, sin

from phasemark.results.figures.description import Axis

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points: colour, width and dashes (pt)."""

    points: tuple[Point, ...]
    colour: str
    width_pt: float
    dashes: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Area:
    """A filled polygon, so opaque (0 to 1), with an outline (pt) of its own colour where there is one."""

    points: tuple[Point, ...]
    fill: str
    opacity: float = 1.0
    outline: str = ""
    width_pt: float = 0.0


@dataclass(frozen=True, slots=True)
class Words:
    """One line of text: where its baseline begins, ends or has its middle (anchor), its size and width.

    turned: it runs upward. width_mm is how wide it was taken for; a typeface that is wider is to be drawn narrower.
    """

    x: float
    y: float
    text: str
    size_pt: float
    colour: str
    anchor: str = "start"
    bold: bool = False
    turned: bool = False
    width_mm: float = 0.0

    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom (mm) of the text: capitals 0.72, descenders 0.22 of the size."""
        size = self.size_pt * 25.4 / 72
        back = {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * self.width_mm
        if self.turned:
            return self.x - 0.72 * size, self.y - self.width_mm + back, self.x + 0.22 * size, self.y + back
        return self.x - back, self.y - 0.72 * size, self.x - back + self.width_mm, self.y + 0.22 * size


Shape = Stroke | Area | Words


@dataclass(frozen=True, slots=True)
class Plot:
    """Where a panel lies (mm), and its axes."""

    left: float
    top: float
    width: float
    height: float
    x: Axis
    y: Axis

    def place(self, x: float, y: float) -> Point:
        """The place (mm) of a point in data coordinates."""
        return self.left + self.width * self.x.share(x), self.top + self.height * (1 - self.y.share(y))


@dataclass(frozen=True, slots=True)
class Drawing:
    """A page (mm) with its ground, all that is on it from the back to the front, and where the panels lie."""

    width_mm: float
    height_mm: float
    ground: str
    shapes: tuple[Shape, ...]
    plots: tuple[Plot, ...]
    title: str
    summary: str


def marker_points(kind: str, x: float, y: float, size_mm: float) -> tuple[Point, ...]:
    """The outline of a marker of a size (its width) around a place; shapes of equal size weigh about the same."""
    half = size_mm / 2
    if kind == "square":
        half *= 0.89
        return ((x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half))
    if kind == "triangle":
        half *= 1.1
        return ((x, y - half), (x + half, y + 0.8 * half), (x - half, y + 0.8 * half))
    if kind == "diamond":
        half *= 1.2
        return ((x, y - half), (x + half, y), (x, y + half), (x - half, y))
    return tuple((x + half * cos(2 * pi * k / 24), y + half * sin(2 * pi * k / 24)) for k in range(24))
