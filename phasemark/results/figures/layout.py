"""From the description of a picture and a width to places on paper: measured first, so that nothing is cut off.

Blocks flow into as many columns as the width has room for. Margins are as wide as the words in them; words that do not
fit are wrapped, then elided. The same layout is used by the window and for every kind of file.
"""

from dataclasses import dataclass, replace
from itertools import pairwise

from phasemark.results.figures.description import Axis, Block, Figure, Panel
from phasemark.results.figures.drawing import Drawing, Plot, Shape, Stroke, Words
from phasemark.results.figures.looks import PRINT, Look
from phasemark.results.figures.painted_elements import element_shapes, legend_shapes
from phasemark.results.figures.text_width import MM_PER_PT, elided, text_mm, wrapped

SINGLE_MM, MIDDLE_MM, DOUBLE_MM = 85.0, 115.0, 174.0
"""Widths of a journal's one, one and a half, and two columns (common practice, no source)."""
TICK_PT, LABEL_PT, TITLE_PT = 6.5, 7.0, 7.5
"""Sizes of text; journals ask for 6 to 8 pt at final size (common practice, no source)."""
LINE_PT = 0.5
_MARGIN, _GAP, _BLOCK_GAP, _ROW_GAP, _TICK = 1.0, 3.0, 4.5, 2.5, 0.9
_LEADING = 1.2
_LABEL_GAP = 1.0
_BEYOND = 2.1
"""A number below a panel reaches at most so far (mm) beyond its side."""
_MOST_OF_WIDTH, _LEAST_OF_WIDTH = 0.42, 0.3
"""Names beside a y axis take at most the first share of a block, and may always take the second."""


def _line_mm(size_pt: float) -> float:
    return size_pt * _LEADING * MM_PER_PT


def _baseline(top: float, size_pt: float, line: int = 0) -> float:
    return top + line * _line_mm(size_pt) + 0.95 * size_pt * MM_PER_PT


def words_at(x: float, y: float, text: str, size_pt: float, colour: str, **how: object) -> Words:
    """One line of text with its measured width."""
    plain = " ".join(text.split())
    words = Words(x, y, plain, size_pt, colour, **how)  # type: ignore[arg-type]
    return replace(words, width_mm=text_mm(plain, size_pt, bold=words.bold))


@dataclass(frozen=True, slots=True)
class _Line:
    """Lines of text that the blocks side by side have in all of them; no titles of columns where those above hold."""

    title_lines: int
    column_lines: int
    note_lines: int
    tick_lines: int


@dataclass(frozen=True, slots=True)
class _Columns:
    """Where the blocks of each column begin, their width, and the width of what stands left of their panels."""

    lefts: tuple[float, ...]
    width: float
    margins: tuple[float, ...]


def laid_out(figure: Figure, width_mm: float, look: Look = PRINT) -> Drawing:
    """The picture on a page of this width (mm), as high as it needs to be."""
    inner = width_mm - 2 * _MARGIN
    grid, columns = _grid(figure, inner)
    shapes: list[Shape] = []
    plots: list[Plot] = []
    legend, top = legend_shapes(figure.legend, look, (_MARGIN, _MARGIN), inner)
    shapes += legend
    for number, blocks in enumerate(grid):
        last = number == len(grid) - 1
        above = grid[number - 1] if number else ()
        named = any(block.columns != old.columns for block, old in zip(blocks, above, strict=False)) or not above
        line = _measured(figure, blocks, columns, named=named)
        bottom = top
        for place, block in enumerate(blocks):
            below = not last and place < len(grid[number + 1])
            sheet = _BlockSheet(figure, block, line, columns, place, look, label=not below)
            bottom = max(bottom, sheet.draw(top, shapes, plots))
        top = bottom + (0 if last else _ROW_GAP + 1)
    top = _note(figure, shapes, top, inner, look)
    return Drawing(width_mm, top + _MARGIN, look.ground, tuple(shapes), tuple(plots), figure.title, figure.summary)


def _note(figure: Figure, shapes: list[Shape], top: float, width: float, look: Look) -> float:
    for number, text in enumerate(wrapped(figure.note, TICK_PT, width, 12)):
        shapes.append(words_at(_MARGIN, _baseline(top + 1.2, TICK_PT, number), text, TICK_PT, look.soft))
    lines = len(wrapped(figure.note, TICK_PT, width, 12))
    return top + (1.2 + lines * _line_mm(TICK_PT) if lines else 0)


