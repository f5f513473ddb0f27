"""Pictures are set out so that nothing is cut off, nothing overlaps, and values lie exactly where axes say."""

from functools import cache
from itertools import pairwise
from math import inf, isfinite, nan
from xml.etree import ElementTree

import numpy as np
import pytest
from drawn_geometry import assert_sound, texts_of, words_of
from hypothesis import given, settings
from hypothesis import strategies as st
from made_figures import MUSCLES, A, B, comparison_of, curves_of, findings_of, names

from phasemark.results.comparison.cells import MILLIVOLTS
from phasemark.results.figures.axes import name_axis, tight_axis, value_axis
from phasemark.results.figures.curves_figure import curves_figure
from phasemark.results.figures.description import (
    Band,
    Block,
    Entry,
    Figure,
    Interval,
    Line,
    Panel,
    Points,
    Row,
    Rule,
    Tone,
)
from phasemark.results.figures.drawing import Area, Stroke
from phasemark.results.figures.figure_files import PAGE_MM, svg_files
from phasemark.results.figures.layout import DOUBLE_MM, MIDDLE_MM, SINGLE_MM, laid_out, paged
from phasemark.results.figures.looks import PRINT
from phasemark.results.figures.paired_figure import paired_figure
from phasemark.results.figures.robustness_figure import FindingVaried, Varied, robustness_figure
from phasemark.results.figures.svg_text import svg_text
from phasemark.results.phase_curves import Over

WIDTHS = (SINGLE_MM, MIDDLE_MM, DOUBLE_MM)
every_width = pytest.mark.parametrize("width", WIDTHS)
LONG = "quadriceps femoris, oblique part of the vastus medialis at two thirds of its length"


def robust(count: int = 5, variants: int = 9) -> Figure:
    return robustness_figure(findings_of(count, variants), a=A, b=B, unit="percentage points", smallest=5.0)


@cache
def figures() -> dict[str, Figure]:
    return {
        "time": curves_figure(curves_of(), (A, B)),
        "range": curves_figure(curves_of(unit=MILLIVOLTS), (A, B), Over.RANGE),
        "paired": paired_figure(comparison_of()),
        "millivolts": paired_figure(comparison_of(unit=MILLIVOLTS)),
        "robustness": robust(),
        "one muscle": curves_figure(curves_of(MUSCLES[:1]), (A, B)),
        "one person": paired_figure(comparison_of(people=1)),
        "one finding": robust(1, 1),
        "long names": curves_figure(curves_of((LONG, "b"), (LONG, "x")), (LONG, "x")),
        "long pairs": paired_figure(comparison_of((LONG,), a=LONG, b="x" * 90)),
    }


@every_width
@pytest.mark.parametrize("name", figures())
def test_every_picture_is_whole_at_every_width(name: str, width: float) -> None:
    drawing = laid_out(figures()[name], width)
    assert drawing.width_mm == width
    assert_sound(drawing)


@every_width
def test_units_stand_at_the_axes(width: float) -> None:
    words = " ".join(texts_of(laid_out(figures()["time"], width)))
    assert "EMG amplitude (% of reference)" in words
    assert "Time (% of phase)" in words
    words = " ".join(texts_of(laid_out(figures()["millivolts"], width)))
    assert "RMS (mV)" in words
    assert "Difference (mV)" in words


def test_phases_are_paired_by_direction_and_not_by_word() -> None:
    """Where the phase against the load has another name in each exercise, both names stand over one panel."""
    curves = curves_of(levels=(A,))
    turned = {key: value for key, value in curves_of(levels=("other", B)).of.items() if key.level == B}
    swapped = {
        type(key)(key.participant, key.level, key.muscle, key.side, "lowering" if key.phase == "raising" else "raising",
                  key.against, key.over): value
        for key, value in turned.items()
    }  # fmt: skip
    from phasemark.results.phase_curves import StudyCurves, over_people

    of = {**curves.of, **swapped}
    figure = curves_figure(StudyCurves(of, over_people(of), curves.units), (A, B))
    assert figure.blocks[0].columns == ("With the load (lowering/raising)", "Against the load (raising/lowering)")
    assert all(
        len([e for e in panel.elements if isinstance(e, Line)]) == 2 for panel in figure.blocks[0].rows[0].panels
    )


