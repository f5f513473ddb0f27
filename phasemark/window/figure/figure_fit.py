"""How the figure of a rep fits the room it is given: how many muscles side by side, and where each part lies then."""

from PySide6.QtGui import QFont, QFontMetricsF

from phasemark.session.rep_figure import RepFigure, Unit
from phasemark.window.figure import figure_layout as places
from phasemark.window.figure.figure_frame import bold
from phasemark.window.figure.figure_layout import AIR, FigureLayout
from phasemark.window.figure.figure_words import one_sided
from phasemark.window.traces.lane_gutter import wrapped
from phasemark.window.traces.lane_layout import Band

_AXIS_AIR = 0.06


class FigureFit:
    """A figure in a width (px); count is how many of its muscles fit side by side."""

    def __init__(self, figure: RepFigure, unit: Unit, font: QFont, width: float, *, one_scale: bool) -> None:
        self._figure, self._one_sided = figure, one_sided(figure)
        self._metrics, self._heavy = QFontMetricsF(font), QFontMetricsF(bold(font))
        self._gutter = places.gutter_width(figure, self._metrics)
        self._scales = places.scales_of(figure, unit, one_scale=one_scale)
        self._label = places.label_width([scale.end for scale in self._scales], self._metrics)
        self._edges = (self._gutter, width - AIR)
        word = max(self._heavy.horizontalAdvance(word) for m in figure.muscles for word in m.label.split())
        self.count = places.columns_that_fit(self._edges[1] - self._gutter, places.narrowest_column(self._label, word))

    def layout(self, first: int, band: Band) -> FigureLayout:
        """Where everything lies from a first muscle on, the axis over a band."""
        figure, metrics = self._figure, self._metrics
        seen = min(self.count, len(figure.muscles))
        columns, apart = places.columns_of(
            self._scales, first, seen, self._edges, self._label, one_sided=self._one_sided
        )
        names = [self._rows(figure.muscles[c.muscle].label, c.right - c.left + 4, self._heavy) for c in columns]
        axis = self._rows(figure.axis.name, self._gutter - 2 * AIR, metrics)
        rows = places.rows_of(band, metrics, max([*names, axis]))
        return FigureLayout(band, self._gutter, columns, rows, metrics.height(), places.SMALL * metrics.height(), apart)

    @staticmethod
    def _rows(name: str, room: float, metrics: QFontMetricsF) -> int:
        return len(wrapped(name, metrics, room, places.MOST_NAME_ROWS))


def band_of(figure: RepFigure, given: Band | None, room_above: float, bottom: float) -> Band:
    """The axis that was given, where it is one of positions; else one over the rep's own range."""
    if given is not None and not figure.axis.of_time:
        return given
    axis = figure.axis
    top = room_above if given is None else given.top
    air = _AXIS_AIR * ((axis.top - axis.bottom) or 1.0)
    return Band(top, max(bottom, top + 1) if given is None else given.bottom, axis.bottom - air, axis.top + air)