def _grid(figure: Figure, inner: float) -> tuple[list[tuple[Block, ...]], _Columns]:
    """The blocks line by line, and the columns they stand in."""
    names = _shared_names(figure, inner)
    room = inner - names + _BLOCK_GAP
    count = max(1, min(int(room / (figure.block_mm + _BLOCK_GAP)), len(figure.blocks)))
    lines = -(-len(figure.blocks) // count)
    count = max(1, -(-len(figure.blocks) // max(lines, 1)))  # as many in every line as can be
    grid = [figure.blocks[first : first + count] for first in range(0, len(figure.blocks), count)]
    return grid, _columns(figure, grid, count, inner)


def _shared_names(figure: Figure, inner: float) -> float:
    """Room (mm) of the names of y axes that all blocks share; 0 where each has its own."""
    if not figure.shared or not figure.blocks:
        return 0.0
    beside = inner - 2 * figure.block_mm - _BLOCK_GAP  # so that two blocks stand side by side where that can be
    most = max(beside, _LEAST_OF_WIDTH * inner)
    return min(max(map(_y_room, figure.blocks)), most, _MOST_OF_WIDTH * inner)


def _columns(figure: Figure, grid: list[tuple[Block, ...]], count: int, inner: float) -> _Columns:
    """Columns of equal blocks; where y axes are shared, their names stand left of the first and take of no block."""
    columns = [[blocks[place] for blocks in grid if place < len(blocks)] for place in range(count)]
    width = (inner - (count - 1) * _BLOCK_GAP) / count
    if figure.shared and count > 1:
        names = _shared_names(figure, inner)
        width = (inner - names - (count - 1) * _BLOCK_GAP) / count
        lefts = [_MARGIN if k == 0 else _MARGIN + names + k * (width + _BLOCK_GAP) for k in range(count)]
        return _Columns(tuple(lefts), width, (names, *([0.0] * (count - 1))))
    lefts = [_MARGIN + k * (width + _BLOCK_GAP) for k in range(count)]
    margins = [min(max(map(_y_room, column)), _MOST_OF_WIDTH * width) for column in columns]
    return _Columns(tuple(lefts), width, tuple(margins))


def _y_room(block: Block) -> float:
    """Room (mm) that a block's y axes want: names of ticks, then up to two lines of label."""
    widest, lines = 0.0, 0
    for row in block.rows:
        axis = row.panels[0].y
        names = [text_mm(tick.text, TICK_PT, bold=tick.text in axis.strong) for tick in axis.ticks]
        widest = max([widest, *names])
        lines = max(lines, len(_label_lines(axis, row.height_mm + 2)))
    return widest + _TICK + 0.8 + (lines * _line_mm(LABEL_PT) + _LABEL_GAP if lines else 0)


def _label_lines(axis: Axis, room: float) -> tuple[str, ...]:
    """The label with its unit on one line where there is room, else broken before the unit, else wherever it fits."""
    unit = f"({axis.unit})" if axis.unit else ""
    whole = f"{axis.label} {unit}".strip()
    parts = (axis.label, unit) if unit else ()
    if parts and text_mm(whole, LABEL_PT) > room and all(text_mm(part, LABEL_PT) <= room for part in parts):
        return parts
    return wrapped(whole, LABEL_PT, room, 2)


def _panel_gap(block: Block) -> float:
    """Room (mm) between panels: so much that the last number of one does not touch the first of the next."""
    axes = [panel.x for panel in block.rows[-1].panels if not panel.x.slots and panel.x.ticks]
    ends = [text_mm(axis.ticks[place].text, TICK_PT) / 2 for axis in axes for place in (0, -1)]
    return max(_GAP, 2 * min(max(ends), _BEYOND) + 0.6) if ends else _GAP


def _panel_widths(block: Block, width: float) -> list[float]:
    left = width - (len(block.weights) - 1) * _panel_gap(block)
    return [left * weight / sum(block.weights) for weight in block.weights]


def _measured(figure: Figure, blocks: tuple[Block, ...], columns: _Columns, *, named: bool) -> _Line:
    titles, heads, notes, ticks = 0, 0, 0, 1
    for place, block in enumerate(blocks):
        shared = figure.shared and len(columns.lefts) > 1
        margin = 0.0 if shared else columns.margins[place]
        widths = _panel_widths(block, columns.width - margin - _right_room(block, columns.width - margin))
        titles = max(titles, len(wrapped(block.title, TITLE_PT, columns.width, 2, bold=True)))
        notes = max(notes, len(wrapped(block.note, TICK_PT, columns.width, 3)))
        if named:
            titles_of = zip(block.columns, widths, strict=True)
            heads = max([heads, *(len(wrapped(title, LABEL_PT, own, 3)) for title, own in titles_of)])
        for panel, width in zip(block.rows[-1].panels, widths, strict=True):
            if panel.x.slots:
                slot = _slot(panel.x, width)
                ticks = max([ticks, *(len(wrapped(tick.text, TICK_PT, slot, 3)) for tick in panel.x.ticks)])
    return _Line(titles, heads, notes, ticks)


def _slot(axis: Axis, width: float) -> float:
    return width / max(len(axis.ticks), 1) - 0.3


def _right_room(block: Block, width: float) -> float:
    """Room (mm) that the last number under the last panel takes beyond it, the panels taking about so much width."""
    axis = block.rows[-1].panels[-1].x
    if axis.slots or not axis.ticks:
        return 0.0
    last = axis.ticks[-1]
    within = (1 - axis.share(last.value)) * 0.85 * width * block.weights[-1] / sum(block.weights)
    return min(max(text_mm(last.text, TICK_PT) / 2 - within, 0.0), _BEYOND)


@dataclass(frozen=True, slots=True)
class _BlockSheet:
    """One block being set out."""

    figure: Figure
    block: Block
    line: _Line
    columns: _Columns
    place: int
    look: Look
    label: bool

    def draw(self, top: float, shapes: list[Shape], plots: list[Plot]) -> float:
        """Set out the block from a height on; the height where it ends."""
        block, look, left = self.block, self.look, self.columns.lefts[self.place]
        shared = self.figure.shared and len(self.columns.lefts) > 1
        margin, width = self.columns.margins[self.place], self.columns.width
        inner_left = left + margin
        inner = width if shared else width - margin
        inner -= _right_room(block, inner)
        title_left = inner_left if shared else left
        for number, text in enumerate(wrapped(block.title, TITLE_PT, width, 2, bold=True)):
            y = _baseline(top, TITLE_PT, number)
            shapes.append(words_at(title_left, y, text, TITLE_PT, look.ink, bold=True))
        top += self.line.title_lines * _line_mm(TITLE_PT)
        widths = _panel_widths(block, inner)
        lefts = [inner_left + sum(widths[:k]) + k * _panel_gap(block) for k in range(len(widths))]
        top = self._heads(top, lefts, widths, shapes)
        spare = self._spare(widths)
        for number, text in enumerate(wrapped(block.note, TICK_PT, width, 3)):
            shapes.append(words_at(title_left, _baseline(top - spare, TICK_PT, number), text, TICK_PT, look.soft))
        top += self.line.note_lines * _line_mm(TICK_PT)
        top += 0.8
        for number, row in enumerate(block.rows):
            for k, panel in enumerate(row.panels):
                plot = Plot(lefts[k], top, widths[k], row.height_mm, panel.x, panel.y)
                plots.append(plot)
                shapes += self._panel(panel, plot, names=k == 0 and not (shared and self.place))
            top += row.height_mm
            if number < len(block.rows) - 1:
                top += _ROW_GAP
        return self._under(top, shapes, plots[-len(block.rows[-1].panels) :])

    def _heads(self, top: float, lefts: list[float], widths: list[float], shapes: list[Shape]) -> float:
        for left, width, title in zip(lefts, widths, self.block.columns, strict=True):
            lines = wrapped(title, LABEL_PT, width, 3) if self.line.column_lines else ()
            offset = self.line.column_lines - len(lines) if len(lefts) > 1 else 0
            for number, text in enumerate(lines):
                y = _baseline(top, LABEL_PT, number + offset)
                shapes.append(words_at(left, y, text, LABEL_PT, self.look.ink))
        return top + self.line.column_lines * _line_mm(LABEL_PT)

    def _spare(self, widths: list[float]) -> float:
        """Room (mm) that other blocks of the line need for the title of their column and this one does not."""
        if len(widths) > 1 or not self.line.column_lines:
            return 0.0
        own = len(wrapped(self.block.columns[0], LABEL_PT, widths[0], 3))
        return (self.line.column_lines - own) * _line_mm(LABEL_PT)

    def _panel(self, panel: Panel, plot: Plot, *, names: bool) -> list[Shape]:
        look, bottom, right = self.look, plot.top + plot.height, plot.left + plot.width
        shapes: list[Shape] = []
        for element in panel.elements:
            shapes += element_shapes(element, plot, look)
        frame = ((plot.left, plot.top), (plot.left, bottom), (right, bottom))
        shapes.append(Stroke(frame, look.ink, LINE_PT))
        if not panel.y.slots:
            for tick in panel.y.ticks:
                y = plot.place(plot.x.low, tick.value)[1]
                shapes.append(Stroke(((plot.left - _TICK, y), (plot.left, y)), look.ink, LINE_PT))
        if not panel.x.slots:
            for tick in panel.x.ticks:
                x = plot.place(tick.value, plot.y.low)[0]
                shapes.append(Stroke(((x, bottom), (x, bottom + _TICK)), look.ink, LINE_PT))
        return shapes + (self._y_names(panel.y, plot) if names else [])

    def _y_names(self, axis: Axis, plot: Plot) -> list[Shape]:
        look, shapes = self.look, []
        left = self.columns.lefts[self.place]
        label = _label_lines(axis, plot.height + 2)
        for number, text in enumerate(label):
            x = left + _baseline(0, LABEL_PT, number)
            y = _held_within(plot.top + plot.height / 2, text_mm(text, LABEL_PT), plot)
            shapes.append(words_at(x, y, text, LABEL_PT, look.ink, anchor="middle", turned=True))
        room = plot.left - left - _TICK - 0.8 - (len(label) * _line_mm(LABEL_PT) + _LABEL_GAP if label else 0)
        for tick in axis.ticks:
            bold = tick.text in axis.strong
            y = plot.place(plot.x.low, tick.value)[1] + 0.35 * TICK_PT * MM_PER_PT
            text = elided(" ".join(tick.text.split()), TICK_PT, room + 1e-6, bold=bold)
            shapes.append(words_at(plot.left - _TICK - 0.6, y, text, TICK_PT, look.ink, anchor="end", bold=bold))
        return list(shapes)

    def _under(self, bottom: float, shapes: list[Shape], plots: list[Plot]) -> float:
        """The names of x ticks, and the label below them, for the last panels of the block; where they end."""
        look = self.look
        top = bottom + _TICK + 0.3
        for plot in plots:
            shapes += _slot_names(plot, top, look) if plot.x.slots else _numbers_below(plot, top, look)
        end = top + self.line.tick_lines * _line_mm(TICK_PT)
        if not (self.label and plots[0].x.label):
            return end
        middle, width = (plots[0].left + plots[-1].left + plots[-1].width) / 2, plots[-1].left + plots[-1].width
        width -= plots[0].left
        lines = _label_lines(plots[0].x, width)
        for number, text in enumerate(lines):
            y = _baseline(end, LABEL_PT, number)
            shapes.append(words_at(middle, y, text, LABEL_PT, look.ink, anchor="middle"))
        return end + len(lines) * _line_mm(LABEL_PT)


def _held_within(middle: float, length: float, plot: Plot) -> float:
    """The middle of a text of a length, moved so that it ends above the foot of the panel rather than below it."""
    over = middle + length / 2 - (plot.top + plot.height + 1)
    return middle - max(over, 0.0)


def _slot_names(plot: Plot, top: float, look: Look) -> list[Shape]:
    shapes: list[Shape] = []
    for tick in plot.x.ticks:
        x = plot.place(tick.value, plot.y.low)[0]
        for number, text in enumerate(wrapped(tick.text, TICK_PT, _slot(plot.x, plot.width), 3)):
            y = _baseline(top, TICK_PT, number)
            shapes.append(words_at(x, y, text, TICK_PT, look.ink, anchor="middle"))
    return shapes


def _numbers_below(plot: Plot, top: float, look: Look) -> list[Shape]:
    """The numbers of ticks that have room: every one, or every second, third ... where they would touch."""
    y = _baseline(top, TICK_PT)
    left, right = plot.left - _BEYOND - 1e-6, plot.left + plot.width + _BEYOND + 1e-6
    words = [
        words_at(plot.place(t.value, plot.y.low)[0], y, t.text, TICK_PT, look.ink, anchor="middle")
        for t in plot.x.ticks
    ]
    words = [one for one in words if one.box()[0] >= left and one.box()[2] <= right]
    for step in range(1, len(words)):
        kept = words[::step]
        if all(a.box()[2] + 0.8 <= b.box()[0] for a, b in pairwise(kept)):
            return list(kept)
    return list(words[:1])


def paged(figure: Figure, width_mm: float, most_high_mm: float) -> tuple[Figure, ...]:
    """The picture as several of at most this height (mm) where one would be higher; one line of blocks is never cut."""
    grid, _ = _grid(figure, width_mm - 2 * _MARGIN)
    pages: list[list[Block]] = []
    for line in grid:
        joined = replace(figure, blocks=(*pages[-1], *line)) if pages else None
        if joined is not None and laid_out(joined, width_mm).height_mm <= most_high_mm:
            pages[-1] += line
        else:
            pages.append(list(line))
    if len(pages) < 2:
        return (figure,)
    return tuple(
        replace(figure, blocks=tuple(blocks), title=f"{figure.title} ({number} of {len(pages)})")
        for number, blocks in enumerate(pages, start=1)
    )
