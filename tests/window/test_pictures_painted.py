"""One drawing, on a widget, in PDF and in PNG: the same shapes at the same places, words as wide as measured."""

import re
import zlib
from collections.abc import Iterator

import numpy as np
import pytest
from colour_distance import VISIONS, distance
from PySide6.QtCore import QSize
from PySide6.QtGui import QColor, QFontInfo, QFontMetricsF, QImage, QPalette
from PySide6.QtWidgets import QApplication, QScrollArea

from phasemark.model.errors import BadCall
from phasemark.results.figures.axes import value_axis
from phasemark.results.figures.description import Band, Block, Entry, Figure, Line, Panel, Points, Row
from phasemark.results.figures.drawing import Drawing, Stroke, Words
from phasemark.results.figures.layout import DOUBLE_MM, SINGLE_MM, laid_out
from phasemark.results.figures.looks import DARK_SERIES, LIGHT_SERIES, PRINT
from phasemark.results.figures.text_width import MM_PER_PT, text_mm
from phasemark.window.palette import contrast
from phasemark.window.pictures.painter import picture_font
from phasemark.window.pictures.picture_files import file_bytes, pdf_bytes, picture_image, png_bytes
from phasemark.window.pictures.picture_look import look_of
from phasemark.window.pictures.picture_view import PictureView

X, Y = tuple(k + 0.5 for k in range(10)), (3.0, 5.0, 9.0, 10.0, 7.0, 4.0, 6.0, 2.0, 1.0, 8.0)
OTHER = 11.0
METRIC_ALIKE = ("Helvetica", "Arial", "Liberation Sans", "Nimbus Sans")


def figure(blocks: int = 1) -> Figure:
    """A line, a band and points in each block."""
    elements = (
        Band(X, tuple(y / 2 for y in Y), Y, 1), Line(X, Y, 0), Points(X, tuple(OTHER for _ in Y), 1),
    )  # fmt: skip
    panel = Panel(value_axis((0.0, 10.0), "Time", "s"), value_axis((0.0, *Y, OTHER), "EMG amplitude", "mV"), elements)
    made = tuple(Block(f"muscle {k}", (Row((panel,), 25.0),)) for k in range(blocks))
    entries = (Entry(0, "squat"), Entry(1, "lunge", marker=True))
    return Figure("A picture", "What it shows.", made, entries, "A note of the picture.")


@pytest.fixture
def drawing() -> Drawing:
    return laid_out(figure(), SINGLE_MM)


def near(image: QImage, x: float, y: float, colour: str, reach: int = 1) -> bool:
    """Whether a pixel of about this colour lies within reach of a place (pixels)."""
    wanted = QColor(colour)
    for column in range(int(x) - reach, int(x) + reach + 1):
        for row in range(int(y) - reach, int(y) + reach + 1):
            found = image.pixelColor(column, row)
            if max(abs(a - b) for a, b in zip(found.getRgb()[:3], wanted.getRgb()[:3], strict=True)) < 30:
                return True
    return False


def test_png_has_its_size_and_resolution(drawing: Drawing) -> None:
    image = QImage.fromData(png_bytes(drawing, 300), "PNG")
    assert image.size() == QSize(round(85 / 25.4 * 300), round(drawing.height_mm / 25.4 * 300))
    assert image.dotsPerMeterX() == round(300 / 0.0254)
    assert QImage.fromData(png_bytes(drawing)).width() == round(85 / 25.4 * 600)


def test_values_are_painted_where_the_axis_says(drawing: Drawing) -> None:
    """At each value of the line there is its colour, to a pixel at 300 dots an inch."""
    image, per_mm = picture_image(drawing, 300), 300 / 25.4
    plot = drawing.plots[0]
    for x, y in zip(X, Y, strict=True):
        across, down = plot.place(x, y)
        assert near(image, across * per_mm, down * per_mm, PRINT.series[0])
    assert near(image, plot.left * per_mm, (plot.top + plot.height / 2) * per_mm, PRINT.ink)


def _streams(data: bytes) -> Iterator[str]:
    for found in re.finditer(rb"stream\r?\n(.*?)\r?\nendstream", data, re.DOTALL):
        try:
            yield zlib.decompress(found[1]).decode("latin-1")
        except zlib.error:
            continue


