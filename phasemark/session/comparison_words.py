"""A comparison in words and figures as people read them: numbers, intervals, p values, and the answer in sentences."""

from collections import Counter
from dataclasses import dataclass
from math import isfinite, nan

from phasemark.model.plan import AnalysisPlan
from phasemark.results.comparison.compared import ComparedCell, Comparison, Detail
from phasemark.results.comparison.verdict import Verdict
from phasemark.statistics.values import Interval

NOTHING = "–"


@dataclass(frozen=True, slots=True)
class Answer:
    """What came of a comparison: one sentence that says it, and sentences that say what it rests on."""

    sentence: str
    further: tuple[str, ...] = ()


def number_words(value: float, unit: str, *, signed: bool = False) -> str:
    """A value: one digit after the point in percent, four in mV, with a true minus; a dash where missing."""
    if not isfinite(value):
        return NOTHING
    form = ".1f" if unit.startswith(("%", "percent")) else ".4f"
    return _signed(format(value, f"{'+' if signed else ''}{form}"))


def plain_number(value: float, digits: str = ".2f") -> str:
    """A number without a unit, with a true minus; a dash where missing."""
    return _signed(format(value, digits)) if isfinite(value) else NOTHING


def _signed(text: str) -> str:
    """A number's text with the minus sign of typesetting; what is zero as written has no sign."""
    return text.lstrip("+-") if float(text) == 0 else text.replace("-", "\N{MINUS SIGN}")


def interval_words(interval: Interval | None, unit: str, *, signed: bool = False) -> str:
    """The two limits of an interval: '1.2 to 3.4'."""
    if interval is None or not (isfinite(interval.low) or isfinite(interval.high)):
        return NOTHING
    low, high = (number_words(end, unit, signed=signed) for end in (interval.low, interval.high))
    return f"{low} to {high}"


def with_interval(value: str, interval: Interval | None, unit: str, *, signed: bool = True) -> str:
    """A value in words with the limits of its interval in brackets, where it has some: '+2.1 (+1.2 to +3.4)'."""
    words = interval_words(interval, unit, signed=signed)
    return value if words == NOTHING else f"{value} ({words})"


def p_words(p: float) -> str:
    """A p value, three digits and never 0; 1 only where it is 1."""
    if not isfinite(p):
        return NOTHING
    if p < 0.001:
        return "< .001"
    return "1" if p >= 1 else "> .999" if p > 0.9995 else f"{p:.3f}".removeprefix("0")


def p_equals(p: float) -> str:
    """A p value as it stands in a sentence: 'p = .012', 'p < .001'."""
    words = p_words(p)
    return (f"p {words}" if words.startswith(("<", ">")) else f"p = {words}").replace(" ", "\N{NO-BREAK SPACE}")


def smallest_of(comparison: Comparison) -> float:
    """The smallest effect that matters where it is in the unit of this comparison and somebody named it, else nan."""
    applied = (cell.detail.equivalence for cell in comparison.cells if cell.detail is not None)
    return next((held.high for held in applied if held is not None), nan)


def capital(text: str) -> str:
    """The text with a capital letter to begin with."""
    return text[:1].upper() + text[1:]


def answer_of(comparison: Comparison) -> Answer:
    """The answer: of the primary comparison, or how many came out how where none was named beforehand."""
    cell = comparison.primary
    if not comparison.planned:
        return _counted(comparison)
    if cell is None or cell.detail is None or not cell.n:
        plan = comparison.plan
        where = f"{plan.primary_muscle}, {plan.primary_phase}, {plan.primary_third}"
        return Answer(f"The planned primary comparison ({where}) has no participant with values on both levels.")
    return _primary(comparison, cell, cell.detail)


def _primary(comparison: Comparison, cell: ComparedCell, detail: Detail) -> Answer:
    plan, unit = comparison.plan, comparison.difference_unit
    size, interval = cell.difference.mean, cell.difference.interval
    which = plan.a if size > 0 else plan.b
    other = plan.b if size > 0 else plan.a
    people = "1 participant" if cell.n == 1 else f"{cell.n} participants"
    level = f"{100 * plan.confidence:g} %"
    turned = interval if size > 0 else Interval(-interval.high, -interval.low, interval.level)
    how = (
        f"({level} interval {interval_words(turned, unit)}; {plan.test}, {p_equals(detail.p)}; {people})"
        if isfinite(interval.low)
        else f"({people}: no interval and no test)"
    )
    amount = f"{number_words(abs(size), unit)} {unit} higher in {which} than in {other}" if size else "alike on both"
    sentence = f"{capital(cell.place.text)}: {plan.outcome} is {amount} {how}."
    return Answer(sentence, tuple(filter(None, (_verdict(plan, detail), against_smallest(comparison, cell)))))


def _verdict(plan: AnalysisPlan, detail: Detail) -> str:
    alpha = f"{1 - plan.confidence:.3g}"
    match detail.verdict:
        case Verdict.MORE_IN_A | Verdict.MORE_IN_B:
            return f"Verdict: {detail.said} (tested at {alpha})."
        case Verdict.SIMILAR:
            return (
                f"Verdict: {detail.said}; a difference as large as the smallest that matters is refuted (at {alpha})."
            )
        case Verdict.NOT_SETTLED:
            return f"Verdict: not settled (tested at {alpha}). That is not the same as equal."


def against_smallest(comparison: Comparison, cell: ComparedCell) -> str:
    """Whether the difference is over the smallest effect that matters, by its interval."""
    smallest, interval, unit = smallest_of(comparison), cell.difference.interval, comparison.difference_unit
    if not isfinite(smallest) or not isfinite(interval.low):
        return ""
    named = f"the smallest effect that matters ({number_words(smallest, unit)} {unit})"
    if interval.low > smallest or interval.high < -smallest:
        return f"The whole interval lies beyond {named}."
    if interval.low > -smallest and interval.high < smallest:
        return f"The whole interval lies within {named}, either way."
    if abs(cell.difference.mean) > smallest:
        return f"The difference is over {named}, but its interval also holds smaller ones."
    return f"The difference is under {named}, but its interval also holds larger ones."


def _counted(comparison: Comparison) -> Answer:
    plan = comparison.plan
    found = Counter(cell.detail.verdict for cell in comparison.cells if cell.detail is not None)
    parts = (
        (found[Verdict.MORE_IN_A], f"more in {plan.a}"),
        (found[Verdict.MORE_IN_B], f"more in {plan.b}"),
        (found[Verdict.SIMILAR], "similar"),
        (found[Verdict.NOT_SETTLED], "not settled"),
    )
    listed = ", ".join(f"{count} {words}" for count, words in parts if count)
    count = len(comparison.cells)
    what = "comparison" if count == 1 else "comparisons"
    return Answer(
        f"Exploratory: of {count} {what} of {plan.a} with {plan.b}, {listed or 'none could be made'}.",
        ("Each is corrected for all of them (Holm); none was named as the primary one beforehand.",),
    )
