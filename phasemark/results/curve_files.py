"""Mean curves as the files of an export: three tables, and the pictures of them over time and over range of motion."""

from phasemark.results.curve_texts import curve_texts
from phasemark.results.figures.curves_figure import curves_figure
from phasemark.results.figures.figure_files import svg_files
from phasemark.results.phase_curves import Over, StudyCurves


def curve_files(curves: StudyCurves) -> dict[str, str]:
    """Texts by file name; all levels of the factor are in the pictures."""
    levels = tuple(dict.fromkeys(key.level for key in curves.people))
    pictures = {"curves_over_time": Over.TIME, "curves_over_range": Over.RANGE}
    texts = curve_texts(curves)
    for name, over in pictures.items():
        texts |= svg_files(name, curves_figure(curves, levels, over))
    return texts