def test_only_the_muscles_asked_for_in_their_order() -> None:
    figure = curves_figure(curves_of(), (A, B), muscles=(MUSCLES[2], MUSCLES[0]))
    assert [block.title for block in figure.blocks] == [MUSCLES[2], MUSCLES[0]]
    assert MUSCLES[1] not in figure.summary


def line_figure(x: tuple[float, ...], y: tuple[float, ...]) -> Figure:
    panel = Panel(value_axis(x, "x", "s"), value_axis(y, "y", "mV"), (Line(x, y, 0),))
    return Figure("t", "s", (Block("b", (Row((panel,), 30.0),)),))


def test_values_lie_exactly_where_the_axis_says() -> None:
    """The places of a line, read back through the places of two ticks of each axis, are its values."""
    x, y = (0.0, 1.25, 3.0, 4.0), (10.0, 37.5, 12.25, 40.0)
    drawing = laid_out(line_figure(x, y), SINGLE_MM)
    (line,) = (s for s in drawing.shapes if isinstance(s, Stroke) and s.colour == PRINT.series[0])
    (plot,) = drawing.plots
    assert (plot.x.low, plot.x.high, plot.y.low, plot.y.high) == (0.0, 4.0, 10.0, 40.0)
    for (across, down), of_x, of_y in zip(line.points, x, y, strict=True):
        assert (across - plot.left) / plot.width * 4 == pytest.approx(of_x, abs=1e-12)
        assert (plot.top + plot.height - down) / plot.height * 30 + 10 == pytest.approx(of_y, abs=1e-12)


def test_ticks_are_drawn_beside_their_numbers() -> None:
    drawing = laid_out(line_figure((0.0, 4.0), (10.0, 40.0)), SINGLE_MM)
    (plot,) = drawing.plots
    for words in words_of(drawing):
        if words.anchor == "end":
            value = float(words.text)
            _, top, _, bottom = words.box()
            assert (top + bottom) / 2 == pytest.approx(plot.place(0, value)[1], abs=0.3)


def test_a_line_is_broken_where_values_are_missing() -> None:
    x = tuple(float(k) for k in range(6))
    drawing = laid_out(line_figure(x, (1.0, 2.0, nan, 3.0, 4.0, inf)), SINGLE_MM)
    lines = [s for s in drawing.shapes if isinstance(s, Stroke) and s.colour == PRINT.series[0]]
    assert [len(line.points) for line in lines] == [2, 2]


def test_series_differ_in_line_and_marker_and_not_only_in_colour() -> None:
    looks = [PRINT.of_series(number) for number in range(6)]
    assert len({look.dashes for look in looks}) == 6
    assert all(a.marker != b.marker for a, b in pairwise(looks))
    assert PRINT.of_series(6).dashes != PRINT.of_series(0).dashes


def test_zero_and_the_smallest_effect_are_lines_of_the_robustness_picture() -> None:
    drawing = laid_out(robust(), DOUBLE_MM)
    for plot in drawing.plots:
        for value, dashed in ((0.0, False), (5.0, True), (-5.0, True)):
            x = plot.place(value, 0)[0]
            upright = [
                s
                for s in drawing.shapes
                if isinstance(s, Stroke) and all(abs(px - x) < 1e-9 for px, _ in s.points)
                and abs(s.points[0][1] - plot.top) < 1e-9 and abs(s.points[-1][1] - plot.top - plot.height) < 1e-9
            ]  # fmt: skip
            assert [bool(s.dashes) for s in upright] == [dashed]


def test_a_finding_that_does_not_stand_is_open() -> None:
    """One open marker in each finding, the planned variant strong among the names."""
    drawing = laid_out(robust(3), DOUBLE_MM)
    ink = [s for s in drawing.shapes if isinstance(s, Area) and s.outline == PRINT.ink]
    assert sum(s.fill == PRINT.ground for s in ink) == 3
    assert sum(s.fill == PRINT.ink for s in ink) == 3 * 8
    strong = [w.text for w in words_of(drawing) if w.bold and w.anchor == "end"]
    assert strong == ["variant of the boundaries number 0"]


