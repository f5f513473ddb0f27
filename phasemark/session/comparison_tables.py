"""What the page of the comparison shows, as frozen pictures: the table, participants with their reps, who is missing.

Every number leads back: a row to its participants, a participant's value to the reps it is the mean of, and these to
their trial.
"""

from dataclasses import dataclass, replace
from enum import IntEnum
from math import isfinite, isnan, nan

from phasemark.model.recording import Side
from phasemark.model.study import Study
from phasemark.results.comparison.cells import Place
from phasemark.results.comparison.compared import ComparedCell, Comparison
from phasemark.results.comparison.verdict import Verdict
from phasemark.results.figures.description import Figure
from phasemark.results.figures.paired_figure import paired_figure
from phasemark.results.segments import WHOLE
from phasemark.session.comparing import Compared
from phasemark.session.comparison_people import PersonRow, people_at
from phasemark.session.comparison_statistics import StatisticLine, statistic_lines
from phasemark.session.comparison_words import (
    NOTHING,
    Answer,
    answer_of,
    number_words,
    p_words,
    plain_number,
    smallest_of,
    with_interval,
)

Key = tuple[float, str]


class Column(IntEnum):
    """Columns of the table."""

    SIGN = 0
    MUSCLE = 1
    PHASE = 2
    THIRD = 3
    N = 4
    A = 5
    B = 6
    DIFFERENCE = 7
    DRAWN = 8
    VERDICT = 9
    P = 10
    HOLM = 11
    EFFECT = 12
    PERCENT = 13


@dataclass(frozen=True, slots=True)
class Title:
    """The title of a column, what it is called in full, and an explanation of it."""

    short: str
    spoken: str
    hint: str = ""


@dataclass(frozen=True, slots=True)
class CellRow:
    """One comparison as a row: its cell, the texts of its columns, and what these are sorted by."""

    cell: ComparedCell
    texts: tuple[str, ...]
    keys: tuple[Key, ...]

    @property
    def place(self) -> Place:
        """Where it is compared."""
        return self.cell.place


@dataclass(frozen=True, slots=True)
class Scale:
    """The common scale on which differences are drawn: from low to high, and the smallest effect (nan: none)."""

    low: float
    high: float
    smallest: float = nan


@dataclass(frozen=True, slots=True)
class ComparisonPicture:
    """A comparison as the page shows it; key says what A and B are, and in which units."""

    compared: Compared
    answer: Answer
    key: str
    titles: tuple[Title, ...]
    rows: tuple[CellRow, ...]
    scale: Scale

    @property
    def comparison(self) -> Comparison:
        """What was compared."""
        return self.compared.report.comparison


def comparison_picture(compared: Compared) -> ComparisonPicture:
    """The page's picture of a comparison."""
    comparison = compared.report.comparison
    plan = comparison.plan
    key = (
        f"A: {plan.a}.  B: {plan.b}.  {plan.outcome} in {comparison.unit}, mean ± SD between participants; differences "
        f"A − B in {comparison.difference_unit} with {100 * plan.confidence:g} % intervals; p by {plan.test}."
    )
    rows = tuple(_row(comparison, cell) for cell in comparison.cells)
    scale = _scale(comparison)
    return ComparisonPicture(compared, answer_of(comparison), key, _titles(comparison, scale), rows, scale)


def _end(value: float) -> str:
    return plain_number(value, "+.3g")


def _titles(comparison: Comparison, scale: Scale) -> tuple[Title, ...]:
    plan, level = comparison.plan, f"{100 * comparison.plan.confidence:g} %"
    family = next((cell.detail.family for cell in comparison.cells if cell.detail), 0)
    return (
        Title("", "primary", "● the planned primary comparison"),
        Title("muscle", "muscle"),
        Title("phase", "phase", "by its direction against the load of each exercise"),
        Title("third", "third", "of the range of motion; whole phases are computed from their own samples"),
        Title("n", "participants with both"),
        Title("A", f"A, {plan.a}, mean ± SD between participants", f"{plan.a}: mean ± SD between participants"),
        Title("B", f"B, {plan.b}, mean ± SD between participants", f"{plan.b}: mean ± SD between participants"),
        Title("A − B", f"difference A minus B with its {level} interval", f"mean paired difference, {level} interval"),
        Title(
            f"{_end(scale.low)} to {_end(scale.high)}",
            "difference and interval, drawn",
            "difference with interval; upright line: zero, dashed: the smallest effect that matters either way",
        ),
        Title("verdict", "verdict", "of the primary comparison by its p, of all others by the corrected one"),
        Title("p", "p", f"{plan.test}, not corrected: decides at the primary comparison only"),
        Title("Holm p", "p after Holm's correction", f"corrected over the {family} comparisons of the plan"),
        Title("g_av", "effect size g av", "difference over the mean of both SDs, corrected for small samples"),
        Title("A / B", "percent difference", f"ratio of the means less 100 %, {level} interval by Fieller's theorem"),
    )


