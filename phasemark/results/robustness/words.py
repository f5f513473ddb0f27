"""Which findings stand, in words."""

from collections.abc import Iterable
from math import isfinite

from phasemark.results.robustness.report import Finding, Robustness, Under
from phasemark.results.robustness.stands import Reach

_NAMED = 4
_UNCORRECTED = (
    "Each interval is taken by itself, without the correction for several comparisons that the comparison's verdicts "
    "include: what stands here may be 'not settled' there."
)


def verdict(finding: Finding) -> str:
    """In a few words: 'stands', 'does not stand (in 3 of 24 variants, 12 of 1000 draws)', or why it is no finding."""
    where = finding.planned.reach
    if where is Reach.UNKNOWN:
        return "not determined as planned"
    if where is Reach.ACROSS:
        return "not settled as planned"
    if finding.stands:
        return "stands"
    parts = []
    if finding.failing:
        parts.append(f"{len(finding.failing)} of {_counted(len(finding.under) - 1, 'variant')}")
    if finding.drawn is not None and finding.drawn.agreeing < finding.drawn.count:
        parts.append(f"{finding.drawn.count - finding.drawn.agreeing} of {_counted(finding.drawn.count, 'draw')}")
    return f"does not stand (not in {' and '.join(parts)})"


def sentence(found: Robustness, finding: Finding) -> str:
    """What the finding is as planned, whether it stands, and where it does not."""
    planned = finding.planned
    said = f"{finding.place.text}: {_as_planned(found, planned)}"
    if planned.reach is Reach.UNKNOWN:
        return f"{said}."
    if planned.reach is Reach.ACROSS:
        return f"{said}. {_no_finding(found, finding)}"
    everywhere = _everywhere(finding)
    if finding.stands:
        return f"{said}. Stands {everywhere}."
    parts = [_failing(found, finding.failing)] if finding.failing else []
    drawn = finding.drawn
    if drawn is not None and drawn.agreeing < drawn.count:
        parts.append(f"stands in {drawn.agreeing} of {_counted(drawn.count, 'draw')}")
    direction = f" The direction is the same {everywhere}." if _kept(found, finding) else ""
    return f"{said}. Does not stand: {'; '.join(parts)}.{direction}"


def summary(found: Robustness) -> tuple[str, ...]:
    """Which findings stand, which do not, and which are none to begin with, one sentence each."""
    kinds: dict[str, list[str]] = {"stand": [], "fall": [], "open": []}
    for finding in found.findings:
        if finding.planned.reach in (Reach.ACROSS, Reach.UNKNOWN):
            kinds["open"].append(finding.place.text)
        else:
            kinds["stand" if finding.stands else "fall"].append(_named(found, finding))
    lines = []
    if kinds["stand"]:
        lines.append(f"Stand in every variant: {'; '.join(kinds['stand'])}.")
    if kinds["fall"]:
        lines.append(f"Do not stand in all: {'; '.join(kinds['fall'])}.")
    if kinds["open"]:
        lines.append(f"Not settled in the analysis as planned: {'; '.join(kinds['open'])}.")
    return tuple(lines)


def definition(found: Robustness) -> str:
    """What 'stands' means here, in sentences."""
    level, unit = f"{100 * found.plan.confidence:g} %", found.difference_unit
    if not found.smallest:
        return (
            f"A finding stands where the {level} interval of the difference lies on the same side of zero in every "
            f"variant and every draw; no smallest effect that matters applies. {_UNCORRECTED}"
        )
    return (
        f"A finding stands where the difference has the same sign and its {level} interval lies wholly beyond "
        f"{found.smallest:g} {unit}, the smallest effect that matters, on the same side in every variant and every "
        f"draw; 'similar' stands where the interval is within +-{found.smallest:g} {unit} in all of them. "
        f"{_UNCORRECTED}"
    )


def moves_said(found: Robustness) -> str:
    """How boundaries were moved, in a sentence; empty where none was drawn."""
    drawn = next((one.drawn for one in found.findings if one.drawn is not None), None)
    if drawn is None:
        return ""
    by_ms = f"{1000 * found.shift_s:g} ms"
    return (
        f"In {_counted(drawn.count, 'draw')} (seed {found.seed}) each boundary was moved by an amount of its own, "
        f"uniform within +-{by_ms}; a boundary that parts two segments moved for both, and where two would pass each "
        "other both stopped midway. References stayed as planned."
    )


def _number(found: Robustness, value: float) -> str:
    if not isfinite(value):
        return "-"
    return f"{value:.1f}" if found.unit.startswith("%") else f"{value:.3g}"


def _interval(found: Robustness, under: Under) -> str:
    return f"{_number(found, under.low)} to {_number(found, under.high)}"


def _as_planned(found: Robustness, planned: Under) -> str:
    plan, unit = found.plan, found.difference_unit
    if planned.reach is Reach.UNKNOWN:
        return f"not determined as planned (n {planned.n})"
    numbers = f"{_number(found, planned.mean)} {unit}, {_interval(found, planned)}"
    if planned.reach is Reach.WITHIN:
        return f"similar as planned ({numbers})"
    if planned.reach is Reach.ACROSS:
        return f"{plan.a} minus {plan.b} {numbers} as planned"
    return f"more in {plan.a if planned.mean > 0 else plan.b} as planned ({numbers})"


def _no_finding(found: Robustness, finding: Finding) -> str:
    across = f"{found.smallest:g} {found.difference_unit}" if found.smallest else "zero"
    which = "the smallest effect that matters, " if found.smallest else ""
    said = f"The interval lies across {which}{across}, so that there is no finding that could stand."
    if found.smallest and finding.keeps_direction:
        said += f" The direction is the same {_everywhere(finding)}."
    return said


def _kept(found: Robustness, finding: Finding) -> bool:
    """Whether it is worth saying that the direction is kept though the finding does not stand."""
    return bool(found.smallest) and finding.planned.reach is Reach.BEYOND and finding.keeps_direction


def _everywhere(finding: Finding) -> str:
    said = f"in all {_counted(len(finding.under) - 1, 'variant')}"
    return said if finding.drawn is None else f"{said} and all {_counted(finding.drawn.count, 'draw')}"


def _failing(found: Robustness, failing: tuple[Under, ...]) -> str:
    named = [f"{one.variant} ({_interval(found, one)})" for one in failing[:_NAMED]]
    more = len(failing) - len(named)
    return f"not with {_listed(named)}{f', nor with {more} more' if more else ''}"


def _listed(words: Iterable[str]) -> str:
    *first, last = words
    return f"{', '.join(first)} and {last}" if first else last


def _counted(count: int, word: str) -> str:
    return f"{count:,} {word}{'' if count == 1 else 's'}"


def _named(found: Robustness, finding: Finding) -> str:
    if finding.planned.reach is Reach.WITHIN:
        return f"{finding.place.text} (similar)"
    return f"{finding.place.text} (more in {found.plan.a if finding.planned.mean > 0 else found.plan.b})"
