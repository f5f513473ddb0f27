"""The data of the picture of robustness, and the picture."""

from collections.abc import Iterable
from math import nan

from phasemark.model.recording import Side
from phasemark.results.comparison.cells import Place
from phasemark.results.figures.description import Figure
from phasemark.results.figures.robustness_figure import FindingVaried, Varied, robustness_figure
from phasemark.results.robustness.report import Finding, Robustness
from phasemark.results.robustness.words import verdict


def findings_varied(found: Robustness, places: Iterable[Place] | None = None) -> tuple[FindingVaried, ...]:
    """Findings as the picture takes them: all, or those at some places.

    The last row are the draws: the median of their differences, and the percentiles that 95 % of them lie between.
    """
    wanted = None if places is None else set(places)
    return tuple(_varied(found, one) for one in found.findings if wanted is None or one.place in wanted)


def _varied(found: Robustness, finding: Finding) -> FindingVaried:
    rows = [Varied(one.variant, one.mean, one.low, one.high, one.agrees) for one in finding.under]
    drawn = finding.drawn
    if drawn is not None:
        name = f"{drawn.count:,} draws"
        rows.append(Varied(name, drawn.median, drawn.low, drawn.high, drawn.agreeing == drawn.count, of_draws=True))
    place = finding.place
    side = "" if place.side is Side.NONE else f" ({place.side})"
    name, rest = f"{place.muscle}{side}", place.text.removeprefix(f"{place.muscle}{side}, ")
    return FindingVaried(name=name, place=rest, varied=tuple(rows), verdict=verdict(finding))


def robustness_picture(found: Robustness, places: Iterable[Place] | None = None) -> Figure:
    """The picture of robustness, of all findings or those at some places."""
    return robustness_figure(
        findings_varied(found, places),
        a=found.plan.a,
        b=found.plan.b,
        unit=found.difference_unit,
        smallest=found.smallest or nan,
        confidence=found.plan.confidence,
    )