def test_a_range_of_draws_has_no_end_strokes_and_is_explained() -> None:
    planned, draws = Varied("as planned", 6.0, 4.0, 8.0), Varied("1,000 draws", 6.0, 5.0, 7.0, of_draws=True)
    both = robustness_figure([FindingVaried("m", "p", (planned, draws))], a=A, b=B, unit="mV")
    assert "range of the middle 95 %" in both.note
    drawing = laid_out(both, SINGLE_MM)
    caps = [
        s
        for s in drawing.shapes
        if isinstance(s, Stroke) and s.width_pt == 0.8 and s.points[0][0] == s.points[-1][0]
    ]  # fmt: skip
    y = drawing.plots[0].place(0.0, 0.0)[1]
    assert len(caps) == 2
    assert all((s.points[0][1] + s.points[1][1]) / 2 == pytest.approx(y) for s in caps)
    alone = robustness_figure([FindingVaried("m", "p", (planned,))], a=A, b=B, unit="mV")
    assert "draws" not in alone.note


def test_a_missing_interval_leaves_the_point() -> None:
    panel = Panel(name_axis(["a"]), value_axis([0.0, 2.0], "y"), (Interval(0.0, 1.0, nan, nan, Tone.INK),))
    drawing = laid_out(Figure("t", "s", (Block("b", (Row((panel,), 20.0),)),)), SINGLE_MM)
    assert sum(isinstance(s, Area) for s in drawing.shapes) == 1
    assert all(np.isfinite(s.points).all() for s in drawing.shapes if isinstance(s, Stroke))


def test_all_participants_pairs_are_drawn() -> None:
    comparison = comparison_of(people=8)
    drawing = laid_out(paired_figure(comparison), DOUBLE_MM)
    pairs = [s for s in drawing.shapes if isinstance(s, Stroke) and s.width_pt == 0.35]
    assert len(pairs) == 8 * len(comparison.cells)
    for cell in comparison.cells:
        assert len(cell.a) == 8


def test_long_names_of_variants_leave_room_for_two_findings_side_by_side() -> None:
    rows = tuple(Varied(f"{LONG} {k}", 1.0, 0.0, 2.0) for k in range(3))
    drawing = laid_out(robustness_figure([FindingVaried("m", "p", rows)] * 2, a=A, b=B, unit="mV"), SINGLE_MM)
    assert len({plot.left for plot in drawing.plots}) == 2
    assert all(plot.width >= 20 for plot in drawing.plots)
    assert_sound(drawing)


def test_a_picture_that_is_too_high_goes_on_further_pages() -> None:
    """All blocks in their order, each page sound and no higher than asked."""
    figure = robust(30)
    pages = paged(figure, SINGLE_MM, PAGE_MM)
    assert len(pages) > 1
    assert [b for page in pages for b in page.blocks] == list(figure.blocks)
    for page in pages:
        drawing = laid_out(page, SINGLE_MM)
        assert_sound(drawing)
        assert drawing.height_mm <= PAGE_MM
    assert list(svg_files("robustness", figure, SINGLE_MM)) == [f"robustness_{k + 1}.svg" for k in range(len(pages))]
    assert list(svg_files("one", robust(1))) == ["one.svg"]
    assert svg_files("none", robust(0)) == {}


SVG = "{http://www.w3.org/2000/svg}"


def test_svg_is_xml_that_holds_the_numbers() -> None:
    """Size in mm, every word as text, and the points of the curve to a ten-thousandth of a millimetre."""
    x, y = (0.0, 1.25, 3.0, 4.0), (10.0, 37.5, 12.25, 40.0)
    drawing = laid_out(line_figure(x, y), SINGLE_MM)
    root = ElementTree.fromstring(svg_text(drawing))
    assert root.get("width") == "85mm"
    assert root.get("viewBox", "").split()[2:] == ["85", f"{drawing.height_mm:.4f}".rstrip("0").rstrip(".")]
    assert [e.text for e in root.iter(f"{SVG}text")] == texts_of(drawing)
    (path,) = (e for e in root.iter(f"{SVG}path") if e.get("stroke") == PRINT.series[0])
    points = [tuple(map(float, pair.split())) for pair in path.get("d", "").removeprefix("M").split("L")]
    expected = [drawing.plots[0].place(*point) for point in zip(x, y, strict=True)]
    assert np.array(points) == pytest.approx(np.array(expected), abs=6e-5)
    title = root.find(f"{SVG}title")
    assert title is not None
    assert title.text == "t"


