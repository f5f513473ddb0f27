"""What the items that draw the marks share: marks, levels, where lanes lie, what is selected and under the cursor."""

from dataclasses import dataclass, field
from functools import cached_property

from phasemark.model.clock import Rate
from phasemark.model.mark_edits import Address
from phasemark.model.marks import Marks, Phase, third_names
from phasemark.window.palette import Scheme
from phasemark.window.traces.device_pixels import DeviceGrid
from phasemark.window.traces.lane_layout import Band
from phasemark.window.traces.mark_lines import MarkLine, MarkLines, changed_reps, same_reps
from phasemark.window.traces.tick_values import Tick
from phasemark.window.traces.trial_picture import Lane, LaneKind, LanePlace, Levels, PlacedStretch

FEWEST_PX_FOR_THIRDS = 28.0
"""A phase narrower than this (logical px) is drawn without its third lines."""
FEWEST_PX_FOR_LINES = 8.0
"""A rep narrower than this (logical px) is drawn as tints alone."""


@dataclass(frozen=True)
class MarksDrawing:
    """One frozen value that both mark items paint; sizes in logical pixels, header is where the lanes begin."""

    lines: MarkLines
    clock: Rate
    levels: Levels
    lanes: tuple[Lane, ...]
    bands: tuple[Band, ...]
    header: float
    width: float
    height: float
    scheme: Scheme
    selected: Address | None = None
    hovered: Address | None = None
    time_ticks: tuple[Tick, ...] = field(default=())
    places: tuple[LanePlace, ...] = ()
    stretches: tuple[PlacedStretch, ...] = ()

    @property
    def marks(self) -> Marks:
        """The marks that are drawn."""
        return self.lines.marks

    @cached_property
    def numbers(self) -> dict[int, int]:
        """Rep numbers by rep id."""
        return self.marks.numbers()

    @property
    def movement_band(self) -> Band | None:
        """Where the trace lies that the levels belong to."""
        return next(
            (band for lane, band in zip(self.lanes, self.bands, strict=True) if lane.kind is LaneKind.MOVEMENT), None
        )

    @cached_property
    def grid_levels(self) -> tuple[float, ...]:
        """Heights of faint lines: each lane's zero, and between lanes."""
        zeros = [band.y(0) for band in self.bands if band.low < 0 < band.high]
        pairs = zip(self.bands, self.bands[1:], strict=False)
        return (*zeros, *((one.bottom + other.top) / 2 for one, other in pairs))

    @cached_property
    def _period_s(self) -> float:
        return float(1 / self.clock)

    def time(self, sample: int) -> float:
        """Where a boundary is drawn (s); quick, and exact enough for a pixel."""
        return sample * self._period_s

    def x(self, grid: DeviceGrid, sample: int) -> float:
        """Device pixel of a boundary."""
        return grid.x(self.time(sample))

    def samples_exposed(self, grid: DeviceGrid, room: float) -> tuple[float, float]:
        """The stretch of the clock that is exposed, so many logical pixels wider on either side; for drawing."""
        rate, room = float(self.clock), room * grid.scale
        return grid.time_at(grid.first - room) * rate, grid.time_at(grid.last + room) * rate

    def thirds(self, phase: Phase) -> tuple[tuple[str, int, int], ...]:
        """Name, begin and end of each third of a phase; one nameless stretch where it is not cut."""
        if phase.lines is None:
            return (("", phase.begin.sample, phase.end.sample),)
        edges = [boundary.sample for _, boundary in phase.boundaries()]
        return tuple(zip(third_names(phase, self.marks.thirds_rule), edges[:-1], edges[1:], strict=True))

    def seen(self, line: MarkLine, px_per_s: float) -> bool:
        """Whether a boundary is drawn, and can be taken hold of, at so many logical pixels a second.

        Left out are third lines where their phase, and all lines where their rep, is too narrow for them to be told
        apart.
        """
        if line.address == self.selected:
            return True
        if line.is_third:
            return self.time(line.phase_samples) * px_per_s >= FEWEST_PX_FOR_THIRDS
        return self.time(line.rep_samples) * px_per_s >= FEWEST_PX_FOR_LINES

    def line(self, address: Address | None) -> MarkLine | None:
        """The boundary at an address, None where there is none."""
        return self.lines.line(address)


def changed_stretches(before: MarksDrawing, after: MarksDrawing) -> list[tuple[float, float]] | None:
    """The stretches of time (s) where two drawings on the same screen differ; None where they may differ anywhere."""
    if not same_reps(before.marks, after.marks):
        return None
    reps = set(changed_reps(before.marks, after.marks))
    turned = {rep_id for rep_id in before.levels.keys() | after.levels.keys()
              if before.levels.get(rep_id) != after.levels.get(rep_id)}  # fmt: skip
    touched = {address.rep for address in (before.selected, after.selected) if address is not None}
    touched = touched if before.selected != after.selected else set()
    reps |= {rep for drawing in (before, after) for rep in drawing.marks.reps if rep.id in turned | touched}
    stretches = [(after.time(rep.begin), after.time(rep.end)) for rep in reps]
    if before.hovered != after.hovered:
        lines = (before.line(before.hovered), after.line(after.hovered))
        stretches += [(after.time(line.sample),) * 2 for line in lines if line is not None]
    return stretches
