"""Pictures as the SVG files of an export, each of at most a page's height."""

from phasemark.results.figures.description import Figure
from phasemark.results.figures.layout import DOUBLE_MM, laid_out, paged
from phasemark.results.figures.svg_text import svg_text

PAGE_MM = 234.0
"""How high a picture may be on a journal's page with its legend below it (common practice, no source)."""


def svg_files(name: str, figure: Figure, width_mm: float = DOUBLE_MM) -> dict[str, str]:
    """SVG texts by file name: name.svg, or name_1.svg, name_2.svg ... where one page does not hold the picture."""
    if not figure.blocks:
        return {}
    texts = [svg_text(laid_out(page, width_mm)) for page in paged(figure, width_mm, PAGE_MM)]
    if len(texts) == 1:
        return {f"{name}.svg": texts[0]}
    return {f"{name}_{number}.svg": text for number, text in enumerate(texts, start=1)}