def _row(comparison: Comparison, cell: ComparedCell) -> CellRow:
    unit, points, detail, at = comparison.unit, comparison.difference_unit, cell.detail, cell.place
    muscle = at.muscle if at.side is Side.NONE else f"{at.muscle} ({at.side})"
    p, p_holm = (detail.p, detail.p_holm) if detail else (cell.difference.p, nan)
    ratio, effect = (detail.ratio, detail.effect) if detail else (None, None)
    percent = nan if ratio is None else ratio.percent
    g = nan if effect is None else effect.g_av
    shown, of_ratio = number_words(percent, "%", signed=True), None if ratio is None else ratio.percent_interval
    verdict = (short_verdict(cell) if detail else "") or cell.difference.missing or NOTHING
    size = number_words(cell.difference.mean, points, signed=True)
    cells: list[tuple[str, float | None]] = [
        ("●" if cell.primary else "", 0.0 if cell.primary else 1.0),
        (muscle, None),
        (str(at.phase), None),
        (at.third, _third_place(at.third)),
        (str(cell.n), float(cell.n)),
        (_spread(cell.spread_a.mean, cell.spread_a.sd, unit), cell.spread_a.mean),
        (_spread(cell.spread_b.mean, cell.spread_b.sd, unit), cell.spread_b.mean),
        (with_interval(size, cell.difference.interval, points), cell.difference.mean),
        ("", cell.difference.mean),
        (verdict, None),
        (p_words(p), p),
        (p_words(p_holm), p_holm),
        (plain_number(g), g),
        (f"{with_interval(shown, of_ratio, '%')} %" if isfinite(percent) else NOTHING, percent),
    ]  # fmt: skip
    keys = tuple((0.0, text.casefold()) if value is None else (_last(value), "") for text, value in cells)
    return CellRow(cell, tuple(text for text, _ in cells), keys)


def short_verdict(cell: ComparedCell) -> str:
    """The verdict by the letters A and B, as a table has room for it."""
    detail = cell.detail
    if detail is None or detail.said == str(Verdict.SIMILAR) or detail.verdict is not Verdict.SIMILAR:
        return "" if detail is None else str(detail.verdict)
    return f"similar (but {'A' if cell.difference.mean > 0 else 'B'} more)"


_THIRDS = ("lower", "middle", "upper", "first", "second", "last", WHOLE)


def _third_place(third: str) -> float:
    """Thirds from the lower to the upper one, and the whole after them."""
    return float(_THIRDS.index(third)) if third in _THIRDS else float(len(_THIRDS))


def _last(value: float) -> float:
    """What is missing is sorted as the lowest."""
    return float("-inf") if isnan(value) else value


def _spread(mean: float, sd: float, unit: str) -> str:
    return NOTHING if not isfinite(mean) else f"{number_words(mean, unit)} ± {number_words(sd, unit)}"


def _scale(comparison: Comparison) -> Scale:
    """From the lowest to the highest end of all intervals, with zero and the smallest effect in it."""
    smallest = smallest_of(comparison)
    ends = [0.0, smallest, -smallest]
    for cell in comparison.cells:
        ends += [cell.difference.mean, cell.difference.interval.low, cell.difference.interval.high]
    there = [end for end in ends if isfinite(end)]
    low, high = min(there), max(there)
    return Scale(low, high if high > low else low + 1.0, smallest)


@dataclass(frozen=True, slots=True)
class RowDetail:
    """All that belongs to a row: participants, further statistics, and the picture of its muscle in every phase."""

    row: CellRow
    people: tuple[PersonRow, ...]
    lines: tuple[StatisticLine, ...]
    figure: Figure


def row_detail(study: Study, rater: str, picture: ComparisonPicture, row: CellRow) -> RowDetail:
    """What is shown of the row in hand; study and rater are those that were compared."""
    comparison, at = picture.comparison, row.place
    own = tuple(c for c in comparison.cells if (c.place.muscle, c.place.side) == (at.muscle, at.side))
    return RowDetail(
        row,
        people_at(study, rater, picture.compared.report.values, comparison.plan, at),
        statistic_lines(picture.compared.report, row.cell),
        paired_figure(replace(comparison, cells=own)),
    )
