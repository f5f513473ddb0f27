"""A drawing as SVG, written without any graphics library: it can be made where no Qt library loads.

Coordinates are millimetres. Text stays text, so that it can be searched and edited; textLength holds it to the width
that the layout took it for where another typeface is put in place.
"""

from collections.abc import Iterable
from xml.sax.saxutils import escape, quoteattr

from phasemark.results.figures.drawing import Area, Drawing, Point, Shape, Stroke, Words
from phasemark.results.figures.text_width import MM_PER_PT

FONTS = ("Helvetica", "Arial", "Liberation Sans", "Nimbus Sans")


def svg_text(drawing: Drawing) -> str:
    """The whole SVG file as text."""
    width, height = _number(drawing.width_mm), _number(drawing.height_mm)
    families = ", ".join(f"'{name}'" if " " in name else name for name in FONTS)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}" role="img" font-family="{families}, sans-serif">',
        f"<title>{_plain(drawing.title)}</title>",
        f"<desc>{_plain(drawing.summary)}</desc>",
        f'<rect width="{width}" height="{height}" fill="{drawing.ground}"/>',
        *(_shape(shape) for shape in drawing.shapes),
        "</svg>",
    ]
    return "\n".join(lines) + "\n"


def _number(value: float) -> str:
    return f"{value:.4f}".rstrip("0").rstrip(".")


def _readable(text: str) -> str:
    """Text without the characters that XML 1.0 cannot hold."""
    return "".join(
        c if c in "\t\n" or " " <= c < "\ud800" or "\ue000" <= c <= "\ufffd" or c > "\uffff" else "?" for c in text
    )


def _plain(text: str) -> str:
    return escape(_readable(text))


def _path(points: Iterable[Point], *, closed: bool) -> str:
    return "M" + "L".join(f"{_number(x)} {_number(y)}" for x, y in points) + ("Z" if closed else "")


def _mm(points: float) -> str:
    return _number(points * MM_PER_PT)


def _shape(shape: Shape) -> str:
    if isinstance(shape, Stroke):
        dashes = f' stroke-dasharray="{" ".join(map(_mm, shape.dashes))}"' if shape.dashes else ""
        return (
            f'<path d="{_path(shape.points, closed=False)}" fill="none" stroke="{shape.colour}" '
            f'stroke-width="{_mm(shape.width_pt)}" stroke-linejoin="round"{dashes}/>'
        )
    if isinstance(shape, Area):
        opacity = f' fill-opacity="{_number(shape.opacity)}"' if shape.opacity < 1 else ""
        outline = f' stroke="{shape.outline}" stroke-width="{_mm(shape.width_pt)}"' if shape.outline else ""
        return f'<path d="{_path(shape.points, closed=True)}" fill="{shape.fill}"{opacity}{outline}/>'
    return _words(shape)


def _words(words: Words) -> str:
    x, y = _number(words.x), _number(words.y)
    turned = f' transform="rotate(-90 {x} {y})"' if words.turned else ""
    bold = ' font-weight="bold"' if words.bold else ""
    anchor = "" if words.anchor == "start" else f' text-anchor="{words.anchor}"'
    held = f' textLength="{_number(words.width_mm)}" lengthAdjust="spacingAndGlyphs"' if words.width_mm > 0 else ""
    fill = quoteattr(words.colour)
    return (
        f'<text x="{x}" y="{y}" font-size="{_mm(words.size_pt)}" fill={fill}{anchor}{bold}{turned}{held}>'
        f"{_plain(words.text)}</text>"
    )
