"""Whether the finding in hand stands: a sentence, and its difference under every variant as a picture and a table."""

from math import isfinite

from PySide6.QtWidgets import QWidget

from phasemark.results.comparison.cells import Place
from phasemark.results.robustness.picture import robustness_picture
from phasemark.results.robustness.report import Robustness, Under
from phasemark.results.robustness.words import definition, moves_said, sentence
from phasemark.session.comparison_words import NOTHING, capital, number_words
from phasemark.window.comparing.on_demand_view import OnDemandView
from phasemark.window.comparing.plain_model import PlainModel, TextColumn
from phasemark.window.judging.judging_table import JudgingTable

_WORDS = (
    "The comparison is worked out again with every boundary moved, with other raters' marks, other thirds, windows and "
    "cut-offs, with and without what was excluded: which findings stand in all of them, and what breaks the others. "
    "All recordings are read for it, which takes a while."
)


class RobustnessView(OnDemandView):
    """Worked out on demand for all findings at once; shown for the one in hand."""

    def __init__(self, parent: QWidget | None = None) -> None:
        self.variants = PlainModel[Under](())
        self.table = JudgingTable(self.variants, "Variants of the analysis", most_letters=44)
        super().__init__("Robustness", "&Vary the analysis", _WORDS, right=self.table)
        self._found: Robustness | None = None
        self.setParent(parent)

    def show_finding(self, found: Robustness, place: Place) -> bool:
        """Show the finding at a place; whether there is one."""
        self._found = found
        finding = next((one for one in found.findings if one.place == place), None)
        if finding is None:
            return False
        unit = found.difference_unit
        self.variants.show(
            finding.under,
            (
                TextColumn("variant", lambda under: under.variant),
                TextColumn("stands", lambda under: "stands" if under.agrees else "does not"),
                TextColumn("n", lambda under: str(under.n), number=True),
                TextColumn("A − B", lambda under: number_words(under.mean, unit, signed=True), number=True),
                TextColumn("interval", lambda under: _interval(under, unit), number=True),
                TextColumn("the interval lies", lambda under: str(under.reach)),
            ),
        )
        explained = "\n".join(filter(None, (definition(found), moves_said(found), *found.said)))
        self.show_figure(robustness_picture(found, (place,)), capital(sentence(found, finding)), explained)
        return True


def _interval(under: Under, unit: str) -> str:
    if not isfinite(under.low):
        return NOTHING
    low, high = (number_words(end, unit, signed=True) for end in (under.low, under.high))
    return f"{low} to {high}"