def test_pdf_is_one_page_of_its_size_with_its_typeface_in_it(drawing: Drawing) -> None:
    data = pdf_bytes(drawing)
    assert data.startswith(b"%PDF-")
    assert len(re.findall(rb"/Type /Page\b", data)) == 1
    box = re.search(rb"/MediaBox \[([^\]]+)\]", data)
    assert box is not None
    left, bottom, right, top = map(float, box[1].split())
    assert (right - left, top - bottom) == pytest.approx((85 / MM_PER_PT, drawing.height_mm / MM_PER_PT), abs=1.0)
    assert re.search(rb"/FontFile\d?", data)


def test_pdf_has_lines_and_not_pixels(drawing: Drawing) -> None:
    """The line's nine steps stand in the page's own drawing orders, and there is no image."""
    data = pdf_bytes(drawing)
    assert b"/Subtype /Image" not in data
    page = max(_streams(data), key=lambda text: text.count(" l\n"))
    longest = max((len(run) for run in re.findall(r"(?:[\d.\-]+ [\d.\-]+ l\n)+", page)), default=0)
    assert longest >= 9 * len("0 0 l\n")


def test_each_kind_of_file_by_its_ending(drawing: Drawing) -> None:
    starts = {".pdf": b"%PDF-", ".PNG": b"\x89PNG", ".svg": b"<?xml"}
    assert all(file_bytes(drawing, suffix).startswith(start) for suffix, start in starts.items())
    with pytest.raises(BadCall, match=r"saved as \.pdf, \.svg, \.png, not as \.bmp"):
        file_bytes(drawing, ".bmp")


@pytest.mark.parametrize("bold", [False, True])
def test_measured_widths_are_those_of_the_typeface(bold: bool) -> None:
    """Where a typeface of these widths is installed every printable ASCII character is as wide as was measured."""
    font = picture_font(bold=bold)
    family = QFontInfo(font).family()
    if not family.startswith(METRIC_ALIKE):
        pytest.skip(f"no typeface of Helvetica's widths is installed, only {family}")
    metrics = QFontMetricsF(font)
    for code in range(32, 127):
        measured = text_mm(chr(code), 100.0, bold=bold) / MM_PER_PT
        assert metrics.horizontalAdvance(chr(code)) == pytest.approx(measured, abs=1.1), chr(code)


def painted(words: Words, width_mm: float = 85.0, height_mm: float = 40.0) -> tuple[float, float, float, float]:
    """Left, top, right and bottom (mm) of the ink of words alone on a page."""
    image = picture_image(Drawing(width_mm, height_mm, "#FFFFFF", (words,), (), "", ""), 300)
    pixels = np.frombuffer(image.constBits(), dtype=np.uint8).reshape(image.height(), -1)[:, : 4 * image.width() : 4]
    rows, columns = np.nonzero(pixels < 128)
    per_mm = 300 / 25.4
    return columns.min() / per_mm, rows.min() / per_mm, (columns.max() + 1) / per_mm, (rows.max() + 1) / per_mm


@pytest.mark.parametrize("anchor", ["start", "middle", "end"])
@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("text", ["vastus medialis (right)", "Ägjpqy −12.5 %", "筋電図 μV"])
def test_words_stay_in_the_box_that_was_measured(text: str, anchor: str, turned: bool) -> None:
    """Whatever typeface stands in: the ink is within the measured box, but for a diacritic over a capital."""
    words = Words(40.0, 20.0, text, 8.0, "#000000", anchor, turned=turned, width_mm=text_mm(text, 8.0))
    left, top, right, bottom = words.box()
    ink = painted(words)
    beyond = 0.75
    assert ink[0] >= left - beyond
    assert ink[1] >= top - beyond
    assert ink[2] <= right + beyond
    assert ink[3] <= bottom + beyond
    along, measured = (ink[3] - ink[1], bottom - top) if turned else (ink[2] - ink[0], right - left)
    assert along <= measured + 0.2


def test_a_wider_typeface_is_held_to_the_measured_width(monkeypatch: pytest.MonkeyPatch) -> None:
    """Words taken for half as wide as they are, are painted half as wide."""
    whole = Words(5.0, 20.0, "vastus medialis", 8.0, "#000000", width_mm=text_mm("vastus medialis", 8.0))
    half = Words(5.0, 20.0, "vastus medialis", 8.0, "#000000", width_mm=whole.width_mm / 2)
    wide, narrow = painted(whole), painted(half)
    assert narrow[2] - narrow[0] == pytest.approx((wide[2] - wide[0]) / 2, abs=0.25)


# The widget


def dark_palette() -> QPalette:
    palette = QPalette()
    for role, colour in (("Base", "#1b1d20"), ("Text", "#e6e6e6"), ("Window", "#2a2c30"), ("WindowText", "#e6e6e6")):
        palette.setColor(getattr(QPalette.ColorRole, role), QColor(colour))
    return palette