@settings(max_examples=15, deadline=None)
@given(st.lists(names, min_size=1, max_size=4, unique=True), names, names, st.sampled_from(WIDTHS), st.integers(1, 3))
def test_awkward_names_and_few_people(muscles: list[str], a: str, b: str, width: float, people: int) -> None:
    """Whatever people type, from one participant on: pictures are whole and their SVG is XML."""
    levels = (a, b if b != a else b + "2")
    curves = curves_figure(curves_of(muscles, levels, people), levels)
    for figure in (curves, paired_figure(comparison_of(muscles, people, *levels))):
        drawing = laid_out(figure, width)
        assert_sound(drawing)
        ElementTree.fromstring(svg_text(drawing))


numbers = st.one_of(st.just(nan), st.floats(-1e6, 1e6), st.floats(-1e-3, 1e-3))


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(names, numbers, numbers, numbers, st.booleans()), min_size=1, max_size=12), names, numbers)
def test_awkward_findings(rows: list[tuple[str, float, float, float, bool]], verdict: str, smallest: float) -> None:
    """Missing and far away differences, doubled and odd names of variants."""
    varied = tuple(Varied(name, mean, low, high, agrees=agrees) for name, mean, low, high, agrees in rows)
    finding = FindingVaried(verdict, verdict, varied, verdict)
    drawing = laid_out(
        robustness_figure([finding, finding], a="a", b="b", unit="mV", smallest=abs(smallest)), SINGLE_MM
    )
    assert_sound(drawing)
    ElementTree.fromstring(svg_text(drawing))


@pytest.mark.parametrize("far", [9.0, 99.5, 8.9e5, 3e8, 1e-9])
def test_long_numbers_keep_within_their_panels(far: float) -> None:
    """Where numbers of any length stand below narrow panels, at least one is there and none touches another."""
    rows = (Varied("as planned", far / 3, -far / 4, far), Varied("other", nan, nan, nan))
    finding = FindingVaried("m", "p", rows)
    drawing = laid_out(robustness_figure([finding] * 4, a=A, b=B, unit="mV", smallest=far / 2), SINGLE_MM)
    assert_sound(drawing)
    below = [w for w in words_of(drawing) if w.anchor == "middle" and w.text[-1].isdigit()]
    assert len(below) >= len(drawing.plots)


@given(st.lists(numbers, max_size=6), st.integers(1, 6), st.booleans())
def test_axes_hold_all_values(values: list[float], most: int, from_zero: bool) -> None:
    """Both kinds of axis have a width, hold every value that is there, and have ticks within."""
    there = [value for value in values if isfinite(value)]
    for axis in (value_axis(values, "x", most=most, from_zero=from_zero), tight_axis(values, "x", most=most)):
        assert axis.low < axis.high
        assert all(-1e-6 <= axis.share(value) <= 1 + 1e-6 for value in there)
        assert all(-1e-6 <= axis.share(tick.value) <= 1 + 1e-6 for tick in axis.ticks)
    axis = value_axis(values, "x", most=most, from_zero=from_zero)
    assert not from_zero or axis.low <= 0 <= axis.high
    assert len(axis.ticks) >= 2


def test_bands_points_and_rules_of_nothing_draw_nothing() -> None:
    elements = (Band((0.0, 1.0), (nan, nan), (1.0, 1.0), 0), Points((0.0,), (nan,), 1), Line((0.0,), (1.0,), 0))
    panel = Panel(value_axis([0, 1], "x"), value_axis([0, 1], "y"), (*elements, Rule(0.5)))
    drawing = laid_out(Figure("t", "", (Block("", (Row((panel,), 20.0),)),), (Entry(0, ""),)), SINGLE_MM)
    assert not any(isinstance(s, Area) for s in drawing.shapes)
    assert_sound(drawing)
