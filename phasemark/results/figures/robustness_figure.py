"""The picture of robustness: for each finding the difference with its interval under every variant of the analysis."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite, nan

from phasemark.results.figures.axes import name_axis, short_unit, tight_axis
from phasemark.results.figures.description import (
    Axis,
    Block,
    Element,
    Figure,
    Interval,
    Panel,
    Row,
    Rule,
    RuleStyle,
    Tone,
)

_PITCH_MM = 2.9
_BESIDE_MM = 22.0


@dataclass(frozen=True, slots=True)
class Varied:
    """A difference under one variant: its mean and interval (nan where missing), and whether the finding stands.

    of_draws: no interval of one analysis, but the median over many and the range of the middle 95 % of them.
    """

    variant: str
    mean: float
    low: float
    high: float
    agrees: bool = True
    of_draws: bool = False


@dataclass(frozen=True, slots=True)
class FindingVaried:
    """A finding under every variant, the analysis as planned first.

    name is the muscle, place the phase and third; verdict says in words whether it stands.
    """

    name: str
    place: str
    varied: tuple[Varied, ...]
    verdict: str = ""


def robustness_figure(
    findings: Sequence[FindingVaried], *, a: str, b: str, unit: str, smallest: float = nan, confidence: float = 0.95
) -> Figure:
    """Findings side by side, variants below each other: all on one scale, zero and the smallest effect as lines.

    Variants come in the order of the first finding; one that another finding lacks stays empty there. Open
    markers: the finding does not stand in that variant.
    """
    variants = list(dict.fromkeys(one.variant for finding in findings for one in finding.varied))
    ends = [x for finding in findings for one in finding.varied for x in (one.low, one.high, one.mean)]
    x = tight_axis([*ends, 0.0, smallest, -smallest], "Difference", short_unit(unit), most=4)
    planned = variants[:1]
    y = name_axis(variants, down=True, strong=planned)
    blocks = tuple(_block(finding, variants, x, y, smallest) for finding in findings)
    level = f"{100 * confidence:g} %"
    dashed = "; dashed: the smallest difference that matters, either way" if isfinite(smallest) else ""
    drawn = any(one.of_draws for finding in findings for one in finding.varied)
    draws = " Without end strokes: the median over draws, and the range of the middle 95 % of them." if drawn else ""
    return Figure(
        f"Findings under every variant of the analysis: {a} minus {b}",
        _summary(findings, unit),
        blocks,
        (),
        f"Mean paired difference, {a} minus {b}, with its {level} interval. First row: the analysis "
        f"as planned, its mean as a dotted line. Filled: the finding stands in this variant; open: it does not{dashed}."
        f"{draws}",
        block_mm=_BESIDE_MM,
        shared=True,
    )


def _block(finding: FindingVaried, variants: Sequence[str], x: Axis, y: Axis, smallest: float) -> Block:
    rows = range(len(variants))
    rules: list[Element] = [Rule(float(row), tone=Tone.HAIR) for row in rows]
    rules.append(Rule(0.0, upright=True))
    if isfinite(smallest):
        rules += [Rule(end, upright=True, style=RuleStyle.DASHED) for end in (-smallest, smallest)]
    places = {variant: float(place) for place, variant in enumerate(variants)}
    planned = next((one.mean for one in finding.varied if one.variant == variants[0]), nan)
    if isfinite(planned):
        rules.append(Rule(planned, upright=True, style=RuleStyle.DOTTED))
    intervals = [
        Interval(
            places[one.variant], one.mean, one.low, one.high, Tone.INK, level=True, filled=one.agrees,
            size_pt=3.6 if one.variant == variants[0] else 2.8, capped=not one.of_draws,
        )
        for one in finding.varied
    ]  # fmt: skip
    panel = Panel(x, y, (*rules, *intervals))
    return Block(
        finding.name, (Row((panel,), _PITCH_MM * max(len(variants), 1)),), (finding.place,), note=finding.verdict
    )


def _summary(findings: Sequence[FindingVaried], unit: str) -> str:
    sentences = []
    for finding in findings:
        there = [one.mean for one in finding.varied if isfinite(one.mean)]
        if there:
            agreeing = sum(one.agrees for one in finding.varied)
            sentences.append(
                f"{finding.name}, {finding.place}: {min(there):.3g} to {max(there):.3g} {unit} over "
                f"{len(there)} variants; stands in {agreeing}. {finding.verdict}"
            )
    return " ".join(sentences)
