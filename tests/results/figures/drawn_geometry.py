"""What must hold of every drawing: nothing beyond the page, no words over words, everything of a panel within it."""

from itertools import combinations, pairwise

from phasemark.results.figures.drawing import Area, Drawing, Plot, Stroke, Words

SMALLEST_PT = 6.5
_MM = 0.01


def words_of(drawing: Drawing) -> list[Words]:
    return [shape for shape in drawing.shapes if isinstance(shape, Words) and shape.text]


def texts_of(drawing: Drawing) -> list[str]:
    return [words.text for words in words_of(drawing)]


def _points(drawing: Drawing) -> list[tuple[float, float]]:
    return [point for shape in drawing.shapes if isinstance(shape, Stroke | Area) for point in shape.points]


def beyond_page(drawing: Drawing) -> list[object]:
    """Words and points that are cut off by the page."""
    cut: list[object] = [
        words.text
        for words in words_of(drawing)
        for left, top, right, bottom in (words.box(),)
        if left < -_MM or top < -_MM or right > drawing.width_mm + _MM or bottom > drawing.height_mm + _MM
    ]
    return cut + [
        (x, y)
        for x, y in _points(drawing)
        if not (-_MM <= x <= drawing.width_mm + _MM and -_MM <= y <= drawing.height_mm + _MM)
    ]


def overlapping_words(drawing: Drawing) -> list[tuple[str, str]]:
    """Pairs of words whose boxes overlap."""
    boxed = sorted(((words.box(), words.text) for words in words_of(drawing)), key=lambda held: held[0][1])
    found = []
    for (one, text), (other, further) in combinations(boxed, 2):
        across = min(one[2], other[2]) - max(one[0], other[0])
        down = min(one[3], other[3]) - max(one[1], other[1])
        if across > _MM and down > _MM:
            found.append((text, further))
    return found


def words_over_panels(drawing: Drawing) -> list[str]:
    """Words that reach into a panel, but for the half of a number of a y axis that stands at its corner."""
    found = []
    for words in words_of(drawing):
        left, top, right, bottom = words.box()
        for plot in drawing.plots:
            across = min(right, plot.left + plot.width) - max(left, plot.left)
            down = min(bottom, plot.top + plot.height) - max(top, plot.top)
            if across > _MM and down > _MM:
                found.append(words.text)
    return found


def overlapping_plots(drawing: Drawing) -> list[tuple[Plot, Plot]]:
    return [
        (one, other)
        for one, other in combinations(drawing.plots, 2)
        if min(one.left + one.width, other.left + other.width) > max(one.left, other.left) + _MM
        and min(one.top + one.height, other.top + other.height) > max(one.top, other.top) + _MM
    ]


def ticks_outside(drawing: Drawing) -> list[str]:
    """Ticks that lie beyond the ends of their axis."""
    return [
        tick.text
        for plot in drawing.plots
        for axis in (plot.x, plot.y)
        for tick in axis.ticks
        if not -1e-9 <= axis.share(tick.value) <= 1 + 1e-9
    ]


def assert_sound(drawing: Drawing) -> None:
    """All of the above, and sizes that can be read in print."""
    assert beyond_page(drawing) == []
    assert overlapping_words(drawing) == []
    assert words_over_panels(drawing) == []
    assert overlapping_plots(drawing) == []
    assert ticks_outside(drawing) == []
    assert min((words.size_pt for words in words_of(drawing)), default=SMALLEST_PT) >= SMALLEST_PT
    assert all(plot.width > 4 and plot.height > 2.5 for plot in drawing.plots)
    for plot in drawing.plots:
        for axis in (plot.x, plot.y):
            assert all(a.value < b.value for a, b in pairwise(axis.ticks))