@pytest.fixture
def view(qapp: QApplication) -> Iterator[PictureView]:
    shown = PictureView()
    shown.show_figure(figure(4))
    yield shown
    shown.deleteLater()


def test_the_widget_paints_the_drawing_of_its_width(view: PictureView) -> None:
    """Values at their pixels on the screen as on paper, in the system's colours."""
    view.resize(900, view.heightForWidth(900))
    drawing = view.drawing()
    assert drawing is not None
    image = view.grab().toImage()
    ratio, per_mm = image.devicePixelRatio(), view.units_per_mm()
    for plot in drawing.plots:
        for x, y in zip(X, Y, strict=True):
            across, down = plot.place(x, y)
            assert near(image, across * per_mm * ratio, down * per_mm * ratio, look_of(view.palette()).series[0])


def test_labels_are_as_large_as_the_text_of_the_widget(view: PictureView) -> None:
    before = view.units_per_mm()
    font = view.font()
    font.setPointSizeF(2 * font.pointSizeF())
    view.setFont(font)
    assert view.units_per_mm() == pytest.approx(2 * before, rel=0.1)
    assert view.minimumWidth() >= SINGLE_MM * view.units_per_mm()


def test_a_wider_widget_has_more_columns_and_is_lower(view: PictureView) -> None:
    narrow, wide = round(SINGLE_MM * view.units_per_mm()), round(DOUBLE_MM * view.units_per_mm())
    assert view.heightForWidth(wide) < 0.6 * view.heightForWidth(narrow)
    one, two = view.drawing(narrow), view.drawing(wide)
    assert one is not None
    assert two is not None
    assert len({plot.left for plot in one.plots}) == 1
    assert len({plot.left for plot in two.plots}) == 2


def test_in_a_scroll_area_nothing_is_cut_off(qtbot: object, qapp: QApplication, view: PictureView) -> None:
    """However narrow and low the area: the widget is as wide and as high as the picture."""
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setWidget(view)
    area.show()
    for width, height in ((200, 150), (1000, 300), (500, 900), (300, 200)):
        area.resize(width, height)
        qapp.processEvents()
        qapp.processEvents()
        drawing = view.drawing()
        assert drawing is not None
        assert view.height() >= drawing.height_mm * view.units_per_mm()
        assert view.width() + 0.5 >= drawing.width_mm * view.units_per_mm()
    area.takeWidget()
    area.close()
    area.deleteLater()


def test_the_widget_says_what_it_shows(view: PictureView) -> None:
    assert view.accessibleName() == "A picture"
    assert view.accessibleDescription() == "What it shows."
    view.show_figure(None)
    assert (view.accessibleName(), view.minimumHeight(), view.drawing()) == ("", 0, None)


def test_the_widget_follows_the_palette(view: PictureView) -> None:
    view.setPalette(dark_palette())
    view.resize(600, 800)
    drawing = view.drawing()
    assert drawing is not None
    assert drawing.ground == "#1b1d20"
    assert any(isinstance(s, Stroke) and s.colour == DARK_SERIES[0] for s in drawing.shapes)
    assert view.grab().toImage().pixelColor(1, 1) == QColor("#1b1d20")


# Colours


@pytest.mark.parametrize("vision", VISIONS)
@pytest.mark.parametrize("series", [LIGHT_SERIES, DARK_SERIES], ids=["light", "dark"])
def test_the_two_series_are_told_apart_whatever_the_colour_vision(series: tuple[str, ...], vision: str) -> None:
    """Over 20 in CIEDE2000, where 1 is about the least that is seen side by side (common practice, no source)."""
    assert distance(QColor(series[0]), QColor(series[1]), vision) > 20


@pytest.mark.parametrize(
    ("series", "ground"), [(LIGHT_SERIES, "#ffffff"), (DARK_SERIES, "#1b1d20")], ids=["light", "dark"]
)
def test_lines_of_the_series_are_seen_on_the_ground(series: tuple[str, ...], ground: str) -> None:
    """3 to 1 for what is not text (W3C, Web Content Accessibility Guidelines 2.2, 1.4.11), of the first two series."""
    assert all(contrast(QColor(colour), QColor(ground)) >= 3 for colour in series[:2])


def test_words_in_print_have_the_contrast_of_text() -> None:
    """4.5 to 1 (W3C, Web Content Accessibility Guidelines 2.2, 1.4.3)."""
    assert contrast(QColor(PRINT.soft), QColor(PRINT.ground)) >= 4.5
